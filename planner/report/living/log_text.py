"""What `log` prints: an event as it was understood, or the whole log."""

from collections.abc import Collection, Iterator, Mapping, Sequence
from datetime import datetime, tzinfo
from itertools import groupby

from planner.measures import Units
from planner.nouns.happened import Happening, Logbook, What
from planner.nouns.ids import bare
from planner.units import duration_words, moment_words

Names = Mapping[str, str]  # of tasks and people, by id


def event_words(event: Happening, names: Names, zone: tzinfo, units: Units) -> str:
    """Return an event in a line: when, what, about what, by whom, its id."""
    parts = [moment_and_zone_words(event.at, zone), _what_words(event, names)]
    if event.by:
        parts.append("by " + " and ".join(names.get(p, p) for p in event.by))
    if event.start is not None:
        parts.append(f"from {moment_and_zone_words(event.start, zone)}")
    if event.until is not None:
        parts.append(f"until {moment_and_zone_words(event.until, zone)}")
    if event.left_h is not None:
        parts.append(f"{duration_words(event.left_h * 60)} left")
    if event.air_c is not None and event.humidity_pct is not None:
        air = units.temperature(event.air_c)
        parts.append(f"{air}, {event.humidity_pct:g} % RH")
    if event.on_floor:
        parts.append(f"with {' and '.join(event.on_floor)}")
    if event.words:
        parts.append(f'"{event.words}"')
    return f"{'; '.join(parts)} [{event.id}]"


def _what_words(event: Happening, names: Names) -> str:
    what = "not dry" if event.what is What.WET else event.what.value
    if not event.about:
        return what
    if event.what is What.UNDO:
        return f"undone: {event.about}"
    title = names.get(event.about)
    short = bare(event.about)
    return f"{what}: {title} ({short})" if title else f"{what}: {short}"


def logged_text(
    file: str,
    events: Sequence[Happening],
    doubts: Mapping[str, Sequence[str]],
    names: Names,
    zone: tzinfo,
    units: Units,
) -> str:
    """Return how an event was understood as it was logged, and where."""
    if not events:
        return f"{file} has all of this already; nothing was logged\n"
    lines = [f"logged in {file}:"]
    for together in runs(events):
        lines.append(f"  {run_words(together, names, zone, units)}")
        lines += [f"    kept though questioned: {d}" for d in _of_run(together, doubts)]
    return "\n".join(lines) + "\n"


def runs(
    events: Sequence[Happening], undone: Collection[str] = ()
) -> list[tuple[Happening, ...]]:
    """Return events one by one, but those of a logger's file that follow on together.

    So do undos of several events that were logged in the same moment. What was
    `undone` and what wasn't never go together.
    """

    def key(numbered: tuple[int, Happening]) -> tuple[object, ...]:
        number, event = numbered
        if event.reading_of:
            gone = event.id in undone
            return What.AIR, event.reading_of, event.logged, event.by, gone
        if event.what is What.UNDO:
            return What.UNDO, event.logged, event.by
        return (number,)

    grouped = groupby(enumerate(events), key=key)
    return [tuple(e for _, e in together) for _, together in grouped]


def run_words(
    events: Sequence[Happening], names: Names, zone: tzinfo, units: Units
) -> str:
    """Return events that belong together in one line."""
    first, last = events[0], events[-1]
    if len(events) == 1:
        return event_words(first, names, zone, units)
    if first.what is What.UNDO:
        when = moment_and_zone_words(first.at, zone)
        return f"{when}; undone: {len(events)} events [{first.id} to {last.id}]"
    parts = [
        f"{moment_and_zone_words(first.at, zone)} to "
        f"{moment_and_zone_words(last.at, zone)}",
        f"air: {len(events)} readings",
    ]
    if first.by:
        parts.append("by " + " and ".join(names.get(p, p) for p in first.by))
    low, high = (
        units.temperature(pick(e.air_c or 0.0 for e in events)) for pick in (min, max)
    )
    dry, damp = (pick(e.humidity_pct or 0.0 for e in events) for pick in (min, max))
    parts += [f"{low} to {high}", f"{dry:g} to {damp:g} % RH", f'"{first.words}"']
    return f"{'; '.join(parts)} [{first.id} to {last.id}]"


def _of_run(
    events: Sequence[Happening], doubts: Mapping[str, Sequence[str]]
) -> Iterator[str]:
    """Yield what is doubted of events; of many, the first and how many there are."""
    found = [d for e in events for d in doubts.get(e.id, ())]
    yield from found[:1]
    if len(found) > 1:
        yield f"and {len(found) - 1} more like it"


def log_text(
    file: str,
    book: Logbook,
    doubts: Mapping[str, Sequence[str]],
    names: Names,
    zone: tzinfo,
    units: Units,
    gone: Sequence[str],
) -> str:
    """Return a whole log in order of time; `gone` are ids of events about nothing."""
    lines = list(_log_lines(file, book, doubts, names, zone, units, gone))
    return "\n".join(lines) + "\n"


def _log_lines(
    file: str,
    book: Logbook,
    doubts: Mapping[str, Sequence[str]],
    names: Names,
    zone: tzinfo,
    units: Units,
    gone: Sequence[str],
) -> Iterator[str]:
    if not book.events and not book.broken:
        yield f"nothing is logged yet; {file} is made with the first event"
        return
    yield f"{file}: {len(book.events)} events"
    undone = book.undone
    in_order = sorted(book.events, key=lambda e: (e.at, e.logged, e.id))
    for together in runs(in_order, undone):
        mark = "undone: " if together[0].id in undone else ""
        yield f"  {mark}{run_words(together, names, zone, units)}"
        for event in together:
            if event.id in gone:
                name = bare(event.about)
                yield f"    the job has no {name} any more; the event is kept"
        for doubt in _of_run(together, doubts):
            yield f"    kept though questioned: {doubt}"
    for broken in book.broken:
        yield f"  line {broken.number} can't be used: {broken.why}"
        yield f"    {broken.text}"


def moment_and_zone_words(when: datetime, zone: tzinfo) -> str:
    """Return a moment with the name and the offset of its zone, to be read back.

    Examples
    --------
    >>> from zoneinfo import ZoneInfo
    >>> when = datetime.fromisoformat("2027-02-16T18:15+00:00")
    >>> moment_and_zone_words(when, ZoneInfo("America/Halifax"))
    'Tue 16 Feb 2027, 14:15 AST (UTC-04:00)'
    """
    local = when.astimezone(zone)
    return f"{moment_words(when, zone)} {local:%Z} (UTC{local.isoformat()[-6:]})"
