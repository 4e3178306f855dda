"""What can't be as it was logged: asked about when it is logged, and shown ever after."""

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta

from planner.living.known import Known
from planner.nouns.happened import OF_TASKS, Happening, Logbook, What
from planner.nouns.ids import bare
from planner.units import day_words, moment_words

INTAKE = "intake"  # the opening of the crates
CLOCKS_APART = timedelta(minutes=5)  # by which two people's clocks may differ


def doubts(
    event: Happening, before: Sequence[Happening], known: Known
) -> tuple[str, ...]:
    """Return why an event can't be, in words; none: nothing speaks against it.

    `before` are the events that count and were logged before it. Only what was logged
    speaks against an event: what nobody has logged may have happened all the same.
    """
    return tuple(_doubts(event, before, known))


def doubts_of(book: Logbook, known: Known) -> dict[str, tuple[str, ...]]:
    """Return the doubts of each event that counts, by its id."""
    found: dict[str, tuple[str, ...]] = {}
    before: list[Happening] = []
    for event in book.counting:
        found[event.id] = doubts(event, before, known)
        if event.what is not What.AIR:  # of which a logger gives thousands
            before.append(event)
    return {id_: words for id_, words in found.items() if words}


def _doubts(
    event: Happening, before: Sequence[Happening], known: Known
) -> Iterator[str]:
    at = _when(known, event.at)
    if event.at > event.logged + CLOCKS_APART:
        yield f"{at} is still to come"
    if event.what is What.SHOWS and event.about in known.without_joints:
        yield f"no joint is taped in {bare(event.about)}"
    if event.what is What.LATE:
        opened = [e for e in before if bare(e.about) == INTAKE and e.at <= event.at]
        if begun := [e for e in opened if e.what in (What.BEGUN, What.DONE)]:
            yield f"the crates were opened {_when(known, begun[-1].at)} already"
    of_task = event.what in OF_TASKS
    if of_task and event.at.astimezone(known.zone).date() < known.earliest:
        first = datetime.combine(known.earliest, datetime.min.time(), tzinfo=known.zone)
        yield f"{at} is before the job's earliest day, {day_words(first, known.zone)}"
    if of_task:
        own = [e for e in before if e.about == event.about and e.what in OF_TASKS]
        yield from _in_order(event, own, known)
        if event.what in (What.BEGUN, What.DONE):
            yield from _over_wet(event, before, known)
    for person in event.by:
        for away in before:
            if away.what is What.AWAY and away.about == person and _in(away, event.at):
                yield f"{known.people.get(person, person)} was logged away at {at}"


def _in_order(
    event: Happening, own: Sequence[Happening], known: Known
) -> Iterator[str]:
    """Yield where what was logged of the same task doesn't leave room for an event."""
    begun = [e for e in own if e.what is What.BEGUN]
    done = [e for e in own if e.what is What.DONE]
    match event.what:
        case What.BEGUN:
            if begun:
                yield f"it was begun {_when(known, begun[-1].at)} already"
            over = [d for d in done if d.at <= event.at]
            if over:
                yield f"it was done {_when(known, over[-1].at)} already"
        case What.STOPPED | What.DONE:
            late = [b for b in begun if b.at >= event.at]
            if late:
                yield f"it was begun {_when(known, late[-1].at)}, not before"
            if done:
                yield f"it was done {_when(known, done[-1].at)} already"
        case What.WAITING:
            before = [e for e in (*begun, *done) if e.at <= event.at]
            if before:
                yield f"it was {before[-1].what} {_when(known, before[-1].at)} already"
        case _:
            if known.tasks.get(event.about) and not known.tasks[event.about].product:
                yield "it lays nothing that could dry"
            late = [d for d in done if d.at > event.at]
            if late:
                yield f"it was done {_when(known, late[-1].at)}, not before"
            elif begun and not done:
                yield "it isn't logged as done yet"


def _over_wet(
    event: Happening, before: Sequence[Happening], known: Known
) -> Iterator[str]:
    """Yield coats below that were found wet, and not dry again by then."""
    task = known.tasks.get(event.about)
    for below in task.over if task else ():
        found = [
            e
            for e in before
            if e.about == below and e.what in (What.DRY, What.WET) and e.at <= event.at
        ]
        last = max(found, key=lambda e: (e.at, e.logged), default=None)
        if last is not None and last.what is What.WET:
            yield (
                f'"{known.title(below)}" below it was found wet '
                f"{_when(known, last.at)}, and hasn't been found dry since"
            )


def _in(stretch: Happening, moment: datetime) -> bool:
    start, until = stretch.start, stretch.until
    return start is not None and until is not None and start <= moment < until


def _when(known: Known, moment: datetime) -> str:
    return moment_words(moment, known.zone)
