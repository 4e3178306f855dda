"""The entries of a calendar file, each by itself, as a calendar server keeps them.

Every entry carries a seal: a digest of all else that it says. Whatever a server does
to the order and the folding of lines, an entry whose seal is intact says just what
this program wrote; one that a person changed doesn't. So what was published can be
told from what was changed by hand even if the record of it is lost.
"""

import hashlib
import re
from dataclasses import dataclass

from planner.files.ics.text import BrokenTextError, Component, calendars, plain

SEAL = "X-COVETIME-SEAL"
NAME = re.compile(r"covetime-[0-9a-f]{8}-[0-9a-f-]{36}\.ics")

_HEAD = b"BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//covetime//planner//EN\r\n"
_ZONE = re.compile(rb"BEGIN:VTIMEZONE\r\n.*?END:VTIMEZONE\r\n", re.DOTALL)
_EVENT = re.compile(rb"BEGIN:VEVENT\r\n.*?END:VEVENT\r\n", re.DOTALL)


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """An entry to be kept under a name in a collection."""

    uid: str
    name: str
    title: str
    seal: str
    data: bytes


@dataclass(frozen=True, slots=True, kw_only=True)
class Items:
    """The entries of a calendar that aren't cancelled; names begin with `prefix`."""

    prefix: str
    items: tuple[Item, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundItem:
    """What a server holds under a name: whose it is, and whether its seal is intact."""

    uid: str
    title: str
    seal: str
    intact: bool


def items_of(data: bytes) -> Items:
    """Return the entries of a calendar file that this program wrote."""
    (calendar,) = calendars(data)
    prefix = f"covetime-{(calendar.value('UID') or '')[:8]}-"
    zones = b"".join(_ZONE.findall(data))
    items = []
    events = zip(_EVENT.findall(data), calendar.parts("VEVENT"), strict=True)
    for raw, event in events:
        if event.word("STATUS") == "CANCELLED":
            continue
        uid, seal = event.value("UID") or "", seal_of(event)
        inner = raw.removesuffix(b"END:VEVENT\r\n")
        items.append(
            Item(
                uid=uid,
                name=f"{prefix}{uid}.ics",
                title=plain(event.value("SUMMARY") or ""),
                seal=seal,
                data=_HEAD
                + (zones if b"TZID=" in raw else b"")
                + inner
                + f"{SEAL}:{seal}\r\nEND:VEVENT\r\nEND:VCALENDAR\r\n".encode(),
            )
        )
    return Items(prefix=prefix, items=tuple(items))


def found_in(data: bytes) -> FoundItem:
    """Return whose entry a server's bytes hold; anything unreadable is nobody's."""
    try:
        events = [e for c in calendars(data) for e in c.parts("VEVENT")]
    except BrokenTextError:
        events = []
    if len(events) != 1:
        return FoundItem(uid="", title="", seal="", intact=False)
    (event,) = events
    seal = event.value(SEAL) or ""
    return FoundItem(
        uid=event.value("UID") or "",
        title=plain(event.value("SUMMARY") or ""),
        seal=seal,
        intact=bool(seal) and seal == seal_of(event),
    )


def seal_of(event: Component) -> str:
    """Return the digest of all that an entry says, however its lines are laid out."""
    rows = []
    for name, lines in event.lines.items():
        for line in lines:
            if name != SEAL:
                params = sorted(f"{n}={v}" for n, v in line.params)
                rows.append(repr((name, params, _plain_value(line.value))))
    rows += [f"within: {inner.name}" for inner in event.children]
    rows += [f"unread: {line.word}" for line in event.unread]
    return hashlib.sha256("\n".join(sorted(rows)).encode()).hexdigest()[:40]


def _plain_value(value: str) -> str:
    r"""Return a value without its escapes, which servers set more or less of."""
    return re.sub(r"\\(.)", lambda m: "\n" if m[1] in "nN" else m[1], value)
