"""Values of iCalendar properties: dates, times, lengths and periods (RFC 5545 §3.3)."""

import re
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta, tzinfo

from planner.files.ics.text import BadValueError, ContentLine
from planner.files.ics.zones import Zones, instant, later

LONGEST = timedelta(days=400 * 365)  # nothing in a calendar lasts longer
FIRST_YEAR = 1583  # the first whole year of the calendar that iCalendar counts in

_TIME = re.compile(r"(\d{8})(?:T(\d{6})(Z?))?", re.ASCII)
_LENGTH = re.compile(
    r"([+-]?)P(?:(\d{1,9})W|(?:(\d{1,9})D)?"
    r"(?:T(?:(\d{1,9})H)?(?:(\d{1,9})M)?(?:(\d{1,9})S)?)?)",
    re.ASCII,
)


@dataclass(frozen=True, slots=True)
class Moment:
    """A date or a date with a time as written; zone None means floating."""

    local: datetime  # without a zone; midnight for a date
    zone: tzinfo | None
    whole_day: bool

    def utc(self, home: tzinfo) -> datetime:
        """Return the instant; a date or floating time is read in `home`."""
        return instant(self.local, self.zone or home)


@dataclass(frozen=True, slots=True)
class Length:
    """A DURATION: whole days that follow the calendar, then exact time."""

    days: int
    exact: timedelta

    def after(self, local: datetime, zone: tzinfo) -> datetime:
        """Return the instant at which what starts at `local` ends."""
        base = instant(later(local, timedelta(days=self.days)), zone)
        return later(base, self.exact)


@dataclass(frozen=True, slots=True)
class Period:
    """A start with its own end or length."""

    start: Moment
    end: Moment | Length


def moment(text: str, *, kind: str | None, tzid: str | None, zones: Zones) -> Moment:
    """Return a DATE or DATE-TIME; `kind` is its VALUE parameter, if any."""
    found = _TIME.fullmatch(text.strip().upper())
    if not found:
        raise BadValueError(
            "not a date or time", seen=text, hint="write it as 20270210T090000"
        )
    whole_day = found[2] is None
    if kind and kind.upper() != ("DATE" if whole_day else "DATE-TIME"):
        raise BadValueError("not of the type that its VALUE parameter names", seen=text)
    local = _local(found[1] + (found[2] or "000000"))
    if local is None:
        raise BadValueError("not a date or time that exists", seen=text)
    if whole_day:
        return Moment(local, None, whole_day=True)
    if not tzid:
        return Moment(local, UTC if found[3] else None, whole_day=False)
    zone = zones.find(tzid)
    if found[3] and local.replace(tzinfo=zone).utcoffset() != timedelta():
        raise BadValueError("given both in UTC and in another zone", seen=text)
    return Moment(local, zone, whole_day=False)


def _local(digits: str) -> datetime | None:
    """Return what fourteen digits say; a leap second is the next minute's first."""
    sizes = [int(digits[:4]), *(int(digits[i : i + 2]) for i in range(4, 14, 2))]
    leap = sizes[-1] == 60
    sizes[-1] -= leap
    try:
        local = datetime(*sizes) + timedelta(seconds=leap)  # type: ignore[arg-type] # noqa: DTZ001 - six sizes, local as written
    except (ValueError, OverflowError):
        return None
    return local if local.year >= FIRST_YEAR else None


def line_moments(line: ContentLine, zones: Zones) -> tuple[Moment, ...]:
    """Return the dates or times of a line, which may give several."""
    kind, tzid = line.param("VALUE"), line.param("TZID")
    return tuple(
        moment(text, kind=kind, tzid=tzid, zones=zones)
        for text in line.value.split(",")
    )


def line_moment(line: ContentLine, zones: Zones) -> Moment:
    """Return the one date or time of a line."""
    (only, *others) = line_moments(line, zones)
    if others:
        raise BadValueError("more than one time where only one is allowed")
    return only


def length(text: str) -> Length:
    """Return a DURATION, which may not be negative."""
    found = _LENGTH.fullmatch(text.strip().upper())
    if not found or not any(found.groups()[1:]) or text.strip().upper().endswith("T"):
        raise BadValueError(
            "not a duration", seen=text, hint="write it as PT1H30M or P1D"
        )
    if found[1] == "-":
        raise BadValueError("a duration below zero", seen=text)
    weeks, days, hours, minutes, seconds = (int(g or 0) for g in found.groups()[1:])
    try:
        exact = timedelta(hours=hours, minutes=minutes, seconds=seconds)
        whole = timedelta(weeks=weeks, days=days)
    except OverflowError:
        raise BadValueError("a duration that is too long", seen=text) from None
    if max(exact, whole) > LONGEST:
        raise BadValueError("a duration that is too long", seen=text)
    return Length(whole.days, exact)


def periods(line: ContentLine, zones: Zones) -> tuple[Period, ...]:
    """Return the periods of an RDATE or FREEBUSY line."""

    def time(text: str) -> Moment:
        found = moment(text, kind=None, tzid=line.param("TZID"), zones=zones)
        if found.whole_day:
            raise BadValueError("a date where a time is needed", seen=text)
        return found

    out = []
    for text in line.value.split(","):
        first, slash, last = text.strip().partition("/")
        if not slash:
            raise BadValueError("not a period", seen=text, hint="write it as START/END")
        start = time(first)
        if last.lstrip("+-").upper().startswith("P"):
            out.append(Period(start, length(last)))
            continue
        end = time(last)
        if end.utc(UTC) < start.utc(UTC):
            raise BadValueError("a period that ends before it starts", seen=text)
        out.append(Period(start, end))
    return tuple(out)
