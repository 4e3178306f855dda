"""What to buy and which tools are needed, by the days of a plan."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from planner.nouns import plan as nouns
from planner.nouns.job import Job
from planner.nouns.product import Product
from planner.nouns.purchase import PlannedSupply, SupplyUse, ToolDays
from planner.nouns.work import Task
from planner.trade.buying import quantities
from planner.trade.buying.quantities import Quantity, said
from planner.trade.buying.supplies import Tool, hire_gap_days
from planner.trade.takeoff import TakeOff

DIGITS = 4  # of a net quantity in a file


def bought(
    job: Job,
    takeoff: TakeOff,
    products: Mapping[str, Product],
    tasks: Sequence[nouns.PlannedTask],
    manned: Collection[date] = (),
) -> tuple[PlannedSupply, ...]:
    """Return what the tasks of a plan use up, in order of the day it must be on site.

    On the days in `manned` somebody is there to take it in: what falls on another day
    comes on the last of them before.
    """
    starts = {t.id: t.start for t in tasks}
    found = quantities.quantities(job, takeoff, products, tasks)
    out = [_taken_in(_supply(q, starts, job.zone), manned) for q in found]
    return tuple(sorted(out, key=lambda s: s.on_site or date.max))


def needed(job: Job, tasks: Sequence[nouns.PlannedTask]) -> tuple[ToolDays, ...]:
    """Return the tools that the tasks of a plan need, in order of their first day."""
    known = {t.id: t for t in tasks}
    out = [
        _days(tool, [known[i] for i in ids], job.zone)
        for tool, ids in quantities.tools(job, tasks)
    ]
    return tuple(sorted(out, key=lambda t: t.days))


def unplanned(
    job: Job,
    takeoff: TakeOff,
    products: Mapping[str, Product],
    tasks: Iterable[Task],
) -> tuple[tuple[PlannedSupply, ...], tuple[ToolDays, ...]]:
    """Return supplies and tools of tasks that have no days yet."""
    done = [t for t in tasks if not t.optional]
    found = quantities.quantities(job, takeoff, products, done)
    tools = tuple(
        ToolDays(
            id=tool.id,
            title=tool.title,
            hire=tool.hire,
            count=None,
            tasks=ids,
            days=(),
            periods=(),
            source=said(tool.source),
        )
        for tool, ids in quantities.tools(job, done)
    )
    return tuple(_supply(q, {}, job.zone) for q in found), tools


def _supply(
    q: Quantity, starts: Mapping[str, datetime], zone: ZoneInfo
) -> PlannedSupply:
    by_task: dict[str, float] = {}
    for share in q.shares:
        by_task[share.task] = by_task.get(share.task, 0.0) + share.net
    used = {task: net for task, net in by_task.items() if net > 0.0}
    first = min((starts[t] for t in used if t in starts), default=None)
    ready = first - timedelta(hours=q.lead_h) if first is not None else None
    return PlannedSupply(
        id=q.id,
        title=q.title,
        product=q.product,
        unit=q.unit,
        net=round(q.net, DIGITS),
        waste_frac=q.waste_frac,
        with_waste=round(q.with_waste, DIGITS),
        pack=q.pack,
        pack_holds=q.pack_holds,
        packs=q.packs,
        uses=tuple(
            SupplyUse(task=task, net=round(net, DIGITS)) for task, net in used.items()
        ),
        lead_h=q.lead_h,
        first_use=first,
        on_site=ready.astimezone(zone).date() if ready is not None else None,
        reckoned=q.reckoned,
    )


def _taken_in(supply: PlannedSupply, manned: Collection[date]) -> PlannedSupply:
    by = supply.on_site
    if by is None or by in manned:
        return supply
    return replace(supply, on_site=max((d for d in manned if d < by), default=by))


def _days(tool: Tool, tasks: Sequence[nouns.PlannedTask], zone: ZoneInfo) -> ToolDays:
    days = sorted({d for t in tasks for a, b in t.spans for d in _dates(a, b, zone)})
    return ToolDays(
        id=tool.id,
        title=tool.title,
        hire=tool.hire,
        count=_at_once(tool, tasks),
        tasks=tuple(t.id for t in tasks),
        days=tuple(days),
        periods=periods(days, int(hire_gap_days().value) if tool.hire else 0),
        source=said(tool.source),
    )


def _dates(start: datetime, end: datetime, zone: ZoneInfo) -> Iterable[date]:
    """Yield the days at the site that a half-open stretch touches."""
    day = start.astimezone(zone).date()
    last = (end - timedelta(microseconds=1)).astimezone(zone).date()
    while day <= last:
        yield day
        day += timedelta(days=1)


def _at_once(tool: Tool, tasks: Iterable[nouns.PlannedTask]) -> int:
    """Return how many of a tool are in use at the busiest moment."""
    changes: list[tuple[datetime, int]] = []
    for task in tasks:
        each = len(task.team) if tool.each == "person" else 1
        for start, end in task.spans:
            changes += [(start, each), (end, -each)]
    now = most = 0
    for _, change in sorted(changes):  # at one moment what ends comes first
        now += change
        most = max(most, now)
    return most


def periods(days: Sequence[date], gap_days: int) -> tuple[tuple[date, date], ...]:
    """Return days in order as first and last days, gaps of up to `gap_days` closed."""
    out: list[tuple[date, date]] = []
    for day in days:
        if out and (day - out[-1][1]).days <= gap_days + 1:
            out[-1] = (out[-1][0], day)
        else:
            out.append((day, day))
    return tuple(out)
