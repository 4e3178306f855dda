"""Moments as people say them at the wall: "yesterday 16:30", "Tue 9:15", "16 Feb 8:00".

The hours and dates themselves are read by dateutil; here stands only what it takes
for granted and we don't: which Tuesday, which zone, and hours that a clock change
leaves out or has twice.
"""

import re
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from dateutil import parser, tz

from planner.units import is_this_century, moment_words

_DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
_WEEKDAY = re.compile(r"(mon|tue|wed|thu|fri|sat|sun)[a-z]*\.?,?$")
_SLASHES = re.compile(r"\d\s*[/.]\s*\d+\s*[/.]?")
_MONTH = re.compile(r"\b(?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)")
_HOUR = re.compile(r"(?:(?:\d{1,2}:\d{2}(?::\d{2})?)\s*(?:am|pm)?|\d{1,2}\s*(?:am|pm))")
_HAS_HOUR = re.compile(r"\d[:t]\d|\d\s*[ap]m")
EXAMPLE = 'say it as "yesterday 16:30", "Tue 9:15", "16 Feb 8:00" or 2027-02-16T14:15'


def moment_said(
    text: str, *, now: datetime, zone: ZoneInfo, ahead: bool = False
) -> datetime:
    """Return the moment that a text says, in the site's zone, to the minute.

    A weekday is the last one up to today, or with `ahead` the next one from today; an
    hour without a day is today's.

    Raises
    ------
    ValueError
        When it can't be understood, or could mean two moments.
    """
    here = now.astimezone(zone)
    return _moment(text, here, here.date(), zone, ahead=ahead)


def _moment(
    text: str, here: datetime, since: date, zone: ZoneInfo, *, ahead: bool
) -> datetime:
    """Return the moment of a text, its weekdays and bare hours counted from `since`."""
    said = " ".join(text.lower().split())
    if said == "now":
        return here.replace(second=0, microsecond=0)
    day, hour = _parted(said, here.date(), since, ahead=ahead)
    if day is None:
        return _full(text, here, zone)
    if not _HOUR.fullmatch(hour):
        raise ValueError(f'"{text}": at what hour? {EXAMPLE}')
    try:
        found = parser.parse(hour, default=datetime.combine(day, time()))
    except ValueError:
        raise ValueError(f'"{text}" is no moment; {EXAMPLE}') from None
    return _in_zone(found.replace(second=0), zone, text)


def stretch_said(
    start: str, until: str, *, now: datetime, zone: ZoneInfo, ahead: bool = True
) -> tuple[datetime, datetime]:
    """Return the stretch between two texts, days being whole, the last one included.

    A weekday is the next one from today, or without `ahead` the last one up to today;
    one that ends it is the next from there.

    Raises
    ------
    ValueError
        As `moment_said`, or when it runs backwards.
    """
    here = now.astimezone(zone)
    begin = _bound(start, here, here.date(), zone, days=0, ahead=ahead)
    end = _bound(until, here, begin.astimezone(zone).date(), zone, days=1)
    if begin >= end:
        raise ValueError(
            f"{moment_words(begin, zone)} is not before {moment_words(end, zone)}"
        )
    return begin, end


def until_said(text: str, *, now: datetime, zone: ZoneInfo) -> datetime:
    """Return the end that a text gives, a day alone being whole; weekdays lie ahead.

    Raises
    ------
    ValueError
        As `moment_said`.
    """
    here = now.astimezone(zone)
    return _bound(text, here, here.date(), zone, days=1)


def _bound(
    text: str,
    here: datetime,
    since: date,
    zone: ZoneInfo,
    *,
    days: int,
    ahead: bool = True,
) -> datetime:
    """Return the begin of a day alone, or with `days` of the next one; else a moment."""
    said = " ".join(text.lower().split())
    day, hour = _parted(said, here.date(), since, ahead=ahead)
    whole = day if day is not None and not hour else _date_alone(text, here)
    if whole is not None:
        last = datetime.combine(whole + timedelta(days=days), time())
        return _in_zone(last, zone, text)
    return _moment(text, here, since, zone, ahead=ahead)


def _date_alone(text: str, here: datetime) -> date | None:
    """Return a date without an hour, such as 2027-02-16 or "16 Feb"; None: it isn't one."""
    try:
        return date.fromisoformat(text.strip())
    except ValueError:
        pass
    said = text.lower()
    if not _MONTH.search(said) or _HAS_HOUR.search(said):
        return None
    return _read(text, here).date()


def _parted(
    said: str, today: date, since: date, *, ahead: bool
) -> tuple[date | None, str]:
    """Return the day that a text begins with, if it names one, and the rest of it."""
    first, _, rest = said.partition(" ")
    named = {
        "today": today,
        "yesterday": today - timedelta(days=1),
        "tomorrow": today + timedelta(days=1),
    }
    if first in named:
        return named[first], rest
    if (weekday := _WEEKDAY.match(first)) and (not rest or _HOUR.fullmatch(rest)):
        off = _DAYS.index(weekday[1]) - since.weekday()
        return since + timedelta(days=off % 7 if ahead else -(-off % 7)), rest
    if _HOUR.fullmatch(said):
        return since, said
    return None, said


def _full(text: str, here: datetime, zone: ZoneInfo) -> datetime:
    """Return a moment given by its date."""
    if _SLASHES.match(text.strip()):
        raise ValueError(f'"{text}": day or month first? {EXAMPLE}')
    if not _HAS_HOUR.search(text.lower()):
        raise ValueError(f'"{text}": at what hour? {EXAMPLE}')
    found = _read(text, here)
    found = found.replace(second=0, microsecond=0)
    return found.astimezone(zone) if found.tzinfo else _in_zone(found, zone, text)


def _read(text: str, here: datetime) -> datetime:
    """Return what a text with a date says, at midnight where it says no hour."""
    try:
        default = datetime.combine(here.date(), time())
        found = parser.parse(text, default=default, tzinfos=_no_names)
    except (ValueError, OverflowError):
        raise ValueError(f'"{text}" is no moment; {EXAMPLE}') from None
    if not is_this_century(found):
        raise ValueError(f'"{text}" is not of this century')
    weekday = _WEEKDAY.match(text.lower().split()[0])
    if weekday and _DAYS.index(weekday[1]) != found.weekday():
        raise ValueError(f'"{text}": {found:%Y-%m-%d} is a {_DAYS[found.weekday()]}')
    return found


def _no_names(name: str | None, offset: int | None) -> tz.tzoffset | tz.tzutc | None:
    """Return the zone of an offset; a short name may be that of several zones."""
    if name is None and offset is None:
        return None
    if offset is not None:
        return tz.tzoffset(None, offset)
    if name in ("Z", "UTC"):
        return tz.tzutc()
    raise ValueError(f"zone {name}")


def _in_zone(clock: datetime, zone: ZoneInfo, text: str) -> datetime:
    """Return what a clock at the site shows as a moment.

    Raises
    ------
    ValueError
        When the clock never shows it, or twice.
    """
    found = clock.replace(tzinfo=zone)
    if found.astimezone(UTC).astimezone(zone).replace(tzinfo=None) != clock:
        raise ValueError(
            f'"{text}": the clocks go forward then, and never show {clock:%H:%M}'
        )
    one, two = found.utcoffset(), found.replace(fold=1).utcoffset()
    if one != two:
        raise ValueError(
            f'"{text}": the clocks go back then, and show {clock:%H:%M} twice; say '
            f"{found.isoformat(timespec='minutes')} or "
            f"{found.replace(fold=1).isoformat(timespec='minutes')}"
        )
    return found
