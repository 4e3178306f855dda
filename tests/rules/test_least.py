"""What no plan can better: each coat alone in the room, part by part and by hand.

A tick is a quarter of an hour from midnight of Monday 8 February 2027 in Halifax.

Tests of planner/air/alone.py, planner/planning/least.py.
"""

from dataclasses import replace
from datetime import UTC, timedelta
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest

from planner.air import waits
from planner.air.alone import Alone
from planner.nouns.air import AirReading
from planner.nouns.inputs import Inputs
from planner.planning import least as parts
from planner.planning.least import OWN_DAMP, bounds_hold, ends_of, least
from planner.planning.posing import problem_of
from planner.planning.problem import Problem
from planner.schedule.problem.parts import (
    Apart,
    Closure,
    Hold,
    Link,
    LinkKind,
    Mode,
    Term,
)
from planner.usecases.read import read_inputs
from tests.support.schedule import (
    LONG,
    block,
    closure,
    instance,
    person,
    spans,
    task,
    wait,
)
from tests.support.values import DAMP_ROOM, STRAIGHT, changed, job_file

ANN, BO = person("ann", (0, 6), (8, 12)), person("bo", (0, 4))


def test_runs_to_each_end_are_those_of_whoever_may_do_it():
    made = instance(
        task("a", 1, "ann", "bo", no_work=(block("quiet", (3, 4)),)),
        people=(ANN, BO, person("cy")),
    )
    ends, least_run, most_run = ends_of(made, made.tasks[0])
    # Ann: 0-3, 4-6, 8-12; Bo: 0-3; Cy may not
    assert ends.tolist() == [1, 2, 3, 5, 6, 9, 10, 11, 12]
    assert most_run.tolist() == [1, 2, 3, 1, 2, 1, 2, 3, 4]
    assert least_run.tolist() == [1, 2, 3, 1, 2, 1, 2, 3, 4]
    both = instance(
        task("a", 1, "ann", "bo"), people=(ANN, person("bo", (2, 5), (9, 11)))
    )
    ends, least_run, most_run = ends_of(both, both.tasks[0])
    assert ends.tolist() == [1, 2, 3, 4, 5, 6, 9, 10, 11, 12]
    assert most_run.tolist() == [1, 2, 3, 4, 5, 6, 1, 2, 3, 4]
    # Bo begins at 2 and at 9
    assert least_run.tolist() == [1, 2, 1, 2, 3, 6, 1, 1, 2, 4]


def test_a_run_ends_at_each_stretch_in_which_the_work_is_closed():
    quiet, loud = block("quiet", (1, 2)), block("loud", (4, 5))
    made = instance(task("a", 1, "ann", no_work=(quiet, loud)), people=(ANN,))
    ends, _, longest = ends_of(made, made.tasks[0])
    assert ends.tolist()[:4] == [1, 3, 4, 6]
    assert longest.tolist()[:4] == [1, 1, 2, 1]


def test_rest_may_cut_stretches_of_what_pauses_alone():
    near = person("ann", (0, 6), (8, 12), rest=3)
    for who, eligible, one_go, cut in (
        (near, "ann", False, True),
        (near, "bo", False, False),
        (near, "ann", True, False),
        (replace(near, rest=2), "ann", False, False),
    ):
        made = instance(task("a", 1, eligible, one_go=one_go), people=(who, BO))
        assert parts._rests_between(made, made.tasks[0]) is cut
    made = instance(task("a", 1, "ann", "bo"), people=(near, BO))
    assert parts._rests_between(made, made.tasks[0])  # of whoever may be in the team


# ------------------------------------------------------- waits of a task of its own


def links(*kinds: LinkKind) -> tuple[Link, ...]:
    return tuple(Link(before="a", after="b", kind=k, wait=f"w:{k}") for k in kinds)


@pytest.fixture
def waiting():
    """An instance in which everything that can wait for `a` does, and for `b` too."""
    names = ("apart", "term", "light", "hold", *map(str, LinkKind))
    held = {t: (Hold(fact="damp", bad=spans((0, 1)), until="w:hold"),) for t in "ab"}
    stage = closure("a", "b", terms=(Term(task="b", wait="w:term"), Term(task="a")))
    light = Closure(
        id="light",
        tasks=("a",),
        terms=(Term(task="a", wait="w:light"), Term(task="b", wait="w:light")),
    )
    return instance(
        task("a", 1, "ann", holds=held["a"]),
        task("b", 1, "ann", holds=held["b"], no_start=(block("shut", (0, 1)),)),
        task("c", 1, "ann"),
        people=(ANN,),
        lookups=tuple(wait(f"w:{n}", 1) for n in sorted(names)),
        links=(*links(*LinkKind), Link(before="b", after="c", wait="w:term")),
        apart=(
            Apart(task="a", others=("b",), until="w:apart"),
            Apart(task="b", others=("a",), until="w:term"),
        ),
        closures=(stage, light),
    )


def test_what_must_end_after_a_coat_waits_and_what_must_not_does_not(waiting):
    found = parts._waits_after(waiting, "a")
    assert found == {"w:apart", "w:light", "w:hold", "w:finish-start"}


def test_a_coats_own_waits_take_the_place_of_its_waits_and_of_no_other(waiting):
    names = ("apart", "light", "hold", *map(str, LinkKind))
    own = {("a", f"w:{n}"): f"w:{n}@a" for n in names}
    ticks = {k.name: np.array(k.over) for k in waiting.lookups}
    ticks |= {new: np.array(wait(new, 2).over) for new in own.values()}
    shut = block("own-damp:b", (4, 5))
    found = parts._with(waiting, own, ticks, {"b": shut})
    assert [k.name for k in found.lookups] == sorted(ticks)
    assert [k.over[0] for k in found.lookups] == [1 + ("@" in n) for n in sorted(ticks)]
    a, b, _ = found.tasks
    assert [h.until for t in (a, b) for h in t.holds] == ["w:hold@a", "w:hold"]
    assert (a.no_start, b.no_start) == ((), (*waiting.tasks[1].no_start, shut))
    assert {k.kind: k.wait for k in found.links[:3]} == {
        LinkKind.FINISH_START: "w:finish-start@a",
        LinkKind.START_START: "w:start-start",
        LinkKind.LATEST: "w:latest",
    }
    assert [x.until for x in found.apart] == ["w:apart@a", "w:term"]
    stage, light = ([t.wait for t in c.terms] for c in found.closures)
    assert (stage, light) == (["w:term", ""], ["w:light@a", "w:light"])


# ------------------------------------------------------------------ a coat by itself


def lone(monkeypatch, coat_task, *, broken_before: int = 6):
    """Return what becomes of a coat that dries as long as it is laid, and the asking.

    It breaks its limits where it ends before a tick.
    """
    asked: dict[int, dict[int, tuple[int, int]]] = {}

    def alone(_coat, ends, laid, whole, *, air, room_kg):
        assert (air, room_kg) == ("air", "kg")
        asked[len(asked)] = {
            end: (a, b)
            for end, a, b in zip(
                ends.tolist(), laid.tolist(), whole.tolist(), strict=True
            )
        }
        return Alone(over={"x:dry": ends + laid}, broken=ends < broken_before)

    monkeypatch.setattr(parts, "alone", alone)
    made = instance(
        coat_task,
        task("b", 1, "ann"),
        people=(ANN, BO),
        lookups=(wait("x:dry", 2), wait("x:set", 1)),
        links=(
            Link(before="a", after="b", wait="x:dry"),
            Link(before="a", after="b", wait="x:set"),
        ),
    )
    coat = cast(Any, Coats((SimpleNamespace(name="x:dry"),)))
    problem = SimpleNamespace(
        instance=made, grid=SimpleNamespace(ticks=LONG), air="air"
    )
    quick = {k.name: np.array(k.over) for k in made.lookups}
    seen: dict[Any, Any] = {}
    found: tuple[Any, Any] | None = None
    for _ in range(2):  # what was looked at once isn't looked at again
        found = parts._alone(
            cast(Problem, problem),
            coat_task,
            coat,
            quick,
            cast(Any, "kg"),
            seen,
        )
    assert found is not None
    return *found, list(asked.values())


class Coats:
    """A coat as far as these tests look at it."""

    def __init__(self, awaited) -> None:
        self.awaited = awaited


def test_a_coat_in_one_go_is_looked_at_wherever_it_fits(monkeypatch):
    modes = (Mode(size=1, ticks=3), Mode(size=2, ticks=2))
    one_go = task("a", 1, "ann", "bo", modes=modes, set_up=1, one_go=True)
    over, shut, asked = lone(monkeypatch, one_go)
    # setting up counted, 4 ticks by one, which fit in 0-6 and 8-12, and 3 by two
    assert {next(iter(looked.values())): list(looked) for looked in asked} == {
        (4, 4): [4, 5, 6, 12],
        (3, 3): [3, 4, 5, 6, 11, 12],
    }
    # starts at which it breaks its limits by any team: of those that end before 6
    assert shut.items == ((0, 2),)  # at 2 four ticks end at 6; 3 ticks from 3, too
    # by end tick the sooner of both; between those looked at, the next one's; never
    # sooner than without the water: 2 ticks
    assert list(over) == ["x:dry"]
    dry = over["x:dry"].tolist()
    assert dry[:13] == [6, 6, 6, 6, 7, 8, 9, 14, 14, 14, 14, 14, 15]
    assert dry[13:] == [21, 21, 21, 21, 21, 21, 21, 22]


def test_of_a_coat_that_pauses_the_last_stretch_counts_and_each_sets_up(monkeypatch):
    pausing = task("a", 6, "ann", set_up=1)
    over, shut, asked = lone(monkeypatch, pausing, broken_before=LONG)
    # 7 ticks, so no end before 7; from 8 on the rest was laid before the pause. Of a
    # stretch of one tick, setting up, 6 are left, and each of them may set up again.
    assert asked == [{9: (1, 13), 10: (2, 12), 11: (3, 11), 12: (4, 10)}]
    assert not shut  # how long its pauses are isn't known, so no start is closed
    assert over["x:dry"].tolist()[8:13] == [10, 11, 12, 14, 16]


def test_a_stretch_that_holds_all_of_a_coat_that_may_pause_sets_up_once(monkeypatch):
    # at the ends 4 to 6 and 11 to 12 all 3 ticks lie in one stretch
    _, _, asked = lone(monkeypatch, task("a", 2, "ann", set_up=1))
    assert asked == [
        {3: (3, 3), 4: (3, 3), 5: (3, 3), 6: (3, 3), 9: (1, 5), 10: (2, 4), 11: (3, 3), 12: (3, 3)}
    ]  # fmt: skip


def test_a_coat_that_fits_nowhere_waits_for_ever_and_closes_nothing(monkeypatch):
    over, shut, asked = lone(monkeypatch, task("a", 7, "ann", one_go=True))
    assert asked == []
    assert set(over["x:dry"].tolist()) == {21, 22}
    assert not shut


# --------------------------------------------------------------- of a job as it is read


@pytest.fixture(scope="module")
def inputs(tmp_path_factory) -> Inputs:
    text = changed(STRAIGHT, ("[stage]", f"{DAMP_ROOM}[stage]"))
    return read_inputs(job_file(tmp_path_factory.mktemp("damp"), text))


@pytest.fixture(scope="module")
def dry(inputs) -> Problem:
    return problem_of(inputs, weeks=1)


@pytest.fixture(scope="module")
def bound(inputs, dry) -> Problem:
    return least(inputs, dry)


def test_in_a_damp_room_coats_dry_longer_by_their_own_water_and_close_starts(
    dry, bound
):
    before = {k.name: k.over for k in dry.instance.lookups}
    own = {k.name: k.over for k in bound.instance.lookups if "@" in k.name}
    assert "flat-colour:recoat@colour-1" in own
    noon = 48
    for name, over in own.items():
        assert over[noon] >= before[name.partition("@")[0]][noon]
    assert any(o[noon] > before[n.partition("@")[0]][noon] for n, o in own.items())
    title = next(t.title for t in dry.work.tasks if t.id == "colour-1")
    words = bound.facts[f"{OWN_DAMP}colour-1"]
    assert words.startswith(f'"{title}": ')
    assert words.endswith(
        "above the dew point until dry, in the air that its own water makes"
    )
    closed = {
        t.id for t in bound.instance.tasks for b in t.no_start if OWN_DAMP in b.fact
    }
    assert "colour-1" in closed
    assert closed == {f.removeprefix(OWN_DAMP) for f in bound.facts if OWN_DAMP in f}
    assert dry.facts.items() <= bound.facts.items()


def test_every_wait_of_a_coat_becomes_one_of_its_own(monkeypatch, inputs, dry):
    two = ("flat-colour:recoat", "water-primer:recoat")
    ticks = {k.name: np.array(k.over) for k in dry.instance.lookups if k.name in two}
    monkeypatch.setattr(parts, "_alone", lambda *_: (ticks, spans()))
    found = least(inputs, dry).instance.lookups
    assert {f"{name}@colour-1" for name in two} <= {k.name for k in found}


@pytest.mark.parametrize("what", ["machine", "no room", "reading"])
def test_where_a_coat_alone_bounds_nothing_no_coat_is_looked_at(inputs, dry, what):
    job = inputs.job
    read = AirReading(when=dry.grid.start, air_c=19.0, humidity_pct=60.0)
    machine = (SimpleNamespace(rated_l_per_day=40.0),)
    other = {
        "machine": replace(
            inputs,
            job=replace(job, climate=replace(job.climate, dehumidifiers=machine)),
        ),
        "no room": replace(inputs, job=replace(job, climate=None)),
        "reading": replace(inputs, readings=(read,)),
    }[what]
    found = least(other, dry)
    assert not any("@" in k.name for k in found.instance.lookups)
    assert found.facts == dry.facts


@pytest.mark.parametrize(
    ("tick", "holds"), [(-1, True), (0, False), (671, False), (672, True)]
)
def test_a_reading_in_the_grid_unsettles_what_is_proven(inputs, dry, tick, holds):
    when = dry.grid.start + timedelta(minutes=15 * tick)
    early = AirReading(when=when - timedelta(days=30), air_c=19.0, humidity_pct=60.0)
    read = replace(inputs, readings=(early, replace(early, when=when.astimezone(UTC))))
    assert bounds_hold(read, dry) is holds


def test_a_coat_is_what_lays_water_and_dries(dry):
    found = {t.id: parts._coat(dry, t) for t in dry.instance.tasks}
    assert found["tape.wall"] is None or found["tape.wall"].water_kg > 0
    assert found["mark.wall"] is None
    assert found["count"] is None
    colour = found["colour-1"]
    assert colour is not None
    product = dry.products["flat-colour"]
    area = next(t.wet_m2 for t in dry.work.tasks if t.id == "colour-1")
    litres = area / (product.coverage_m2_per_l or 0.0)
    assert colour.water_kg == pytest.approx(
        litres * product.water_l_per_l * (1 - product.bound_frac)
    )
    assert colour.drying.stage == "recoat"
    assert colour.dry is not None
    assert colour.dry.stage.stage == "recoat"
    assert colour.limits == product.limits
    # what follows another stage doesn't begin with the coat; its margin is the job's
    assert [(a.name, a.margin_frac, a.times) for a in colour.awaited] == [
        ("flat-colour:recoat", dry.job.margin_frac, 1.0)
    ]
    setting = found["setting-coat-1.wall"]
    assert setting is not None
    # its limits hold until what is laid over it wet has dried, too: 2 x 0.35 + 0.325
    assert setting.dry is not None
    assert setting.dry.times == pytest.approx((2 * 0.35 + 0.325) / 0.35)
    assert setting.thickness_mm == dry.products["setting-90"].thickness_mm


# ------------------------------------------------------------------ in any damp at all


def test_waits_are_their_shortest_and_latest_times_their_longest_in_any_damp(
    dry, monkeypatch
):
    """Foam cures sooner in damp air; what dries does so later."""

    def ready(stage, air, **how):
        assert stage.after is None
        assert how["beyond"] is waits.Beyond.STILL
        seen[stage.stage] = how["margin_frac"], how["thickness_mm"]
        soaked = bool((air.humidity_pct == 100.0).all())
        ticks = np.arange(len(air) + 1)
        # what comes later takes longer, so that each wait is its own sooner somewhere
        took = np.where(ticks < 300, 2 if soaked else 5, 9 if soaked else 3)
        return np.minimum(ticks + took, len(air) + 1)

    seen: dict[str, tuple[float, float | None]] = {}
    monkeypatch.setattr(waits, "ready_ticks", ready)
    monkeypatch.setattr(
        waits,
        "latest_ticks",
        lambda latest, air: (
            np.arange(len(air) + 1) + (4 if air.humidity_pct[0] == 100.0 else 7)
        ),
    )
    quick = parts._quickest(dry)
    assert set(quick) == {k.name for k in dry.instance.lookups}
    dries = quick["topping:dry"]
    assert (dries[10] - 10, dries[400] - 400) == (2, 3)
    # full service begins once the coat can be painted over: two waits, one after another
    full = quick["flat-colour:full service"]
    assert (full[10] - 10, full[400] - 400) == (4, 6)
    assert full[len(dry.air)] == len(dry.air) + 1  # beyond the grid it stays so
    late = next(k.wait for k in dry.instance.links if k.kind is LinkKind.LATEST)
    assert quick[late][10] - 10 == 7
    assert seen["dry"] == (dry.job.margin_frac, dry.products["topping"].thickness_mm)
    assert seen["set"] == (0.0, dry.products["setting-90"].thickness_mm)
