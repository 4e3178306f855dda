"""What a log changes in the facts of a job: who is away, bookings, quiet hours, air."""

import hashlib
from collections.abc import Mapping
from dataclasses import replace
from datetime import UTC

from planner.nouns.air import AirReading
from planner.nouns.calendar import Busy
from planner.nouns.happened import Happening, Logbook, What
from planner.nouns.inputs import Hours, Inputs
from planner.nouns.job import Job

# Kinds of which a plan knows nothing: they are kept, and shown.
WITHOUT_EFFECT = frozenset(
    {What.NOTE, What.MOISTURE, What.SHOWS, What.DAMAGED, What.UNDO}
)


def effective(book: Logbook) -> tuple[Happening, ...]:
    """Return the events that a plan hangs on, in the order in which they happened."""
    return tuple(e for e in book.in_time if e.what not in WITHOUT_EFFECT)


def with_log(inputs: Inputs, book: Logbook, *, file: str) -> Inputs:
    """Return the facts of a job with what its log says laid over them.

    `file` is the log, as the plan names it where it shows an entry.
    """
    events = effective(book)
    if not events:
        return inputs
    ids = " ".join(sorted(e.id for e in events))
    fingerprint = hashlib.sha256(f"{inputs.fingerprint} {ids}".encode()).hexdigest()
    return replace(
        inputs,
        job=_job(inputs.job, events),
        hours=_hours(inputs.hours, events, file),
        readings=_readings(inputs, events),
        fingerprint=fingerprint,
    )


def _job(job: Job, events: tuple[Happening, ...]) -> Job:
    late = [e.until for e in events if e.what is What.LATE and e.until is not None]
    return replace(job, delivery=late[-1]) if late else job


def _hours(hours: Hours, events: tuple[Happening, ...], file: str) -> Hours:
    people: dict[str, tuple[Busy, ...]] = dict(hours.people)
    bookings, quiet = list(hours.bookings), list(hours.quiet)
    for event in events:
        busy = _busy(event, file)
        if busy is None:
            continue
        match event.what:
            case What.AWAY:
                people[event.about] = (*people.get(event.about, ()), busy)
            case What.BOOKED:
                bookings.append(busy)
            case What.RELEASED:
                bookings = [b for b in bookings if not _is_released(b, busy)]
            case What.QUIET:
                quiet.append(busy)
            case _:
                pass
    known: Mapping[str, tuple[Busy, ...]] = people
    return replace(hours, people=known, bookings=tuple(bookings), quiet=tuple(quiet))


def _busy(event: Happening, file: str) -> Busy | None:
    if event.start is None or event.until is None:
        return None
    return Busy(
        start=event.start.astimezone(UTC),
        end=event.until.astimezone(UTC),
        kind="busy",
        title=event.words or event.what.value,
        file=file,
        uid=event.id,
    )


def _is_released(booking: Busy, released: Busy) -> bool:
    """Tell whether a booking lies within a stretch that was released.

    Where the words name a booking, only those of that name.
    """
    named = released.title not in ("", What.RELEASED.value)
    same = not named or released.title.casefold() in booking.title.casefold()
    return same and released.start <= booking.start and booking.end <= released.end


def _readings(inputs: Inputs, events: tuple[Happening, ...]) -> tuple[AirReading, ...]:
    read = {r.when: r for r in inputs.readings}
    for e in events:
        if e.air_c is not None and e.humidity_pct is not None:
            when = e.at.astimezone(UTC)
            read[when] = AirReading(
                when=when, air_c=e.air_c, humidity_pct=e.humidity_pct
            )
    return tuple(read[when] for when in sorted(read))
