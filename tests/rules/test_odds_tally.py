"""What played futures come to, worked by hand for four of them.

Days are 24 ticks of an hour, from Monday 8 February 2027 on, ten of them. Nothing is
played: what became of the plan is stated.

Tests of planner/odds/tally.py.
"""

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, timedelta
from pathlib import Path
from types import SimpleNamespace
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from planner.files.job.jobfile import read_job
from planner.hours.grid import Grid
from planner.hours.spans import Spans
from planner.nouns.calendar import Busy
from planner.nouns.job import CrewMember
from planner.nouns.odds import Holder, Odds, Spread, Threat
from planner.nouns.work import ReturnKind
from planner.odds import tally
from planner.odds.draws import Draws
from planner.odds.outcome import Played
from planner.odds.script import Script
from planner.planning.problem import Problem
from tests.support.odds import STILL, Made, World, script_of_world
from tests.support.schedule import instance, person, place, task
from tests.support.values import job_file

RARE = {Threat.DAMAGE, Threat.BOOKING}  # told only where the job's odds have them
FULL, LIGHT = ReturnKind.FULL_SERVICE, ReturnKind.LIGHT_FOOT_TRAFFIC
GRID = Grid.from_day(
    date(2027, 2, 8), days=10, tick_minutes=60, zone=ZoneInfo("America/Halifax")
)
BACK = (40, 60, 60, 241)  # the last: later than was looked at
PLANNED = {FULL: GRID.instant(60), LIGHT: GRID.instant(50)}


def script() -> Script:
    usual: dict[str, Any] = {
        "kind": "fix",
        "team": ("ana",),
        "set_up": 0,
        "one_go": False,
        "hours": 2,
    }
    tasks = (
        Made(id="one", bay="a", after=(), planned=8, end=10, **usual),
        Made(id="two", bay="b", after=(), planned=32, end=34, **usual),
    )
    people = {"ana": Spans(((8, 16), (32, 40)))}
    world = World(days=10, people=people, tasks=tasks, called=frozenset())
    return replace(script_of_world(world), closed_from=8)


def ticks(*values: int) -> Any:
    return np.array(values, dtype=np.int64)


def played(*back: int) -> Played:
    """Return four futures: `two` held full service in all but the last."""
    return Played(
        starts={"one": ticks(8, 8, 8, 8), "two": ticks(32, 32, 32, 32)},
        ends={"one": ticks(10, 10, 10, 10), "two": ticks(34, 34, 34, 34)},
        returns={LIGHT: ticks(*back) - 10, FULL: ticks(*back)},
        held_by={"one": ticks(-1, -1, -1, -1), "two": ticks(0, 0, -1, -1)},
        held_for={"one": ticks(0, 0, 0, 0), "two": ticks(1, 1, 2, 1)},
        holders=(
            (Holder.OTHER, ""),
            (Holder.PERSON, "ana"),
            (Holder.WAIT, "paint dry+extra"),
            (Holder.WAIT, "paint dry"),
        ),
        last=ticks(1, 1, 1, 0),
        last_for=ticks(0, 0, 0, 3),
        overtime=ticks(0, 0, 2, 4),
    )


def booking(start: int, *, hours: int = 10, title: str = "shoot") -> tuple[Busy, Spans]:
    entry = Busy(
        start=GRID.instant(start).astimezone(UTC),
        end=GRID.instant(start + hours).astimezone(UTC),
        kind="busy",
        title=title,
        file="client.ics",
        uid=title,
    )
    return entry, Spans(((start, start + hours),))


CREW = instance(
    task("one", 2, "ana", "bo", leads=("ana",)),
    task("two", 2, "bo"),
    task("three", 2, "cy", leads=("cy",)),
    people=(person("ana"), person("bo"), person("cy")),
)


def member(id_: str, *trades: str) -> CrewMember:
    return CrewMember(id=id_, name=id_.title(), trades=trades, shifts=(), rest_h=11)


@pytest.fixture
def problem(tmp_path: Path) -> Problem:
    """A problem of which nothing but what is tallied is stated."""
    job = read_job(job_file(tmp_path))
    job = replace(
        job,
        sure_percent=75,
        rates=replace(job.rates, stage_per_day=100.0),
        crew=(
            member("ana", "painter", "finisher"),
            member("bo", "finisher", "painter"),
            member("cy", "labourer"),
        ),
    )
    nothing: Any = None
    return Problem(
        job=job,
        work=nothing,
        grid=GRID,
        air=nothing,
        products={},
        open={},
        booked=(),
        quiet=(),
        instance=CREW,
        facts={},
        lookups={},
        waits={},
    )


Told = Callable[..., Odds]


@pytest.fixture
def told(monkeypatch: pytest.MonkeyPatch, problem: Problem) -> Told:
    """Return the odds of a problem whose futures are stated."""

    def odds(
        by_draws: Callable[[Draws, Problem], Played] = lambda *_: played(*BACK),
        *,
        changed: Problem = problem,
        booked: tuple[tuple[Busy, Spans], ...] = (),
        threats: bool = False,
        spread: Spread = STILL,
        **more: Any,
    ) -> Odds:
        asked: list[Problem] = []

        def written(one: Problem, *_: object) -> Script:
            asked.append(one)
            return script()

        monkeypatch.setattr(tally, "series_of", lambda *_: (None,))
        monkeypatch.setattr(tally, "script_of", written)
        monkeypatch.setattr(
            tally, "play", lambda _, draws, *over: by_draws(draws, asked[-1])
        )
        inputs: Any = SimpleNamespace(kept=None)
        return tally.odds_of(
            inputs,
            replace(changed, booked=booked),
            (place("one", 8, 10, "ana"),),
            spread,
            planned=PLANNED,
            seed=3,
            futures=4,
            threats=threats,
            step=lambda _: None,
            **more,
        )

    return odds


def test_a_return_is_kept_by_those_who_are_back_at_the_hour_it_was_planned(told):
    """Back at 40, 60, 60 and 241: three by 60; the last 181 hours late."""
    found = {r.kind: r for r in told().returns}
    full = found[FULL]
    assert full.planned == GRID.instant(60)
    assert full.kept_frac == 0.75
    assert full.late_days == pytest.approx(181 / 4 / 24)
    assert [(c.percent, c.when) for c in full.by] == [
        (50, GRID.instant(60)),
        (75, GRID.instant(60)),  # asked by the job
        (80, None),  # later than was looked at
        (95, None),
    ]
    # ten hours sooner each, and planned for 50
    assert found[LIGHT].kept_frac == 0.75
    assert found[LIGHT].by[0].when == GRID.instant(50)


def test_a_curve_rises_at_each_return_that_was_looked_at(told):
    at_the_end = played(40, 60, 240, 241)
    full = next(c for c in told(lambda *_: at_the_end).curves if c.kind is FULL)
    assert full.when == (GRID.instant(40), GRID.instant(60), GRID.instant(240))
    assert full.frac == (0.25, 0.5, 0.75)


def test_a_booking_is_met_by_who_is_still_in_the_stage_when_it_begins(told):
    """Back at the hour at which it begins is in time; one before the closure is over."""
    met, just, later = (
        booking(59),
        booking(60, title="just"),
        booking(230, title="late"),
    )
    before, last = (
        booking(0, hours=8, title="before"),
        booking(1, hours=8, title="begun"),
    )
    found = told(booked=(met, just, later, before, last)).collisions
    assert [(c.words, c.frac) for c in found] == [
        ('"shoot" (client.ics)', 0.75),
        ('"just" (client.ics)', 0.25),
        ('"late" (client.ics)', 0.25),
        ('"begun" (client.ics)', 1.0),
    ]
    assert (found[0].start, found[0].end) == (met[0].start, met[0].end)
    nobody = told(lambda *_: played(40, 60, 60, 60), booked=(just,)).collisions
    assert nobody == ()


def test_late_days_of_the_stage_cost_its_rate_and_days_gained_nothing_back(
    told, problem
):
    """Planned on the third day: back on the second, the third twice, the tenth."""
    assert told().late_cost == pytest.approx(100 * 7 / 4)
    at_midnight = told(lambda *_: played(60, 60, 72, 73))  # 72 still is the third
    assert at_midnight.late_cost == pytest.approx(100 / 4)
    rates = replace(problem.job.rates, stage_per_day=None)
    free = replace(problem, job=replace(problem.job, rates=rates))
    assert told(changed=free).late_cost is None


@pytest.mark.parametrize(
    ("by", "frac"),
    [
        (timedelta(hours=59, minutes=59), 0.25),
        (timedelta(hours=60), 0.75),
        (timedelta(hours=60, minutes=30), 0.75),
        (timedelta(days=30), 0.75),  # nobody knows when the fourth is back
    ],
)
def test_the_day_it_is_wanted_by_counts_to_the_hour(told, problem, by, frac):
    wanted = replace(problem, job=replace(problem.job, back_by=GRID.start + by))
    found = told(changed=wanted).wanted
    assert found is not None
    assert (found.by, found.frac) == (GRID.start + by, frac)
    assert told().wanted is None


def test_what_held_full_service_is_followed_back_from_task_to_task(told):
    """`two` was last in three futures; in two of them it waited for `one`."""
    odds = told()
    assert [(h.task, h.frac) for h in odds.held] == [("one", 0.75), ("two", 0.75)]
    # ana held `two` in two futures; in the last `two` wasn't on the way. Both waits for
    # paint are one: in the third future and in the last.
    assert [(h.holder, h.name, h.frac) for h in odds.held_for] == [
        (Holder.PERSON, "ana", 0.5),
        (Holder.WAIT, "paint dry", 0.5),
    ]


def test_overtime_is_the_mean_of_all_futures_in_hours(told):
    assert told().overtime_h == pytest.approx((0 + 0 + 2 + 4) / 4)


def without_pace(draws: Draws, _: Problem) -> Played:
    """Return futures that are a day sooner where all work goes at its planned pace."""
    return played(16, 36, 36, 217) if Threat.PACE in draws.planned else played(*BACK)


def test_a_cause_wins_the_days_that_are_won_without_it(told):
    """Each is a day sooner but the last, which counts from where nobody looked on.

    240 - 217 is 23 hours, of the tenth day still: three of four touch a day less.
    """
    found = told(without_pace, threats=True).threats
    assert [t.threat for t in found] == [t for t in Threat if t not in RARE]
    pace, *rest = found
    assert pace.days == pytest.approx((24 + 24 + 24 + 23) / 4 / 24)
    assert pace.cost == pytest.approx(100 * 3 / 4)
    assert pace.without == GRID.instant(36)
    # the same futures come again whatever else is drawn anew: all hangs on each
    assert {t.share_frac for t in found} == {1.0}
    assert {(t.days, t.cost, t.without) for t in rest} == {(0, 0, GRID.instant(60))}


def test_damaged_pieces_and_late_bookings_are_told_where_the_job_has_them(told):
    """Of what never happens, nothing is told: it would be played for nothing."""
    rare = replace(STILL, damaged_chance=0.1, overrun_chance=0.1)
    found = told(without_pace, threats=True, spread=rare).threats
    assert [t.threat for t in found] == list(Threat)
    one = told(without_pace, threats=True, spread=replace(rare, damaged_chance=0.0))
    assert {t.threat for t in one.threats} == {*Threat} - {Threat.DAMAGE}


def test_causes_are_told_without_shares_or_not_at_all(told):
    few = told(without_pace, threats=True, shares=False)
    assert len(few.threats) == len(Threat) - len(RARE)
    assert {t.share_frac for t in few.threats} == {None}
    assert few.more == ()
    none = told(without_pace, threats=True, over=lambda: True)
    assert (none.threats, none.more) == ((), ())
    asked = iter([False] * 3 + [True] * 9)
    some = told(without_pace, threats=True, over=lambda: next(asked))
    assert some.threats == ()  # over before the last of them


def test_one_more_is_tried_of_each_kind_of_person_once(told):
    """Ana and Bo have the same trades, in whatever order."""

    def sooner(_: Draws, asked: Problem) -> Played:
        more = {p.id for p in asked.instance.people} - {"ana", "bo", "cy"}
        return played(16, 36, 36, 216) if more == {"+cy"} else played(*BACK)

    one, other = told(sooner, threats=True).more
    assert (one.like, one.days, one.when) == ("ana", 0, GRID.instant(60))
    assert (other.like, other.days, other.when) == ("cy", 1, GRID.instant(36))


def test_one_more_may_do_and_lead_what_the_other_may(problem):
    tasks = {t.id: t for t in tally.with_one_more(problem, "ana").instance.tasks}
    assert (tasks["one"].eligible, tasks["one"].leads) == (
        ("ana", "bo", "+ana"),
        ("ana", "+ana"),
    )
    assert (tasks["two"].eligible, tasks["two"].leads) == (("bo",), None)
    assert (tasks["three"].eligible, tasks["three"].leads) == (("cy",), ("cy",))
    new = tally.with_one_more(problem, "bo").instance.people[-1]
    assert new == replace(CREW.people[1], id="+bo")
