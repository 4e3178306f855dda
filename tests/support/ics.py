"""Calendar texts for tests, and what a reader makes of them, hour by hour."""

from collections.abc import Iterable
from datetime import UTC, datetime
from itertools import pairwise
from pathlib import Path
from zoneinfo import ZoneInfo

from planner.nouns.calendar import Busy, Calendar

CHICAGO = ZoneInfo("America/Chicago")
HALIFAX = ZoneInfo("America/Halifax")
RANKS = {"": 0, "tentative": 1, "unavailable": 2, "busy": 3}
LETTERS = {"": "F", "tentative": "T", "unavailable": "U", "busy": "B"}


def utc(*parts: int) -> datetime:
    """Return a UTC instant."""
    return datetime(*parts, tzinfo=UTC)  # type: ignore[misc,arg-type]


def local(zone: ZoneInfo, *parts: int) -> datetime:
    """Return the UTC instant of a local time."""
    return datetime(*parts, tzinfo=zone).astimezone(UTC)  # type: ignore[misc,arg-type]


def component(name: str, *lines: str) -> str:
    """Return a component of these lines, which may be whole components."""
    return "\r\n".join([f"BEGIN:{name}", *lines, f"END:{name}"])


def event(*lines: str, uid: str = "e@test") -> str:
    """Return a VEVENT."""
    return component("VEVENT", f"UID:{uid}", "DTSTAMP:20260101T000000Z", *lines)


def calendar(*lines: str) -> str:
    """Return a VCALENDAR with its line ends."""
    head = ("VERSION:2.0", "PRODID:-//Tern Street Stage//tests//EN")
    return component("VCALENDAR", *head, *lines) + "\r\n"


def put(folder: Path, text: str | bytes, name: str = "x.ics") -> Path:
    """Write a calendar into a folder and return its path."""
    path = folder / name
    path.write_bytes(text.encode() if isinstance(text, str) else text)
    return path


def spans(found: Calendar) -> list[tuple[datetime, datetime, str]]:
    """Return start, end and kind of each stretch."""
    return [(b.start, b.end, b.kind) for b in found.busy]


def state(busy: Iterable[Busy], when: datetime) -> str:
    """Return the strongest kind at an instant, "" for free."""
    kinds = (b.kind for b in busy if b.start <= when < b.end)
    return max(kinds, key=RANKS.__getitem__, default="")


def timeline(
    busy: tuple[Busy, ...], window: tuple[datetime, datetime], zone: ZoneInfo
) -> str:
    """Return a day as text: "U 0-8, F 8-12" with the clock's hours of `zone`."""
    edges = {*window, *(b.start for b in busy), *(b.end for b in busy)}
    out: list[tuple[str, float, float]] = []
    for a, b in pairwise(sorted(edges)):
        letter = LETTERS[state(busy, a)]
        first, last = _clock(a, zone), _clock(b, zone) or 24.0
        if out and out[-1][0] == letter:
            first = out.pop()[1]
        out.append((letter, first, last))
    return ", ".join(f"{s} {a:g}-{b:g}" for s, a, b in out)


def _clock(when: datetime, zone: ZoneInfo) -> float:
    there = when.astimezone(zone)
    return there.hour + there.minute / 60
