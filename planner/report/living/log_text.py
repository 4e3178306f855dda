"""What `log` prints: an event as it was understood, or the whole log."""

from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime, tzinfo

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
    lines = [f"logged in {file}:"]
    for event in events:
        lines.append(f"  {event_words(event, names, zone, units)}")
        lines += [f"    kept though questioned: {d}" for d in doubts.get(event.id, ())]
    return "\n".join(lines) + "\n"


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
    for event in sorted(book.events, key=lambda e: (e.at, e.logged, e.id)):
        mark = "undone: " if event.id in undone else ""
        yield f"  {mark}{event_words(event, names, zone, units)}"
        if event.id in gone:
            yield f"    the job has no {bare(event.about)} any more; the event is kept"
        for doubt in doubts.get(event.id, ()):
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
