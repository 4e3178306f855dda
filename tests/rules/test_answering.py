"""From a case to an answer: which grid comes next, and what is said where none holds.

What poses, searches and explains is made up here; each case says what it comes to.

Tests of planner/planning/answering.py, planner/planning/horizons.py,
planner/planning/searching.py.
"""

import time
from datetime import date
from types import SimpleNamespace
from typing import Any, cast

import pytest

from planner.errors import NoPlanError, TimeUpError
from planner.hours.grid import Grid
from planner.nouns.case import ANY_TIME, Case
from planner.planning import answering
from planner.planning.answering import answer
from planner.planning.horizons import HORIZON_WEEKS, grid_of
from planner.planning.problem import Problem
from planner.planning.rounds import NotHeld, Settled
from planner.planning.searching import Search, solved, time_up
from planner.schedule.climb import solve as climb
from planner.schedule.problem.limits import SearchLimits
from planner.schedule.problem.outcome import (
    NoPlan,
    Outcome,
    Placement,
    Planned,
    Progress,
    TimeUp,
)
from planner.schedule.problem.parts import AimKind
from tests.support.ics import HALIFAX
from tests.support.schedule import place

PLAN = Planned(placements=(), aims=())
NONE = NoPlan(facts=(), minimal=False)
SOME = TimeUp(some_teams=True)
ANY = Search(limits=SearchLimits())


@pytest.fixture
def steps(monkeypatch):
    """Return a function that answers a case whose searches end as told, grid by grid.

    It returns what was done, in order: (step, weeks of the problem or what it got).
    """
    done: list[tuple[str, Any]] = []

    def run(*ends: Outcome, room: bool = False, damp: Any = None, search=ANY) -> Any:
        done.clear()
        job = SimpleNamespace(climate="a room" if room else None)
        case = SimpleNamespace(
            inputs=SimpleNamespace(job=job, kept=None),
            fingerprint="of the case",
            window=ANY_TIME,
        )
        outcomes = iter(ends)

        def posed(_case, *, weeks):
            return SimpleNamespace(weeks=weeks, work=SimpleNamespace(tasks="tasks"))

        class Rounds:
            def __init__(self, _case, problem, _search) -> None:
                self.problem = problem
                self.least = f"each coat alone for {problem.weeks}"

            def settled(self):
                end = next(outcomes)
                if damp and self.problem.weeks in damp:
                    return NotHeld(damp=damp[self.problem.weeks])
                if not isinstance(end, Planned):
                    return end if end is SOME else None
                return Settled(problem=self.problem, found=end, rounds=3)

        def solved(problem, _search):
            done.append(("solved", problem.weeks))
            return next(outcomes)

        def refuse_at_once(problem, _takeoff, longest):
            done.append(("refused", (problem.weeks, longest().weeks)))

        def checked(problem, found, **more):
            return ("checked", problem.weeks, found, more)

        def no_plan(_inputs, problem, _search):
            return NoPlanError(
                "none", conflict=(f"{getattr(problem, 'weeks', problem)}",)
            )

        def not_held(_inputs, problem, found):
            return NoPlanError("damp", conflict=(f"{problem.weeks} {found}",))

        for name, fake in {
            "posed": posed, "takeoff_of": lambda _: None, "AirRounds": Rounds,
            "refuse_at_once": refuse_at_once, "solved": solved, "checked": checked,
            "no_plan": no_plan, "not_held": not_held,
        }.items():  # fmt: skip
            monkeypatch.setattr(answering, name, fake)
        return answer(cast(Case, case), search)

    return SimpleNamespace(run=run, done=done)


def test_grids_grow_to_a_year_until_one_holds_a_plan(steps):
    assert HORIZON_WEEKS == (6, 13, 26, 53)  # 53 weeks hold any date of a year
    found = steps.run(NONE, NONE, PLAN)
    assert found[:3] == ("checked", 26, PLAN)
    assert found[3]["fingerprint"] == "of the case"
    assert found[3]["rounds"] == 0
    assert [n for step, n in steps.done if step == "solved"] == [6, 13, 26]
    # what no plan can do is asked of each grid, work in one go of the longest
    assert ("refused", (6, 53)) in steps.done
    assert ("refused", (26, 53)) in steps.done


def test_where_the_job_describes_the_room_planning_goes_in_rounds(steps):
    found = steps.run(NONE, PLAN, room=True)
    assert (found[1], found[3]["rounds"]) == (13, 3)


def test_a_job_without_a_plan_is_told_why_within_thirteen_weeks(steps):
    with pytest.raises(NoPlanError) as error:
        steps.run(*[NONE] * 4)
    assert error.value.conflict == ("13",)
    with pytest.raises(NoPlanError) as error:
        steps.run(*[NONE] * 4, room=True)
    assert error.value.conflict == ("each coat alone for 13",)


def test_a_coat_that_found_no_place_in_the_damp_is_told_of_the_last_grid_it_had(steps):
    damp = {6: "early", 13: "late"}
    with pytest.raises(NoPlanError) as error:
        steps.run(*[NONE] * 4, room=True, damp=damp)
    assert error.value.conflict == ("13 late",)
    # something else left it no room: that isn't said to be a proof either
    with pytest.raises(NoPlanError, match="damp"):
        steps.run(*[NONE] * 4, room=True, damp={13: None})


@pytest.mark.parametrize("room", [True, False])
def test_where_not_all_teams_were_weighed_there_may_be_a_plan(steps, room):
    assert steps.run(SOME, PLAN, room=room)[1] == 13
    with pytest.raises(TimeUpError, match="too many teams"):
        steps.run(NONE, SOME, NONE, NONE, room=room)


def test_time_that_is_up_ends_the_search_with_a_plan_or_without(steps):
    over = Search(limits=SearchLimits(), stop=lambda: True)
    assert steps.run(PLAN, search=over)[1] == 6
    with pytest.raises(TimeUpError, match="no plan was found"):
        steps.run(NONE, search=over)
    with pytest.raises(TimeUpError, match="no plan was found"):
        steps.run(TimeUp())
    assert str(time_up().hint) == "give more time with --seconds or --work-limit"
    assert "no plan was found" in time_up(TimeUp()).message


def test_a_grid_has_whole_weeks_of_the_jobs_steps():
    job: Any = SimpleNamespace(earliest=date(2027, 2, 8), tick_minutes=30, zone=HALIFAX)
    grid = grid_of(job, weeks=3)
    assert (grid.ticks, grid.tick_minutes) == (3 * 7 * 48, 30)


# ----------------------------------------------------------------------- the search


@pytest.mark.parametrize(
    ("clock_s", "stop", "why"),
    [
        (None, None, ""),
        (60.0, lambda: False, ""),
        (0.0, lambda: False, "clock limit"),
        (None, lambda: True, "interrupted"),
    ],
)
def test_why_a_search_is_to_stop_is_said_as_the_engine_does(clock_s, stop, why):
    search = Search(limits=SearchLimits(clock_s=clock_s), stop=stop)
    assert search.why_over() == why
    assert search.over() is bool(why)


def test_a_search_is_late_only_after_its_grace():
    ended = Search(limits=SearchLimits(until_s=time.monotonic() - 5.0))
    assert ended.late(1.0)
    assert not ended.late(30.0)
    assert not Search(limits=SearchLimits()).late(0.0)


def test_whoever_is_told_hears_of_the_round_and_sees_each_plan(monkeypatch):
    heard: list[Any] = []
    grid = Grid.from_day(date(2027, 2, 8), days=1, tick_minutes=15, zone=HALIFAX)
    problem = cast(Problem, SimpleNamespace(instance="rules", grid=grid))
    progress = Progress(elapsed_s=1.0, aim=AimKind.CALLS, best=3, bound=2)
    placed: tuple[Placement, ...] = (place("a", 0, 1),)

    def engine(instance, *, limits, on_progress, on_found, stop, explain, given):
        assert (instance, explain) == ("rules", False)
        heard.append((limits.work, given, stop))
        if on_progress is not None:
            on_progress(progress)
            on_found(placed)
        return PLAN

    monkeypatch.setattr(climb, "solve", engine)
    search = Search(
        limits=SearchLimits(work=2.0),
        on_progress=lambda *told: heard.append(told),
        on_found=lambda *told: heard.append(told),
        stop=bool,
    )
    given = {AimKind.CALLS: 3}
    assert solved(problem, search, round_number=4, given=given) is PLAN
    first, (told, where), found = heard
    assert first == (2.0, given, bool)
    assert (told.round, told.best, told.aim) == (4, 3, AimKind.CALLS)
    assert where is grid
    assert found == (problem, placed)
    heard.clear()
    assert solved(problem, search) is PLAN
    assert heard[1][0].round == 0  # where one plan takes no several searches
    assert solved(problem, ANY) is PLAN  # whoever isn't told
