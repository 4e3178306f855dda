"""The value of each aim, counted from a plan's placements alone."""

from planner.schedule.problem.instance import Instance
from planner.schedule.problem.outcome import Placement
from planner.schedule.problem.parts import AimKind, Closure, LinkKind

Plan = dict[str, Placement]

PER_CHANGED_PERSON = 8


def values(instance: Instance, placements: tuple[Placement, ...]) -> dict[AimKind, int]:
    """Return the value of every aim for a plan."""
    plan = {p.task: p for p in placements}
    spans = [s for c in instance.closures if (s := closure_span(instance, c, plan))]
    return {
        AimKind.LAST_RETURN: max((end for _, end in spans), default=0),
        AimKind.RETURNS: sum(end for _, end in spans),
        AimKind.CLOSED: sum(end - start for start, end in spans),
        AimKind.COST: _cost(instance, plan),
        AimKind.CALLS: sum(len(_called(instance, p.id, plan)) for p in instance.people),
        AimKind.CHANGE: _change(instance, plan),
        AimKind.EARLY: sum(p.end for p in placements),
        AimKind.TIDY: sum(
            span[1] - _first_call(instance, c, plan)
            for c in instance.closures
            if (span := closure_span(instance, c, plan))
        ),
    }


def over_at(instance: Instance, wait: str, begin: int) -> int:
    """Return the tick at which a wait that begins at `begin` is over."""
    if not wait:
        return begin
    return next(k for k in instance.lookups if k.name == wait).over[begin]


def closure_span(
    instance: Instance, closure: Closure, plan: Plan
) -> tuple[int, int] | None:
    """Return a closure's first start and its return; None when it has neither."""
    starts = [plan[t].start for t in closure.tasks if t in plan]
    returns = [
        over_at(instance, term.wait, plan[term.task].end)
        for term in closure.all_terms
        if term.task in plan
    ]
    return (min(starts), max(returns)) if starts and returns else None


def _called(instance: Instance, who: str, plan: Plan) -> set[int]:
    """Return the numbers of the shifts in which somebody works."""
    person = next(p for p in instance.people if p.id == who)
    worked = [s for p in plan.values() if who in p.team for s in p.worked]
    return {
        number
        for number, (start, end) in enumerate(person.shifts or person.open)
        if any(a < end and b > start for a, b in worked)
    }


def _cost(instance: Instance, plan: Plan) -> int:
    total = sum(t.pays for t in instance.tasks if t.id in plan)
    for person in instance.people:
        mine = [p.worked for p in plan.values() if person.id in p.team]
        total += person.price * sum(w.total for w in mine)
        total += person.dear_price * sum((w & person.dear).total for w in mine)
        total += person.call_price * len(_called(instance, person.id, plan))
    for closure in instance.closures:
        span = closure_span(instance, closure, plan)
        if span is not None:
            total += closure.tick_price * (span[1] - span[0])
            for start, end, price in closure.soft:
                total += price if span[0] < end and span[1] > start else 0
    for pool in instance.pools:
        takers = [
            plan[t.id]
            for t in instance.tasks
            if t.id in plan and any(d.pool == pool.id for d in t.demands)
        ]
        days = sum(
            any(p.start < end and p.end > start for p in takers)
            for start, end in instance.days
        )
        total += pool.day_price * days
    return total


def _change(instance: Instance, plan: Plan) -> int:
    total = 0
    for before in instance.agreed:
        now = plan.get(before.task)
        if now is not None:
            total += abs(now.start - before.start)
            total += PER_CHANGED_PERSON * len(set(now.team) ^ set(before.team))
    return total


def _first_call(instance: Instance, closure: Closure, plan: Plan) -> int:
    """Return the first start among a closure's tasks and all that come before them."""
    found = {*closure.tasks, *(t.task for t in closure.terms)}
    size = 0
    while size < len(found):
        size = len(found)
        found |= {
            k.before
            for k in instance.links
            if k.after in found and k.kind is not LinkKind.LATEST
        }
    return min(plan[t].start for t in found if t in plan)
