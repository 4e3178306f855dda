"""The log and the bookings → how worn the colour of floor and coves is, day by day.

A day of use wears a floor by one, less where overshoes were worn or plastic lay on it;
what of it is less stands in the job file. *Common practice, no source.* A booking that
nobody logged as used is taken as days of use without protection.
"""

from collections.abc import Iterator, Sequence
from datetime import date, datetime, timedelta, tzinfo

from planner.hours.open import entry_words
from planner.nouns.calendar import Busy
from planner.nouns.happened import Happening, Logbook, OnFloor, What
from planner.nouns.job import Repaint
from planner.nouns.living.wear import UsedDay, Wear


def wear_of(
    book: Logbook, bookings: Sequence[Busy], repaint: Repaint, zone: tzinfo
) -> Wear:
    """Return the wear since the colour was last painted, bookings to come among it."""
    painted = [
        e.at.astimezone(zone).date() for e in book.in_time if e.what is What.PAINTED
    ]
    since = painted[-1] if painted else None
    days: dict[date, UsedDay] = {}
    for event in book.in_time:
        if event.what is What.USED:
            _worn(days, _of_event(event, repaint, zone))
    logged = set(days)
    for booking in sorted(bookings, key=lambda b: (b.start, b.end, b.uid)):
        taken = (d for d in _of_booking(booking, zone) if d.day not in logged)
        _worn(days, taken)
    return Wear(
        painted=since,
        days=tuple(days[d] for d in sorted(days) if since is None or d > since),
        lasts_days=repaint.lasts_days,
    )


def share(on_floor: Sequence[OnFloor], repaint: Repaint) -> float:
    """Return the part of a day's wear that is left with what lay on the floor."""
    parts = {
        OnFloor.OVERSHOES: repaint.overshoes_frac,
        OnFloor.PLASTIC: repaint.plastic_frac,
    }
    return min((parts[p] for p in on_floor), default=1.0)


def _worn(days: dict[date, UsedDay], more: Iterator[UsedDay]) -> None:
    """Put days of use among others; of two that fall on one day the worse counts."""
    for used in more:
        had = days.get(used.day)
        if had is None or used.share_frac > had.share_frac:
            days[used.day] = used


def _of_event(event: Happening, repaint: Repaint, zone: tzinfo) -> Iterator[UsedDay]:
    assert event.start is not None
    assert event.until is not None
    part = share(event.on_floor, repaint)
    for day in _days(event.start, event.until, zone):
        yield UsedDay(day=day, share_frac=part, words=event.words, is_logged=True)


def _of_booking(booking: Busy, zone: tzinfo) -> Iterator[UsedDay]:
    for day in _days(booking.start, booking.end, zone):
        words = entry_words(booking)
        yield UsedDay(day=day, share_frac=1.0, words=words, is_logged=False)


def _days(start: datetime, end: datetime, zone: tzinfo) -> Iterator[date]:
    """Yield every day that a stretch touches; one that ends at midnight not the next."""
    day = start.astimezone(zone).date()
    last = (end - timedelta(seconds=1)).astimezone(zone).date()
    while day <= last:
        yield day
        day += timedelta(days=1)
