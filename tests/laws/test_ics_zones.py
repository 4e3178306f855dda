"""A zone that a calendar defines itself keeps the clock of the IANA zone it copies.

Tests of planner/files/ics/zones.py.
"""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from planner.files.ics.text import calendars
from planner.files.ics.zones import Zones, instant, second_coming
from tests.support.ics import calendar, component

HALF_HOUR = timedelta(minutes=30)


def half(name: str, first: str, rule: str, before: str, after: str) -> str:
    return component(
        name,
        f"DTSTART:{first}",
        rule,
        f"TZOFFSETFROM:{before}",
        f"TZOFFSETTO:{after}",
    )


# Zone and years: definition with the zone's own law. US and Canada from 2007 (Energy
# Policy Act of 2005 and the provinces after it), the European Union from 1996
# (Directive 2000/84/EC), the United States from 1987 to 2006 (15 U.S.C. 260a).
ZONES = {
    ("America/Halifax", 2008, 2031): [
        half(
            "STANDARD",
            "20071104T020000",
            "RRULE:FREQ=YEARLY;BYMONTH=11;BYDAY=1SU",
            "-0300",
            "-0400",
        ),
        half(
            "DAYLIGHT",
            "20070311T020000",
            "RRULE:FREQ=YEARLY;BYMONTH=3;BYDAY=2SU",
            "-0400",
            "-0300",
        ),
    ],
    ("Europe/Berlin", 1997, 2031): [
        half(
            "STANDARD",
            "19961027T030000",
            "RRULE:FREQ=YEARLY;BYMONTH=10;BYDAY=-1SU",
            "+0200",
            "+0100",
        ),
        half(
            "DAYLIGHT",
            "19960331T020000",
            "RRULE:FREQ=YEARLY;BYMONTH=3;BYDAY=-1SU",
            "+0100",
            "+0200",
        ),
    ],
    ("America/New_York", 1988, 2031): [
        half(
            "STANDARD",
            "19671029T020000",
            "RRULE:FREQ=YEARLY;BYMONTH=10;BYDAY=-1SU;UNTIL=20061029T060000Z",
            "-0400",
            "-0500",
        ),
        half(
            "DAYLIGHT",
            "19870405T020000",
            "RRULE:FREQ=YEARLY;BYMONTH=4;BYDAY=1SU;UNTIL=20060402T070000Z",
            "-0500",
            "-0400",
        ),
        half(
            "STANDARD",
            "20071104T020000",
            "RRULE:FREQ=YEARLY;BYMONTH=11;BYDAY=1SU",
            "-0400",
            "-0500",
        ),
        half(
            "DAYLIGHT",
            "20070311T020000",
            "RRULE:FREQ=YEARLY;BYMONTH=3;BYDAY=2SU",
            "-0500",
            "-0400",
        ),
    ],
}


def changes(zone: ZoneInfo, first: int, last: int) -> Iterator[datetime]:
    """Yield the days on which the zone's clock changes, as local midnights."""
    day = datetime(first, 1, 1, tzinfo=UTC)
    while day.year < last:
        tomorrow = day + timedelta(days=1)
        if day.astimezone(zone).utcoffset() != tomorrow.astimezone(zone).utcoffset():
            yield day.replace(tzinfo=None)
        day = tomorrow


@pytest.mark.parametrize("key", ZONES, ids=lambda k: k[0])
def test_own_definition_keeps_the_clock_of_the_iana_zone(key):
    name, first, last = key
    text = calendar(component("VTIMEZONE", "TZID:Ours", *ZONES[key]))
    (whole,) = calendars(text.encode())
    ours, theirs = Zones(whole).find("Ours"), ZoneInfo(name)
    days = list(changes(theirs, first, last))
    assert len(days) == 2 * (last - first)
    for day in days:
        for n in range(-2, 50):
            local = day + n * HALF_HOUR
            assert instant(local, ours) == instant(local, theirs), local
            assert second_coming(local, ours) == second_coming(local, theirs), local
