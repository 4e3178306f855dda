"""Where the stage could be closed: gaps between its bookings, and wider ones."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date, datetime, time, timedelta, tzinfo

from planner.hours.open import entry_words
from planner.nouns.calendar import Busy
from planner.nouns.choices.closures import Gap

APART = timedelta(days=14)  # the least from a gap's beginning to a month looked at too


def gaps_of(
    bookings: Sequence[Busy], start: datetime, until: datetime
) -> tuple[Gap, ...]:
    """Return the stretches from `start` on without a booking that begin by `until`."""
    gaps: list[Gap] = []
    free_from, before = start, ""
    for busy in sorted(bookings, key=_place):
        if busy.end <= free_from:
            continue
        if free_from > until:
            break
        if busy.start > free_from:
            words = entry_words(busy)
            gaps.append(
                Gap(start=free_from, end=busy.start, before=before, after=words)
            )
        free_from, before = busy.end, entry_words(busy)
    if free_from <= until:
        gaps.append(Gap(start=free_from, end=None, before=before))
    return tuple(gaps)


def gaps_to_look_at(
    bookings: Sequence[Busy], start: datetime, until: datetime
) -> tuple[Gap, ...]:
    """Return every gap, and the wider ones that there would be if bookings moved.

    A wider gap lies between bookings that can't be moved, or begins or ends at one that
    could be and isn't; it moves all that lie in it. In a gap that lasts, the first day
    of each month is a beginning too, for another season. `start` is in the site's
    zone. They come in order of time; of those that begin together, those that move
    least come first.
    """
    bookings = sorted(bookings, key=_place)
    firm = [b for b in bookings if not b.movable]
    out: list[Gap] = []
    for gap in gaps_of(firm, start, until):
        may_move = [b for b in bookings if b.movable and _meets(b, gap.start, gap.end)]
        for one in _inside(gap, may_move, until):
            out += (one, *_by_month(one, until, start.tzinfo))
    found: dict[tuple[datetime, datetime | None], Gap] = {}
    for one in sorted(out, key=lambda g: g.in_free_time):
        found.setdefault((one.start, one.end), one)
    return tuple(sorted(found.values(), key=_order))


def _place(busy: Busy) -> tuple[datetime, datetime, str, str]:
    return busy.start, busy.end, busy.file, busy.uid


def _order(gap: Gap) -> tuple[datetime, int, float]:
    end = gap.end.timestamp() if gap.end else float("inf")
    return gap.start, len(gap.moving), end


def _inside(gap: Gap, may_move: Sequence[Busy], until: datetime) -> Iterator[Gap]:
    """Yield the gaps within one, each of those that may move in it moved or not."""
    last = until if gap.end is None else min(until, gap.end)
    pieces = gaps_of(may_move, gap.start, last)
    starts = {gap.start: gap.before} | {
        p.start: p.before or gap.before
        for p in pieces
        if gap.end is None or p.start < gap.end
    }
    ends: dict[datetime | None, str] = {gap.end: gap.after} | {
        p.end: p.after for p in pieces if p.end is not None
    }
    for first, before in starts.items():
        for end, after in ends.items():
            if end is None or end > first:
                moving = tuple(b for b in may_move if _meets(b, first, end))
                yield Gap(
                    start=first, end=end, before=before, after=after, moving=moving
                )


def _by_month(gap: Gap, until: datetime, zone: tzinfo | None) -> Iterator[Gap]:
    """Yield the gap as it would be if it began with each of its later months."""
    day = gap.start.astimezone(zone).date().replace(day=1)
    last = until if gap.end is None else min(until, gap.end)
    while (month := datetime.combine(day, time(), tzinfo=zone)) < last:
        if month - gap.start >= APART and not any(
            b.start < month < b.end for b in gap.moving
        ):
            moving = tuple(b for b in gap.moving if _meets(b, month, gap.end))
            yield replace(gap, start=month, before="", moving=moving, in_free_time=True)
        day = _next_month(day)


def _next_month(day: date) -> date:
    return (day + timedelta(days=32)).replace(day=1)


def _meets(busy: Busy, start: datetime, end: datetime | None) -> bool:
    return busy.end > start and (end is None or busy.start < end)
