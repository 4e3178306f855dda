"""Recurrence rules (RFC 5545 §3.3.10): read strictly, limited in size, expanded."""

import math
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo
from typing import Literal

from dateutil import rrule

from planner.files.ics.text import BadValueError
from planner.files.ics.values import Moment, moment
from planner.files.ics.zones import Zones, instant, wall

STEPS_MAX = 500_000  # of one rule, from its first start to the end of the window

_MINUTES = {
    "MINUTELY": 1,
    "HOURLY": 60,
    "DAILY": 1440,
    "WEEKLY": 7 * 1440,
    "MONTHLY": 28 * 1440,
    "YEARLY": 365 * 1440,
}
_FREQ: dict[str, Literal[0, 1, 2, 3, 4, 5, 6]] = {
    "MINUTELY": rrule.MINUTELY,
    "HOURLY": rrule.HOURLY,
    "DAILY": rrule.DAILY,
    "WEEKLY": rrule.WEEKLY,
    "MONTHLY": rrule.MONTHLY,
    "YEARLY": rrule.YEARLY,
}
_WEEKDAYS = {
    "MO": rrule.MO,
    "TU": rrule.TU,
    "WE": rrule.WE,
    "TH": rrule.TH,
    "FR": rrule.FR,
    "SA": rrule.SA,
    "SU": rrule.SU,
}
# Part: least and greatest size, and whether it may be negative.
_NUMBERS = {
    "BYSECOND": (0, 59, False),
    "BYMINUTE": (0, 59, False),
    "BYHOUR": (0, 23, False),
    "BYMONTHDAY": (1, 31, True),
    "BYYEARDAY": (1, 366, True),
    "BYWEEKNO": (1, 53, True),
    "BYMONTH": (1, 12, False),
    "BYSETPOS": (1, 366, True),
}
_LONGEST_MONTH = (31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
_SEARCH = {"YEARLY": 20, "MONTHLY": 5, "WEEKLY": 1}
_NEVER = datetime(9999, 1, 1)  # noqa: DTZ001 - local; where dateutil ends its search
_CLOCK = ("BYHOUR", "BYMINUTE", "BYSECOND")
_OTHERS = {"FREQ", "INTERVAL", "COUNT", "UNTIL", "WKST", "BYDAY", "RSCALE"}
_DAY = re.compile(r"([+-]?\d{1,2})?(MO|TU|WE|TH|FR|SA|SU)", re.ASCII)
_NUMBER = re.compile(r"[+-]?\d{1,9}", re.ASCII)


@dataclass(frozen=True, slots=True)
class Rule:
    """An RRULE: `numbers` by part, `days` as (ordinal or 0, weekday)."""

    freq: str
    interval: int
    count: int | None
    until: Moment | None
    week_start: str
    numbers: Mapping[str, tuple[int, ...]]
    days: tuple[tuple[int, str], ...]

    @property
    def filters(self) -> frozenset[str]:
        """The BY parts that choose days."""
        chosen = {p for p in self.numbers if p not in _CLOCK}
        return frozenset(chosen | ({"BYDAY"} if self.days else set()))


def read_rule(text: str, zones: Zones, *, whole_day: bool) -> Rule:
    """Return the rule of an RRULE value.

    Raises
    ------
    BadValueError
        When a part is unknown, doubled, out of range or not allowed with the others.
    """
    parts: dict[str, str] = {}
    for piece in text.strip().upper().strip(";").split(";"):
        name, equals, value = piece.strip().partition("=")
        if not equals or not value or name not in _OTHERS | _NUMBERS.keys():
            raise BadValueError("a part of the rule that isn't understood", seen=piece)
        if name in parts:
            raise BadValueError(f"the rule says {name} twice", seen=text)
        parts[name] = value
    if parts.get("RSCALE", "GREGORIAN") != "GREGORIAN":
        raise BadValueError("rules of another calendar than the Gregorian aren't read")
    if "COUNT" in parts and "UNTIL" in parts:
        raise BadValueError("the rule has both COUNT and UNTIL", seen=text)
    rule = Rule(
        freq=parts.get("FREQ", ""),
        interval=_whole(parts, "INTERVAL") or 1,
        count=_whole(parts, "COUNT"),
        until=_until(parts, zones),
        week_start=parts.get("WKST", "MO"),
        numbers={
            name: _numbers(name, parts[name])
            for name in _NUMBERS
            if name in parts and not (whole_day and name in _CLOCK)
        },
        days=tuple(_day(d) for d in parts["BYDAY"].split(","))
        if "BYDAY" in parts
        else (),
    )
    _refuse_undefined(rule, whole_day=whole_day)
    return rule


def _whole(parts: Mapping[str, str], name: str) -> int | None:
    if name not in parts:
        return None
    if not _NUMBER.fullmatch(parts[name]) or int(parts[name]) < 1:
        raise BadValueError(f"{name} must be a whole number from 1", seen=parts[name])
    return int(parts[name])


def _until(parts: Mapping[str, str], zones: Zones) -> Moment | None:
    if "UNTIL" not in parts:
        return None
    return moment(parts["UNTIL"], kind=None, tzid=None, zones=zones)


def _numbers(name: str, text: str) -> tuple[int, ...]:
    least, greatest, negative = _NUMBERS[name]
    out = set()
    for piece in text.split(","):
        number = int(piece) if _NUMBER.fullmatch(piece.strip()) else math.inf
        size = abs(number) if negative else number
        if not least <= size <= greatest:
            allowed = f"{least} to {greatest}" + (", also negative" * negative)
            raise BadValueError(f"{name} must be {allowed}", seen=piece)
        out.add(int(number))
    return tuple(sorted(out))


def _day(text: str) -> tuple[int, str]:
    found = _DAY.fullmatch(text.strip())
    if not found or (found[1] and not 1 <= abs(int(found[1])) <= 53):
        raise BadValueError(
            "not a weekday", seen=text, hint="write it as MO, 1MO or -1MO"
        )
    return int(found[1] or 0), found[2]


def _refuse_undefined(rule: Rule, *, whole_day: bool) -> None:
    """Refuse what RFC 5545 §3.3.10 leaves undefined or no crew's calendar needs."""
    if rule.freq == "SECONDLY":
        raise BadValueError("a rule that repeats every second is not expanded")
    if rule.freq not in _FREQ:
        raise BadValueError("the rule has no FREQ, or an unknown one", seen=rule.freq)
    if whole_day and rule.freq in ("HOURLY", "MINUTELY"):
        raise BadValueError(
            "the rule repeats within the day, but the entry is for whole days",
            seen=rule.freq,
        )
    if rule.week_start not in _WEEKDAYS:
        raise BadValueError("WKST must be a weekday", seen=rule.week_start)
    ordinals = any(n for n, _ in rule.days)
    undefined = (
        ("BYWEEKNO" in rule.numbers and rule.freq != "YEARLY")
        or (ordinals and rule.freq not in ("MONTHLY", "YEARLY"))
        or (ordinals and "BYWEEKNO" in rule.numbers)
        or ("BYMONTHDAY" in rule.numbers and rule.freq == "WEEKLY")
        or ("BYYEARDAY" in rule.numbers and rule.freq in ("DAILY", "WEEKLY", "MONTHLY"))
        or ("BYSETPOS" in rule.numbers and len(rule.numbers) + len(rule.days) == 1)
    )
    if not _has_days(rule):
        raise BadValueError("the rule never gives a start")
    if undefined:
        raise BadValueError(
            f"FREQ={rule.freq} with parts that RFC 5545 §3.3.10 doesn't allow with it"
        )
    if rule.filters & {"BYWEEKNO", "BYDAY", "BYMONTHDAY", "BYYEARDAY"} == {"BYWEEKNO"}:
        # The weekday of DTSTART, or all seven: the one would keep too little of busy
        # time, the other would open hours that nobody offered.
        raise BadValueError(
            "the rule names weeks of the year and no days of them, which programs read "
            "in different ways",
            seen="BYWEEKNO",
            hint="say which days with BYDAY",
        )


def _has_days(rule: Rule) -> bool:
    """Tell whether any of the rule's months has any of its days of the month."""
    months = rule.numbers.get("BYMONTH", range(1, 13))
    days = rule.numbers.get("BYMONTHDAY", (1,))
    return any(abs(day) <= _LONGEST_MONTH[m - 1] for m in months for day in days)


# ---------------------------------------------------------------- weighing


def steps(rule: Rule, first: datetime, last: datetime) -> int:
    """Return a bound on the work of going through a rule from `first` to `last`.

    A step is a start found or a period gone through, about 2.5 µs; a year or month
    that is searched for days counts as several.
    """
    if last < first:
        return 0
    minutes = (last - first) / timedelta(minutes=1)
    periods = int(minutes / (_MINUTES[rule.freq] * rule.interval)) + 1
    if rule.count and not rule.numbers and not rule.days:
        periods = min(periods, rule.count)
    times = math.prod(len(rule.numbers.get(p, (0,))) for p in _CLOCK)
    return periods * (_SEARCH.get(rule.freq, 0) + _days(rule) * times)


def _days(rule: Rule) -> int:
    """Return the most days that a period of the rule can give."""
    numbers, year = rule.numbers, rule.freq == "YEARLY"
    each = 53 if year and "BYMONTH" not in numbers else 5
    if rule.freq in ("HOURLY", "MINUTELY", "DAILY"):
        return 1
    if rule.freq == "WEEKLY":
        return max(len(rule.days), 1)
    bounds = [366 if year else 31] if rule.filters else [1]
    months = len(numbers.get("BYMONTH", range(12))) if year else 1
    if rule.days:
        bounds.append(sum(1 if n else each for n, _ in rule.days) * months)
    if "BYMONTHDAY" in numbers:
        bounds.append(len(numbers["BYMONTHDAY"]) * months)
    if rule.filters == {"BYMONTH"}:
        bounds.append(months)
    return min(bounds)


def outlay(rule: Rule, first: datetime, last: datetime) -> int:
    """Return the steps that expansion may really take.

    A rule that may match nothing after `last` is followed to the year 9999.
    """
    return steps(rule, first, last if _never_idle(rule, first) else _NEVER)


def _never_idle(rule: Rule, first: datetime) -> bool:
    """Tell whether each period, or each few years, surely has a start."""
    if not rule.filters or (rule.freq == "WEEKLY" and rule.filters == {"BYDAY"}):
        return True
    if rule.freq == "DAILY":
        weekly = rule.filters == {"BYDAY"} and rule.interval % 7 != 0
        return weekly or (rule.filters == {"BYMONTH"} and rule.interval == 1)
    if rule.freq in ("HOURLY", "MINUTELY"):
        return False
    each_month = rule.freq == "MONTHLY" and rule.interval > 1
    aside = {"BYSETPOS"} if each_month else {"BYSETPOS", "BYMONTH"}
    in_month = rule.filters - aside
    if not in_month:
        return first.day <= 28
    if in_month == {"BYMONTHDAY"} and "BYSETPOS" not in rule.numbers:
        # Of months so many apart, unless years apart, one has 31 days.
        any_month = rule.interval % 12 != 0 and "BYMONTH" not in rule.filters
        any_year = rule.freq == "YEARLY" and rule.interval == 1
        return min(map(abs, rule.numbers["BYMONTHDAY"])) <= 28 or any_month or any_year
    ordinals = [n for n, _ in rule.days if n]
    positions = rule.numbers.get("BYSETPOS", ())
    places_known = all(abs(p) <= 4 for p in (*ordinals, *positions))
    return in_month == {"BYDAY"} and places_known and not (ordinals and positions)


# --------------------------------------------------------------- expanding


def last_start(rule: Rule, start: Moment, home: tzinfo, last: datetime) -> datetime:
    """Return a local time after which neither the rule nor `last` lets it start."""
    until = _limit(rule, start, start.zone or home)[1]
    return last if until is None else min(last, until)


def starts(
    rule: Rule, start: Moment, home: tzinfo, last: datetime
) -> Iterator[datetime]:
    """Yield the local starts of a rule in order, from `start` to `last`.

    `last` is local time too, and what UNTIL shuts out is left out. The start itself
    is yielded only where the rule gives it.
    """
    zone = start.zone or home
    until, last = _limit(rule, start, zone)[0], last_start(rule, start, home, last)
    days = [_WEEKDAYS[d](n) if n else _WEEKDAYS[d] for n, d in rule.days]
    try:
        series = rrule.rrule(
            _FREQ[rule.freq],
            dtstart=start.local,
            interval=rule.interval,
            count=rule.count,
            wkst=_WEEKDAYS[rule.week_start],
            byweekday=days or None,
            bysecond=rule.numbers.get("BYSECOND"),
            byminute=rule.numbers.get("BYMINUTE"),
            byhour=rule.numbers.get("BYHOUR"),
            bymonthday=rule.numbers.get("BYMONTHDAY"),
            byyearday=rule.numbers.get("BYYEARDAY"),
            byweekno=rule.numbers.get("BYWEEKNO"),
            bymonth=rule.numbers.get("BYMONTH"),
            bysetpos=rule.numbers.get("BYSETPOS"),
        )
    except ValueError:  # raised where hours and interval can never meet
        raise BadValueError("the rule never gives a start") from None
    for local in series:
        if local > last:
            return
        if until is None or instant(local, zone) <= until:
            yield local


def _limit(
    rule: Rule, start: Moment, zone: tzinfo
) -> tuple[datetime | None, datetime | None]:
    """Return UNTIL as an instant, if it is one, and as a late enough local time.

    A date given for the end of a series of times includes that day, and an instant
    for a series of days includes its day in UTC and in the zone: receivers differ
    there, and a day too many that is taken is safer than one too few.
    """
    until = rule.until
    if until is None:
        return None, None
    if until.whole_day or start.whole_day:
        day = until.local
        if until.zone is not None:
            day = max(day, wall(until.utc(zone), zone))
        return None, day.replace(hour=23, minute=59, second=59)
    if until.zone is None:
        return None, until.local
    when = until.utc(zone)
    return when, wall(when, zone) + timedelta(days=1)
