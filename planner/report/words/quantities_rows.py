"""The purchase list in words, for text and page alike."""

import math
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from zoneinfo import ZoneInfo

from planner.measures import Units
from planner.nouns.plan import Plan
from planner.nouns.purchase import PlannedSupply, ToolDays
from planner.report.drawing.telling import mark_words
from planner.units import day_words

PLAN_FIRST = "plan first"
TIMES = "\N{MULTIPLICATION SIGN}"
_NUMBER_AND_BAY = re.compile(r"( \d+)?(, .*)?$", re.DOTALL)


@dataclass(frozen=True, slots=True, kw_only=True)
class Buying:
    """What is bought for a job, with the plan it goes by (empty: not planned yet).

    `titles` holds the title of every task by its id.
    """

    job: str
    zone: str
    plan: str
    mark: str
    supplies: tuple[PlannedSupply, ...]
    tools: tuple[ToolDays, ...]
    titles: Mapping[str, str]
    units: Units


@dataclass(frozen=True, slots=True, kw_only=True)
class BuyRow:
    """A supply in words."""

    id: str
    day: str
    buy: str
    title: str
    net: str
    waste: str
    with_waste: str
    first: str
    lead: str
    uses: str
    reckoned: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ToolRow:
    """A tool in words."""

    id: str
    title: str
    hire: str
    days: str
    uses: str
    source: str


def buying_of(plan: Plan) -> Buying:
    """Return the purchase list that a plan holds."""
    return Buying(
        job=plan.job,
        zone=plan.zone,
        plan=plan.fingerprint,
        mark=mark_words(plan),
        supplies=plan.supplies,
        tools=plan.tools,
        titles={t.id: t.title for t in plan.tasks},
        units=plan.units,
    )


def buy_rows(buying: Buying) -> tuple[BuyRow, ...]:
    """Return every supply in words, in the order of the list."""
    zone = ZoneInfo(buying.zone)
    return tuple(_buy_row(s, buying, zone) for s in buying.supplies)


def tool_rows(buying: Buying) -> tuple[ToolRow, ...]:
    """Return every tool in words, in the order of the list."""
    return tuple(
        ToolRow(
            id=t.id,
            title=t.title if t.count is None else f"{t.count} {TIMES} {t.title}",
            hire="hire" if t.hire else "",
            days=_periods(t.periods) or PLAN_FIRST,
            uses=_tasks(t.tasks, buying.titles),
            source=t.source,
        )
        for t in buying.tools
    )


def amount_words(amount: float, unit: str, units: Units) -> str:
    """Return an amount in words, lengths, areas and volumes in both unit systems.

    Examples
    --------
    >>> amount_words(5.0, "l", Units.US)
    '1.3 US gal (5.0 l)'
    >>> amount_words(0.83, "pieces", Units.METRIC)
    '1'
    """
    match unit:
        case "m":
            return units.run(amount)
        case "m²":
            return units.area(amount)
        case "l":
            return units.volume(amount)
        case _:
            return f"{math.ceil(amount - 1e-9)}"


def _buy_row(supply: PlannedSupply, buying: Buying, zone: ZoneInfo) -> BuyRow:
    first, units = supply.first_use, buying.units
    return BuyRow(
        id=supply.id,
        day=_day(supply.on_site) if supply.on_site else PLAN_FIRST,
        buy=f"{supply.packs} {TIMES} {supply.pack}",
        title=supply.title,
        net=amount_words(supply.net, supply.unit, units),
        waste=f"{supply.waste_frac * 100:.0f} %" if supply.waste_frac else "",
        with_waste=amount_words(supply.with_waste, supply.unit, units),
        first=day_words(first, zone) if isinstance(first, datetime) else "",
        lead=f"{supply.lead_h:.0f} h" if supply.lead_h else "",
        uses=_tasks((u.task for u in supply.uses), buying.titles),
        reckoned=supply.reckoned,
    )


def _tasks(ids: Iterable[str], titles: Mapping[str, str]) -> str:
    """Return the kinds of work that tasks are, each once."""
    kinds = (_NUMBER_AND_BAY.sub("", titles[i]) for i in ids)
    return "; ".join(dict.fromkeys(kinds))


def _day(day: date) -> str:
    return day_words(datetime.combine(day, time(), tzinfo=UTC), UTC)


def _periods(periods: Sequence[tuple[date, date]]) -> str:
    """Return first and last days in words, the year with the last."""
    words = [
        _day(a) if a == b else f"{_day(a).removesuffix(f' {b.year}')} to {_day(b)}"
        for a, b in periods
    ]
    return "; ".join(words)
