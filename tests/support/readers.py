"""Four independent readers of iCalendar, and what each makes of a calendar's entries.

They are icalendar, ical, vobject and ics (PyPI), each with a parser of its own.
"""

import importlib
import re
from dataclasses import dataclass
from datetime import UTC, date, datetime


@dataclass(frozen=True, kw_only=True)
class Seen:
    """What a reader makes of an entry; None where it has no such notion."""

    uid: str
    start: date | datetime
    end: date | datetime
    title: str
    description: str
    location: str
    categories: tuple[str, ...] | None
    sequence: int | None
    transparent: bool


def _raw(value: object) -> str:
    """Return a property that a reader hands over as it stands, unescaped."""
    return re.sub(r"\\(.)", r"\1", str(value))


def _utc(when: date | datetime) -> date | datetime:
    return when.astimezone(UTC) if isinstance(when, datetime) else when


def by_icalendar(data: bytes) -> tuple[str, list[Seen]]:
    icalendar = importlib.import_module("icalendar")
    calendar = icalendar.Calendar.from_ical(data)
    assert not [part for part in calendar.walk() if part.errors]
    seen = []
    for event in calendar.walk("VEVENT"):
        categories = event.get("CATEGORIES")
        seen.append(
            Seen(
                uid=str(event["UID"]),
                start=_utc(event["DTSTART"].dt),
                end=_utc(event["DTEND"].dt),
                title=str(event["SUMMARY"]),
                description=str(event.get("DESCRIPTION", "")),
                location=str(event.get("LOCATION", "")),
                categories=tuple(map(str, categories.cats)) if categories else (),
                sequence=int(event["SEQUENCE"]),
                transparent=event["TRANSP"] == "TRANSPARENT",
            )
        )
    return _raw(calendar["NAME"]), seen


def by_ical(data: bytes) -> tuple[str, list[Seen]]:
    stream = importlib.import_module("ical.calendar_stream")
    calendar = stream.IcsCalendarStream.calendar_from_ics(data.decode())
    extras = {extra.name: extra.value for extra in calendar.extras}
    return _raw(extras["x-wr-calname"]), [
        Seen(
            uid=event.uid,
            start=_utc(event.dtstart),
            end=_utc(event.dtend),
            title=event.summary,
            description=event.description or "",
            location=event.location or "",
            categories=tuple(event.categories),
            sequence=event.sequence,
            transparent=event.transparency == "TRANSPARENT",
        )
        for event in calendar.events
    ]


def by_vobject(data: bytes) -> tuple[str, list[Seen]]:
    vobject = importlib.import_module("vobject")
    calendar = vobject.readOne(data.decode())
    calendar.validate(raiseException=True)

    def text(event: object, name: str) -> str:
        return str(getattr(event, name).value) if hasattr(event, name) else ""

    return calendar.x_wr_calname.value, [
        Seen(
            uid=event.uid.value,
            start=_utc(event.dtstart.value),
            end=_utc(event.dtend.value),
            title=event.summary.value,
            description=text(event, "description"),
            location=text(event, "location"),
            categories=tuple(event.categories.value)
            if hasattr(event, "categories")
            else (),
            sequence=int(event.sequence.value),
            transparent=event.transp.value == "TRANSPARENT",
        )
        for event in calendar.contents.get("vevent", [])
    ]


def by_ics(data: bytes) -> tuple[str, list[Seen]]:
    ics = importlib.import_module("ics")
    calendar = ics.Calendar(data.decode())
    extras = {extra.name: extra.value for extra in calendar.extra}
    seen = []
    for event in calendar.events:
        days = event.all_day
        seen.append(
            Seen(
                uid=event.uid,
                start=event.begin.date() if days else _utc(event.begin.datetime),
                end=event.end.date() if days else _utc(event.end.datetime),
                title=event.name,
                description=event.description or "",
                location=event.location or "",
                categories=None,
                sequence=None,
                transparent=event.transparent,
            )
        )
    return _raw(extras["X-WR-CALNAME"]), seen
