"""Faults of the zones that a calendar file defines, against the zone data itself.

Receivers go by the file's definition or by their own data for the name, so the two
must tell the same offset at every local time of the file, and each onset must be a
change of the clocks. The lint's own code; Python's zoneinfo is the judge.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from planner.errors import Fault
from planner.files.ics_out.lint_lines import RawLine, RawPart, at

_DAYS = ("MO", "TU", "WE", "TH", "FR", "SA", "SU")
_RULE = re.compile(r"BYDAY=(-?[1-5])(MO|TU|WE|TH|FR|SA|SU)")
_SECOND = timedelta(seconds=1)


def zone_faults(calendar: RawPart) -> Iterator[Fault]:
    """Yield where a zone's definition isn't what its name stands for."""
    for part in calendar.parts:
        if part.name != "VTIMEZONE":
            continue
        key = part.value("TZID") or ""
        used = _used(calendar, key)
        if not used:
            continue
        try:
            zone = ZoneInfo(key)
        except (ZoneInfoNotFoundError, ValueError):
            yield at(part.number, f"{key!r} is not the name of a zone")
            continue
        observances = [_observance(inner) for inner in part.parts]
        if not observances or any(o is None for o in observances):
            yield at(part.number, "an observance can't be followed: DTSTART, RRULE")
            continue
        whole = [o for o in observances if o is not None]
        yield from _against_the_data(part, zone, whole, used)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Observance:
    """A change of the clocks each year, or once where it has no rule."""

    start: datetime
    month: int
    nth: int
    weekday: int
    before: timedelta
    after: timedelta

    def onset(self, year: int) -> datetime | None:
        """Return the local time of the change in a year, in the offset before it."""
        if not self.month:
            return self.start if self.start.year == year else None
        days = [
            d
            for d in (date(year, self.month, 1) + timedelta(days=n) for n in range(31))
            if d.month == self.month and d.weekday() == self.weekday
        ]
        index = self.nth if self.nth < 0 else self.nth - 1
        if not -len(days) <= index < len(days):
            return None
        when = datetime.combine(days[index], self.start.time())
        return when if when >= self.start else None


def _observance(part: RawPart) -> _Observance | None:
    start = _local(part.value("DTSTART") or "")
    offsets = [_offset(part.value(n) or "") for n in ("TZOFFSETFROM", "TZOFFSETTO")]
    if start is None or offsets[0] is None or offsets[1] is None:
        return None
    month, nth, weekday = 0, 0, 0
    rule = part.value("RRULE")
    if rule is not None:
        pieces = set(rule.split(";"))
        day = _RULE.search(rule)
        if day is None:
            return None
        months = {f"BYMONTH={m}": m for m in range(1, 13)}
        month = next((months[p] for p in pieces if p in months), 0)
        if pieces != {"FREQ=YEARLY", f"BYMONTH={month}", day[0]}:
            return None
        nth, weekday = int(day[1]), _DAYS.index(day[2])
    return _Observance(
        start=start,
        month=month,
        nth=nth,
        weekday=weekday,
        before=offsets[0],
        after=offsets[1],
    )


def _local(value: str) -> datetime | None:
    try:
        # A local time of the zone, compared with others of it only.
        return datetime.strptime(value, "%Y%m%dT%H%M%S")  # noqa: DTZ007
    except ValueError:
        return None


def _offset(value: str) -> timedelta | None:
    match = re.fullmatch(r"([+-])(\d\d)([0-5]\d)([0-5]\d)?", value, re.ASCII)
    if match is None or value in ("-0000", "-000000"):  # §3.3.14
        return None
    gap = timedelta(
        hours=int(match[2]), minutes=int(match[3]), seconds=int(match[4] or 0)
    )
    return -gap if match[1] == "-" else gap


def _used(calendar: RawPart, key: str) -> list[tuple[RawLine, datetime]]:
    """Return the local times that name the zone."""
    found = []
    for part in calendar.parts:
        for name in ("DTSTART", "DTEND"):
            for line in part.all(name):
                when = _local(line.value)
                if ("TZID", key) in line.params and when is not None:
                    found.append((line, when))
    return found


def _against_the_data(
    part: RawPart,
    zone: ZoneInfo,
    observances: list[_Observance],
    used: list[tuple[RawLine, datetime]],
) -> Iterator[Fault]:
    years = range(min(w.year for _, w in used), max(w.year for _, w in used) + 2)
    onsets = sorted(
        (when - o.before, o)
        for year in (years[0] - 1, *years)
        for o in observances
        if (when := o.onset(year)) is not None
    ) or [(o.start - o.before, o) for o in observances]
    for when, o in onsets:
        instant = when.replace(tzinfo=UTC)
        around = [
            (instant - gap).astimezone(zone).utcoffset()
            for gap in (_SECOND, 0 * _SECOND)
        ]
        if o.before != o.after and around != [o.before, o.after]:
            yield at(part.number, f"no such change of the clocks on {when:%Y-%m-%d}")
    for line, local in used:
        wall = local.replace(tzinfo=zone)
        if wall.utcoffset() != wall.replace(fold=1).utcoffset():
            yield at(line.number, f"{line.value} comes twice in {zone.key}, or never")
    noon = datetime(years[0], 1, 1, 12, tzinfo=UTC)
    while noon.year <= years[-1]:
        passed = [o for when, o in onsets if when.replace(tzinfo=UTC) <= noon]
        if passed and passed[-1].after != noon.astimezone(zone).utcoffset():
            yield at(part.number, f"not the offset of {zone.key} on {noon:%Y-%m-%d}")
            return
        if not passed:
            yield at(part.number, f"nothing is said of {noon:%Y-%m-%d}")
            return
        noon += timedelta(days=1)
