"""A job becomes whole numbers: whose hours, which waits, what is shut, all by hand.

Ticks are quarters of an hour from midnight of Monday 8 February 2027 in Halifax.

Tests of planner/planning/posing.py, planner/planning/problem.py,
planner/planning/shut.py.
"""

from dataclasses import replace
from datetime import date, datetime

import numpy as np
import pytest

from planner.nouns.inputs import Inputs
from planner.nouns.work import Pace, Team
from planner.planning.posing import problem_of
from planner.planning.problem import Problem, build
from planner.schedule.problem.parts import LinkKind
from planner.usecases.read import read_inputs
from tests.support.full import built, full_job
from tests.support.ics import HALIFAX, local
from tests.support.values import STRAIGHT, changed, job_file

DAY = 96
WARM_C = (75 - 32) / 1.8  # where a setting class takes its own minutes
TOPPING_C = (70 - 32) / 1.8  # where the table gives 17 h at 50 %


def h(hour: float, day: int = 0) -> int:
    """Return the tick of an hour."""
    return day * DAY + round(hour * 4)


@pytest.fixture(scope="module")
def inputs(tmp_path_factory: pytest.TempPathFactory) -> Inputs:
    return read_inputs(full_job(tmp_path_factory.mktemp("job")))


@pytest.fixture(scope="module")
def whole(inputs: Inputs) -> Problem:
    return problem_of(inputs, weeks=6)


def task(problem: Problem, id_: str):
    return next(t for t in problem.instance.tasks if t.id == id_)


def blocks(found) -> dict[str, tuple[tuple[int, int], ...]]:
    return {b.fact: b.ticks.items for b in found}


# ------------------------------------------------------------------- people


def test_people_are_open_in_their_shifts_less_what_their_calendar_takes(whole):
    ana, bo = whole.instance.people
    # the dentist, 8:30 to 10:10, touches the ticks from 8:30 to 10:15
    assert ana.open.items[:3] == ((h(8), h(8.5)), (h(10.25), h(12)), (h(13), h(17)))
    assert bo.open.items[:2] == ((h(8), h(12)), (h(13), h(17)))
    for person in (ana, bo):
        week = [a // DAY for a, _ in person.shifts]
        # Monday 15 February is a public holiday
        assert week[:9] == [0, 1, 2, 3, 4, 8, 9, 10, 11]
    assert (ana.rest, bo.rest) == (32, 44)  # 8 h, and 11 h where nothing is said
    assert whole.facts[ana.fact] == "the open hours of Ana"
    assert whole.facts[bo.fact] == "the open hours of Bo"


def test_whoever_has_a_trade_that_leads_may_lead_and_who_helps_may_help(whole):
    # Ana is carpenter, finisher and painter; Bo labourer and painter
    may = {
        "set.wall": (("ana",), ("ana", "bo")),  # a carpenter, with anybody
        "setting-coat-1.wall": (("ana",), ("ana",)),  # finishers alone
        "prime-1": (("ana", "bo"), ("ana", "bo")),  # a painter
        "rub.wall": (("ana", "bo"), ("ana", "bo")),
    }
    for id_, (leads, eligible) in may.items():
        found = task(whole, id_)
        assert (found.leads, found.eligible) == (leads, eligible), id_
    words = {id_: whole.facts[f"nobody:{id_}"] for id_ in ("open.wall", "set.wall")}
    assert words["open.wall"].endswith("needs a carpenter")
    assert words["set.wall"].endswith("needs a carpenter in a team of 2")


def test_how_long_a_task_takes_goes_by_team_and_what_the_team_yields(inputs):
    problem = built(inputs, 20.0)
    named = {t.id: t for t in problem.work.tasks}
    for id_, each in (("count", (1, 2)), ("join.wall", (2, 3))):
        record, found = named[id_], task(problem, id_)
        assert tuple(m.size for m in found.modes) == each
        for mode, team in zip(found.modes, record.teams, strict=True):
            hours = record.person_hours / (team.size * team.yield_frac)
            # the least whole number of quarters that holds them
            assert mode.ticks - 1 < hours * 4 <= mode.ticks


def test_person_hours_and_hours_that_pass_by_themselves(inputs):
    """0.65 h alone are three quarters; two at 0.9 each take 0.36 h: two quarters."""
    good = built(inputs, 20.0)
    for elapsed_h, ticks in ((0.0, [3, 2]), (1.0, [7, 6])):
        tasks = tuple(
            replace(t, person_hours=0.65, elapsed_h=elapsed_h) if t.id == "count" else t
            for t in good.work.tasks
        )
        problem = build(
            good.job,
            replace(good.work, tasks=tasks),
            grid=good.grid,
            air=good.air,
            products=good.products,
            hours=inputs.hours,
        )
        assert [m.ticks for m in task(problem, "count").modes] == ticks


@pytest.mark.parametrize(
    ("person_hours", "pace", "ticks"),
    [
        (3.0, Pace.PAUSABLE, 18),  # half as long again: 4.5 h
        (3.0, Pace.ONE_GO, 14),  # nobody is open for more than 4 h, and 0.5 h sets up
        (2.0, Pace.ONE_GO, 12),  # 3 h fit in
        (5.0, Pace.ONE_GO, 20),  # never less than it takes
    ],
)
def test_a_protected_task_is_longer_but_no_more_than_fits_in_one_go(
    inputs, person_hours, pace, ticks
):
    good = built(inputs, 20.0)
    how = {"person_hours": person_hours, "pace": pace, "set_up_h": 0.5}
    tasks = tuple(
        replace(t, teams=(Team(size=1, yield_frac=1.0),), elapsed_h=0.0, **how)
        if t.id == "count"
        else t
        for t in good.work.tasks
    )
    problem = build(
        good.job,
        replace(good.work, tasks=tasks),
        grid=good.grid,
        air=good.air,
        products=good.products,
        hours=inputs.hours,
        longer_frac=0.5,
    )
    assert [m.ticks for m in task(problem, "count").modes] == [ticks]


def test_pace_place_and_choice_of_a_task_are_kept(whole):
    for id_, one_go, bays in (
        ("intake", True, ()),
        ("count", False, ()),
        ("prime-1", True, ("wall",)),
        ("tape.wall", False, ("wall",)),
        ("colour-1", True, ("wall", "apron")),
    ):
        found = task(whole, id_)
        assert found.one_go == one_go
        assert tuple(d.pool for d in found.demands) == bays
        assert not found.optional
    assert {p.id for p in whole.instance.pools} == {"wall", "apron"}


# ------------------------------------------------------------------- what is shut


def test_the_stage_is_shut_outside_its_hours_for_what_is_done_on_it(whole):
    found = blocks(task(whole, "tape.wall").no_work)
    assert list(found) == ["stage-hours"]
    assert found["stage-hours"][:2] == ((0, h(7)), (h(22), h(7, 1)))
    assert whole.facts["stage-hours"] == "the stage's own hours"
    assert task(whole, "count").no_work == ()


def test_each_neighbours_quiet_hours_stop_loud_work_alone(whole):
    found = blocks(task(whole, "drill.wall").no_work)
    # 9:05 to 9:55 touches the ticks from 9 to 10
    assert found["quiet:left.ics"] == ((h(9), h(10)), (h(9, 2), h(10, 2)))
    assert found["quiet:right.ics"] == ((h(14), h(15)),)
    assert set(found) == {"stage-hours", "quiet:left.ics", "quiet:right.ics"}
    said = whole.facts["quiet:left.ics"]
    assert said == "no loud work in the quiet hours of left.ics"


def test_crates_are_opened_on_the_day_they_come_and_not_before(whole):
    found = blocks(task(whole, "intake").no_start)
    last = whole.grid.ticks
    assert found == {"delivery": ((0, h(10, 1)), (h(0, 2), last))}
    assert whole.facts["delivery"] == (
        "the crates come Tue 9 Feb 2027, 10:00 and are opened that day, with the carrier "
        "present"
    )
    assert not any(t.no_start for t in whole.instance.tasks if t.id != "intake")


def test_crates_that_come_within_a_tick_are_opened_from_the_next(inputs):
    come = datetime(2027, 2, 9, 10, 5, tzinfo=HALIFAX)
    found = built(inputs, 20.0, delivery=come)
    assert blocks(task(found, "intake").no_start)["delivery"][0] == (0, h(10.25, 1))
    late = built(inputs, 20.0, delivery=datetime(2027, 3, 9, 10, tzinfo=HALIFAX))
    assert blocks(task(late, "intake").no_start)["delivery"] == ((0, 14 * DAY),)
    none = built(inputs, 20.0, delivery=None)
    assert task(none, "intake").no_start == ()


def test_a_booking_that_recurs_is_one_fact_and_another_is_another(whole):
    closure = whole.instance.closures[0]
    assert [b.ticks.items for b in closure.booked] == [
        ((h(9, 1), h(12, 1)), (h(9, 8), h(12, 8)), (h(9, 15), h(12, 15))),
        ((h(13, 10), h(15, 10)),),
    ]
    assert [whole.facts[b.fact] for b in closure.booked] == [
        'booking "Shoot" (stage.ics), Tue 9 Feb 2027, 09:00 to 12:00 and 2 times more',
        'booking "Portraits" (stage.ics), Thu 18 Feb 2027, 13:00 to 15:00',
    ]


def test_entries_beyond_the_grid_are_left_out(inputs):
    week = built(inputs, 20.0, weeks=1)
    assert [b.title for b, _ in week.booked] == ["Shoot"]
    assert [b.title for b, _ in week.quiet] == ["cello", "drums", "viola"]


# ------------------------------------------------------------------- waits


def over(problem: Problem, name: str) -> int:
    """Return the ticks of a wait that begins at tick 4."""
    return problem.lookups[name].over[4] - 4


def test_the_margin_is_on_what_dries_and_on_nothing_else(inputs):
    warm = built(inputs, WARM_C)
    assert over(warm, "setting-90:set") == 8  # 107.5 min, 7.2 quarters
    assert over(warm, "adhesive:hold") == 0
    assert (
        over(warm, "flat-colour:light foot traffic")
        == 27 + 83  # 5.36 h x 1.25; 20.52 h
    )  # 25 % of the 5 h to recoat
    assert over(warm, "flat-colour:full service") == 27 + 290  # 72.36 h
    topping = built(inputs, TOPPING_C)
    # 17 h on board, 1.25 times on the modules' faces, and a quarter of it: 26.56 h
    assert over(topping, "topping:dry") == 107
    bare = built(inputs, TOPPING_C, margin_frac=0.0)
    assert over(bare, "topping:dry") == 85  # 21.25 h


def test_a_coat_of_twice_the_thickness_dries_twice_as_long(inputs):
    thick = replace(inputs.products["topping"], thickness_mm=25.4 / 8)
    double = replace(inputs, products={**inputs.products, "topping": thick})
    assert over(built(double, TOPPING_C), "topping:dry") == 213  # 53.125 h


def test_links_wait_for_what_the_work_says(whole):
    waits = {(x.before, x.after): x.wait for x in whole.instance.links}
    assert waits["mark.wall", "open.wall"] == ""
    assert waits["fasten.wall", "drill.wall"] == "adhesive:hold"
    assert waits["topping-coat-1.wall", "rub.wall"] == "topping:dry"
    assert waits["colour-1", "colour-2"] == "flat-colour:recoat"
    assert len(waits) == len(whole.work.links)
    names = [x.name for x in whole.instance.lookups]
    assert names == sorted(set(names))
    assert {w for w in waits.values() if w} <= set(names)


def test_the_stage_is_closed_until_all_that_full_service_waits_for(whole):
    stage, light = whole.instance.closures
    assert {t.id for t in whole.instance.tasks} - set(stage.tasks) == {
        "intake", "count", "sand-modules",
        "cut",  # 5 m are four modules of 4 ft and 123 mm, less than is cut: two share it
    }  # fmt: skip
    assert {(t.task, t.wait) for t in stage.terms} == {
        ("bed.wall", "dry-mortar:load"),
        ("pack.wall", "dry-mortar:load"),
        ("anchor.wall", "adhesive:full"),
        ("handover", ""),
        ("colour-2", "flat-colour:full service"),
    }
    assert light.tasks == ("colour-2",)
    assert {(t.task, t.wait) for t in light.terms} == {
        ("handover", ""),
        ("colour-2", "flat-colour:light foot traffic"),
    }
    assert {"flat-colour:light foot traffic", "adhesive:full"} <= whole.lookups.keys()


# ------------------------------------------------------------------- air limits


def test_air_that_a_coat_cannot_bear_is_held_off_until_it_is_dry(inputs):
    """A fifth of a day of 8 °C, and two hours of 99 %, which no drying law covers."""
    air_c, rh = np.full(14 * DAY, 20.0), np.full(14 * DAY, 50.0)
    air_c[200:210], rh[300:308] = 8.0, 99.0
    problem = built(inputs, air_c, rh)
    (hold,) = task(problem, "topping-coat-1.wall").holds
    assert hold.bad.items == ((200, 210), (300, 308))
    assert hold.until == "topping:dry"
    title = inputs.products["topping"].title
    assert problem.facts[hold.fact] == (
        f"{title}: room and surface at 10 °C (50 °F) or more, room at 35 °C (95 °F) or "
        "less, surface 1.0 °C (1.8 °F) or more above the dew point until dry"
    )
    # setting compound is covered once it has set: its air is kept until all is dry
    (sets,) = task(problem, "setting-coat-1.wall").holds
    # at 99 % the surface is 0.2 °C above the dew point: damp for any compound
    assert sets.bad.items == ((200, 210), (300, 308))
    assert sets.until == "setting-90:dry+setting-90+topping"
    # the bed under the tape is covered once it has set
    (bed,) = task(problem, "tape.wall").holds
    assert bed.until == "setting-90:set"
    # what lays nothing bears any air
    assert task(problem, "rub.wall").holds == ()
    # and in good air nothing is held off
    assert not any(t.holds for t in built(inputs, 20.0).instance.tasks)


def test_cold_hours_forbid_a_start_for_two_days(inputs):
    # ASTM C840 §4.1: 48 h of 50 °F before joint treatment
    air_c = np.full(14 * DAY, 20.0)
    air_c[200:210] = 8.0
    problem = built(inputs, air_c)
    found = blocks(task(problem, "topping-coat-1.wall").no_start)
    assert found == {"limits-before:topping": ((201, 210 + 192),)}
    title = inputs.products["topping"].title
    assert problem.facts["limits-before:topping"] == (
        f"{title}: room and surface at 10 °C or more for 48 h before the start"
    )


def test_a_wall_colder_than_the_room_breaks_a_limit_that_the_room_keeps(inputs):
    problem = built(inputs, 13.0, wall_colder_delta_k=4.0)
    (hold,) = task(problem, "topping-coat-1.wall").holds
    assert hold.bad.items == ((0, 14 * DAY),)
    (block,) = task(problem, "topping-coat-1.wall").no_start
    assert block.ticks.items == ((0, 14 * DAY),)
    assert task(built(inputs, 13.0), "topping-coat-1.wall").holds == ()


def test_air_must_be_there_for_each_tick(inputs):
    with pytest.raises(ValueError, match="could not be broadcast"):
        built(inputs, np.full(5, 20.0))
    good = built(inputs, 20.0)
    short = replace(
        good.air,
        air_c=good.air.air_c[:-1],
        humidity_pct=good.air.humidity_pct[:-1],
    )
    with pytest.raises(ValueError, match="1343 values for 1344 ticks"):
        build(
            good.job,
            good.work,
            grid=good.grid,
            air=short,
            products=good.products,
            hours=inputs.hours,
        )


# ------------------------------------------------------------------- windows, fumes

OWN = """
[[product]]
id = "mine"
like = "solvent-primer"
recoat = "10 h"
at = "25 C"
cover_within = "40 h"
sheet = "a data sheet of our own"
"""


@pytest.fixture(scope="module")
def primed(tmp_path_factory) -> Inputs:
    text = changed(STRAIGHT, ("[stage]", '[methods]\nprimer = "mine"\n[stage]')) + OWN
    return read_inputs(job_file(tmp_path_factory.mktemp("primed"), text))


def test_a_coat_is_covered_within_its_window_or_sanded_again(primed):
    problem = built(primed, 25.0)
    bed, *windows = [x for x in problem.instance.links if x.kind is LinkKind.LATEST]
    # an hour and a half of pot life, whatever is done instead
    assert (bed.before, bed.after, bed.unless) == ("bed.wall", "anchor.wall", "")
    assert problem.lookups[bed.wait].over[4] == 4 + 6
    assert [(x.before, x.after) for x in windows] == [
        ("prime-1", "prime-2"),
        ("prime-2", "colour-1"),
    ]
    for link in windows:
        assert problem.lookups[link.wait].over[4] == 4 + 40 * 4
        again = task(problem, link.unless)
        assert again.optional
        assert problem.facts[link.fact].endswith(
            "covered within its recoat window, or sanded again"
        )


def test_fumes_keep_others_away_until_they_have_cleared(primed):
    problem = built(primed, 25.0)
    # the fumes' wait begins when the coat has dried, which the plan shows too
    assert {"mine:free of fumes", "mine:recoat"} <= problem.lookups.keys()
    # 10 h and 9.99 h of a shut room, ln 20 over 0.3 an hour, a quarter more of each
    assert over(problem, "mine:recoat") == 50
    assert over(problem, "mine:free of fumes") == 50 + 50


def test_the_grid_begins_on_the_earliest_day_and_lasts_whole_weeks(inputs):
    problem = problem_of(inputs, weeks=2)
    assert problem.grid.start == local(HALIFAX, 2027, 2, 8)
    assert problem.grid.local(problem.grid.ticks).date() == date(2027, 2, 22)
    assert problem.instance.horizon == problem.grid.ticks == 14 * DAY
