"""Calendar times in a zone of their own: its definition, and what is refused.

The values of the changes are RFC 5545 §3.6.5's own example for New York and the zone
data of the IANA, looked at through another reader (recurring-ical-events, dateutil).

Tests of planner/files/ics_out/calendar.py, planner/files/ics_out/lint_zones.py,
planner/files/ics_out/zone.py.
"""

import io
import re
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import dateutil.tz
import pytest

from planner.errors import OutputError
from planner.files.ics_out.calendar import write
from planner.files.ics_out.published import PublishedState
from planner.nouns.feed import Feed, FeedEntry, Timed
from tests.support.calendar_lint import lint

NOW = datetime(2026, 1, 1, tzinfo=UTC)


def feed(*spans: tuple[datetime, datetime]) -> Feed:
    entries = tuple(
        FeedEntry(key=f"k{n}", title="x", when=Timed(start=a, end=b), busy=True)
        for n, (a, b) in enumerate(spans)
    )
    return Feed(seed="crew", name="Crew", color="teal", entries=entries)


def written(zone: str, *spans: tuple[datetime, datetime]) -> str:
    data, _ = write(
        feed(*spans),
        plan_id="demo",
        state=PublishedState(),
        now=NOW,
        zone=ZoneInfo(zone),
    )
    return data.decode().replace("\r\n ", "")


def block(text: str, name: str) -> list[str]:
    found = re.search(rf"BEGIN:{name}\r\n(.*?)END:{name}", text, re.DOTALL)
    return found[1].split("\r\n")[:-1] if found else []


def utc(*parts: int) -> datetime:
    return datetime(*parts, tzinfo=UTC)  # type: ignore[misc,arg-type]


DAY = (utc(2026, 7, 6, 14), utc(2026, 7, 6, 18))


def test_new_york_changes_as_the_standard_s_own_example_says():
    # RFC 5545 §3.6.5: since 2007 DAYLIGHT from 02:00 -0500 to -0400 on the second
    # Sunday of March, STANDARD from 02:00 -0400 to -0500 on the first of November.
    # IANA data: 8 March and 1 November 2026
    text = written("America/New_York", DAY)
    summer, winter = block(text, "DAYLIGHT"), block(text, "STANDARD")
    assert set(summer) == {
        "DTSTART:20250309T020000",
        "RRULE:FREQ=YEARLY;BYDAY=2SU;BYMONTH=3",
        "TZOFFSETFROM:-0500",
        "TZOFFSETTO:-0400",
        "TZNAME:EDT",
    }
    assert set(winter) == {
        "DTSTART:20251102T020000",
        "RRULE:FREQ=YEARLY;BYDAY=1SU;BYMONTH=11",
        "TZOFFSETFROM:-0400",
        "TZOFFSETTO:-0500",
        "TZNAME:EST",
    }
    assert "DTSTART;TZID=America/New_York:20260706T100000" in text


def test_a_last_sunday_is_written_as_the_last():
    # European Union, Directive 2000/84/EC: last Sundays of March and October, 01:00 UTC
    text = written("Europe/Berlin", DAY)
    assert "RRULE:FREQ=YEARLY;BYDAY=-1SU;BYMONTH=3" in text
    assert "RRULE:FREQ=YEARLY;BYDAY=-1SU;BYMONTH=10" in text
    assert "DTSTART:20250330T020000" in text


def test_a_zone_that_stands_still_has_one_offset_and_no_rule():
    text = written("America/Phoenix", DAY)
    assert block(text, "STANDARD") == [
        "DTSTART:19700101T000000",
        "TZOFFSETFROM:-0700",
        "TZOFFSETTO:-0700",
        "TZNAME:MST",
    ]
    assert block(text, "DAYLIGHT") == []


@pytest.mark.parametrize(
    "zone",
    [
        *("America/Halifax", "America/St_Johns", "Europe/Dublin", "Asia/Kolkata"),
        *("Australia/Lord_Howe", "Pacific/Auckland", "Africa/Nairobi"),
        *("Pacific/Chatham", "Asia/Kathmandu", "America/Asuncion"),
    ],
)
def test_another_reader_of_the_definition_finds_the_same_instants(zone):
    # dateutil follows the file's own rules and knows nothing of the zone's name
    spans = [
        (utc(2026, 1, 1, 14) + timedelta(days=5 * n), utc(2026, 1, 1, 17) + timedelta(days=5 * n))
        for n in range(140)
    ]  # fmt: skip
    text = written(zone, *spans)
    rules = dateutil.tz.tzical(io.StringIO(text.replace("\r\n", "\n"))).get(zone)
    found = sorted(
        datetime.strptime(local, "%Y%m%dT%H%M%S").replace(tzinfo=rules).astimezone(UTC)
        for local in re.findall(rf"DTSTART;TZID={zone}:(\S+)", text)
    )
    assert found == [a for a, _ in spans]


@pytest.mark.parametrize("minute", [30, 90])  # the first pass, and the second
def test_what_touches_the_hour_that_comes_twice_is_written_in_utc(minute):
    # IANA: on 1 November 2026 Halifax has 01:00 to 02:00 twice, from 04:00 UTC;
    # RFC 5545 §3.3.5: a local time there names the first pass alone
    doubled = utc(2026, 11, 1, 4) + timedelta(minutes=minute)
    before, after = utc(2026, 10, 31, 12), utc(2026, 11, 1, 12)
    text = written("America/Halifax", (doubled, after), (before, doubled), DAY)
    written_in_utc = re.findall(r"DT(?:START|END):(\d{8}T\d{6}Z)", text)
    assert sorted(written_in_utc) == sorted(
        f"{m:%Y%m%dT%H%M%SZ}" for m in (doubled, after, before, doubled)
    )
    assert "DTSTART;TZID=America/Halifax:20260706T110000" in text
    assert lint(text.encode()) == ()
    alone = written("America/Halifax", (doubled, after))
    assert "Halifax" not in alone  # no zone is defined that no time is in


@pytest.mark.parametrize(
    "zone",
    [
        "Africa/Casablanca",  # IANA: Morocco's clocks go by the moon (Ramadan)
        "America/Santiago",  # IANA: the first Sunday from 2 September on
    ],
)
def test_a_zone_without_yearly_rules_by_weekday_is_refused(zone):
    with pytest.raises(OutputError, match="doesn't change its clocks once a year"):
        written(zone, DAY)


def test_a_zone_on_utc_all_year_is_written_in_utc():
    # IANA: Abidjan has been at UTC since 1912; RFC 5545 §3.2.19: no TZID with UTC
    assert "\r\nDTSTART:20260706T140000Z" in written("Africa/Abidjan", DAY)


def test_all_day_entries_and_empty_calendars_name_no_zone():
    assert "VTIMEZONE" in written("America/Halifax")  # only that of UTC
    assert "Halifax" not in written("America/Halifax")


def test_switching_to_a_zone_moves_each_entry_once():
    made = feed(DAY)
    one, state = write(made, plan_id="d", state=PublishedState(), now=NOW)
    later = NOW + timedelta(days=1)
    zone = ZoneInfo("America/Halifax")
    two, state = write(made, plan_id="d", state=state, now=later, zone=zone)
    again = write(made, plan_id="d", state=state, now=later + timedelta(1), zone=zone)
    assert one != two
    assert again == (two, state)


# ------------------------------------------------------------- the lint


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ("DTSTART:20250309T020000", "DTSTART:20250309T030000", "no such change"),
        ("BYDAY=2SU", "BYDAY=1SU", "no such change"),
        ("BYDAY=1SU;BYMONTH=11", "BYDAY=1SU;BYMONTH=10", "no such change"),
        ("TZOFFSETTO:-0400", "TZOFFSETTO:-0300", "no such change"),
        ("FREQ=YEARLY;BYDAY=2SU", "FREQ=MONTHLY;BYDAY=2SU", "can't be followed"),
        ("RRULE:FREQ=YEARLY;BYDAY=2SU;BYMONTH=3\r\n", "", "not the offset of"),
        ("TZOFFSETFROM:-0500", "TZOFFSETFROM:-05", "can't be followed"),
        ("DTSTART:20250309T020000", "DTSTART:20270314T020000", "not the offset of"),
        ("20260706T100000", "20261101T013000", "comes twice"),
        ("20260706T100000", "20260308T023000", "comes twice"),  # or never
        ("America/New_York", "Customized", "is not the name of a zone"),
        ("America/New_York", "America/Chicago", "no such change"),
        ("America/New_York", "America/Toronto", None),  # the same rules
    ],
)
def test_a_definition_that_isnt_the_zone_s_is_found(old, new, message):
    data = written("America/New_York", DAY)
    assert lint(data.encode()) == ()
    assert old in data
    faults = [str(f) for f in lint(data.replace(old, new).encode())]
    if message is None:
        assert faults == []
    else:
        assert any(message in f for f in faults), faults
