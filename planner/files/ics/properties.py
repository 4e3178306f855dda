"""One component's properties, read with every fault and remark kept."""

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime, tzinfo
from typing import TypeVar
from zoneinfo import ZoneInfo

from planner.errors import Fault
from planner.files.ics.text import BadValueError, Component, ContentLine, Unread, plain
from planner.files.ics.values import line_moment
from planner.files.ics.zones import Zones

T = TypeVar("T")

LEAVE_OUT = "correct the entry, or leave it out by its UID ([[calendars.leave_out]])"
LABELS_SHOWN = 3

# A line that can't be read and begins like one of these may have been one.
_TIME_NAMES = frozenset(
    [
        "DTSTART",
        "DTEND",
        "DURATION",
        "RRULE",
        "RDATE",
        "EXDATE",
        "EXRULE",
        "RECURRENCE-ID",
        "FREEBUSY",
        "SEQUENCE",
        "STATUS",
        "BUSYTYPE",
        "PRIORITY",
    ]
)
_MAY_BE_EMPTY = ("RRULE", "RDATE", "EXDATE", "SEQUENCE", "PRIORITY")
_ONCE = ("DTSTART", "DTEND", "DURATION", "RECURRENCE-ID", "UID", "SEQUENCE", "CLASS")


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """What an entry is read with: its calendar's file, zones and method, the asker."""

    file: str
    prefix: str  # names the file in messages where a folder is read
    site: ZoneInfo
    home: tzinfo  # for times without a zone
    home_name: str
    day_home: tzinfo  # for dates
    home_bad: BadValueError | None  # why the zone that the calendar names isn't `home`
    zones: Zones
    method: str
    owners: frozenset[str]  # addresses in lower case


@dataclass(slots=True)
class Notes:
    """What reading gathers beside the entries: faults, and remarks with examples."""

    faults: list[Fault] = field(default_factory=list)
    _remarks: dict[str, set[str]] = field(default_factory=dict)

    def fault(self, where: str, bad: BadValueError, *, private: bool = False) -> None:
        """Keep a fault; the value of a private entry isn't shown."""
        seen = f': "{bad.seen}"' if bad.seen and not private else ""
        self.faults.append(
            Fault(where=where, message=bad.message + seen, hint=bad.hint or LEAVE_OUT)
        )

    def remark(self, text: str, label: str = "") -> None:
        """Keep a remark, and which entry it is about."""
        self._remarks.setdefault(text, set()).update({label} - {""})

    def remarks(self) -> tuple[str, ...]:
        """Return each remark once, with the first few of its entries."""
        out = []
        for text, labels in sorted(self._remarks.items()):
            shown = ", ".join(sorted(labels)[:LABELS_SHOWN])
            more = len(labels) - LABELS_SHOWN
            tail = f" and {more} more" if more > 0 else ""
            out.append(f"{text}: {shown}{tail}" if labels else text)
        return tuple(out)


def is_private(component: Component) -> bool:
    """Tell whether an entry's text may not be shown; a CLASS in doubt counts."""
    if any(line.word.startswith("CLASS") for line in component.unread):
        return True
    return any(
        line.value.strip().upper() != "PUBLIC" for line in component.every("CLASS")
    )


def title_of(component: Component) -> str:
    """Return an entry's title as it may be printed, empty for a private one."""
    if is_private(component):
        return ""
    return plain(component.value("SUMMARY") or "", 200)


def label_of(component: Component, prefix: str) -> str:
    """Return an entry's name for messages, without the title of a private one."""
    private = is_private(component)
    title = "" if private else plain(component.value("SUMMARY") or "", 60)
    noun = "private entry" if private else "entry"
    uid = plain(component.value("UID") or "")
    place = f"(UID {uid})" if uid else f"in line {component.number}"
    return prefix + (f'{noun} "{title}" {place}' if title else f"{noun} {place}")


def _may_be_rest(line: Unread) -> bool:
    """Tell whether a line may be what a time, a rule or a UID before it goes on with.

    A rule has words of its own with a semicolon after them; the others haven't.
    """
    if line.after in ("RRULE", "EXRULE"):
        return True
    return line.after in (*_TIME_NAMES, "UID") and line.word[-1:] not in (":", ";")


@dataclass(slots=True)
class PropertyReader:
    """Reads the properties of one component; faults go to the notes."""

    component: Component
    setting: Setting
    notes: Notes
    label: str = ""
    private: bool = False
    failed: bool = False

    def __post_init__(self) -> None:
        """Name the entry; refuse lines that can't be read and doubled ones."""
        self.label = label_of(self.component, self.setting.prefix)
        self.private = is_private(self.component)
        has_end = any(self.component.every(n) for n in ("DTEND", "DURATION"))
        for line in self.component.unread:
            named = line.word[-1:] in (":", ";", "=")
            words = f"line {line.number} is not a line of iCalendar"
            if line.word.rstrip(":;=") in _TIME_NAMES:
                self.fault(BadValueError(words))
            elif _may_be_rest(line):
                words += f"; it may belong to the {line.after} before it"
                self.fault(BadValueError(words))
            elif not (has_end or named):
                self.fault(BadValueError(words))
            else:
                self.remark("a line that is not iCalendar is ignored")
        for name in _ONCE:
            if len(self.component.every(name)) > 1:
                self.fault(BadValueError(f"{name} stands there twice"))

    def fault(self, bad: BadValueError, name: str = "") -> None:
        """Keep a fault of this entry, at the property `name`."""
        self.failed = True
        where = f"{self.label}: {name}" if name else self.label
        self.notes.fault(where, bad, private=self.private)

    def remark(self, text: str) -> None:
        """Keep a remark about this entry."""
        self.notes.remark(text, self.label)

    def each(self, name: str, read: Callable[[ContentLine], T]) -> list[T]:
        """Return what `read` makes of each line of that name; faults are kept."""
        out = []
        for line in self.component.every(name):
            if not line.value.strip() and name in _MAY_BE_EMPTY:
                continue
            try:
                out.append(read(line))
            except BadValueError as bad:
                self.fault(bad, name)
        return out

    def one(self, name: str, read: Callable[[ContentLine], T]) -> T | None:
        """Return what `read` makes of the line of that name, None where none is."""
        return next(iter(self.each(name, read)), None)

    def number(self, name: str) -> int:
        """Return a whole number, 0 where there is none."""

        def read(line: ContentLine) -> int:
            text = line.value.strip()
            if not (text.isascii() and text.isdigit() and len(text) < 10):
                raise BadValueError("not a whole number", seen=text)
            return int(text)

        return self.one(name, read) or 0

    def stamp(self, name: str) -> datetime:
        """Return a time stamp, the earliest time where there is none to be read."""
        try:
            line = self.component.every(name)[0]
            return line_moment(line, self.setting.zones).utc(UTC)
        except (IndexError, BadValueError):
            return datetime.min.replace(tzinfo=UTC)
