"""What holds the date: going back from the return, why each task wasn't sooner."""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby

import numpy as np

from planner.schedule.check.tally import over_at
from planner.schedule.problem.instance import Instance
from planner.schedule.problem.outcome import BindingStep, Cause, Placement
from planner.schedule.problem.parts import LinkKind
from planner.schedule.space.days import shifts_of
from planner.schedule.why.fixed import Fixed, capacity_profile, fix, shift_at


@dataclass(frozen=True, slots=True, kw_only=True)
class _Hold:
    """Something that the task had to wait for, over at tick `until`."""

    until: int
    cause: Cause
    by: str
    since: int
    then: str  # the task whose steps come next; empty if the chain ends here


def holding_chain(
    instance: Instance,
    placements: tuple[Placement, ...],
    closure_id: str,
    binding: frozenset[str] = frozenset(),
) -> tuple[BindingStep, ...]:
    """Return what holds a closure's return, step by step back to the first start.

    It is found from the plan alone. For each task: the closed ticks just before its
    start, if any, then what it waited for last. Then the same for the task that it
    waited for, until nothing is left to wait for.

    A task is *binding* if every later start that it could have, with teams and orders
    as planned, moves the last return: its total slack is zero. Not every task of the
    chain is binding. The task that follows it may also have had to wait for closed
    ticks (a night, a booking, quiet hours, air out of limits), or for something else
    that was over at the same tick. Then a small delay of the first task changes nothing
    yet, although that task is among the reasons why the next one lies where it does.

    Parameters
    ----------
    instance
        The problem.
    placements
        A plan of it.
    closure_id
        The closure whose return is asked about.
    binding
        The tasks whose total slack is zero. If a task waited for several things until
        the same tick, the chain goes on with one of these.
    """
    fixed = fix(instance, placements)
    closure = next(c for c in instance.closures if c.id == closure_id)
    terms = [t for t in closure.all_terms if t.task in fixed.plan]
    last = max(
        terms, key=lambda t: (over_at(instance, t.wait, fixed.plan[t.task].end), t.task)
    )
    steps: list[BindingStep] = []
    task, seen = last.task, set[str]()
    while task and task not in seen:
        seen.add(task)
        own, task = _steps(fixed, task, binding)
        steps += own
    return tuple(steps)


def held_back(
    instance: Instance,
    placements: tuple[Placement, ...],
    binding: frozenset[str] = frozenset(),
) -> dict[str, tuple[BindingStep, ...]]:
    """Return, for every task of a plan, its own steps as in `holding_chain`."""
    fixed = fix(instance, placements)
    return {task: tuple(_steps(fixed, task, binding)[0]) for task in fixed.plan}


def _steps(
    fixed: Fixed, task: str, binding: frozenset[str]
) -> tuple[list[BindingStep], str]:
    """Return what held a task back, latest first, and the task that held it."""
    hold = max(
        _holds(fixed, task),
        key=lambda h: (h.until, h.cause is Cause.PIN or h.then in binding),
    )
    steps = _closed_steps(fixed, task, hold.until)
    steps.append(BindingStep(task=task, cause=hold.cause, by=hold.by, since=hold.since))
    return steps, hold.then


def _holds(fixed: Fixed, task: str) -> Iterator[_Hold]:
    """Yield all that the task waited for; of equals, what explains most comes first."""
    for finder in (_pin, _links, _latest, _people, _pools, _apart, _rests, _bookings):
        yield from finder(fixed, task)
    yield _Hold(until=0, cause=Cause.BEGIN, by="", since=0, then="")


def _pin(fixed: Fixed, task: str) -> Iterator[_Hold]:
    start = fixed.plan[task].start
    for pin in fixed.instance.pins:
        if pin.task == task and (pin.start is not None or pin.end is not None):
            yield _Hold(until=start, cause=Cause.PIN, by=pin.fact, since=start, then="")


def _links(fixed: Fixed, task: str) -> Iterator[_Hold]:
    for link in fixed.instance.links:
        if link.after != task or link.before not in fixed.plan:
            continue
        if link.kind is LinkKind.LATEST:
            continue
        before = fixed.plan[link.before]
        begin = before.start if link.kind is LinkKind.START_START else before.end
        yield _Hold(
            until=over_at(fixed.instance, link.wait, begin),
            cause=Cause.LINK,
            by=link.before,
            since=begin,
            then=link.before,
        )


def _latest(fixed: Fixed, task: str) -> Iterator[_Hold]:
    """Yield followers that would come too late if the task were done sooner."""
    for link in fixed.instance.links:
        if link.before != task or link.after not in fixed.plan:
            continue
        if link.kind is not LinkKind.LATEST or link.unless in fixed.plan:
            continue
        starts, ends = fixed.allowed(task)
        over = fixed.lookups[link.wait][ends]
        first = starts[over >= fixed.plan[link.after].start]
        early = starts[over < fixed.plan[link.after].start]
        if len(first) and len(early):
            yield _Hold(
                until=int(first[0]),
                cause=Cause.LINK,
                by=link.after,
                since=int(first[0]),
                then=link.after,
            )


def _people(fixed: Fixed, task: str) -> Iterator[_Hold]:
    start = fixed.plan[task].start
    for person in fixed.plan[task].team:
        for other in fixed.of_person(person):
            if other.task != task and other.end <= start:
                yield _Hold(
                    until=other.end,
                    cause=Cause.PERSON,
                    by=other.task,
                    since=other.end,
                    then=other.task,
                )


def _rests(fixed: Fixed, task: str) -> Iterator[_Hold]:
    start = fixed.plan[task].start
    for person in fixed.team(task):
        before = [p for p in fixed.of_person(person.id) if p.end <= start]
        if not before:
            continue
        end = before[-1].end
        shift = shift_at(person, start)
        begins = shifts_of(person).items[shift][0]
        # A night longer than the rest is told as a night, not as rest.
        if shift_at(person, end - 1) != shift and begins < end + person.rest:
            yield _Hold(
                until=min(end + person.rest, start),
                cause=Cause.REST,
                by=person.id,
                since=end,
                then=before[-1].task,
            )


def _pools(fixed: Fixed, task: str) -> Iterator[_Hold]:
    start = fixed.plan[task].start
    for pool in fixed.instance.pools:
        wanted = [d.amount for d in fixed.tasks[task].demands if d.pool == pool.id]
        if not wanted:
            continue
        left = capacity_profile(pool, fixed.instance.horizon)
        others = [(p, n) for p, n in fixed.takers(pool) if p.task != task]
        for placed, amount in others:
            left[placed.start : placed.end] -= amount
        short = np.flatnonzero(left[:start] < wanted[0])
        if len(short):
            until = int(short[-1]) + 1
            ending = sorted(p.task for p, _ in others if p.end == until)
            by = ending[0] if ending else ""
            yield _Hold(
                until=until, cause=Cause.POOL, by=by or pool.id, since=until, then=by
            )


def _apart(fixed: Fixed, task: str) -> Iterator[_Hold]:
    start = fixed.plan[task].start
    for apart in fixed.instance.apart:
        if apart.task == task:
            ends = [(o, fixed.plan[o].end) for o in apart.others if o in fixed.plan]
            found = [(o, end, end) for o, end in ends]
        elif task in apart.others and apart.task in fixed.plan:
            end = fixed.plan[apart.task].end
            found = [(apart.task, end, over_at(fixed.instance, apart.until, end))]
        else:
            continue
        for other, end, until in found:
            if until <= start:
                yield _Hold(
                    until=until, cause=Cause.APART, by=other, since=end, then=other
                )


def _bookings(fixed: Fixed, task: str) -> Iterator[_Hold]:
    for closure in fixed.instance.closures:
        if task in closure.tasks:
            begin = fixed.gap(closure)[0]
            for block in closure.booked:
                if any(end == begin for _, end in block.ticks):
                    yield _Hold(
                        until=begin,
                        cause=Cause.BOOKING,
                        by=block.fact,
                        since=begin,
                        then="",
                    )


def _closed_steps(fixed: Fixed, task: str, since: int) -> list[BindingStep]:
    """Return why the task didn't start in the ticks from `since` to its start."""
    start = fixed.plan[task].start
    reasons: list[tuple[int, Cause, str]] = []
    by = ""
    startable = set(fixed.allowed(task)[0].tolist())
    workable = fixed.workable(task)
    for tick in range(start - 1, since - 1, -1):
        cause, by = (
            (Cause.AIM, "")
            if tick in startable
            else _why_closed(fixed, task, tick, workable, by)
        )
        reasons.append((tick, cause, by))
    return [
        BindingStep(
            task=task, cause=cause, by=by, since=min(tick for tick, _, _ in row)
        )
        for (cause, by), row in groupby(reasons, key=lambda r: (r[1], r[2]))
    ]


def _why_closed(
    fixed: Fixed, task: str, tick: int, workable: np.ndarray, same: str
) -> tuple[Cause, str]:
    """Return why the task can't start at a tick; if it can be, the reason `same`."""
    work = fixed.tasks[task]
    if not workable[tick]:
        return _why_not_workable(fixed, task, tick, same)
    for block in work.no_start:
        if tick in block.ticks:
            return Cause.BLOCK, block.fact
    if work.one_go:
        gap = np.flatnonzero(~workable[tick : tick + fixed.ticks(task) + work.set_up])
        if len(gap):
            return _why_not_workable(fixed, task, tick + int(gap[0]), same)
    possible = fixed.open_courses(task)
    at = int(np.searchsorted(possible.starts, tick))
    if at == len(possible.starts) or possible.starts[at] != tick:
        return Cause.SET_UP, ""
    for hold in work.holds:
        until = over_at(fixed.instance, hold.until, int(possible.ends[at]))
        if until > fixed.instance.horizon or hold.bad.clip(tick, until):
            return Cause.HOLD, hold.fact
    return Cause.AIM, ""


def _why_not_workable(
    fixed: Fixed, task: str, tick: int, same: str
) -> tuple[Cause, str]:
    away = [p for p in fixed.plan[task].team if not fixed.open[p][tick]]
    shut = [b.fact for b in fixed.tasks[task].no_work if tick in b.ticks]
    if same in shut:
        return Cause.BLOCK, same
    if away:
        return Cause.PERSON_CLOSED, same if same in away else away[0]
    return (Cause.BLOCK, shut[0]) if shut else (Cause.SET_UP, "")
