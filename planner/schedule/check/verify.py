"""Every rule of a plan checked in plain Python, without any code of the search."""

import itertools
from collections.abc import Iterator

from planner.hours.spans import Spans
from planner.schedule.check.tally import closure_span, over_at, values
from planner.schedule.check.verify_course import course_faults
from planner.schedule.problem.instance import Instance
from planner.schedule.problem.outcome import Placement
from planner.schedule.problem.parts import Activity, Link, LinkKind

__all__ = ["values", "verify"]

Plan = dict[str, Placement]


def verify(instance: Instance, placements: tuple[Placement, ...]) -> tuple[str, ...]:
    """Return every fault of a plan in words: what is broken, where, by how much.

    An empty answer means that the plan keeps every rule of the instance.
    """
    plan = {p.task: p for p in placements}
    unknown = sorted(set(plan) - {t.id for t in instance.tasks})
    if unknown:
        return tuple(f"{task}: is no task of the instance" for task in unknown)
    if len(plan) < len(placements):
        return ("a task is placed twice",)
    own = [f for t in instance.tasks if t.id in plan for f in _work(instance, t, plan)]
    together = (
        check(instance, plan)
        for check in (
            _carried_out,
            _one_place_at_a_time,
            _rests,
            _pools,
            _links,
            _apart,
            _closures,
            _pins,
        )
    )
    return (*own, *(fault for faults in together for fault in faults))


def _work(instance: Instance, task: Activity, plan: Plan) -> Iterator[str]:
    """Yield what is wrong with a task's team, ticks and limits of its own."""
    p = plan[task.id]
    here = f"{task.id}:"
    yield from _team(task, p, here)
    if not 0 <= p.start < p.end <= instance.horizon:
        yield f"{here} lies from {p.start} to {p.end}, outside 0 to {instance.horizon}"
        return
    if not p.worked or (p.worked.items[0][0], p.worked.items[-1][1]) != (
        p.start,
        p.end,
    ):
        yield f"{here} isn't worked from its start {p.start} to its end {p.end}"
    for person in instance.people:
        if person.id in p.team and (away := p.worked - person.open):
            yield f"{here} {person.id} isn't open in {_where(away)}"
    closed = Spans()
    for block in task.no_work:
        closed |= block.ticks
        if shut := p.worked & block.ticks:
            yield f"{here} works in {_where(shut)}, closed by {block.fact}"
    for block in task.no_start:
        if p.start in block.ticks:
            yield f"{here} starts at {p.start}, closed by {block.fact}"
    workable = Spans.of([(0, instance.horizon)]) - closed
    for person in instance.people:
        if person.id in p.team:
            workable &= person.open
    yield from course_faults(instance, task, p, workable)
    for hold in task.holds:
        until = over_at(instance, hold.until, p.end)
        if until > instance.horizon:
            yield f"{here} {hold.fact} can't be shown to hold beyond the horizon"
        elif bad := hold.bad.clip(p.start, until):
            yield f"{here} {hold.fact} fails in {_where(bad)}, before {until}"


def _team(task: Activity, p: Placement, here: str) -> Iterator[str]:
    """Yield what is wrong with who is in the team."""
    if tuple(sorted(set(p.team))) != p.team:
        yield f"{here} team {p.team} isn't sorted, or names somebody twice"
    sizes = sorted(m.size for m in task.modes)
    if len(p.team) not in sizes:
        yield f"{here} has a team of {len(p.team)}; allowed are {sizes}"
    for who in p.team:
        if who not in task.eligible:
            yield f"{here} {who} isn't eligible"
    if task.leads is not None and p.team and not set(task.leads) & set(p.team):
        yield f"{here} nobody in the team may lead it"


def _carried_out(instance: Instance, plan: Plan) -> Iterator[str]:
    """Yield tasks that are missing, and branches without exactly one option."""
    branched = {t for b in instance.branches for o in b.options for t in o}
    for task in instance.tasks:
        if task.id not in plan and not task.optional and task.id not in branched:
            yield f"{task.id}: is left out"
    optional = {t.id for t in instance.tasks if t.optional}
    for branch in instance.branches:
        everything = {t for o in branch.options for t in o}
        done = everything & set(plan)
        fits = [
            o for o in branch.options if done <= set(o) and set(o) - optional <= done
        ]
        if not fits:
            yield f"branch {branch.id}: {sorted(done)} is no option of it"


def _one_place_at_a_time(instance: Instance, plan: Plan) -> Iterator[str]:
    """Yield people who are in two teams at a time."""
    for person in instance.people:
        row = sorted(
            (p.start, p.end, p.task) for p in plan.values() if person.id in p.team
        )
        for (_, end, one), (start, _, two) in itertools.pairwise(row):
            if start < end:
                yield (
                    f"{person.id}: in {one} until {end} and in {two} from {start}, "
                    f"{end - start} ticks too early"
                )


def _rests(instance: Instance, plan: Plan) -> Iterator[str]:
    """Yield people who don't rest enough between two shifts."""
    for person in instance.people:
        worked = Spans.of(
            s for p in plan.values() if person.id in p.team for s in p.worked
        )
        shifts = person.shifts or person.open
        spans = [s for shift in shifts if (s := worked.clip(*shift).items)]
        for before, after in itertools.pairwise(spans):
            rest = after[0][0] - before[-1][1]
            if rest < person.rest:
                yield (
                    f"{person.id}: rests {rest} ticks before {after[0][0]}, "
                    f"{person.rest - rest} too few"
                )


def _pools(instance: Instance, plan: Plan) -> Iterator[str]:
    """Yield pools of which more is taken than there is."""
    for pool in instance.pools:
        takes = [
            (plan[t.id].start, plan[t.id].end, d.amount)
            for t in instance.tasks
            if t.id in plan
            for d in t.demands
            if d.pool == pool.id
        ]
        moments = {start for start, _, _ in takes} | {s for s, _, _ in pool.less}
        for at in sorted(moments):
            taken = sum(n for start, end, n in takes if start <= at < end)
            there = min(
                [
                    pool.capacity,
                    *(n for start, end, n in pool.less if start <= at < end),
                ]
            )
            if taken > there:
                yield f"{pool.id}: {taken} taken at {at}, of {there}"


def _links(instance: Instance, plan: Plan) -> Iterator[str]:
    """Yield links that are broken."""
    for link in instance.links:
        if link.before in plan and link.after in plan:
            yield from _link(instance, link, plan)


def _link(instance: Instance, link: Link, plan: Plan) -> Iterator[str]:
    one, two = plan[link.before], plan[link.after]
    begin = one.start if link.kind is LinkKind.START_START else one.end
    over = over_at(instance, link.wait, begin)
    why = f" ({link.fact})" if link.fact else ""
    if link.kind is LinkKind.LATEST:
        if two.start > over and link.unless not in plan:
            yield (
                f"{two.task}: starts at {two.start}, {two.start - over} ticks too late "
                f"after {one.task}{why}"
            )
    elif two.start < over:
        yield (
            f"{two.task}: starts at {two.start}, {over - two.start} ticks too early "
            f"after {one.task}{why}"
        )


def _apart(instance: Instance, plan: Plan) -> Iterator[str]:
    """Yield tasks that are in the room at a time at which they mustn't be."""
    for apart in instance.apart:
        one = plan.get(apart.task)
        if one is None:
            continue
        over = over_at(instance, apart.until, one.end)
        for two in (plan[o] for o in apart.others if o in plan):
            if two.end > one.start and two.start < over:
                yield (
                    f"{two.task}: from {two.start} to {two.end} in the same room as "
                    f"{one.task} from {one.start} to {over} ({apart.fact})"
                )


def _closures(instance: Instance, plan: Plan) -> Iterator[str]:
    """Yield closures that overlap bookings, or return late."""
    for c in instance.closures:
        span = closure_span(instance, c, plan)
        if span is None:
            yield f"{c.id}: nothing that closes or returns it is carried out"
            continue
        begin, returned = span
        for block in c.booked:
            if taken := block.ticks.clip(begin, returned):
                yield f"{c.id}: overlaps {block.fact} in {_where(taken)}"
        if returned > instance.horizon:
            yield f"{c.id}: doesn't return within the horizon"
        if c.due is not None and returned > c.due:
            yield f"{c.id}: returns at {returned}, {returned - c.due} ticks too late"


def _pins(instance: Instance, plan: Plan) -> Iterator[str]:
    """Yield tasks that don't lie where they were settled."""
    for pin in instance.pins:
        p = plan.get(pin.task)
        if p is None:
            yield f"{pin.task}: is settled but left out"
            continue
        for what, wanted, found in (
            ("start", pin.start, p.start),
            ("end", pin.end, p.end),
            ("team", None if pin.team is None else tuple(sorted(pin.team)), p.team),
        ):
            if wanted is not None and wanted != found:
                yield f"{pin.task}: {what} is {found}, settled as {wanted}"


def _where(spans: Spans) -> str:
    """Return the spans as words."""
    return ", ".join(f"{start} to {end}" for start, end in spans)
