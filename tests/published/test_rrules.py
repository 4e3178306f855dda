"""Recurrence, time and availability values that the RFCs print.

Sources: RFC 5545 (September 2009) §3.3.5, §3.6.1, §3.6.5 and §3.8.5.3, RFC 7953
(August 2016) §3.1, §4, §5.1 with appendices A and B. Where a row departs from the
printed text, the test says why.

Tests of planner/files/ics/availability.py, planner/files/ics/rules.py,
planner/files/ics/series.py, planner/files/ics/values.py.
"""

import json
from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from planner.files.ics.reading import read_calendar
from tests.support.ics import (
    CHICAGO,
    calendar,
    component,
    event,
    local,
    put,
    spans,
    timeline,
    utc,
)

DATA = Path(__file__).parents[1] / "data"
PRINTED = json.loads((DATA / "rfc5545-rules.json").read_text())
EXAMPLES = {e["name"] + " | " + e["rule"]: e for e in PRINTED["examples"]}
NEW_YORK = ZoneInfo("America/New_York")
MONTREAL = ZoneInfo("America/Toronto")  # the IANA zone that Montreal is in


def as_local(text: str) -> datetime:
    return datetime.strptime(text, "%Y%m%dT%H%M%S").replace(tzinfo=NEW_YORK)


def test_all_examples_of_the_rfc_are_there():
    assert len(PRINTED["examples"]) == 43


@pytest.mark.parametrize("name", EXAMPLES)
def test_rule_gives_the_starts_that_rfc_5545_prints(name, tmp_path):
    """RFC 5545 §3.8.5.3: DTSTART;TZID=America/New_York, and the dates under each."""
    example = EXAMPLES[name]
    starts = [as_local(s).astimezone(UTC) for s in example["starts"]]
    ahead = timedelta(minutes=1) if example["open_ended"] else timedelta(days=3650)
    path = put(
        tmp_path,
        calendar(
            event(
                f"DTSTART;TZID=America/New_York:{example['start']}",
                "DURATION:PT1M",
                f"RRULE:{example['rule']}",
                *example["more"],
            )
        ),
    )
    window = (starts[0] - timedelta(days=1), starts[-1] + ahead)
    found = read_calendar(path, window=window, zone=CHICAGO)
    assert [b.start for b in found.busy] == starts


YEAR_2007 = (utc(2007, 1, 1), utc(2007, 12, 31))


def read_one(
    tmp_path: Path, *lines: str, window: tuple[datetime, datetime] = YEAR_2007
) -> list[tuple[datetime, datetime, str]]:
    path = put(tmp_path, calendar(event(*lines)))
    return spans(read_calendar(path, window=window, zone=NEW_YORK))


def test_the_erratum_of_the_three_hour_rule_is_not_followed(tmp_path):
    """RFC 5545 §3.8.5.3 prints three starts; UNTIL is 13:00 in New York, so two."""
    (example,) = (e for e in PRINTED["examples"] if "note" in e)
    assert len(example["starts_in_rfc"]) == 3
    found = read_one(
        tmp_path,
        f"DTSTART;TZID=America/New_York:{example['start']}",
        "DURATION:PT1M",
        f"RRULE:{example['rule']}",
        window=(utc(1997, 1, 1), utc(1998, 1, 1)),
    )
    assert [start.hour for start, _, _ in found] == [13, 16]  # 09:00 and 12:00 EDT


def test_until_in_utc_cuts_off_across_a_clock_change(tmp_path):
    """RFC 5545 §3.8.5.3, daily until 24 December 1997: 113 days, 13:00Z, later 14:00Z."""
    found = read_one(
        tmp_path,
        "DTSTART;TZID=America/New_York:19970902T090000",
        "DURATION:PT1H",
        "RRULE:FREQ=DAILY;UNTIL=19971224T000000Z",
        window=(utc(1997, 1, 1), utc(1998, 12, 31)),
    )
    assert len(found) == 113
    hours = {start.hour for start, _, _ in found if start < utc(1997, 10, 26)}
    assert hours == {13}
    assert {s.hour for s, _, _ in found if s >= utc(1997, 10, 26)} == {14}
    assert found[-1][0] == utc(1997, 12, 23, 14)


def test_skipped_local_time_is_read_with_the_offset_before(tmp_path):
    """RFC 5545 §3.3.5: 02:30 on 11 March 2007 in New York is 03:30 EDT, 07:30Z."""
    found = read_one(
        tmp_path, "DTSTART;TZID=America/New_York:20070311T023000", "DURATION:PT1H"
    )
    assert found == [(utc(2007, 3, 11, 7, 30), utc(2007, 3, 11, 8, 30), "busy")]


def test_local_time_that_comes_twice_is_its_first_coming(tmp_path):
    """RFC 5545 §3.3.5: 01:30 on 4 November 2007 in New York is EDT, 05:30Z."""
    found = read_one(
        tmp_path, "DTSTART;TZID=America/New_York:20071104T013000", "DURATION:PT1H"
    )
    assert found == [(utc(2007, 11, 4, 5, 30), utc(2007, 11, 4, 6, 30), "busy")]


def test_date_without_end_is_one_day_and_end_date_is_excluded(tmp_path):
    """RFC 5545 §3.6.1; New York is UTC-4 on these days."""
    one = read_one(tmp_path, "DTSTART;VALUE=DATE:20070710")
    assert one == [(utc(2007, 7, 10, 4), utc(2007, 7, 11, 4), "busy")]
    three = read_one(
        tmp_path, "DTSTART;VALUE=DATE:20070710", "DTEND;VALUE=DATE:20070713"
    )
    assert three == [(utc(2007, 7, 10, 4), utc(2007, 7, 13, 4), "busy")]


US_CENTRAL_RULES = component(
    "VTIMEZONE",
    "TZID:Stage time",
    component(
        "STANDARD",
        "DTSTART:20071104T020000",
        "RRULE:FREQ=YEARLY;BYDAY=1SU;BYMONTH=11",
        "TZOFFSETFROM:-0500",
        "TZOFFSETTO:-0600",
        "TZNAME:CST",
    ),
    component(
        "DAYLIGHT",
        "DTSTART:20070311T020000",
        "RRULE:FREQ=YEARLY;BYDAY=2SU;BYMONTH=3",
        "TZOFFSETFROM:-0600",
        "TZOFFSETTO:-0500",
        "TZNAME:CDT",
    ),
)


@pytest.mark.parametrize(
    ("clock", "expected"),
    [
        ("20260308T015900", utc(2026, 3, 8, 7, 59)),  # a minute before the onset
        ("20260308T030000", utc(2026, 3, 8, 8)),  # the onset: 08:00Z
        ("20260308T023000", utc(2026, 3, 8, 8, 30)),  # skipped: offset before
        ("20261101T005900", utc(2026, 11, 1, 5, 59)),
        ("20261101T013000", utc(2026, 11, 1, 6, 30)),  # twice: the first
        ("20261101T020000", utc(2026, 11, 1, 8)),  # after the onset, 07:00Z
    ],
)
def test_onsets_of_a_vtimezone(clock, expected, tmp_path):
    """RFC 5545 §3.6.5, US rules from 2007: 8 March 2026 08:00Z, 1 November 07:00Z."""
    text = calendar(
        US_CENTRAL_RULES, event(f"DTSTART;TZID=Stage time:{clock}", "DURATION:PT1M")
    )
    window = (utc(2026, 1, 1), utc(2026, 12, 31))
    found = read_calendar(put(tmp_path, text), window=window, zone=NEW_YORK)
    assert [b.start for b in found.busy] == [expected]


def available(first: str, last: str, rule: str, zone: str) -> str:
    return component(
        "AVAILABLE",
        f"UID:{first}-{zone}@test",
        f"DTSTART;TZID={zone}:{first}",
        f"DTEND;TZID={zone}:{last}",
        rule,
    )


WEEKDAYS = "RRULE:FREQ=WEEKLY;BYDAY=MO,TU,WE,TH,FR"
MONTREAL_8_TO_18 = component(
    "VAVAILABILITY",
    "UID:base@test",
    "DTSTART;TZID=America/Montreal:20111002T000000",
    available("20111002T080000", "20111002T180000", WEEKDAYS, "America/Montreal"),
)
DENVER_WEEK = component(
    "VAVAILABILITY",
    "UID:trip@test",
    "PRIORITY:1",
    "DTSTART;TZID=America/Denver:20111023T000000",
    "DTEND;TZID=America/Denver:20111030T000000",
    available("20111023T080000", "20111023T180000", WEEKDAYS, "America/Denver"),
)


def day_of(tmp_path: Path, day: tuple[int, int], *parts: str) -> str:
    window = (local(MONTREAL, 2011, *day), local(MONTREAL, 2011, day[0], day[1] + 1))
    path = put(tmp_path, calendar(*parts))
    return timeline(
        read_calendar(path, window=window, zone=MONTREAL).busy, window, MONTREAL
    )


def test_availability_with_a_meeting(tmp_path):
    """RFC 7953 §5.1.1 with its appendix A.

    The RFC speaks of "Monday 6th", which is a Sunday; day and meeting are moved to
    Monday 7 November 2011.
    """
    meeting = event(
        "DTSTART;TZID=America/Montreal:20111107T120000",
        "DTEND;TZID=America/Montreal:20111107T140000",
    )
    assert day_of(tmp_path, (11, 7), MONTREAL_8_TO_18, meeting) == (
        "U 0-8, F 8-12, B 12-14, F 14-18, U 18-24"
    )


def test_literal_sunday_of_the_rfc_is_unavailable_but_for_the_meeting(tmp_path):
    """RFC 7953 §5.1.1 taken by its letter, on Sunday 6 November 2011."""
    meeting = event(
        "DTSTART;TZID=America/Montreal:20111106T120000",
        "DTEND;TZID=America/Montreal:20111106T140000",
    )
    assert day_of(tmp_path, (11, 6), MONTREAL_8_TO_18, meeting) == (
        "U 0-12, B 12-14, U 14-24"
    )


def test_higher_priority_replaces_the_base(tmp_path):
    """RFC 7953 §5.1.2 with its appendix B, meeting moved to 24 October 2011."""
    meeting = event(
        "DTSTART;TZID=America/Denver:20111024T120000",
        "DTEND;TZID=America/Denver:20111024T140000",
    )
    assert day_of(tmp_path, (10, 24), MONTREAL_8_TO_18, DENVER_WEEK, meeting) == (
        "U 0-10, F 10-14, B 14-16, F 16-20, U 20-24"
    )


def test_lower_layer_does_not_show_through_a_higher_one(tmp_path):
    """RFC 7953 §4, whose order counts; §5 step 3 by its letter would leak F 8-18.

    The base is free on Sundays 8-18; the week in Denver has no Sunday. It begins at
    midnight in Denver, 02:00 in Montreal.
    """
    sundays = MONTREAL_8_TO_18.replace("BYDAY=MO", "BYDAY=SU,MO")
    assert day_of(tmp_path, (10, 23), sundays, DENVER_WEEK) == "U 0-24"
    assert day_of(tmp_path, (10, 16), sundays, DENVER_WEEK) == (
        "U 0-8, F 8-18, U 18-24"
    )


def test_available_start_that_its_rule_does_not_give_is_no_instance(tmp_path):
    """RFC 7953 §3.1: the AVAILABLE starts on Sunday 2 October, the rule gives Mondays on."""
    base = component(
        "VAVAILABILITY",
        "UID:base@test",
        available("20111002T090000", "20111002T170000", WEEKDAYS, "America/Montreal"),
    )
    assert day_of(tmp_path, (10, 2), base) == "U 0-24"
    assert day_of(tmp_path, (10, 3), base) == "U 0-9, F 9-17, U 17-24"
