"""Coats too damp for the room: what is said of them and what would help, by hand.

A tick is a quarter of an hour from midnight of Monday 8 February 2027 in Halifax. Ann
works each day from 8 to 12; what becomes of the air is made up.

Tests of planner/planning/refusals/advising.py, planner/planning/refusals/no_plan.py.
"""

from dataclasses import replace
from datetime import date
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest

from planner.errors import NoPlanError
from planner.hours.grid import Grid
from planner.hours.spans import Spans
from planner.nouns.air import Climate, Thermostat
from planner.nouns.inputs import Inputs
from planner.planning.problem import Problem
from planner.planning.refusals import advising, no_plan
from planner.planning.refusals.advising import Lone, Try, never_alone
from planner.planning.refusals.no_plan import ROOM_HELPS, Damp, not_held
from planner.planning.searching import Search
from planner.schedule.problem.limits import SearchLimits
from planner.schedule.problem.outcome import NoPlan
from planner.schedule.problem.parts import Mode
from planner.schedule.why import conflict as clashes
from planner.usecases.read import read_inputs
from tests.support.ics import HALIFAX
from tests.support.schedule import block, instance, person, spans, task
from tests.support.values import STRAIGHT, changed, job_file

IN_BAYS = 'bay by bay: primer_in = "bays" in [methods]'

DAYS = 13
GRID = Grid.from_day(date(2027, 2, 8), days=DAYS, tick_minutes=15, zone=HALIFAX)
ROOM = Climate(volume_m3=150.0, thermostats=(Thermostat(heat_to_c=18.0),))
SEARCH = Search(limits=SearchLimits())


@pytest.fixture(scope="module")
def inputs(tmp_path_factory) -> Inputs:
    room = '[air.room]\nvolume = "150 m3"\n[[air.room.heat]]\nto = "18 C"\n[stage]'
    text = changed(STRAIGHT, ("[stage]", room))
    return read_inputs(job_file(tmp_path_factory.mktemp("job"), text))


def problem(inputs: Inputs, *tasks, **works: Any) -> Problem:
    """Return a problem of coats, by default one of four ticks and one to set up."""
    made = tasks or (
        task("c", 4, "ann", modes=(Mode(size=1, ticks=6), Mode(size=2, ticks=4)), set_up=1),
    )  # fmt: skip
    usual = {"product": "flat-colour", "dry_stage": "recoat", "wet_m2": 30.0, "covered_by": (),
             "phase": "colour", "bays": ("wall", "apron")}  # fmt: skip
    hours = [(96 * day + 32, 96 * day + 48) for day in range(DAYS)]
    found = SimpleNamespace(
        work=SimpleNamespace(
            tasks=[
                SimpleNamespace(
                    id=t.id, title=f"Coat {t.id}", **usual | works.get(t.id, {})
                )
                for t in made
            ]
        ),
        instance=instance(*made, people=(person("ann", *hours),), horizon=GRID.ticks),
        grid=GRID,
        products=inputs.products,
        facts={"damp": "surface above the dew point", "x": "rule x", "y": "rule y"},
        job=inputs.job,
    )
    return cast(Problem, found)


def test_a_coat_is_tried_every_five_days_by_its_quickest_team(inputs):
    found = Lone(inputs, problem(inputs), "c").spans
    # four ticks and one to set up, from 8 on; the next one five days later on the dot
    assert found == ((32, 37), (32 + 480, 37 + 480), (32 + 960, 37 + 960))


def test_each_try_lies_alone_in_the_room_until_it_is_dry(inputs, monkeypatch):
    seen: dict[str, Any] = {}

    def inside(asked, grid, coats):
        seen.update(climate=asked.job.climate, grid=grid, coats=coats)
        return SimpleNamespace(air="the air")

    def ready_ticks(stage, air, *, margin_frac, times, **_):
        seen.update(stage=stage.stage, air=air, margin=margin_frac, times=times)
        over = np.arange(GRID.ticks + 1) + 10
        over[997:] = GRID.ticks + 1
        return over

    warm = np.zeros(GRID.ticks, np.bool_)
    warm[[31, 32, 46, 47, 517]] = True
    dry = ~warm
    dry[:520] = False
    masks = {"warm enough": warm, "dry enough": dry}
    monkeypatch.setattr(advising, "inside", inside)
    monkeypatch.setattr(advising, "ready_ticks", ready_ticks)
    monkeypatch.setattr(advising, "breaks_by_limit", lambda _limits, _air: masks)
    margin = replace(inputs, job=replace(inputs.job, margin_frac=0.5))
    made = problem(margin)
    first, second = Lone(margin, made, "c").tries(ROOM)
    # dry at 47 and at 527; the third isn't dry within the grid
    assert (first.laid, first.until) == ((32, 37), 47)
    assert {w: s.items for w, s in first.broken.items()} == {
        "warm enough": ((32, 33), (46, 47))
    }
    assert {w: s.items for w, s in second.broken.items()} == {
        "warm enough": ((517, 518),),
        "dry enough": ((520, 527),),
    }
    assert (first.ticks, second.ticks) == (2, 8)
    assert (seen["climate"], seen["grid"], seen["stage"]) == (ROOM, GRID, "recoat")
    assert (seen["air"], seen["margin"], seen["times"]) == ("the air", 0.5, 1.0)
    coats = seen["coats"]
    assert [c.spans for c in coats] == [((32, 37),), ((512, 517),), ((992, 997),)]
    product = inputs.products["flat-colour"]
    assert product.coverage_m2_per_l is not None
    litres = 30.0 / product.coverage_m2_per_l * product.water_l_per_l
    assert coats[0].water_kg == pytest.approx(litres * (1.0 - product.bound_frac))
    assert coats[0].stage.stage == "recoat"


def tried(*rows: tuple[int, dict[str, tuple[int, int]]]) -> list[Try]:
    return [
        Try(
            laid=(start, start + 5),
            until=start + 20,
            broken={w: spans(s) for w, s in broken.items()},
        )
        for start, broken in rows
    ]


def test_the_best_try_is_told_by_its_limits_and_its_water(inputs, monkeypatch):
    lone = Lone(inputs, problem(inputs), "c")
    rows = tried(
        (32, {"warm": (32, 40), "dry": (36, 44)}),  # twelve ticks in all
        (128, {"warm": (128, 132), "dry": (140, 146)}),  # ten
        (224, {"warm": (224, 234)}),  # ten, but later
    )
    monkeypatch.setattr(Lone, "tries", lambda _self, _climate: iter(rows))
    kg = lone._litres()
    assert lone.words(ROOM) == (
        f'"Coat c" gives off {kg:.1f} l of water; even with nothing else wet, laid Tue '
        "9 Feb 2027, 08:00, it lies 1 h without warm and 1 h 30 min without dry before "
        "it is dry"
    )
    monkeypatch.setattr(Lone, "tries", lambda _self, _climate: iter(()))
    assert lone.words(ROOM) == ('"Coat c" does not get dry in the air that it makes')


def test_of_each_measure_the_least_that_would_do_is_named(inputs, monkeypatch):
    good, bad = tried((32, {})), tried((32, {"warm": (32, 40)}))

    def tries(_self, climate: Climate):
        aired = sum(v.air_changes_per_h for v in climate.ventilation) >= 2.0
        dried = any(d.rated_l_per_day >= 40.0 for d in climate.dehumidifiers)
        warm = max(t.heat_to_c or 0.0 for t in climate.thermostats) >= 22.0
        return iter(bad + good if aired or dried or warm else bad)

    monkeypatch.setattr(Lone, "tries", tries)
    lone = Lone(inputs, problem(inputs), "c")
    assert lone.helps(ROOM) == (
        "airing: about 2 air changes an hour more, see [[air.room.ventilation]]",
        "a dehumidifier rated at about 40 l a day, set to 50 %, see "
        "[[air.room.dehumidifier]]",
        "heating to about 22 °C (72 °F), see [[air.room.heat]]",
    )
    # without heat there is no goal to raise; cooling is none
    cooled = replace(ROOM, thermostats=(Thermostat(cool_to_c=25.0),))
    assert not list(advising._heated(cooled))
    goals = [c.thermostats[-1].heat_to_c for _, c in advising._heated(ROOM)]
    assert goals == [20.0, 22.0, 24.0]
    both = replace(ROOM, thermostats=(*ROOM.thermostats, Thermostat(heat_to_c=20.0)))
    assert next(c.thermostats[-1].heat_to_c for _, c in advising._heated(both)) == 22.0
    assert [c.thermostats[:-1] for _, c in advising._heated(both)] == (
        [both.thermostats] * 3
    )


def test_a_coat_that_its_own_damp_shuts_out_at_every_start_is_named(inputs):
    day = [(96 * d + 32, 96 * d + 48) for d in range(DAYS)]
    whole = block("own-damp:a", *((a, b - 4) for a, b in day))  # four ticks and one
    short = block("own-damp:b", *((a, b - 5) for a, b in day))
    made = problem(
        inputs,
        task("a", 4, "ann", set_up=1, no_start=(block("cold", (0, 1)), whole)),
        task("b", 4, "ann", set_up=1, no_start=(short,)),
        task("c", 4, "ann", set_up=1, no_start=(replace(whole, fact="cold"),)),
        task("d", 4, "ann", no_start=(whole,), optional=True),
        task("e", 17, "ann", no_start=(whole,)),  # fits nowhere, whatever the damp
    )
    assert never_alone(made, "own-damp:") == ("a",)


# ---------------------------------------------------------------------- what is said


class Told:
    """Stands in for a coat alone: what it is called and what would help it."""

    helped: dict[str, tuple[str, ...]] = {}  # noqa: RUF012  set by each test

    def __init__(self, _inputs, made, name) -> None:
        self.work = next(t for t in made.work.tasks if t.id == name)

    def words(self, climate: Climate) -> str:
        return f"{self.work.title} in {climate.volume_m3:.0f} m³"

    def helps(self, _climate: Climate) -> tuple[str, ...]:
        return self.helped.get(self.work.id, ())


@pytest.fixture
def told(monkeypatch):
    monkeypatch.setattr(no_plan, "Lone", Told)
    monkeypatch.setattr(Told, "helped", {})
    return Told


def coats(inputs: Inputs) -> Problem:
    tasks = (task(name, 4, "ann") for name in "abcd")
    prime = {"phase": "prime", "product": "primer"}
    return problem(inputs, *tasks, b={"wet_m2": 20.0}, d=prime)


def test_coats_not_held_alone_are_told_once_of_a_kind_with_what_would_help(
    inputs, told, monkeypatch
):
    made = coats(inputs)
    monkeypatch.setattr(no_plan, "never_alone", lambda _problem, _prefix: tuple("abcd"))
    told.helped = {"a": ("airing",), "b": ("airing", "heating")}
    error = no_plan.no_plan(inputs, made, SEARCH)
    # c is of the same product and area as a
    assert error.conflict == tuple(f"Coat {n} in 150 m³" for n in "abd")
    assert error.helps == (
        'for "Coat a", airing',
        'for "Coat b", airing',
        'for "Coat b", heating',
        f'for "Coat d", less wet at a time: {IN_BAYS}',
    )
    assert error.message == "no plan is possible within 53 weeks of 2027-02-08"
    monkeypatch.setattr(no_plan, "never_alone", lambda _problem, _prefix: ("a",))
    told.helped = {}
    assert no_plan.no_plan(inputs, made, SEARCH).helps == (ROOM_HELPS,)
    monkeypatch.setattr(no_plan, "never_alone", lambda _problem, _prefix: ("d",))
    one = problem(inputs, task("d", 4, "ann"), d={"phase": "prime", "bays": ("wall",)})
    assert no_plan.no_plan(inputs, one, SEARCH).helps == (ROOM_HELPS,)


def test_a_coat_that_finds_no_place_is_told_with_when_it_lay_damp(
    inputs, told, monkeypatch
):
    def short(_inputs, *, weeks):
        assert weeks == 6  # enough to try it in
        return coats(inputs)

    monkeypatch.setattr(no_plan, "problem_of", short)
    told.helped = {"b": ("airing",)}
    found = not_held(
        inputs, coats(inputs), Damp(task="b", fact="damp", first=32, last=9999)
    )
    assert found.message == (
        "no plan was found that holds in the air that its own coats make"
    )
    # never said of ticks beyond the grid, 13 days
    assert found.conflict == (
        'surface above the dew point: at the last try "Coat b" lay without it between '
        "Mon 8 Feb 2027, 08:00 and Sun 21 Feb 2027, 00:00",
    )
    assert found.helps == ('for "Coat b", airing',)
    found = not_held(inputs, coats(inputs), Damp(task="d", fact="?", first=0, last=1))
    assert found.conflict[0].startswith('?: at the last try "Coat d"')
    assert found.helps == (f'for "Coat d", less wet at a time: {IN_BAYS}',)
    bare = replace(inputs, job=replace(inputs.job, climate=None))
    assert (
        not_held(
            bare, coats(inputs), Damp(task="b", fact="damp", first=0, last=1)
        ).helps
        == ()
    )
    other = not_held(inputs, coats(inputs), None)
    assert "there may be a plan all the same" in other.conflict[0]
    assert other.helps == (ROOM_HELPS,)


@pytest.mark.parametrize(
    ("clash", "conflict", "helps"),
    [
        (None, ("the work as a whole does not fit",), ()),
        (NoPlan(facts=(), minimal=True), ("the work as a whole does not fit",), ()),
        (NoPlan(facts=("horizon",), minimal=True), ("the work as a whole does not fit",), ()),
        (
            NoPlan(
                facts=("y", "x", "z", "y"),
                minimal=True,
                enough=(("x",), ("y", "z"), ("x",)),
            ),
            ("rule y", "rule x", "z"),
            ("giving way on: rule x", "giving way on: rule y and giving way on: z"),
        ),
    ],
)  # fmt: skip
def test_a_clash_is_told_in_words_each_rule_once(
    inputs, monkeypatch, clash, conflict, helps
):
    made = coats(inputs)
    asked: list[Any] = []

    def found(*args, **how):
        asked.append((args, how))
        return clash

    monkeypatch.setattr(clashes, "conflict", found)
    error = no_plan.no_plan(inputs, made, SEARCH)
    assert (error.conflict, error.helps) == (conflict, helps)
    assert error.not_shown == ""
    ((args, how),) = asked
    assert args == (made.instance,)
    assert (how["limits"], how["certain"]) == (SEARCH.limits, True)


def test_of_a_clash_that_was_not_shown_to_be_the_least_that_is_said(
    inputs, monkeypatch
):
    made = coats(inputs)
    clash = NoPlan(facts=("x",), minimal=False)
    monkeypatch.setattr(clashes, "conflict", lambda *_, **__: clash)
    assert (
        "not that each of these rules"
        in no_plan.no_plan(inputs, made, SEARCH).not_shown
    )
    some = NoPlan(facts=("x",), minimal=False, some_teams=True)
    monkeypatch.setattr(clashes, "conflict", lambda *_, **__: some)
    said = no_plan.no_plan(inputs, made, SEARCH).not_shown
    assert "too many teams" in said
    assert "--seconds" not in said  # more time would show no more

    def stopped(*_, **__):
        raise KeyboardInterrupt

    monkeypatch.setattr(clashes, "conflict", stopped)
    with pytest.raises(NoPlanError) as error:
        no_plan.no_plan(inputs, made, SEARCH)
    assert error.value.conflict == (
        "the search was stopped before the rules that clash were found",
    )


def test_the_ticks_of_a_try_count_once_however_many_limits_they_break():
    (one,) = tried((0, {"warm": (2, 6), "dry": (4, 9)}))
    assert one.ticks == Spans.of([(2, 9)]).total == 7
