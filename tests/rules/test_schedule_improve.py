"""Rounds that free some tasks and keep the others: never worse, and better from afar.

Tests of planner/schedule/climb/improve.py, planner/schedule/first/greedy.py,
planner/schedule/first/naming.py, planner/schedule/first/orders.py,
planner/schedule/first/placing.py, planner/schedule/first/tables.py.
"""

from dataclasses import replace

import pytest

from planner.schedule.check.verify import values, verify
from planner.schedule.climb.improve import Rounds
from planner.schedule.climb.solve import solve
from planner.schedule.first.greedy import Seats, first_plan
from planner.schedule.first.naming import placements_of
from planner.schedule.problem.instance import Instance
from planner.schedule.problem.limits import SearchLimits, Watch
from planner.schedule.problem.outcome import Planned
from planner.schedule.problem.parts import AimKind
from planner.schedule.space.bounds import Floor
from planner.schedule.space.narrowed import Cuts
from planner.schedule.space.search_space import SearchSpace, make_space
from planner.schedule.space.windows import narrow
from tests.benchmarks.jobs import SIZES, made_job
from tests.support.small import best_by_trial, small_instance

LAST = AimKind.LAST_RETURN
AMPLE = 5.0


def rounds_for(problem: Instance, space: SearchSpace, watch: Watch) -> Rounds:
    """Return rounds for the last return of a problem."""
    return Rounds(
        space,
        lambda value: Cuts(returns={c.id: value for c in problem.closures}),
        aim=LAST,
        settled=(),
        value_of=lambda seats: last_return(problem, space, seats),
        watch=watch,
    )


def last_return(problem: Instance, space: SearchSpace, seats: Seats) -> int:
    """Return a plan's last return, counted without the engine's search."""
    return values(problem, placements_of(space, seats))[LAST]


# Of the seeds from 3000 on, those whose instance has a plan, by trying everything, and
# for which the first attempt at one succeeds.
BEGUN = (
    *(3000, 3002, 3003, 3004, 3007, 3008, 3009, 3010, 3013),
    *(3014, 3016, 3021, 3022, 3023, 3024, 3025, 3027),
)


@pytest.mark.parametrize("seed", BEGUN)
def test_rounds_give_a_plan_that_keeps_every_rule_and_is_no_worse(seed):
    problem = replace(small_instance(seed), aims=(LAST,))
    best = best_by_trial(problem)
    space = make_space(problem)
    seats = first_plan(narrow(space), passes=1)
    assert best is not None, "choose another seed: this one has no plan"
    assert seats is not None, "choose another seed: this one has no first plan"
    before = last_return(problem, space, seats)
    rounds = rounds_for(problem, space, Watch(SearchLimits(), None))
    better = rounds.run(seats, bound=0, work=AMPLE, idle=3, report=lambda _: None)
    assert verify(problem, placements_of(space, better.seats)) == ()
    assert best[0] <= last_return(problem, space, better.seats) <= before


def late_start(space: SearchSpace) -> Seats:
    """Return a plan in which nothing begins in the first quarter of the time."""
    early = space.axis
    first = int(early[len(early) // 4])
    windows = narrow(
        replace(
            space,
            options=tuple(
                tuple(w.cut(early[w.starts] >= first) for w in row)
                for row in space.options
            ),
        )
    )
    seats = first_plan(windows, passes=1)
    assert seats is not None
    return seats


@pytest.mark.slow
def test_a_plan_that_begins_late_becomes_earlier():
    problem = replace(made_job(SIZES["45"], 1), aims=(LAST,))
    space = make_space(problem)
    seats = late_start(space)
    before = last_return(problem, space, seats)
    low = Floor(space).least(Cuts(), LAST, 0, before)
    told: list[int] = []
    rounds = rounds_for(problem, space, Watch(SearchLimits(), None))
    better = rounds.run(seats, bound=low, work=AMPLE, idle=8, report=told.append)
    after = last_return(problem, space, better.seats)
    assert low <= after < before
    assert told == sorted(set(told), reverse=True)
    assert told[-1] == after
    assert better.work > 0
    assert verify(problem, placements_of(space, better.seats)) == ()


@pytest.mark.slow
def test_the_same_rounds_come_to_the_same_plan():
    problem = replace(made_job(SIZES["45"], 2), aims=(LAST,))
    space = make_space(problem)
    seats = late_start(space)
    plans = [
        rounds_for(problem, space, Watch(SearchLimits(), None)).run(
            seats, bound=0, work=0.2, idle=8, report=lambda _: None
        )
        for _ in range(2)
    ]
    assert plans[0] == plans[1]


@pytest.mark.slow
def test_an_interrupt_keeps_the_best_plan_so_far():
    problem = replace(made_job(SIZES["45"], 1), aims=(LAST,))
    space = make_space(problem)
    seats = late_start(space)
    told: list[int] = []
    watch = Watch(
        SearchLimits(), lambda: bool(told)
    )  # asks to stop after the first gain
    rounds = rounds_for(problem, space, watch)
    better = rounds.run(seats, bound=0, work=AMPLE, idle=99, report=told.append)
    assert len(told) == 1
    assert watch.interrupted
    assert last_return(problem, space, better.seats) == told[0]
    assert verify(problem, placements_of(space, better.seats)) == ()


@pytest.mark.slow
def test_a_large_job_is_solved_in_rounds(monkeypatch):
    monkeypatch.setattr("planner.schedule.climb.ladder.LARGE", 10)
    problem = replace(made_job(SIZES["45"], 3), aims=(LAST, AimKind.CLOSED))
    outcome = solve(problem, limits=SearchLimits(work=0.5))
    assert isinstance(outcome, Planned)
    assert verify(problem, outcome.placements) == ()
    found = values(problem, outcome.placements)
    assert all(a.bound <= a.value == found[a.aim] for a in outcome.aims)


def test_larger_jobs_are_allowed_more_work():
    assert SearchLimits(work=4.0).work_for(45) == 4.0
    assert SearchLimits(work=4.0).work_for(90) == 4.0
    assert SearchLimits(work=4.0).work_for(540) == 24.0
    assert SearchLimits(work=0.0).work_for(540) == 0.0
