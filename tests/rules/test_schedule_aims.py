"""What is made small, each aim on the smallest job where it decides something.

Tests of planner/schedule/check/tally.py, planner/schedule/climb/ladder.py,
planner/schedule/climb/solve.py,
planner/schedule/cp/aims.py, planner/schedule/cp/call_bound.py,
planner/schedule/cp/called.py, planner/schedule/cp/model.py,
planner/schedule/cp/rules.py, planner/schedule/cp/search.py,
planner/schedule/cp/variables.py.
"""

from dataclasses import replace

import pytest

from planner.schedule.check.verify import values
from planner.schedule.climb import ladder
from planner.schedule.climb.solve import solve
from planner.schedule.cp.call_bound import least_calls
from planner.schedule.cp.called import calls
from planner.schedule.cp.model import Model
from planner.schedule.cp.rules import keep_all_rules
from planner.schedule.problem.instance import Instance
from planner.schedule.problem.limits import SearchLimits
from planner.schedule.problem.outcome import Planned, Progress
from planner.schedule.problem.parts import (
    AimKind,
    Before,
    Closure,
    Demand,
    Link,
    Pool,
    Term,
)
from planner.schedule.space.search_space import make_space
from planner.schedule.space.windows import narrow
from tests.support.schedule import closure, instance, person, plan_of, spans, task, wait


def reached(problem: Instance) -> dict[AimKind, int]:
    plan = plan_of(problem)
    return values(problem, tuple(plan.values()))


def two_stages(*aims):
    # ann does one stage's work and then the other's: 2 ticks and 5 ticks
    return instance(
        task("short", 2, "ann"),
        task("long", 5, "ann"),
        people=(person("ann"),),
        closures=(
            Closure(id="one", tasks=("short",), terms=(Term(task="short"),)),
            Closure(id="two", tasks=("long",), terms=(Term(task="long"),)),
        ),
        aims=aims,
    )


def test_last_return_looks_at_the_latest_closure_only():
    assert reached(two_stages(AimKind.LAST_RETURN))[AimKind.LAST_RETURN] == 7


def test_sum_of_returns_puts_the_short_stage_first():
    assert reached(two_stages(AimKind.RETURNS))[AimKind.RETURNS] == 2 + 7


def test_a_return_waits_for_the_last_coat_to_dry_at_night():
    problem = instance(
        task("a", 2, "ann"),
        people=(person("ann", (0, 2)),),
        lookups=(wait("dry", 9),),
        closures=(closure("a", terms=(Term(task="a", wait="dry"),)),),
    )
    assert reached(problem)[AimKind.LAST_RETURN] == 11


def test_closed_time_puts_off_what_may_wait():
    # b waits for c, which needs no closure; a may start late without harm
    def problem(*aims):
        return instance(
            task("a", 2, "ann"),
            task("b", 2, "ann"),
            task("c", 6, "bo"),
            people=(person("ann"), person("bo")),
            links=(Link(before="a", after="b"), Link(before="c", after="b")),
            closures=(closure("a", "b"),),
            aims=aims,
        )

    found = reached(problem(AimKind.LAST_RETURN, AimKind.CLOSED))
    assert (found[AimKind.LAST_RETURN], found[AimKind.CLOSED]) == (8, 4)


def test_cost_avoids_dear_ticks_and_dear_people():
    def problem(*aims):
        return instance(
            task("a", 2, "ann", "bo"),
            people=(
                person("ann", (0, 10), price=3, dear=spans((0, 4)), dear_price=5),
                person("bo", (2, 10), price=4),
            ),
            aims=aims,
        )

    # first: bo from 2 costs 8, ann from 0 costs 16; alone, ann from 4 costs 6
    assert reached(problem(AimKind.LAST_RETURN, AimKind.COST))[AimKind.COST] == 16
    assert reached(problem(AimKind.COST))[AimKind.COST] == 6


def test_cost_counts_calls_closed_ticks_hire_days_and_soft_bookings():
    problem = instance(
        task("a", 2, "ann", demands=(Demand(pool="lift"),), pays=1),
        people=(person("ann", (0, 4), (6, 10), call_price=7),),
        pools=(Pool(id="lift", day_price=20),),
        days=spans((0, 5), (6, 11)),
        closures=(closure("a", tick_price=100, soft=((0, 3, 5000), (9, 10, 50000))),),
        aims=(AimKind.COST,),
    )
    plan = plan_of(problem)
    assert plan["a"].start >= 6
    # a call, two closed ticks, a hire day and the task itself
    assert reached(problem)[AimKind.COST] == 7 + 200 + 20 + 1


def test_a_pause_over_the_weekend_hires_the_tool_for_it():
    # Saturday 6 to 10 has no open tick; the task pauses over it
    problem = instance(
        task("a", 4, "ann", demands=(Demand(pool="lift"),)),
        people=(person("ann", (3, 5), (11, 13)),),
        pools=(Pool(id="lift", day_price=20),),
        days=spans((0, 5), (6, 10), (11, 15)),
        aims=(AimKind.COST,),
    )
    assert reached(problem)[AimKind.COST] == 60


def test_calls_gather_work_into_few_shifts():
    shifts = ((0, 4), (5, 9), (10, 14))

    def problem(*aims):
        return instance(
            task("a", 2, "ann"),
            task("b", 2, "ann"),
            people=(person("ann", *shifts),),
            lookups=(wait("dry", 4),),
            links=(Link(before="a", after="b", wait="dry"),),
            aims=aims,
        )

    # dry at 6 after a call in the first shift; both fit in one only without the wait
    assert reached(problem(AimKind.CALLS))[AimKind.CALLS] == 2
    gathered = instance(
        task("a", 2, "ann"),
        task("b", 2, "ann", "bo"),
        people=(person("ann", *shifts), person("bo", *shifts)),
        aims=(AimKind.CALLS, AimKind.EARLY),
    )
    assert reached(gathered)[AimKind.CALLS] == 1


def test_being_held_by_a_pause_is_no_call():
    # bo is away in the second shift: ann is held over it but doesn't work
    shifts = ((0, 2), (4, 6), (8, 10))
    problem = instance(
        task("a", 4, "ann", "bo", size=2),
        people=(person("ann", *shifts), person("bo", (0, 2), (8, 10))),
        aims=(AimKind.CALLS,),
    )
    assert reached(problem)[AimKind.CALLS] == 4


def test_alike_people_may_both_work_in_a_shift_that_one_of_them_could_not_hold():
    # ann and bo are alike and both needed from 0 to 4; only a call of cy costs
    problem = instance(
        task("a", 4, "ann", "bo"),
        task("b", 4, "ann", "bo"),
        task("c", 1, "cy"),
        people=(
            person("ann", (0, 4)),
            person("bo", (0, 4)),
            person("cy", (0, 4), (6, 9), call_price=7),
        ),
        aims=(AimKind.LAST_RETURN, AimKind.COST),
    )
    found = reached(problem)
    assert (found[AimKind.LAST_RETURN], found[AimKind.COST]) == (4, 7)


def least_calls_of(problem: Instance) -> int:
    """Return how many calls the work alone shows to be needed."""
    windows = narrow(make_space(problem))
    m = Model(windows, None)
    keep_all_rules(m)
    called = set(calls(m))
    return max(least_calls(m, called).values())


def test_work_asks_for_as_many_calls_as_it_fills_shifts():
    shifts = ((0, 4), (5, 9), (10, 14), (15, 19))
    people = (person("ann", *shifts), person("bo", *shifts))

    def least(*tasks, links=()):
        return least_calls_of(
            instance(*tasks, people=people, links=links, aims=(AimKind.CALLS,))
        )

    # 8 ticks fill two shifts of 4, a ninth asks for another
    assert least(task("a", 5, "ann", "bo"), task("b", 3, "ann", "bo")) == 2
    assert least(task("a", 5, "ann", "bo"), task("b", 4, "ann", "bo")) == 3
    # what only ann can do asks for her three times, and the rest for bo once
    assert least(task("a", 9, "ann"), task("b", 1, "bo")) == 4
    # two people at a time are two calls, however short the work
    assert least(task("a", 1, "ann", "bo", size=2)) == 2


def test_work_in_days_apart_asks_for_a_call_in_each():
    shifts = ((0, 4), (5, 9), (10, 14))
    problem = instance(
        task("a", 1, "ann"),
        task("b", 1, "ann"),
        people=(person("ann", *shifts),),
        lookups=(wait("dry", 9),),
        links=(Link(before="a", after="b", wait="dry"),),
        aims=(AimKind.CALLS,),
    )
    # dry at 10 at the earliest: a lies in the first shift, b in the third
    assert least_calls_of(problem) == 2
    assert reached(problem)[AimKind.CALLS] == 2


@pytest.mark.parametrize("alike", [("ann",), ("ann", "al")])
def test_who_only_waits_in_a_shift_is_not_called_in_it(alike):
    shifts = ((0, 4), (5, 8), (9, 13))
    problem = instance(
        # with cy away in the second shift, the lift begun in the first pauses over it
        task("lift", 6, *alike, "di", "cy", size=2, leads=("cy",)),
        people=(
            *(person(name, *shifts, call_price=10) for name in alike),
            person("di", (0, 4), (9, 13), call_price=12),
            person("cy", (0, 4), (9, 13)),
        ),
        aims=(AimKind.COST,),
    )
    # called twice; were the wait a call, di would be the cheaper with 24
    assert reached(problem)[AimKind.COST] == 2 * 10


def test_as_many_alike_are_called_as_work_at_one_time():
    shifts = ((0, 4), (5, 9))
    names = ("ann", "bo", "cy", "dee")
    problem = instance(
        *(task(name, 2, *names) for name in ("a", "b", "c", "d")),
        people=tuple(person(name, *shifts) for name in names),
        aims=(AimKind.LAST_RETURN, AimKind.CALLS),
    )
    assert reached(problem)[AimKind.LAST_RETURN] == 2
    assert reached(problem)[AimKind.CALLS] == 4
    later = replace(problem, aims=(AimKind.CALLS,))
    # 8 ticks: two people for one shift, or one for two
    assert reached(later)[AimKind.CALLS] == 2


def test_change_keeps_starts_and_people():
    def problem(*aims, team=("bo",)):
        return instance(
            task("a", 2, "ann", "bo"),
            people=(person("ann"), person("bo", (6, 20))),
            agreed=(Before(task="a", start=5, team=team),),
            aims=aims,
        )

    # bo a tick later costs 1; ann at 5 costs two changed people
    assert reached(problem(AimKind.CHANGE))[AimKind.CHANGE] == 1
    assert reached(problem(AimKind.CHANGE, team=("ann",)))[AimKind.CHANGE] == 0


def test_early_pulls_every_task_forward():
    def problem(*aims):
        return instance(
            task("a", 2, "ann"),
            task("b", 2, "bo"),
            task("c", 6, "cy"),
            people=(person("ann"), person("bo"), person("cy")),
            aims=aims,
        )

    assert reached(problem(AimKind.EARLY))[AimKind.EARLY] == 2 + 2 + 6


def test_tidy_does_not_begin_long_before_it_must():
    # the sanding that needs no closure leads to it, and belongs to the first call
    problem = instance(
        task("sand", 2, "bo"),
        task("a", 2, "ann"),
        people=(person("ann", (10, 20)), person("bo")),
        links=(Link(before="sand", after="a"),),
        closures=(closure("a"),),
        aims=(AimKind.LAST_RETURN, AimKind.TIDY),
    )
    assert reached(problem)[AimKind.TIDY] == 4


def test_an_optional_task_is_left_out_where_it_only_costs():
    problem = instance(
        task("a", 2, "ann"),
        task("extra", 2, "ann", optional=True, pays=9),
        people=(person("ann"),),
        aims=(AimKind.COST,),
    )
    assert set(plan_of(problem)) == {"a"}


def test_aims_come_in_their_order():
    def problem(*aims):
        return instance(
            task("a", 2, "ann", "bo"),
            people=(person("ann", price=5), person("bo", (3, 20), price=1)),
            aims=aims,
        )

    first = reached(problem(AimKind.LAST_RETURN, AimKind.COST))
    assert (first[AimKind.LAST_RETURN], first[AimKind.COST]) == (2, 10)
    second = reached(problem(AimKind.COST, AimKind.LAST_RETURN))
    assert (second[AimKind.LAST_RETURN], second[AimKind.COST]) == (5, 2)


def test_progress_ends_at_the_proven_value():
    seen: list[Progress] = []
    problem = instance(
        *(task(f"t{k}", k + 1, "ann", "bo") for k in range(5)),
        people=(person("ann"), person("bo")),
        aims=(AimKind.LAST_RETURN,),
    )
    outcome = solve(problem, on_progress=seen.append)
    assert isinstance(outcome, Planned)
    # five tasks of 1 to 5 ticks share 15 ticks between two people
    assert outcome.aims[0].value == outcome.aims[0].bound == 8
    assert seen
    assert min(p.best for p in seen if p.best is not None) == 8


def test_an_interrupted_search_gives_its_best_plan():
    problem = instance(
        *(task(f"t{k}", k % 5 + 1, "ann", "bo") for k in range(8)),
        people=(person("ann", (0, 40)), person("bo", (0, 40))),
        horizon=40,
        aims=(AimKind.EARLY,),
    )
    outcome = solve(problem, stop=lambda: True)
    assert isinstance(outcome, Planned)
    assert outcome.stopped == "interrupted"
    assert not outcome.aims[0].proven
    assert outcome.aims[0].bound <= outcome.aims[0].value


def test_calls_are_only_sought_so_no_limit_is_named_where_they_are_not_proven(
    monkeypatch,
):
    """Nor are they called proven; what was searched for before them still is."""
    problem = instance(
        *(task(f"t{k}", 2, "ann", "bo") for k in range(4)),
        people=(person("ann", (0, 8)), person("bo", (0, 9))),
        horizon=9,
        aims=(AimKind.CALLS,),
    )
    assert reached(problem)[AimKind.CALLS] == 1
    monkeypatch.setattr(ladder, "CALLS_WORK", 0.0)
    outcome = solve(problem)
    assert isinstance(outcome, Planned)
    assert outcome.aims[0].value > outcome.aims[0].bound
    assert outcome.stopped == ""
    early = replace(problem, aims=(AimKind.EARLY, AimKind.CALLS))
    both = solve(early, limits=SearchLimits(work=0.0))
    assert isinstance(both, Planned)
    assert both.stopped == "work limit"


@pytest.mark.parametrize("limits", [SearchLimits(work=0.0), SearchLimits(clock_s=0.0)])
def test_limits_are_named_when_they_bite(limits):
    problem = instance(
        *(task(f"t{k}", k % 5 + 1, "ann", "bo") for k in range(8)),
        people=(person("ann", (0, 40)), person("bo", (0, 40))),
        horizon=40,
        aims=(AimKind.EARLY,),
    )
    outcome = solve(problem, limits=limits)
    assert isinstance(outcome, Planned)
    expected = "work limit" if limits.clock_s is None else "clock limit"
    assert outcome.stopped == expected
