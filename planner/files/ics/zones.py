"""Local time and instants, and the time zones that a calendar names."""

import re
from datetime import UTC, datetime, timedelta, tzinfo
from io import StringIO
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from dateutil.tz import tzical

from planner.files.ics.text import BadValueError, Component

FAR = datetime(9998, 12, 31, tzinfo=UTC)  # stands for every instant beyond it
ZONE_DATES_MAX = 1_000
_DAY = timedelta(days=1)

_OFFSET = re.compile(r"[+-]\d{4}(?:\d{2})?", re.ASCII)
_TIME = re.compile(r"(\d{8})(?:T(\d{6})Z?)?", re.ASCII)
_IANA = re.compile(r"[A-Za-z0-9_+-]+(?:/[A-Za-z0-9_+-]+)*")
_WEEKDAY = r"[+-]?[1-5]?(?:MO|TU|WE|TH|FR|SA|SU)"
_MONTH_DAY = r"-?(?:[1-9]|0[1-9]|[12]\d|3[01])"
# The parts that a time zone's rule may have: at most a few onsets a year.
_RULE_PARTS = {
    "FREQ": re.compile("YEARLY"),
    "INTERVAL": re.compile("1"),
    "COUNT": re.compile(r"[1-9]\d{0,3}", re.ASCII),
    "UNTIL": re.compile(r"\d{8}(?:T\d{6}Z?)?", re.ASCII),
    "WKST": re.compile("MO|TU|WE|TH|FR|SA|SU"),
    "BYMONTH": re.compile(r"0?[1-9]|1[0-2]"),
    "BYDAY": re.compile(f"{_WEEKDAY}(?:,{_WEEKDAY})*"),
    "BYMONTHDAY": re.compile(f"{_MONTH_DAY}(?:,{_MONTH_DAY})*", re.ASCII),
    "BYHOUR": re.compile(r"[01]?\d|2[0-3]", re.ASCII),
    "BYMINUTE": re.compile(r"[0-5]?\d", re.ASCII),
    "BYSECOND": re.compile(r"[0-5]?\d", re.ASCII),
}


def later(when: datetime, delta: timedelta) -> datetime:
    """Return `when` + `delta`, held at the end of the counted years."""
    try:
        return when + delta
    except OverflowError:
        return FAR.replace(tzinfo=when.tzinfo)


def instant(local: datetime, zone: tzinfo) -> datetime:
    """Return the UTC instant of a local time.

    A time that a clock change skips is read with the offset before the change, one
    that comes twice is its first coming (RFC 5545 §3.3.5). Zones built from a
    VTIMEZONE read a skipped time with the offset after, hence the round trip.
    """
    if local.year >= FAR.year:
        return FAR
    if zone is UTC:
        return local.replace(tzinfo=UTC)
    when = _with_offset_at(local, local, zone)
    if wall(when, zone) == local:
        return when
    return _with_offset_at(local, local - _DAY, zone)


def _with_offset_at(local: datetime, other: datetime, zone: tzinfo) -> datetime:
    offset = zone.utcoffset(other.replace(tzinfo=zone))
    return (local - (offset or timedelta())).replace(tzinfo=UTC)


def second_coming(local: datetime, zone: tzinfo) -> datetime | None:
    """Return the second instant of a local time that comes twice, or None."""
    first = instant(local, zone)
    after = first + _DAY
    offset = wall(after, zone) - after.replace(tzinfo=None)
    second = (local - offset).replace(tzinfo=UTC)
    return second if second > first and wall(second, zone) == local else None


def wall(when: datetime, zone: tzinfo) -> datetime:
    """Return the local time at an instant, without its zone."""
    return when.astimezone(zone).replace(tzinfo=None, fold=0)


def _windows_zone(name: str) -> tzinfo | None:
    # loaded here, because few calendars need it and it takes a seventh of a second
    from icalendar.timezone.windows_to_olson import WINDOWS_TO_OLSON

    return zone_named(WINDOWS_TO_OLSON.get(name, ""))


def zone_named(name: str) -> tzinfo | None:
    """Return the zone of an IANA name, or None."""
    if not _IANA.fullmatch(name):
        return None
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        return None


class Zones:
    """The time zones that one VCALENDAR may name; nothing is kept between calendars.

    An Area/Location name means the zone of the IANA data base, whose rules are kept
    up; then the calendar's own VTIMEZONE counts, then other IANA names, Windows names
    (by CLDR's table), and the tail of a name like /vendor/Area/Location.
    """

    def __init__(self, calendar: Component) -> None:
        self._own: dict[str, list[Component]] = {}
        for part in calendar.parts("VTIMEZONE"):
            self._own.setdefault((part.value("TZID") or "").strip(), []).append(part)
        self._found: dict[str, tzinfo] = {}

    def find(self, name: str) -> tzinfo:
        """Return the zone of that name.

        Raises
        ------
        BadValueError
            When the name is unknown or its VTIMEZONE can't be read.
        """
        name = name.strip()
        if name not in self._found:
            zone = (
                (zone_named(name) if "/" in name else None)
                or self._from_file(name)
                or zone_named(name)
                or _windows_zone(name.strip("/"))
                or self._from_tail(name)
            )
            if zone is None:
                raise BadValueError(
                    "unknown time zone",
                    seen=name,
                    hint="the file must define it in a VTIMEZONE, or name an IANA"
                    " zone such as America/Halifax",
                )
            self._found[name] = zone
        return self._found[name]

    def _from_file(self, name: str) -> tzinfo | None:
        parts = self._own.get(name, [])
        if not parts:
            return None
        try:
            texts = {_zone_text(part) for part in parts}
            if len(texts) == 1:
                return tzical(StringIO(texts.pop())).get()
        except BadValueError:
            raise
        except (ValueError, OverflowError) as error:
            raise BadValueError(
                "the definition of a time zone can't be read", seen=name
            ) from error
        raise BadValueError("time zone defined twice, and differently", seen=name)

    @staticmethod
    def _from_tail(name: str) -> tzinfo | None:
        if not name.startswith("/"):
            return None
        pieces = name.strip("/").split("/")
        tails = ("/".join(pieces[i:]) for i in range(len(pieces)))
        return next((zone for tail in tails if (zone := zone_named(tail))), None)


def _zone_text(part: Component) -> str:
    """Return a VTIMEZONE in the few forms that dateutil reads, checked first."""
    lines = ["BEGIN:VTIMEZONE", "TZID:own"]
    for child in sorted(
        part.children, key=lambda c: c.name + (c.value("DTSTART") or "")
    ):
        lines += [f"BEGIN:{child.name}", *_observance(child), f"END:{child.name}"]
    if part.unread or len(lines) == 2:
        raise BadValueError("a VTIMEZONE has lines that can't be read")
    return "\r\n".join([*lines, "END:VTIMEZONE", ""])


def _observance(child: Component) -> list[str]:
    if child.name not in ("STANDARD", "DAYLIGHT") or child.unread:
        raise BadValueError("a VTIMEZONE has lines that can't be read")
    offsets = [(child.value(n) or "") for n in ("TZOFFSETFROM", "TZOFFSETTO")]
    if not all(_OFFSET.fullmatch(o) and abs(_offset(o)) < _DAY for o in offsets):
        raise BadValueError("a VTIMEZONE lacks TZOFFSETFROM or TZOFFSETTO")
    start = _zone_time(child.value("DTSTART") or "")
    lines = [
        f"DTSTART:{start}",
        f"TZOFFSETFROM:{offsets[0]}",
        f"TZOFFSETTO:{offsets[1]}",
    ]
    for line in child.every("RRULE"):
        lines.append(f"RRULE:{_zone_rule(line.value, offsets[0])}")
    dates = [d for line in child.every("RDATE") for d in line.value.split(",")]
    if len(dates) > ZONE_DATES_MAX:
        raise BadValueError(f"a VTIMEZONE has more than {ZONE_DATES_MAX:,} dates")
    if dates:
        lines.append("RDATE:" + ",".join(map(_zone_time, dates)))
    return lines


def _zone_time(text: str) -> str:
    found = _TIME.fullmatch(text.strip().upper())
    if not found:
        raise BadValueError("a VTIMEZONE has a DTSTART or RDATE that isn't a time")
    return f"{found[1]}T{found[2] or '000000'}"


def _zone_rule(text: str, offset_from: str) -> str:
    """Return a yearly rule with UNTIL in the zone's own time, as dateutil takes it."""
    pieces = (p.partition("=") for p in text.strip().strip(";").upper().split(";"))
    parts = {name: value for name, _, value in pieces}
    known = all(
        n in _RULE_PARTS and _RULE_PARTS[n].fullmatch(v) for n, v in parts.items()
    )
    by_day = {"BYDAY", "BYMONTHDAY"} & parts.keys()
    if not known or "FREQ" not in parts or (by_day and "BYMONTH" not in parts):
        raise BadValueError("a VTIMEZONE has a rule other than one clock change a year")
    if parts.get("UNTIL", "").endswith("Z"):
        until = datetime.strptime(_zone_time(parts["UNTIL"]), "%Y%m%dT%H%M%S")  # noqa: DTZ007 - made local in the next line
        parts["UNTIL"] = f"{until + _offset(offset_from):%Y%m%dT%H%M%S}"
    return ";".join(f"{name}={value}" for name, value in parts.items())


def _offset(text: str) -> timedelta:
    hours, minutes, seconds = int(text[1:3]), int(text[3:5]), int(text[5:7] or 0)
    size = timedelta(hours=hours, minutes=minutes, seconds=seconds)
    return -size if text[0] == "-" else size
