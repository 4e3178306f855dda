"""Entries of a calendar: when a VEVENT or AVAILABLE is, and whether it takes time."""

from dataclasses import dataclass
from datetime import datetime, tzinfo
from enum import IntEnum

from planner.files.ics.properties import Notes, PropertyReader, Setting, title_of
from planner.files.ics.rules import Rule, read_rule
from planner.files.ics.text import BadValueError, Component, ContentLine
from planner.files.ics.values import (
    Length,
    Moment,
    Period,
    length,
    line_moment,
    line_moments,
    periods,
)

RDATES_MAX = 10_000

# What makes two copies of an entry different as far as hours go.
_TELLING = frozenset(
    [
        "DTSTART",
        "DTEND",
        "DURATION",
        "RRULE",
        "RDATE",
        "EXDATE",
        "RECURRENCE-ID",
        "STATUS",
        "TRANSP",
        "X-MICROSOFT-CDO-BUSYSTATUS",
        "ATTENDEE",
    ]
)


class Kind(IntEnum):
    """How taken a stretch is; where several meet, the greatest counts."""

    FREE = 0
    TENTATIVE = 1
    UNAVAILABLE = 2
    BUSY = 3

    @property
    def word(self) -> str:
        """The kind as a record has it."""
        return self.name.lower()


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """A VEVENT or AVAILABLE, read: one event, a series, or a changed instance."""

    uid: str
    title: str  # empty for a private entry
    label: str  # for messages
    file: str
    home: tzinfo
    start: Moment
    end: Moment | Length | None
    rules: tuple[Rule, ...]
    dates: tuple[Moment | Period, ...]
    except_dates: tuple[Moment, ...]
    instead_of: Moment | None  # RECURRENCE-ID
    onward: bool  # RANGE=THISANDFUTURE
    kind: Kind
    cancelled: bool
    version: tuple[int, datetime, datetime]  # SEQUENCE, last change, DTSTAMP
    digest: tuple[str, ...]  # the same for copies that say the same

    @property
    def zone(self) -> tzinfo:
        """The zone in which the entry's start is counted."""
        return self.start.zone or self.home


def read_entry(
    component: Component, setting: Setting, notes: Notes, *, available: bool = False
) -> Entry | None:
    """Return the entry, or None after its faults have been put into the notes.

    An AVAILABLE (RFC 7953 §3.1) must give its times in UTC or in a zone.
    """
    reader = PropertyReader(component, setting, notes)
    start, end = _span(reader, available=available)
    whole_day = start is not None and start.whole_day
    zones = setting.zones

    def rule(line: ContentLine) -> Rule:
        return read_rule(line.value, zones, whole_day=whole_day)

    def dates(line: ContentLine) -> tuple[Moment | Period, ...]:
        is_period = (line.param("VALUE") or "").upper() == "PERIOD"
        return periods(line, zones) if is_period else line_moments(line, zones)

    if any(not line.value.strip() for line in component.every("RRULE")):
        reader.remark("an empty RRULE is ignored")
    rules = tuple(reader.each("RRULE", rule))
    extra = tuple(d for ds in reader.each("RDATE", dates) for d in ds)
    without = reader.each("EXDATE", lambda line: line_moments(line, zones))
    instead_of = reader.one("RECURRENCE-ID", lambda line: line_moment(line, zones))
    reader.one("RECURRENCE-ID", _check_range)
    version = _version(reader)
    kind, cancelled = _standing(component, setting)
    if len(extra) > RDATES_MAX:
        reader.fault(BadValueError(f"more than {RDATES_MAX:,} dates"), "RDATE")
    if any(_is_day(d) != whole_day for d in extra) and start is not None:
        reader.fault(BadValueError("it mixes dates with times"), "RDATE")
    if component.every("EXRULE"):
        _mind_exrule(reader, available=available)
    moments = [m for m in (start, end, instead_of, *extra) if isinstance(m, Moment)]
    moments += [p.start for p in extra if isinstance(p, Period)]
    _mind_zones(reader, moments, available=available)
    if reader.failed or start is None:
        return None
    return Entry(
        uid=(component.value("UID") or "").strip(),
        title=title_of(component),
        label=reader.label,
        file=setting.file,
        home=setting.day_home if whole_day else setting.home,
        start=start,
        end=end,
        rules=rules,
        dates=extra,
        except_dates=tuple(m for ms in without for m in ms),
        instead_of=instead_of,
        onward=any(line.param("RANGE") for line in component.every("RECURRENCE-ID")),
        kind=kind,
        cancelled=cancelled,
        version=version,
        digest=_digest(component, setting),
    )


def _span(
    reader: PropertyReader, *, available: bool
) -> tuple[Moment | None, Moment | Length | None]:
    """Return start and end as written; what doesn't fit together is a fault."""
    component, zones = reader.component, reader.setting.zones
    start = reader.one("DTSTART", lambda line: line_moment(line, zones))
    end = reader.one("DTEND", lambda line: line_moment(line, zones))
    lasting = reader.one("DURATION", lambda line: length(line.value))
    if not component.every("DTSTART"):
        reader.fault(BadValueError("it has no DTSTART, so nobody can tell when it is"))
    if start is None or end is None:
        return start, lasting
    if start.whole_day != end.whole_day:
        reader.fault(
            BadValueError("DTSTART and DTEND must both be dates or both be times")
        )
        return start, None
    home = reader.setting.home
    first, last = start.utc(home), end.utc(home)
    if last < first:
        reader.fault(BadValueError("it ends before it starts"))
    if lasting is not None:
        if available:
            reader.fault(BadValueError("it has both DTEND and DURATION"))
        reader.remark("it has both DTEND and DURATION, and the later end is used")
        if lasting.after(start.local, start.zone or home) > last:
            return start, lasting
    if first == last and start.whole_day:
        reader.remark("whole days that end on their first day are read as one day")
        return start, None
    if first == last and start.local != end.local and start.zone == end.zone:
        reader.remark("a clock change leaves no time between start and end")
    return start, end


def _is_day(when: Moment | Period) -> bool:
    return isinstance(when, Moment) and when.whole_day


def _check_range(line: ContentLine) -> None:
    scope = line.param("RANGE")
    if scope is not None and scope.upper() != "THISANDFUTURE":
        raise BadValueError("RANGE must be THISANDFUTURE", seen=scope)


def _mind_exrule(reader: PropertyReader, *, available: bool) -> None:
    """EXRULE is no longer part of iCalendar; what it takes out stays in."""
    if available:
        reader.fault(
            BadValueError("EXRULE can't be read, because RFC 5545 no longer has it")
        )
    else:
        reader.remark(
            "EXRULE is ignored, as RFC 5545 no longer has it; what it removes stays in"
        )


def _version(reader: PropertyReader) -> tuple[int, datetime, datetime]:
    stamp = reader.stamp("DTSTAMP")
    changed = reader.stamp("LAST-MODIFIED")
    if not reader.component.every("LAST-MODIFIED"):
        changed = stamp
    return reader.number("SEQUENCE"), changed, stamp


def _mind_zones(
    reader: PropertyReader, moments: list[Moment], *, available: bool
) -> None:
    """Say where dates and times without a zone are read, or refuse them."""
    setting = reader.setting
    homeless = [m for m in moments if m.zone is None]
    if homeless and available:
        reader.fault(
            BadValueError("this AVAILABLE must begin and end at times with a zone")
        )
    elif homeless and setting.home_bad:
        reader.fault(setting.home_bad, "X-WR-TIMEZONE")
    elif any(not m.whole_day for m in homeless):
        reader.remark(f"times without a zone are read in {setting.home_name}")
    elif homeless and setting.day_home is not setting.site:
        reader.remark(f"whole days are read in {setting.home_name}")


def _digest(component: Component, setting: Setting) -> tuple[str, ...]:
    lines = (line for name in _TELLING for line in component.every(name))
    texts = sorted(f"{n.name};{sorted(n.params)}:{n.value}" for n in lines)
    return (setting.home_name, setting.method, *texts)


def _standing(component: Component, setting: Setting) -> tuple[Kind, bool]:
    """Return how taken a VEVENT makes its time, and whether it is cancelled.

    The first that applies: the owner's own answer where it isn't "accepted"; the
    busy status of a widely used mail calendar (as in MS-OXCICAL 2.1.3.1.1.20.25); TRANSP; STATUS.
    """
    status = component.word("STATUS")
    cancelled = status == "CANCELLED" or setting.method == "CANCEL"
    answers = {
        (line.param("PARTSTAT") or "NEEDS-ACTION").upper()
        for line in component.every("ATTENDEE")
        if _addresses(line) & setting.owners
    }
    if answers == {"DECLINED"}:
        return Kind.FREE, cancelled
    if answers and answers <= {"DECLINED", "NEEDS-ACTION", "TENTATIVE"}:
        return Kind.TENTATIVE, cancelled
    marked = component.word("X-MICROSOFT-CDO-BUSYSTATUS")
    if marked:
        return _MARKED.get(marked, Kind.BUSY), cancelled
    if component.word("TRANSP") == "TRANSPARENT":
        return Kind.FREE, cancelled
    return (Kind.TENTATIVE if status == "TENTATIVE" else Kind.BUSY), cancelled


_MARKED = {
    "FREE": Kind.FREE,
    "WORKINGELSEWHERE": Kind.FREE,
    "TENTATIVE": Kind.TENTATIVE,
    "BUSY": Kind.BUSY,
    "OOF": Kind.UNAVAILABLE,
}


def _addresses(line: ContentLine) -> set[str]:
    both = (line.value, line.param("EMAIL") or "")
    return {a.strip().lower().removeprefix("mailto:") for a in both} - {""}
