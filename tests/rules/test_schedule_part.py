"""A part of a problem: what its best plan is, told by trying every plan of the whole.

Tests of planner/schedule/climb/part.py, planner/schedule/climb/left.py.
"""

from collections.abc import Iterator
from dataclasses import replace
from itertools import combinations

import pytest

from planner.hours.spans import Spans
from planner.schedule.check.verify import values, verify
from planner.schedule.climb.part import part_of, with_what_depends
from planner.schedule.cp.search import Verdict, run_solver
from planner.schedule.first.greedy import Seats, first_plan
from planner.schedule.first.naming import placements_of
from planner.schedule.problem.instance import Instance
from planner.schedule.problem.limits import SearchLimits, Watch
from planner.schedule.problem.outcome import Placement
from planner.schedule.problem.parts import (
    Activity,
    AimKind,
    Closure,
    Demand,
    Link,
    Mode,
    Person,
    Pool,
    Term,
)
from planner.schedule.space.search_space import SearchSpace, make_space
from planner.schedule.space.windows import narrow
from tests.support.small import every_plan, small_instance

# Of the seeds from 3000 on, those with few plans and a first attempt that succeeds.
FEW = (3000, 3002, 3003, 3004, 3007, 3008, 3009, 3010)
MORE = (3013, 3014, 3016, 3021, 3022, 3023, 3024, 3025, 3027)


def begun(problem: Instance) -> tuple[SearchSpace, Seats]:
    """Return the space of a problem and a first plan of it."""
    space = make_space(problem)
    seats = first_plan(narrow(space), passes=1)
    assert seats is not None, "choose another seed: this one has no first plan"
    return space, seats


def free_sets(space: SearchSpace) -> Iterator[set[int]]:
    """Yield each set of tasks that may move while the others stay."""
    count = len(space.tasks)
    for size in range(1, count):
        for chosen in combinations(range(count), size):
            if with_what_depends(space, set(chosen)) == set(chosen):
                yield set(chosen)


def best_of_part(
    space: SearchSpace, seats: Seats, free: set[int], aim: AimKind, *, whole: bool
) -> Seats:
    """Return the best plan in which only the free tasks move, by the solver."""
    part = part_of(space, seats, free, whole=whole)
    run = run_solver(
        narrow(part.space),
        part.seats_here(seats),
        aim=aim,
        settled=(),
        work=5.0,
        watch=Watch(SearchLimits(), None),
    )
    assert run.verdict is Verdict.BEST
    assert run.seats is not None
    return part.seats_there(seats, run.seats)


def where(space: SearchSpace, placed: Placement) -> tuple[int, int, tuple[int, ...]]:
    """Return a task's number, start and team; people who are alike count as one."""
    alike = {p: g for g, group in enumerate(space.groups) for p in group.members}
    team = tuple(sorted(alike[p] for p in placed.team))
    return space.number[placed.task], placed.start, team


@pytest.mark.parametrize(
    "seed", [*FEW, *(pytest.param(s, marks=pytest.mark.slow) for s in MORE)]
)
@pytest.mark.parametrize("aim", [AimKind.LAST_RETURN, AimKind.CLOSED])
def test_a_part_has_the_best_plan_in_which_the_others_stay(seed, aim):
    problem = replace(small_instance(seed), aims=(aim,))
    space, seats = begun(problem)
    plans = [
        ({where(space, p) for p in plan}, values(problem, plan)[aim])
        for plan in every_plan(problem)
    ]
    here = [where(space, p) for p in placements_of(space, seats)]
    for free in free_sets(space):
        still = {w for w in here if w[0] not in free}
        best = min(
            value
            for plan, value in plans
            if {w for w in plan if w[0] not in free} == still
        )
        for whole in (False, True):
            found = placements_of(
                space, best_of_part(space, seats, free, aim, whole=whole)
            )
            assert verify(problem, found) == ()
            assert {w for p in found if (w := where(space, p))[0] not in free} == still
            assert values(problem, found)[aim] == best, (free, whole)


def hands(tasks: int, *, people: int, bays: int) -> Instance:
    """Return a problem of alike tasks of two ticks, done by alike people in a bay."""
    names = tuple(f"p{k}" for k in range(people))
    horizon = 2 * tasks
    return Instance(
        horizon=horizon,
        tasks=tuple(
            Activity(
                id=f"t{k}",
                modes=(Mode(size=1, ticks=2),),
                eligible=names,
                demands=(Demand(pool="bay"),),
            )
            for k in range(tasks)
        ),
        people=tuple(Person(id=p, open=Spans(((0, horizon),))) for p in names),
        pools=(Pool(id="bay", capacity=bays),),
        closures=(
            Closure(
                id="c",
                tasks=tuple(f"t{k}" for k in range(tasks)),
                terms=tuple(Term(task=f"t{k}") for k in range(tasks)),
            ),
        ),
    )


@pytest.mark.parametrize(("people", "bays"), [(2, 3), (3, 2)])
def test_what_others_take_of_alike_people_and_of_a_bay_is_taken(people, bays):
    problem = hands(6, people=people, bays=bays)
    space, seats = begun(problem)
    # six tasks two at a time take six ticks; the first plan has them so
    assert values(problem, placements_of(space, seats))[AimKind.LAST_RETURN] == 6
    late = {t for t, seat in seats.items() if seat.end == 6}
    part = part_of(space, seats, late)
    assert len(part.tasks) < len(space.tasks)
    found = best_of_part(space, seats, late, AimKind.LAST_RETURN, whole=False)
    assert verify(problem, placements_of(space, found)) == ()
    assert max(seat.end for seat in found.values()) == 6


def test_a_part_of_a_long_chain_is_as_small_as_what_may_move():
    chain = hands(30, people=1, bays=1)
    links = tuple(Link(before=f"t{k}", after=f"t{k + 1}") for k in range(29))
    space, seats = begun(replace(chain, links=links))
    part = part_of(space, seats, {space.number["t7"], space.number["t8"]})
    names = [t.id for t in part.space.tasks]
    # the first and the last of the chain bound the closure
    assert names == ["t0", "t29", "t7", "t8"]
    assert [k.link.before for k in part.space.ties] == ["t7"]
