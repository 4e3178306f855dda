"""When work is shut out or may not begin, each stretch with its reason in words.

The stage's hours, quiet hours, the crates' delivery, cold before a coat, bookings.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, time

from planner import units
from planner.air import waits
from planner.hours.grid import Grid
from planner.hours.open import daily, entry_words
from planner.hours.spans import Spans
from planner.nouns.calendar import Busy
from planner.nouns.job import HeldFor, Job
from planner.nouns.kept import Kept
from planner.nouns.product import Air, Product
from planner.nouns.work import Task

OnGrid = Sequence[tuple[Busy, Spans]]  # entries of calendars with their ticks


BOOKING = "booking:"  # how the keys of bookings begin
APRON = "apron"  # the bay in front of all others
# Kinds of work that handle the loose pieces of a bay, and that are laid on its base.
HELD = {
    HeldFor.PIECE: frozenset(
        {"join", "trim", "join-uprights", "set", "set-corner", "cut"}
    ),
    HeldFor.DRY_BASE: frozenset(
        {
            *("floor", "bond", "tape", "prime", "colour", "second-colour"),
            *("setting-coat", "drying-coat", "topping-coat", "skim-coat"),
        }
    ),
}
DELIVERY = "delivery"  # the key of the hours in which crates can't be opened


@dataclass(frozen=True, slots=True, kw_only=True)
class Shut:
    """Ticks that are shut, the words that say why, and a key by which they are one."""

    key: str
    words: str
    ticks: Spans


def by_the_stage(job: Job, grid: Grid, kept: Kept) -> Iterator[Shut]:
    """Yield when the stage's own hours are over, if they ever are."""
    ticks = Spans(((0, grid.ticks),)) - kept.of(daily, grid, job.stage_hours)
    if ticks:
        yield Shut(key="stage-hours", words="the stage's own hours", ticks=ticks)


def by_quiet_hours(quiet: OnGrid) -> Iterator[Shut]:
    """Yield the quiet hours of each calendar that tells of them."""
    for file in dict.fromkeys(b.file for b, _ in quiet):
        yield Shut(
            key=f"quiet:{file}",
            words=f"no loud work in the quiet hours of {file}",
            ticks=Spans.of(i for b, spans in quiet if b.file == file for i in spans),
        )


def but_on_delivery(come: datetime, grid: Grid) -> Shut:
    """Return when crates can't be opened: before they come and after that day.

    They are opened with the carrier present.
    """
    first, last = grid.ceil(come), grid.ticks
    day = come.astimezone(grid.zone).date()
    gone = next((b for d, _, b in grid.days() if d == day), 0)
    words = (
        f"the crates come {units.moment_words(come, grid.zone)} and are opened "
        "that day, with the carrier present"
    )
    ticks = Spans.of([(0, min(first, last)), (min(gone, last), last)])
    return Shut(key=DELIVERY, words=words, ticks=ticks)


def from_starting(
    job: Job, task: Task, grid: Grid, products: Mapping[str, Product], air: Air
) -> Iterator[Shut]:
    """Yield when a task may not begin, though it may be worked on."""
    if task.on_delivery_day and job.delivery is not None:
        yield but_on_delivery(job.delivery, grid)
    yield from while_held(job, task, grid)
    if task.product is not None:
        yield from by_cold(products[task.product], air)


def while_held(job: Job, task: Task, grid: Grid) -> Iterator[Shut]:
    """Yield until when a task waits for a new piece, or for its base to dry."""
    for held in job.held:
        here = not held.bay or held.bay in task.bays
        here |= held.bay == APRON and task.phase == "floor"
        if here and task.phase in HELD[held.what]:
            when = units.moment_words(held.until, grid.zone)
            said = f" ({held.said})" if held.said else ""
            until = min(grid.ceil(held.until), grid.ticks)
            yield Shut(
                key=f"held:{held.what}:{held.bay}:{held.until.isoformat()}",
                words=f"waits for {held.what}, {when}{said}",
                ticks=Spans.of([(0, max(until, 0))]),
            )


def by_cold(product: Product, air: Air) -> Iterator[Shut]:
    """Yield the starts before which it was too cold for a product."""
    cold = waits.cold_before(product.limits, air)
    if cold.any():
        limit = product.limits
        words = (
            f"{product.title}: room and surface at {limit.min_c:.0f} °C or more for "
            f"{limit.min_c_before_h:.0f} h before the start"
        )
        key = f"limits-before:{product.id}"
        yield Shut(key=key, words=words, ticks=Spans.from_mask(cold))


def to_closures(job: Job, booked: OnGrid, grid: Grid) -> Iterator[Shut]:
    """Yield when the stage can't be closed: before the day said, and while booked."""
    yield from _until_closing(job, grid)
    yield from by_bookings(booked, grid)


def _until_closing(job: Job, grid: Grid) -> Iterator[Shut]:
    """Yield how long the stage isn't to be closed, where the job says so."""
    if job.close_from is None:
        return
    first = datetime.combine(job.close_from, time(), tzinfo=job.zone)
    until = min(grid.ceil(first), grid.ticks)
    if until > 0:
        day = units.day_words(first, grid.zone)
        words = f"the stage isn't closed before {day} (close_from)"
        yield Shut(key="close-from", words=words, ticks=Spans(((0, until),)))


def by_bookings(booked: OnGrid, grid: Grid) -> Iterator[Shut]:
    """Yield the bookings of the stage; one that recurs is a single fact."""
    by_entry: dict[str, list[tuple[Busy, Spans]]] = {}
    for busy, spans in booked:
        key = f"{BOOKING}{busy.file}:{busy.uid}"
        by_entry.setdefault(key, []).append((busy, spans))
    for key, entries in by_entry.items():
        first = entries[0][0]
        more = f" and {len(entries) - 1} times more" if len(entries) > 1 else ""
        span = _span_words(first, grid)
        yield Shut(
            key=key,
            words=f"booking {entry_words(first)}, {span}{more}",
            ticks=Spans.of(i for _, spans in entries for i in spans),
        )


def _span_words(busy: Busy, grid: Grid) -> str:
    """Return when an entry begins and ends; the day once where it is the same."""
    start, end = (units.moment_words(t, grid.zone) for t in (busy.start, busy.end))
    day = units.day_words(busy.end, grid.zone)
    same = day == units.day_words(busy.start, grid.zone)
    return f"{start} to {end.removeprefix(f'{day}, ') if same else end}"
