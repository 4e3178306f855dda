"""How far each task can slip, with teams and orders as they are in the plan."""

import itertools
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from functools import partial
from graphlib import TopologicalSorter

import numpy as np

from planner.schedule.check.tally import closure_span
from planner.schedule.problem.instance import Instance
from planner.schedule.problem.outcome import Placement
from planner.schedule.problem.parts import LinkKind, Person, Pool
from planner.schedule.space.days import Ints, Mask, shift_numbers
from planner.schedule.why.fixed import Fixed, capacity_profile, fix, shift_at

Test = Callable[[Ints, Ints, int], Mask]  # own starts, own ends, start of the next
Since = Callable[[Ints], Mask]  # own starts


@dataclass(slots=True)
class _Order:
    """What must stay true between tasks when they slip."""

    after: dict[str, list[tuple[str, Test]]] = field(default_factory=dict)
    since: dict[str, list[Since]] = field(default_factory=dict)
    by_end: dict[str, list[int]] = field(default_factory=dict)
    by_start: dict[str, list[int]] = field(default_factory=dict)

    def add(self, one: str, two: str, test: Test) -> None:
        self.after.setdefault(one, []).append((two, test))


def slack(
    instance: Instance, placements: tuple[Placement, ...]
) -> dict[str, tuple[int, int]]:
    """Return the total and free slack of each task, in ticks of its start.

    Total slack: how far the task's start can move later before the latest return of all
    closures moves, or a return passes a booking or the due tick. Tasks that come after
    move on as they must. Free slack: how far its start can move before any other task,
    or the return of its own closure, moves. Within its slack, a task may move to every
    start that its own rules allow, not only to the last one.

    Tasks that come before don't move, so a task doesn't slip into a shift if that would
    cut their people's rest short. Teams stay the same, and so does the order in which
    people, pools and rooms are used. Without people, pools and calendars, these are the
    total and free float of the critical path method.
    """
    fixed = fix(instance, placements)
    order = _order(fixed)
    allowed = {task: fixed.allowed(task) for task in fixed.plan}
    planned = {task: p.start for task, p in fixed.plan.items()}
    graph = {task: [two for two, _ in order.after.get(task, ())] for task in fixed.plan}
    latest: dict[str, int] = {}
    last = _returns(fixed, own=False)
    for task in TopologicalSorter(graph).static_order():
        latest[task] = _latest(fixed, order, task, allowed[task], latest, last)
    own = _returns(fixed, own=True)
    return {
        task: (
            latest[task] - start,
            _latest(fixed, order, task, allowed[task], planned, own) - start,
        )
        for task, start in planned.items()
    }


def _latest(
    fixed: Fixed,
    order: _Order,
    task: str,
    allowed: tuple[Ints, Ints],
    starts_of: dict[str, int],
    returns: dict[str, int],
) -> int:
    """Return the latest start of a task if the tasks after it start as given.

    A task of a plan that breaks a rule has no slack; who judges the plan says so.
    """
    starts, ends = allowed
    later = starts >= fixed.plan[task].start
    starts, ends = starts[later], ends[later]
    keep = np.ones(len(starts), dtype=np.bool_)
    for rested in order.since.get(task, ()):
        keep &= rested(starts)
    for two, test in order.after.get(task, ()):
        keep &= test(starts, ends, starts_of[two])
    for limit in order.by_end.get(task, ()):
        keep &= ends <= limit
    for limit in order.by_start.get(task, ()):
        keep &= starts <= limit
    for closure in fixed.instance.closures:
        for term in closure.all_terms:
            if term.task == task:
                keep &= fixed.lookups[term.wait][ends] <= returns[closure.id]
    kept = starts[np.logical_and.accumulate(keep)]
    return int(kept[-1]) if len(kept) else fixed.plan[task].start


def _returns(fixed: Fixed, *, own: bool) -> dict[str, int]:
    """Return the latest tick to which each closure's return may move."""
    spans = {
        c.id: closure_span(fixed.instance, c, fixed.plan) or (0, 0)
        for c in fixed.instance.closures
    }
    last = max((end for _, end in spans.values()), default=0)
    return {
        c.id: min(spans[c.id][1] if own else last, fixed.gap(c)[1])
        for c in fixed.instance.closures
    }


def _order(fixed: Fixed) -> _Order:
    order = _Order()
    _add_links(fixed, order)
    for person in fixed.instance.people:
        row = fixed.of_person(person.id)
        for one, two in itertools.pairwise(row):
            order.add(one.task, two.task, _rested(person))
            if person.rest:
                order.since.setdefault(two.task, []).append(
                    partial(_rested_since, person, one.end)
                )
    for pool in fixed.instance.pools:
        _add_pool(fixed, pool, order)
    _add_apart(fixed, order)
    for closure in fixed.instance.closures:
        for task in closure.tasks:
            order.by_end.setdefault(task, []).append(fixed.gap(closure)[1])
    return order


def _ends_by(starts: Ints, ends: Ints, at: int) -> Mask:
    del starts
    return np.asarray(ends <= at)


def _over_by(over: Ints) -> Test:
    def test(starts: Ints, ends: Ints, at: int) -> Mask:
        del starts
        return np.asarray(over[ends] <= at)

    return test


def _over_by_start(over: Ints) -> Test:
    def test(starts: Ints, ends: Ints, at: int) -> Mask:
        del ends
        return np.asarray(over[starts] <= at)

    return test


def _rested(person: Person) -> Test:
    """Return the test that one task of a person ends in time for the next."""

    def test(starts: Ints, ends: Ints, at: int) -> Mask:
        keep = _ends_by(starts, ends, at)
        if person.rest:
            same = shift_numbers(person, ends - 1) == shift_at(person, at) + 1
            keep = keep & (same | (at - ends >= person.rest))
        return keep

    return test


def _rested_since(person: Person, end: int, starts: Ints) -> Mask:
    """Return whether a task may start once the person's task before ended at `end`."""
    same: Mask = shift_numbers(person, starts) == shift_at(person, end - 1) + 1
    return same | (starts - end >= person.rest)


def _add_links(fixed: Fixed, order: _Order) -> None:
    for link in fixed.instance.links:
        if link.before not in fixed.plan or link.after not in fixed.plan:
            continue
        over = fixed.lookups[link.wait]
        if link.kind is LinkKind.FINISH_START:
            order.add(link.before, link.after, _over_by(over))
        elif link.kind is LinkKind.START_START:
            order.add(link.before, link.after, _over_by_start(over))
        elif link.unless not in fixed.plan:
            limit = int(over[fixed.plan[link.before].end])
            order.by_start.setdefault(link.after, []).append(limit)


def _add_apart(fixed: Fixed, order: _Order) -> None:
    for apart in fixed.instance.apart:
        one = fixed.plan.get(apart.task)
        for two in (fixed.plan[o] for o in apart.others if o in fixed.plan):
            if one is not None and two.end <= one.start:
                order.add(two.task, one.task, _ends_by)
            elif one is not None:
                order.add(one.task, two.task, _over_by(fixed.lookups[apart.until]))


def _add_pool(fixed: Fixed, pool: Pool, order: _Order) -> None:
    """Give each task that takes the pool places in it, after who had them before."""
    last: list[tuple[int, str]] = [(0, "")] * pool.capacity  # end and taker by place
    for start, end, amount, task in sorted(_occupants(fixed, pool)):
        free = sorted(
            (k for k in range(len(last)) if last[k][0] <= start), reverse=True
        )
        free.sort(key=lambda k: last[k][0], reverse=True)
        for place in free[:amount]:
            before = last[place][1]
            if before and task:
                order.add(before, task, _ends_by)
            elif before:
                order.by_end.setdefault(before, []).append(start)
            last[place] = (end, task)


def _occupants(fixed: Fixed, pool: Pool) -> Iterator[tuple[int, int, int, str]]:
    """Yield (start, end, places, task); where capacity is lower, the task is empty."""
    for placed, amount in fixed.takers(pool):
        yield placed.start, placed.end, amount, placed.task
    missing = pool.capacity - capacity_profile(pool, fixed.instance.horizon)
    edges = [0, *(np.flatnonzero(np.diff(missing)) + 1).tolist(), len(missing)]
    for start, end in itertools.pairwise(edges):
        if missing[start]:
            yield start, end, int(missing[start]), ""
