"""Availability (RFC 7953) and free-busy reports (RFC 5545 §3.6.4) as taken time."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime

from planner.files.ics.entries import Entry, Kind, read_entry
from planner.files.ics.properties import (
    Notes,
    PropertyReader,
    Setting,
    is_private,
    label_of,
    title_of,
)
from planner.files.ics.series import Expansion, Series, Window, gather
from planner.files.ics.text import BadValueError, Component, ContentLine, plain
from planner.files.ics.values import Length, length, line_moment, periods
from planner.hours.spans import Spans
from planner.nouns.calendar import Busy

LOWEST = 10  # PRIORITY absent or 0 counts below 9

_BUSY_TYPES = {
    "": Kind.UNAVAILABLE,
    "BUSY-UNAVAILABLE": Kind.UNAVAILABLE,
    "BUSY-TENTATIVE": Kind.TENTATIVE,
}
_FREE_BUSY_TYPES = {
    "FREE": Kind.FREE,
    "BUSY-UNAVAILABLE": Kind.UNAVAILABLE,
    "BUSY-TENTATIVE": Kind.TENTATIVE,
}


@dataclass(frozen=True, slots=True)
class Availability:
    """A VAVAILABILITY, read: a range that is taken but for its AVAILABLE times."""

    uid: str
    title: str
    label: str
    file: str
    first: datetime | None  # None: from ever
    last: datetime | None  # None: for ever
    kind: Kind
    rank: int  # 1 counts before 9, and 10 stands for no priority
    version: tuple[int, datetime]
    open: tuple[Series, ...]


def read_availability(
    component: Component, setting: Setting, notes: Notes
) -> Availability | None:
    """Return a VAVAILABILITY, or None after its faults have been noted."""
    reader = PropertyReader(component, setting, notes)
    zones, home = setting.zones, setting.home
    start = reader.one("DTSTART", lambda line: line_moment(line, zones))
    end = reader.one("DTEND", lambda line: line_moment(line, zones))
    lasting = reader.one("DURATION", lambda line: length(line.value))
    rank = reader.number("PRIORITY")
    version = reader.number("SEQUENCE"), reader.stamp("DTSTAMP")
    if any(m is not None and m.zone is None for m in (start, end)):
        reader.fault(
            BadValueError("this VAVAILABILITY must begin and end at times with a zone")
        )
    if (end and lasting) or (lasting and not start):
        reader.fault(
            BadValueError(
                "it has a DURATION without a DTSTART, or together with a DTEND"
            )
        )
    first = start.utc(home) if start else None
    last = end.utc(home) if end else None
    if isinstance(lasting, Length) and start:
        last = lasting.after(start.local, start.zone or home)
    if first and last and last < first:
        reader.fault(BadValueError("it ends before it starts"))
    private = is_private(component)
    parts = [
        _read_open(c, setting, notes, private=private)
        for c in component.parts("AVAILABLE")
    ]
    series = gather([p for p in parts if p], notes)
    for one in series:
        if len(one.masters) > 1 or _doubled(one.changes):
            reader.fault(
                BadValueError("two copies of an AVAILABLE differ, and neither is newer")
            )
    if reader.failed or None in parts:
        return None
    return Availability(
        uid=(component.value("UID") or "").strip(),
        title=title_of(component),
        label=reader.label,
        file=setting.file,
        first=first,
        last=last,
        kind=_BUSY_TYPES.get(component.word("BUSYTYPE"), Kind.BUSY),
        rank=min(rank, LOWEST) or LOWEST,
        version=version,
        open=tuple(series),
    )


def _doubled(changes: Sequence[Entry]) -> bool:
    keys = [(c.instead_of, c.onward) for c in changes]
    return len(set(keys)) < len(keys)


def _read_open(
    component: Component, setting: Setting, notes: Notes, *, private: bool
) -> Entry | None:
    """Return an AVAILABLE, as private as what it stands in."""
    if private:
        line = ContentLine(component.number, "CLASS", (), "PRIVATE")
        component = replace(component, lines={**component.lines, "CLASS": (line,)})
    entry = read_entry(component, setting, notes, available=True)
    if entry and entry.end is None:
        label = label_of(component, setting.prefix)
        notes.fault(
            label, BadValueError("this AVAILABLE has neither DTEND nor DURATION")
        )
        return None
    return entry


def newest(found: Iterable[Availability], notes: Notes) -> list[Availability]:
    """Return the availabilities that count, of several copies the newest."""
    groups: dict[object, list[Availability]] = {}
    for number, one in enumerate(found):
        groups.setdefault(one.uid or number, []).append(one)
    out: list[Availability] = []
    for copies in groups.values():
        best = max(c.version for c in copies)
        kept: list[Availability] = []
        for copy in copies:
            if copy.version == best and copy not in kept:
                kept.append(copy)
        if len(kept) > 1:
            notes.fault(
                copies[0].label,
                BadValueError("two copies of it differ, and neither is newer"),
            )
        if len(kept) < len(copies):
            notes.remark("an older copy is ignored", copies[0].label)
        out.extend(kept)
    return out


def layered(layers: Sequence[Availability], window: Window, notes: Notes) -> list[Busy]:
    """Return what published availability leaves taken.

    From the lowest priority to the highest, each layer replaces what lies below it
    within its own range (the order of RFC 7953 §4): there its type of busy holds but
    for its AVAILABLE times, each within the range of its own component.
    """
    how = Expansion(window=window, notes=notes, seeded=False, ends_early=True)
    taken: list[tuple[Spans, Availability]] = []
    for rank in sorted({layer.rank for layer in layers}, reverse=True):
        same = [layer for layer in layers if layer.rank == rank]
        ranges = [_range(layer, window) for layer in same]
        all_ranges, free = Spans(), Spans()
        for layer, span in zip(same, ranges, strict=True):
            all_ranges |= span
            free |= _open_times(layer, how) & span
        taken = [(spans - all_ranges, layer) for spans, layer in taken]
        taken += [(s - free, layer) for s, layer in zip(ranges, same, strict=True)]
    return [
        Busy(
            start=_from(a),
            end=_from(b),
            kind=one.kind.word,
            title=one.title,
            file=one.file,
            uid=one.uid,
        )
        for spans, one in taken
        for a, b in spans
    ]


def _open_times(layer: Availability, how: Expansion) -> Spans:
    found = (i for series in layer.open for i in how.instances(series))
    return Spans.of((_seconds(i.start), _seconds(i.end)) for i in found)


def _range(layer: Availability, window: Window) -> Spans:
    first = max(layer.first or window[0], window[0])
    last = min(layer.last or window[1], window[1])
    return Spans.of([(_seconds(first), _seconds(last))])


def _seconds(when: datetime) -> int:
    return int(when.timestamp())


def _from(seconds: int) -> datetime:
    return datetime.fromtimestamp(seconds, UTC)


def read_free_busy(
    component: Component, setting: Setting, notes: Notes
) -> tuple[list[Busy], Window | None]:
    """Return the taken stretches of a VFREEBUSY and the range that it speaks of."""
    reader = PropertyReader(component, setting, notes)
    zones, home = setting.zones, setting.home
    start = reader.one("DTSTART", lambda line: line_moment(line, zones))
    end = reader.one("DTEND", lambda line: line_moment(line, zones))
    found = []
    for line, spans in reader.each("FREEBUSY", lambda x: (x, periods(x, zones))):
        kind = _FREE_BUSY_TYPES.get((line.param("FBTYPE") or "").upper(), Kind.BUSY)
        for span in spans:
            if span.start.zone is None:
                reader.remark(f"times without a zone are read in {setting.home_name}")
            first = span.start.utc(home)
            if isinstance(span.end, Length):
                last = span.end.after(span.start.local, span.start.zone or home)
            else:
                last = span.end.utc(home)
            if kind > Kind.FREE:
                found.append((first, last, kind))
    if setting.method == "REQUEST":
        reader.remark(
            "a request for free-busy time doesn't say who is busy, so it is ignored"
        )
        return [], None
    title, uid = title_of(component), plain(component.value("UID") or "")
    stretches = [
        Busy(start=a, end=b, kind=k.word, title=title, file=setting.file, uid=uid)
        for a, b, k in found
    ]
    return stretches, (start.utc(home), end.utc(home)) if start and end else None


def uncovered(ranges: Iterable[Window], window: Window) -> list[Window]:
    """Return the parts of the window that no free-busy report speaks of."""
    told = Spans.of((_seconds(a), _seconds(b)) for a, b in ranges)
    whole = Spans.of([(_seconds(window[0]), _seconds(window[1]))])
    return [(_from(a), _from(b)) for a, b in whole - told]
