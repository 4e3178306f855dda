"""The definition of a time zone in a calendar file: two rules, each once a year.

Receivers that don't know a zone by its name go by what the file says of it, and some
read nothing but rules that name a weekday of a month. So the clock changes of the
zone are looked up, and written as such rules if that is what they are; a zone that
changes its clocks otherwise is refused. Each onset is the local time before the
change, as RFC 5545 §3.6.5 asks.
"""

import calendar
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from icalendar import Timezone, TimezoneDaylight, TimezoneStandard
from icalendar.prop import vDatetime, vRecur, vText, vUTCOffset

from planner.errors import OutputError

_HINT = "leave --tz out: times are then written in UTC, which all programs read alike"
_YEARS_AFTER = 5  # the rules are looked at for so long after the last entry
_WEEKDAYS = ("MO", "TU", "WE", "TH", "FR", "SA", "SU")
_DAY = timedelta(days=1)


def zone_definition(zone: ZoneInfo, instants: Iterable[datetime]) -> Timezone:
    """Return the VTIMEZONE of a zone, good for some instants of UTC.

    Raises
    ------
    OutputError
        If the zone's changes don't come once a year by month and weekday.
    """
    moments = sorted(instants)
    first = moments[0].astimezone(zone).year - 1
    last = moments[-1].astimezone(zone).year + _YEARS_AFTER
    changes = list(_changes(zone, first, last))
    made = Timezone()
    made.add("TZID", vText(zone.key))
    if not changes:
        offset = _offset(datetime(first, 1, 1, tzinfo=UTC), zone)
        name = datetime(first, 1, 1, tzinfo=UTC).astimezone(zone).tzname()
        still = _Change(
            onset=datetime(1970, 1, 1),  # noqa: DTZ001 - a local time, §3.6.5
            before=offset,
            after=offset,
            name=name or zone.key,
        )
        made.add_component(_observance(still, ""))
        return made
    kinds = dict.fromkeys((c.before, c.after, c.name) for c in changes)
    for kind in kinds:
        own = [c for c in changes if (c.before, c.after, c.name) == kind]
        years = [c.onset.year for c in own]
        rule = _rule(own)
        if years != list(range(first, last + 1)) or not rule:
            raise OutputError(
                f"{zone.key} doesn't change its clocks once a year by month and "
                "weekday, so its times can't be written",
                hint=_HINT,
            )
        made.add_component(_observance(own[0], rule))
    return made


@dataclass(frozen=True, slots=True, kw_only=True)
class _Change:
    """A change of the clocks: local time before it, offsets around it, name after."""

    onset: datetime
    before: timedelta
    after: timedelta
    name: str


def _offset(moment: datetime, zone: ZoneInfo) -> timedelta:
    return moment.astimezone(zone).utcoffset() or timedelta(0)


def comes_twice(moment: datetime, zone: ZoneInfo) -> bool:
    """Tell whether the clock of a zone shows the time of an instant twice."""
    wall = moment.astimezone(zone)
    return wall.replace(fold=0).utcoffset() != wall.replace(fold=1).utcoffset()


def _changes(zone: ZoneInfo, first: int, last: int) -> Iterator[_Change]:
    """Yield the changes of some years, the last one included, to the second."""
    day, end = datetime(first, 1, 1, tzinfo=UTC), datetime(last + 1, 1, 1, tzinfo=UTC)
    while day < end:
        before, after = _offset(day, zone), _offset(day + _DAY, zone)
        if before != after:
            low, high = 0, 24 * 3600  # seconds: not yet changed, changed
            while high - low > 1:
                middle = (low + high) // 2
                if _offset(day + timedelta(seconds=middle), zone) == before:
                    low = middle
                else:
                    high = middle
            change = day + timedelta(seconds=high)
            yield _Change(
                onset=(change + before).replace(tzinfo=None),
                before=before,
                after=after,
                name=change.astimezone(zone).tzname() or zone.key,
            )
        day += _DAY


def _rule(changes: list[_Change]) -> str:
    """Return "3,2SU" for changes on each second Sunday of March, "" for no such."""
    onsets = [c.onset for c in changes]
    same = {(o.month, o.weekday(), o.time()) for o in onsets}
    if len(same) > 1:
        return ""
    month, weekday, _ = same.pop()
    counted = {(o.day + 6) // 7 for o in onsets}
    last = all(o.day + 7 > calendar.monthrange(o.year, o.month)[1] for o in onsets)
    if last:
        return f"{month},-1{_WEEKDAYS[weekday]}"
    return f"{month},{counted.pop()}{_WEEKDAYS[weekday]}" if len(counted) == 1 else ""


def _observance(change: _Change, rule: str) -> TimezoneStandard | TimezoneDaylight:
    summer = change.after > change.before
    made = TimezoneDaylight() if summer else TimezoneStandard()
    made.add("DTSTART", vDatetime(change.onset))
    if rule:
        month, day = rule.split(",")
        made.add("RRULE", vRecur(FREQ="YEARLY", BYMONTH=int(month), BYDAY=day))
    made.add("TZOFFSETFROM", vUTCOffset(change.before))
    made.add("TZOFFSETTO", vUTCOffset(change.after))
    made.add("TZNAME", vText(change.name))
    return made
