"""Everything that may be wrong with a calendar file of ours, whichever code made it.

Stricter than iCalendar: it lets through what every receiver reads alike and nothing
else; a property that isn't listed here is a fault. The program's own lint looks for
what a job's texts and zone can break, this one for all the rest too.

Standards: RFC 5545 (sections named beside the rules), RFC 7986, RFC 9253.
"""

import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta

from planner.errors import Fault
from planner.files.ics_out import lint as at_run
from planner.files.ics_out.lint_lines import RawLine, RawPart, at, take_apart


def lint(data: bytes) -> tuple[Fault, ...]:
    """Return all that is wrong with a calendar file; nothing if it may be published."""
    calendar, _ = take_apart(data)
    others = () if calendar is None else _calendar_faults(calendar)
    return (*at_run.lint(data), *others)


# ---------------------------------------------- what may stand where, how often


@dataclass(frozen=True, slots=True, kw_only=True)
class _Kind:
    """What a component may hold."""

    once: frozenset[str]
    at_most_once: frozenset[str] = frozenset()
    many: frozenset[str] = frozenset()
    parts: frozenset[str] = frozenset()


_OBSERVANCE = _Kind(
    once=frozenset(("DTSTART", "TZOFFSETFROM", "TZOFFSETTO")),
    at_most_once=frozenset(("TZNAME", "RRULE")),
)
_KINDS = {
    "VCALENDAR": _Kind(
        once=frozenset(
            (
                "VERSION",
                "PRODID",
                "UID",
                "NAME",
                "X-WR-CALNAME",
                "COLOR",
                "REFRESH-INTERVAL",
                "X-PUBLISHED-TTL",
            )
        ),
        at_most_once=frozenset(("CALSCALE", "DESCRIPTION", "X-WR-CALDESC", "SOURCE")),
        parts=frozenset(("VEVENT", "VTIMEZONE")),
    ),
    "VEVENT": _Kind(
        once=frozenset(
            (
                "UID",
                "DTSTAMP",
                "LAST-MODIFIED",
                "SEQUENCE",
                "DTSTART",
                "DTEND",
                "SUMMARY",
                "STATUS",
                "TRANSP",
                "X-MICROSOFT-CDO-BUSYSTATUS",
            )
        ),
        at_most_once=frozenset(("DESCRIPTION", "LOCATION", "CATEGORIES")),
        many=frozenset(("RELATED-TO",)),
    ),
    "VTIMEZONE": _Kind(
        once=frozenset(("TZID",)), parts=frozenset(("STANDARD", "DAYLIGHT"))
    ),
    "STANDARD": _OBSERVANCE,
    "DAYLIGHT": _OBSERVANCE,
}
# Parameters each property may have; those with a value must have it (§3.2.20).
_PARAMS: dict[str, dict[str, str]] = {
    "REFRESH-INTERVAL": {"VALUE": "DURATION"},
    "SOURCE": {"VALUE": "URI"},
}
_FREE_PARAMS = {
    "DTSTART": {"VALUE", "TZID"},
    "DTEND": {"VALUE", "TZID"},
    "RELATED-TO": {"RELTYPE", "GAP"},
}


def _calendar_faults(calendar: RawPart) -> Iterator[Fault]:
    """Yield the faults of the calendar and of all within it."""
    for part in _walk(calendar):
        yield from _shape_faults(part)
        for line in part.lines:
            yield from _line_faults(line)
    yield from _head_faults(calendar)
    zones = {part.value("TZID") for part in calendar.parts if part.name == "VTIMEZONE"}
    events = [part for part in calendar.parts if part.name == "VEVENT"]
    for event in events:
        yield from _time_faults(event, zones)
        yield from _standing_faults(event)
        yield from _sequence_faults(event)
    yield from _link_faults(events)


def _walk(part: RawPart) -> Iterator[RawPart]:
    yield part
    for inner in part.parts:
        yield from _walk(inner)


def _shape_faults(part: RawPart) -> Iterator[Fault]:
    """Yield what is missing, doubled or out of place in a component."""
    kind = _KINDS.get(part.name)
    if kind is None:
        return  # its parent has said so
    counts = Counter(line.name for line in part.lines)
    for name in sorted(kind.once - counts.keys()):
        yield at(part.number, f"the {part.name} has no {name}")
    for line in part.lines:
        if line.name not in kind.once | kind.at_most_once | kind.many:
            yield at(line.number, f"{line.name} may not stand in a {part.name}")
    for name in sorted(kind.once | kind.at_most_once):
        if counts[name] > 1:
            yield at(part.number, f"the {part.name} has {counts[name]} {name}")
    for inner in part.parts:
        if inner.name not in kind.parts:
            yield at(inner.number, f"{inner.name} may not stand in a {part.name}")
    if kind.parts and not part.parts:  # §3.6, §3.6.5
        yield at(part.number, f"the {part.name} holds no component")


def _line_faults(line: RawLine) -> Iterator[Fault]:
    """Yield the faults of one line that show without looking at others."""
    names = [name for name, _ in line.params]
    if len(set(names)) < len(names):
        yield at(line.number, f"a parameter of {line.name} stands there twice")
    fixed = _PARAMS.get(line.name, {})
    for name, value in fixed.items():
        if (name, value) not in line.params:
            yield at(line.number, f"{line.name} lacks {name}={value}")
    for name in names:
        if name not in fixed and name not in _FREE_PARAMS.get(line.name, ()):
            yield at(line.number, f"{line.name} may not have {name}")


# ----------------------------------------------------------------- the calendar


def _head_faults(calendar: RawPart) -> Iterator[Fault]:
    """Yield the faults of the calendar's own properties."""
    for name, wanted in (("VERSION", "2.0"), ("CALSCALE", "GREGORIAN")):
        for line in calendar.all(name):
            if line.value != wanted:
                yield at(line.number, f"{name} is {line.value!r}, not {wanted}")
    for name, twin in (
        ("NAME", "X-WR-CALNAME"),
        ("DESCRIPTION", "X-WR-CALDESC"),
        ("REFRESH-INTERVAL", "X-PUBLISHED-TTL"),
    ):
        if calendar.value(name) != calendar.value(twin):
            yield at(calendar.number, f"{name} and {twin} don't say the same")
    for line in calendar.all("REFRESH-INTERVAL"):
        gap = _duration(line.value)
        if gap is None or gap <= timedelta(0):
            yield at(line.number, f"{line.value!r} is not a time to refresh after")
    for line in calendar.all("COLOR"):
        if not re.fullmatch("[a-z]{3,20}", line.value):
            yield at(line.number, f"{line.value!r} is not the name of a colour")
    for line in calendar.all("SOURCE"):
        if not re.fullmatch(r"https?://[!-~]+", line.value):
            yield at(line.number, f"{line.value!r} is not a web address")


# -------------------------------------------------------------------- the times


def _moment(value: str) -> tuple[str, datetime] | None:
    """Return the form of a DATE or DATE-TIME, and the time it names (§3.3.4, §3.3.5)."""
    for form, pattern, reading in (
        ("day", r"\d{8}", "%Y%m%d"),
        ("UTC", r"\d{8}T\d{6}Z", "%Y%m%dT%H%M%SZ"),
        ("local", r"\d{8}T\d{6}", "%Y%m%dT%H%M%S"),
    ):
        if re.fullmatch(pattern, value, re.ASCII):
            try:
                # Only compared with others of the same form, so no zone is needed.
                return form, datetime.strptime(value, reading)  # noqa: DTZ007
            except ValueError:
                return None
    return None


def _time_faults(event: RawPart, zones: set[str | None]) -> Iterator[Fault]:
    """Yield the faults of an entry's stamps, start and end."""
    for name in ("DTSTAMP", "LAST-MODIFIED"):  # §3.8.7.2, §3.8.7.3
        for line in event.all(name):
            moment = _moment(line.value)
            if moment is None or moment[0] != "UTC":
                yield at(line.number, f"{name} {line.value!r} is not a UTC instant")
    for line in event.all("DTSTART") + event.all("DTEND"):
        yield from _form_faults(line, zones)
    start, end = event.all("DTSTART"), event.all("DTEND")
    if len(start) != 1 or len(end) != 1:
        return
    a, b = _moment(start[0].value), _moment(end[0].value)
    if a is None or b is None:
        return
    if a[0] != b[0] or start[0].params != end[0].params:  # §3.8.2.2
        yield at(end[0].number, "DTEND is not of the same form as DTSTART")
    elif b[1] <= a[1]:
        yield at(end[0].number, "DTEND is not after DTSTART")


def _form_faults(line: RawLine, zones: set[str | None]) -> Iterator[Fault]:
    params = dict(line.params)
    moment = _moment(line.value)
    if moment is None:
        yield at(line.number, f"{line.name} {line.value!r} is neither day nor time")
        return
    form = moment[0]
    if params.get("VALUE", "DATE-TIME") != ("DATE" if form == "day" else "DATE-TIME"):
        yield at(line.number, f"{line.name} {line.value!r} needs another VALUE")
    if form == "local" and "TZID" not in params:
        yield at(line.number, f"{line.name} {line.value!r} floats: no zone is named")
    if form != "local" and "TZID" in params:  # §3.2.19
        yield at(line.number, f"{line.name} {line.value!r} may not name a zone")
    if "TZID" in params and params["TZID"] not in zones:
        yield at(line.number, f"the zone {params['TZID']!r} is not defined")


# ------------------------------------------------------- standing and sequence

_STANDINGS = {
    ("CONFIRMED", "OPAQUE", "BUSY"),
    ("CONFIRMED", "TRANSPARENT", "FREE"),
    ("TENTATIVE", "OPAQUE", "TENTATIVE"),
    ("TENTATIVE", "TRANSPARENT", "FREE"),
    ("CANCELLED", "TRANSPARENT", "FREE"),
}


def _standing_faults(event: RawPart) -> Iterator[Fault]:
    """Yield a fault if an entry's three words on busy and free don't agree."""
    names = ("STATUS", "TRANSP", "X-MICROSOFT-CDO-BUSYSTATUS")
    values = tuple(event.value(name) for name in names)
    if None not in values and values not in _STANDINGS:
        said = ", ".join(f"{name} {v}" for name, v in zip(names, values, strict=True))
        yield at(event.number, f"these don't go together: {said}")


def _sequence_faults(event: RawPart) -> Iterator[Fault]:
    for line in event.all("SEQUENCE"):  # §3.8.7.4 and §3.3.8
        if not re.fullmatch("[0-9]{1,10}", line.value) or int(line.value) >= 2**31:
            yield at(line.number, f"SEQUENCE {line.value!r} is not 0 to {2**31 - 1}")


# --------------------------------------------------------------------- the links

# Which end of the entry that holds the link and which of the follow-on it ties.
_TIES = {
    "FINISHTOSTART": ("DTEND", "DTSTART"),
    "FINISHTOFINISH": ("DTEND", "DTEND"),
    "STARTTOSTART": ("DTSTART", "DTSTART"),
    "STARTTOFINISH": ("DTSTART", "DTEND"),
}


def _duration(value: str) -> timedelta | None:
    """Return an exact duration; None for days and weeks, which aren't (§3.3.6)."""
    match = re.fullmatch(
        r"([+-]?)PT(?=\d)(?:(\d+)H(?=\d+M|$))?(?:(\d+)M)?(?:(\d+)S)?", value, re.ASCII
    )
    if match is None:
        return None
    hours, minutes, seconds = (int(digits or 0) for digits in match.groups()[1:])
    gap = timedelta(hours=hours, minutes=minutes, seconds=seconds)
    return -gap if match[1] == "-" else gap


def _link_faults(events: list[RawPart]) -> Iterator[Fault]:
    """Yield the faults of links: each stands in the predecessor and is kept (RFC 9253)."""
    by_uid = {event.value("UID") or "": event for event in events}
    pairs = Counter(
        (here, line.value)
        for here, event in by_uid.items()
        for line in event.all("RELATED-TO")
    )
    for here, event in by_uid.items():
        for line in event.all("RELATED-TO"):
            there = line.value
            if there not in by_uid or there == here:
                yield at(line.number, "the link leads to no other entry of the file")
                continue
            if pairs[here, there] > 1:
                yield at(line.number, "the link stands there twice")
            if pairs[there, here]:
                yield at(line.number, "the link leads both ways")
            yield from _tie_faults(line, event, by_uid[there])


def _tie_faults(line: RawLine, event: RawPart, target: RawPart) -> Iterator[Fault]:
    params = dict(line.params)
    if params.get("RELTYPE") not in _TIES:
        allowed = ", ".join(_TIES)
        yield at(line.number, f"RELTYPE {params.get('RELTYPE')} is none of {allowed}")
        return
    gap = _duration(params.get("GAP", "PT0S"))
    if gap is None:
        yield at(line.number, f"GAP {params['GAP']!r} is not hours, minutes, seconds")
        return
    if "CANCELLED" in (event.value("STATUS"), target.value("STATUS")):
        yield at(line.number, "the link ties an entry that is cancelled")
    here, there = _TIES[params["RELTYPE"]]
    before = _moment(event.value(here) or "")
    after = _moment(target.value(there) or "")
    if before is None or after is None or not before[0] == after[0] == "UTC":
        return  # days have no instants to compare
    if after[1] < before[1] + gap:
        yield at(line.number, "the entries' times don't keep the link")
