"""What is shown without the solver about how early a return can be.

Tests of planner/schedule/check/verify.py, planner/schedule/space/bounds.py,
planner/schedule/space/narrowed.py, planner/schedule/space/reach.py,
planner/schedule/space/windows.py.
"""

from dataclasses import replace

import pytest

from planner.schedule.climb.solve import SearchLimits, solve
from planner.schedule.problem.instance import Instance
from planner.schedule.problem.outcome import Planned
from planner.schedule.problem.parts import Activity, AimKind, Demand, Link, Pool
from planner.schedule.space.bounds import Floor, least_at_once
from planner.schedule.space.narrowed import Cuts
from planner.schedule.space.search_space import make_space
from planner.schedule.space.windows import narrow
from tests.benchmarks.jobs import SIZES, made_job
from tests.support.schedule import block, closure, instance, person, plan_of, task, wait
from tests.support.small import best_by_trial, small_instance


def least(problem: Instance, aim: AimKind = AimKind.LAST_RETURN) -> int:
    """Return what is shown at once about an aim."""
    floor = Floor(make_space(problem))
    return floor.least(Cuts(), aim, 0, 2 * problem.horizon)


def test_the_work_of_two_people_takes_half_the_ticks():
    # 3 + 4 + 5 = 12 ticks of work for two people who are always there: 6 ticks at
    # least, and 3 + 4 beside 5 takes 7; the count of ticks alone shows 6
    three = (task("a", 3, "ann", "bo"), task("b", 4, "ann", "bo"))
    problem = instance(
        *three, task("c", 5, "ann", "bo"), people=(person("ann"), person("bo"))
    )
    assert least(problem) == 6


def test_it_is_tight_where_one_person_does_all_the_work_between_absences():
    # ann is open from 0 to 4 and from 10 on: of 3 + 3 ticks, 4 lie before 4 and 2 from
    # 10 to 12; the windows of each task alone would allow an end at 3
    ann = person("ann", (0, 4), (10, 20))
    problem = instance(task("a", 3, "ann"), task("b", 3, "ann"), people=(ann,))
    assert least(problem) == 12
    assert max(p.end for p in plan_of(problem).values()) == 12


def test_it_counts_work_that_must_lie_between_two_waits():
    # of each of two: ann sands for 2 ticks, a machine coats for 1, it dries for 5, bo
    # wipes for 3. Nothing is dry before 2 + 1 + 5 = 8; from there on bo has 6 ticks to
    # do: 14
    tasks: list[Activity] = []
    links: list[Link] = []
    for k in "12":
        tasks += [task(f"sand{k}", 2, "ann"), task(f"coat{k}", 1)]
        tasks += [task(f"wipe{k}", 3, "bo")]
        links += [
            Link(before=f"sand{k}", after=f"coat{k}"),
            Link(before=f"coat{k}", after=f"wipe{k}", wait="dry"),
        ]
    problem = instance(
        *tasks,
        people=(person("ann"), person("bo")),
        lookups=(wait("dry", 5),),
        links=tuple(links),
    )
    assert least(problem) == 14
    assert max(p.end for p in plan_of(problem).values()) == 14


def test_a_tool_of_which_there_is_one_counts_like_a_person():
    sanders = Pool(id="sander", capacity=1)
    tasks = [
        task(name, 4, name, demands=(Demand(pool="sander"),)) for name in ("ann", "bo")
    ]
    problem = instance(*tasks, people=(person("ann"), person("bo")), pools=(sanders,))
    assert least(problem) == 8


def test_the_length_of_a_closure_that_begins_at_a_fixed_time_is_bounded_too():
    # a can only start at 2: 3 ticks, 5 of drying and 3 ticks of b make 11
    problem = instance(
        task("a", 3, "ann", no_start=(block("late", (0, 2), (3, 20)),)),
        task("b", 3, "ann"),
        people=(person("ann"),),
        lookups=(wait("dry", 5),),
        links=(Link(before="a", after="b", wait="dry"),),
        closures=(closure("a", "b"),),
        aims=(AimKind.CLOSED,),
    )
    assert least(problem, AimKind.CLOSED) == 11


AIMS = (AimKind.LAST_RETURN, AimKind.RETURNS, AimKind.CLOSED)


# Of the seeds from 2000 on, those whose instance has a plan, by trying everything.
PLANNED = (2003, 2005, 2006, 2008, 2009, 2010, 2011, 2013, 2017)


@pytest.mark.parametrize("seed", PLANNED)
@pytest.mark.parametrize("aim", AIMS)
def test_nothing_better_than_the_bound_is_found_by_trying_everything(seed, aim):
    problem = replace(small_instance(seed), aims=(aim,))
    best = best_by_trial(problem)
    assert best is not None, "choose another seed: this one has no plan"
    assert least(problem, aim) <= best[0]


@pytest.mark.parametrize("seed", range(4))
def test_the_bound_of_a_building_job_lies_below_its_proven_best(seed):
    job = made_job(SIZES["45"], seed)
    outcome = solve(job, limits=SearchLimits(work=2.0))
    assert isinstance(outcome, Planned)
    assert outcome.aims[0].proven
    by_windows = least_at_once(narrow(make_space(job)), AimKind.LAST_RETURN)
    assert by_windows <= least(job) <= outcome.aims[0].value
