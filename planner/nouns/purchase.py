"""What a plan costs, and what is bought or hired for it."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta, tzinfo


@dataclass(frozen=True, slots=True, kw_only=True)
class Cost:
    """Money, where the job file gives rates; None where it doesn't.

    `stage` pays each day that the closure touches: of a plan the closure to its
    promise, of an answer that of its own dates. None also where that can't be told.
    `labour` pays each shift from its first work to its last, unpaid breaks left out;
    `labour_idle` is the part of it for time without work between.
    """

    currency: str
    stage: float | None
    labour: float | None
    labour_idle: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class SupplyUse:
    """What one task uses up of a supply, in the supply's unit."""

    task: str
    net: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedSupply:
    """A thing to buy: how much of it, in which packs, for which tasks, by which day.

    `net` and `with_waste` are in `unit`, of which a pack holds `pack_holds`. It must
    be on site on the day `on_site`, in the site's zone: `lead_h` before `first_use`;
    both are null before there is a plan. `reckoned` says what each number comes from.
    """

    id: str
    title: str
    product: str | None
    unit: str
    net: float
    waste_frac: float
    with_waste: float
    pack: str
    pack_holds: float
    packs: int
    uses: tuple[SupplyUse, ...]
    lead_h: float
    first_use: datetime | None
    on_site: date | None
    reckoned: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ToolDays:
    """A tool, how many of it at once, for which tasks and on which days.

    `periods` are first and last days, both included, over which it stays: hired ones
    over short gaps too. There is no count and no day before there is a plan.
    """

    id: str
    title: str
    hire: bool
    count: int | None
    tasks: tuple[str, ...]
    days: tuple[date, ...]
    periods: tuple[tuple[date, date], ...]
    source: str


def days_touched(start: datetime, end: datetime, zone: tzinfo) -> int:
    """Return how many of a zone's days a stretch touches, even in part."""
    first = start.astimezone(zone).date()
    last = (end - timedelta(microseconds=1)).astimezone(zone).date()
    return (last - first).days + 1
