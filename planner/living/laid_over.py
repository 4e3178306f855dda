"""What a log changes in the facts of a job: who is away, bookings, quiet hours, air."""

import hashlib
from collections.abc import Mapping
from dataclasses import replace
from datetime import UTC

from planner.nouns.air import AirReading
from planner.nouns.calendar import Busy
from planner.nouns.happened import Happening, Logbook, What
from planner.nouns.ids import bare
from planner.nouns.inputs import Hours, Inputs
from planner.nouns.job import HeldBay, HeldFor, Job, OwnRate, Shows
from planner.nouns.odds import Learned, Lesson
from planner.nouns.product import Hardening, HardeningWay, Product
from planner.trade.data import labour

# Kinds of which a plan knows nothing: they are kept, and shown.
WITHOUT_EFFECT = frozenset({What.NOTE, What.USED, What.PAINTED, What.UNDO})
HOLDS = {What.DAMAGED: HeldFor.PIECE, What.MOISTURE: HeldFor.DRY_BASE}


def effective(book: Logbook) -> tuple[Happening, ...]:
    """Return the events that a plan hangs on, in the order in which they happened."""
    held = {(e.what, e.about) for e in book.events if e.until and e.what in HOLDS}
    return tuple(
        e
        for e in book.in_time
        if e.what not in WITHOUT_EFFECT
        and (e.what not in HOLDS or (e.what, e.about) in held)
    )


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
    held: dict[tuple[HeldFor, str], HeldBay] = {}
    for e in events:
        if e.what in HOLDS:
            what, bay = HOLDS[e.what], bare(e.about)
            held.pop((what, bay), None)  # the last that was said of a bay counts
            if e.until is not None:
                held[what, bay] = HeldBay(
                    bay=bay, what=what, until=e.until, said=e.words
                )
    return replace(
        job, delivery=late[-1] if late else job.delivery, held=tuple(held.values())
    )


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


def with_shown(inputs: Inputs, shows: tuple[Shows, ...]) -> Inputs:
    """Return the facts of a job with the work where joints show laid over them."""
    if not shows:
        return inputs
    mark = hashlib.sha256(f"{inputs.fingerprint} {shows!r}".encode()).hexdigest()
    return replace(inputs, job=replace(inputs.job, shows=shows), fingerprint=mark)


def with_learned(inputs: Inputs, learned: Learned) -> Inputs:
    """Return the facts of a job with what its log taught laid over them.

    Rates and laws are so many times as long as they were; what that leaves unsure
    stands in the job's spread.
    """
    if not learned:
        return inputs
    job = inputs.job
    mark = hashlib.sha256(f"{inputs.fingerprint} {learned!r}".encode()).hexdigest()
    taught = {one.of: one.times for one in learned.waits if one.times != 1.0}
    return replace(
        inputs,
        job=replace(
            job,
            own_rates=_rates(job, learned.pace),
            learned_pace=tuple((one.of, one.left) for one in learned.pace),
            learned_waits=tuple((one.of, one.left) for one in learned.waits),
        ),
        products={
            id_: _product(one, taught.get(id_, 1.0))
            for id_, one in inputs.products.items()
        },
        fingerprint=mark,
    )


def _rates(job: Job, lessons: tuple[Lesson, ...]) -> tuple[OwnRate, ...]:
    known, own = labour.rates(job.own_rates), {r.work: r for r in job.own_rates}
    for one in lessons:
        if one.times != 1.0:
            before = own.get(one.of)
            own[one.of] = OwnRate(
                work=one.of,
                hours=known[one.of].hours * one.times,
                set_up_h=None if before is None else before.set_up_h,
                source="learned from the log",
            )
    return tuple(own.values())


def _product(product: Product, times: float) -> Product:
    if times == 1.0:
        return product
    return replace(product, stages=tuple(_slower(s, times) for s in product.stages))


def _slower(stage: Hardening, times: float) -> Hardening:
    """Return a stage whose drying, and that of stages before it, takes so many times."""
    before = None if stage.after is None else _slower(stage.after, times)
    own = times if stage.way is HardeningWay.DRIES else 1.0
    return replace(stage, after=before, times=stage.times * own)
