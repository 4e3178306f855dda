"""What an entry does to the hours: standing, time, clock changes, copies, moves.

Tests of planner/files/ics/entries.py, planner/files/ics/properties.py,
planner/files/ics/reading.py, planner/files/ics/series.py,
planner/files/ics/stretches.py, planner/files/ics/values.py.
"""

from datetime import datetime, timedelta
from itertools import permutations
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from planner.errors import CalendarError
from planner.files.ics.reading import read_calendar
from planner.nouns.calendar import Calendar
from tests.support.ics import (
    CHICAGO,
    HALIFAX,
    calendar,
    component,
    event,
    local,
    put,
    spans,
    utc,
)

MARCH = (utc(2026, 3, 1), utc(2026, 4, 1))


def read(
    tmp_path: Path,
    *parts: str,
    window: tuple[datetime, datetime] = MARCH,
    **options: Any,
) -> Calendar:
    path = put(tmp_path, calendar(*parts))
    return read_calendar(path, window=window, zone=CHICAGO, **options)


def at(*parts: int) -> datetime:
    return local(CHICAGO, 2026, *parts)


# ------------------------------------------------- how taken an entry makes its time

NINE = ("DTSTART:20260310T140000Z", "DTEND:20260310T150000Z")
OOF = "X-MICROSOFT-CDO-BUSYSTATUS:OOF"


@pytest.mark.parametrize(
    ("lines", "kind"),
    [
        ([], "busy"),
        (["STATUS:CONFIRMED", "TRANSP:OPAQUE"], "busy"),
        (["STATUS:TENTATIVE"], "tentative"),
        (["STATUS:CANCELLED"], None),
        (["STATUS:CANCELLED", OOF], None),
        (["TRANSP:TRANSPARENT"], None),
        (["TRANSP:TRANSPARENT", "STATUS:TENTATIVE"], None),
        (["TRANSP:TRANSPARENT", OOF], "unavailable"),
        (["X-MICROSOFT-CDO-BUSYSTATUS:FREE"], None),
        (["X-MICROSOFT-CDO-BUSYSTATUS:WORKINGELSEWHERE"], None),
        (["X-MICROSOFT-CDO-BUSYSTATUS:TENTATIVE"], "tentative"),
        (["X-MICROSOFT-CDO-BUSYSTATUS:BUSY", "TRANSP:TRANSPARENT"], "busy"),
        (["X-MICROSOFT-CDO-BUSYSTATUS:SOMETHING"], "busy"),
        (["PRIORITY:9"], "busy"),
        (["transp:transparent"], None),
    ],
)
def test_kind_of_an_entry(lines, kind, tmp_path):
    """X-MICROSOFT-CDO-BUSYSTATUS goes before TRANSP: MS-OXCICAL 2.1.3.1.1.20.25."""
    found = read(tmp_path, event(*NINE, *lines))
    assert [b.kind for b in found.busy] == ([kind] if kind else [])


@pytest.mark.parametrize(
    ("attendee", "kind"),
    [
        ("ATTENDEE;PARTSTAT=DECLINED:mailto:ana@example.org", None),
        ("ATTENDEE;PARTSTAT=TENTATIVE:MAILTO:Ana@Example.org", "tentative"),
        ("ATTENDEE;PARTSTAT=NEEDS-ACTION:mailto:ana@example.org", "tentative"),
        ("ATTENDEE:mailto:ana@example.org", "tentative"),  # the default of §3.2.12
        ("ATTENDEE;PARTSTAT=ACCEPTED:mailto:ana@example.org", "busy"),
        ("ATTENDEE;PARTSTAT=DECLINED:mailto:bo@example.org", "busy"),
        ('ATTENDEE;PARTSTAT=DECLINED;EMAIL="ana@example.org":urn:x:1', None),
    ],
)
def test_the_owners_own_answer(attendee, kind, tmp_path):
    """RFC 5545 §3.2.12 names the answers."""
    found = read(tmp_path, event(*NINE, attendee), owner_addresses=("ana@example.org",))
    assert [b.kind for b in found.busy] == ([kind] if kind else [])


def test_without_an_address_a_declined_meeting_is_busy(tmp_path):
    declined = "ATTENDEE;PARTSTAT=DECLINED:mailto:ana@example.org"
    assert [b.kind for b in read(tmp_path, event(*NINE, declined)).busy] == ["busy"]


def test_a_file_of_cancellations_takes_no_time(tmp_path):
    assert read(tmp_path, "METHOD:CANCEL", event(*NINE)).busy == ()


def test_tentative_may_count_as_free_and_the_remarks_say_so(tmp_path):
    found = read(tmp_path, event(*NINE, "STATUS:TENTATIVE"), tentative_is_free=True)
    assert found.busy == ()
    assert found.remarks == (
        "tentative entries are read as free, as the job file asks",
    )


def test_tasks_and_journals_take_no_time(tmp_path):
    parts = [component(n, "UID:1", *NINE[:1]) for n in ("VTODO", "VJOURNAL")]
    assert read(tmp_path, *parts).busy == ()


def test_private_entry_blocks_without_its_title(tmp_path):
    for word in ("PRIVATE", "CONFIDENTIAL", "X-OURS"):
        (taken,) = read(tmp_path, event(*NINE, "SUMMARY:a", f"CLASS:{word}")).busy
        assert taken.title == ""
    (taken,) = read(
        tmp_path, event(*NINE, r"SUMMARY:Lunch\, late", "CLASS:PUBLIC")
    ).busy
    assert taken.title == "Lunch, late"


# ------------------------------------------------------------------------- times


def test_out_of_office_weekend_over_the_spring_change_has_47_hours(tmp_path):
    """Worked by hand: Saturday 00:00 CST to Monday 00:00 CDT."""
    (taken,) = read(
        tmp_path,
        event("DTSTART;VALUE=DATE:20260307", "DTEND;VALUE=DATE:20260309", OOF),
    ).busy
    assert (taken.start, taken.end) == (at(3, 7), at(3, 9))
    assert taken.end - taken.start == timedelta(hours=47)
    assert taken.kind == "unavailable"
    assert taken.all_day


def test_day_in_autumn_has_25_hours(tmp_path):
    window = (utc(2026, 10, 1), utc(2026, 12, 1))
    (taken,) = read(tmp_path, event("DTSTART;VALUE=DATE:20261101"), window=window).busy
    assert taken.end - taken.start == timedelta(hours=25)


def test_cancelled_instance_of_three_days(tmp_path):
    found = read(
        tmp_path,
        event(
            "DTSTART;TZID=America/Chicago:20260309T090000",
            "DTEND;TZID=America/Chicago:20260309T100000",
            "RRULE:FREQ=DAILY;COUNT=3",
        ),
        event(
            "RECURRENCE-ID;TZID=America/Chicago:20260310T090000",
            "DTSTART;TZID=America/Chicago:20260310T090000",
            "STATUS:CANCELLED",
        ),
    )
    assert [b.start for b in found.busy] == [at(3, 9, 9), at(3, 11, 9)]


def test_free_in_a_report_never_clears(tmp_path):
    """Worked by hand: T 9-10 and 9-11, B 10-12; FREE 11-11:30 changes nothing."""
    report = component(
        "VFREEBUSY",
        "UID:f",
        "DTSTART:20260301T000000Z",
        "DTEND:20260401T000000Z",
        "FREEBUSY;FBTYPE=BUSY-TENTATIVE:20260310T140000Z/20260310T160000Z",
        "FREEBUSY;FBTYPE=FREE:20260310T160000Z/20260310T163000Z",
        "FREEBUSY:20260310T150000Z/PT2H",
        "FREEBUSY;FBTYPE=X-NEW:20260312T150000Z/PT1H,20260313T150000Z/PT1H",
        "FREEBUSY;FBTYPE=BUSY-UNAVAILABLE:20260314T150000Z/PT1H",
    )
    found = read(tmp_path, report)
    assert found.remarks == ()
    assert spans(found) == [
        (at(3, 10, 9), at(3, 10, 11), "tentative"),
        (at(3, 10, 10), at(3, 10, 12), "busy"),
        (at(3, 12, 10), at(3, 12, 11), "busy"),
        (at(3, 13, 10), at(3, 13, 11), "busy"),
        (at(3, 14, 10), at(3, 14, 11), "unavailable"),
    ]


def test_report_that_covers_less_than_the_window_is_remarked_on(tmp_path):
    report = component(
        "VFREEBUSY", "UID:f", "DTSTART:20260305T060000Z", "DTEND:20260401T000000Z"
    )
    assert read(tmp_path, report).remarks == (
        "nothing is known from 2026-02-28 18:00 to 2026-03-05 00:00:"
        " the free-busy report doesn't cover it",
    )


def test_question_for_free_time_covers_nothing(tmp_path):
    asked = component(
        "VFREEBUSY", "UID:f", "DTSTART:20260301T000000Z", "DTEND:20260401T000000Z"
    )
    remarks = read(tmp_path, "METHOD:REQUEST", asked).remarks
    assert any(r.startswith("nothing is known") for r in remarks)


def test_single_night_over_the_spring_change_is_seven_hours(tmp_path):
    """Worked by hand: Saturday 22:00 CST is 04:00Z, Sunday 06:00 CDT is 11:00Z."""
    night = event(
        "DTSTART;TZID=America/Chicago:20260307T220000",
        "DTEND;TZID=America/Chicago:20260308T060000",
    )
    found = read(tmp_path, night)
    assert spans(found) == [(utc(2026, 3, 8, 4), utc(2026, 3, 8, 11), "busy")]
    assert found.remarks == ()


def nightly(first: str) -> str:
    return event(
        f"DTSTART;TZID=America/Chicago:{first}T220000",
        f"DTEND;TZID=America/Chicago:{int(first) + 1}T060000",
        "RRULE:FREQ=DAILY;COUNT=9",
    )


def test_repeated_night_takes_the_later_end_over_the_spring_change(tmp_path):
    """Exact: 8 h from 04:00Z is 12:00Z; by the clock 06:00 CDT is 11:00Z."""
    found = read(tmp_path, nightly("20260304"))
    ends = [b.end for b in found.busy if b.start == utc(2026, 3, 8, 4)]
    assert ends == [utc(2026, 3, 8, 12)]
    assert found.remarks == (
        "a clock change gives its end two readings; the later one is used:"
        " entry (UID e@test)",
    )


def test_repeated_night_takes_the_later_end_over_the_autumn_change(tmp_path):
    """Exact: 8 h from 03:00Z is 11:00Z; by the clock 06:00 CST is 12:00Z."""
    found = read(
        tmp_path, nightly("20261028"), window=(utc(2026, 10, 1), utc(2026, 12, 1))
    )
    ends = [b.end for b in found.busy if b.start == utc(2026, 11, 1, 3)]
    assert ends == [utc(2026, 11, 1, 12)]


def test_weekly_local_time_follows_the_clock_change(tmp_path):
    found = read(
        tmp_path,
        event(
            "DTSTART;TZID=America/Chicago:20260303T090000",
            "DURATION:PT1H",
            "RRULE:FREQ=WEEKLY;COUNT=2",
        ),
    )
    assert [b.start.hour for b in found.busy] == [15, 14]


def test_a_day_as_duration_follows_the_calendar_and_24_hours_do_not(tmp_path):
    """RFC 5545 §3.3.6: from Saturday 12:00 CST, P1D ends at 12:00 CDT, PT24H at 13:00."""
    for text, end in (("P1D", at(3, 8, 12)), ("PT24H", at(3, 8, 13))):
        (taken,) = read(
            tmp_path,
            event("DTSTART;TZID=America/Chicago:20260307T120000", f"DURATION:{text}"),
        ).busy
        assert taken.end == end


def test_hourly_rule_covers_the_hour_that_comes_twice(tmp_path):
    window = (utc(2026, 11, 1, 5), utc(2026, 11, 1, 10))
    found = read(
        tmp_path,
        event(
            "DTSTART;TZID=America/Chicago:20261031T000000",
            "DURATION:PT1H",
            "RRULE:FREQ=HOURLY",
        ),
        window=window,
    )
    assert [b.start.hour for b in found.busy] == [5, 6, 7, 8, 9]


def test_entry_without_length_takes_no_time(tmp_path):
    point = event("DTSTART:20260310T140000Z", uid="a")
    same = event("DTSTART:20260310T140000Z", "DTEND:20260310T140000Z", uid="b")
    assert read(tmp_path, point, same).busy == ()


def test_clock_change_that_swallows_an_entry_is_remarked_on(tmp_path):
    found = read(
        tmp_path,
        event(
            "DTSTART;TZID=America/Chicago:20260308T020000",
            "DTEND;TZID=America/Chicago:20260308T030000",
        ),
    )
    assert found.busy == ()
    assert found.remarks == (
        "a clock change leaves no time between start and end: entry (UID e@test)",
    )


def test_whole_day_that_ends_on_its_own_date_is_one_day(tmp_path):
    found = read(
        tmp_path, event("DTSTART;VALUE=DATE:20260310", "DTEND;VALUE=DATE:20260310")
    )
    assert spans(found) == [(at(3, 10), at(3, 11), "busy")]
    assert found.remarks[0].startswith("whole days that end on their first day")


def test_floating_time_is_read_in_the_sites_zone_with_a_remark(tmp_path):
    found = read(tmp_path, event("DTSTART:20260310T090000", "DURATION:PT1H"))
    assert spans(found) == [(at(3, 10, 9), at(3, 10, 10), "busy")]
    assert found.remarks == (
        "times without a zone are read in America/Chicago, the site's zone:"
        " entry (UID e@test)",
    )


def test_floating_time_is_read_in_the_calendars_own_zone_where_it_names_one(tmp_path):
    parts = (
        "X-WR-TIMEZONE:America/Halifax",
        event("DTSTART:20260310T090000", "DURATION:PT1H", uid="a"),
        event("DTSTART;VALUE=DATE:20260312", uid="b"),
    )
    found = read(tmp_path, *parts)
    assert spans(found) == [
        (local(HALIFAX, 2026, 3, 10, 9), local(HALIFAX, 2026, 3, 10, 10), "busy"),
        (local(HALIFAX, 2026, 3, 12), local(HALIFAX, 2026, 3, 13), "busy"),
    ]
    assert len(found.remarks) == 2


def test_days_of_a_calendar_in_utc_are_the_sites_days(tmp_path):
    found = read(
        tmp_path, "X-WR-TIMEZONE:Etc/UTC", event("DTSTART;VALUE=DATE:20260312")
    )
    assert spans(found) == [(at(3, 12), at(3, 13), "busy")]


def test_zone_names_in_use(tmp_path):
    names = (
        "America/Chicago",
        "/freeassociation.sourceforge.net/America/Chicago",
        "Central Standard Time",
        '"America/Chicago"',
    )
    for name in names:
        found = read(
            tmp_path, event(f"DTSTART;TZID={name}:20260310T090000", "DURATION:PT1H")
        )
        assert spans(found) == [(at(3, 10, 9), at(3, 10, 10), "busy")]


def own_zone(offset: str) -> str:
    return component(
        "VTIMEZONE",
        "TZID:Customized Time Zone",
        component(
            "STANDARD",
            "DTSTART:16010101T000000",
            f"TZOFFSETFROM:{offset}",
            f"TZOFFSETTO:{offset}",
        ),
    )


def test_zone_does_not_leak_from_one_file_to_the_next(tmp_path):
    nine = event("DTSTART;TZID=Customized Time Zone:20260310T090000", "DURATION:PT1H")
    for offset, hour in (("-0300", 12), ("+0200", 7), ("-0300", 12)):
        (taken,) = read(tmp_path, own_zone(offset), nine).busy
        assert taken.start.hour == hour
    with pytest.raises(CalendarError, match="1 fault"):
        read(tmp_path, nine)


def test_zone_does_not_leak_between_calendars_in_one_file(tmp_path):
    nine = "DTSTART;TZID=Customized Time Zone:20260310T090000"
    text = "".join(
        calendar(own_zone(offset), event(nine, "DURATION:PT1H", uid=offset))
        for offset in ("-0300", "+0200")
    )
    found = read_calendar(put(tmp_path, text), window=MARCH, zone=CHICAGO)
    assert [b.start.hour for b in found.busy] == [7, 12]


def test_zone_may_be_defined_after_its_use(tmp_path):
    nine = event("DTSTART;TZID=Customized Time Zone:20260310T090000", "DURATION:PT1H")
    assert read(tmp_path, nine, own_zone("-0300")) == read(
        tmp_path, own_zone("-0300"), nine
    )


# ------------------------------------------------------- series: added, moved, copies

DAILY = (
    "DTSTART;TZID=America/Chicago:20260309T090000",
    "DTEND;TZID=America/Chicago:20260309T100000",
    "RRULE:FREQ=DAILY;COUNT=4",
)


def starts(found: Calendar) -> list[tuple[int, int]]:
    there = [b.start.astimezone(CHICAGO) for b in found.busy]
    return [(t.day, t.hour) for t in there]


def test_moved_instance_leaves_its_old_place(tmp_path):
    moved = event(
        "RECURRENCE-ID;TZID=America/Chicago:20260310T090000",
        "DTSTART;TZID=America/Chicago:20260320T130000",
        "DTEND;TZID=America/Chicago:20260320T150000",
    )
    found = read(tmp_path, event(*DAILY), moved)
    assert starts(found) == [(9, 9), (11, 9), (12, 9), (20, 13)]


def test_instance_moved_into_the_window_from_outside(tmp_path):
    moved = event(
        "RECURRENCE-ID:20260310T140000Z",
        "DTSTART:20260320T180000Z",
        "DURATION:PT1H",
    )
    window = (utc(2026, 3, 20), utc(2026, 3, 21))
    assert starts(read(tmp_path, moved, event(*DAILY), window=window)) == [(20, 13)]


def test_instance_made_transparent_frees_its_time(tmp_path):
    changed = event(
        "RECURRENCE-ID;TZID=America/Chicago:20260310T090000",
        "DTSTART;TZID=America/Chicago:20260310T090000",
        "TRANSP:TRANSPARENT",
    )
    assert starts(read(tmp_path, event(*DAILY), changed)) == [(9, 9), (11, 9), (12, 9)]


def test_this_and_future_moves_all_that_follow(tmp_path):
    onward = event(
        "RECURRENCE-ID;RANGE=THISANDFUTURE;TZID=America/Chicago:20260311T090000",
        "DTSTART;TZID=America/Chicago:20260311T133000",
        "DTEND;TZID=America/Chicago:20260311T143000",
    )
    found = read(tmp_path, event(*DAILY), onward)
    assert starts(found) == [(9, 9), (10, 9), (11, 13), (12, 13)]


def test_change_on_the_day_of_a_clock_change_shifts_no_later_day(tmp_path):
    """02:30 on 8 March is skipped; made longer from there on, it stays at 02:30."""
    daily = event(
        "DTSTART;TZID=America/Chicago:20260306T023000",
        "DURATION:PT1H",
        "RRULE:FREQ=DAILY;COUNT=5",
        "RDATE;TZID=America/Chicago:20260308T023000",
    )
    longer = event(
        "RECURRENCE-ID;RANGE=THISANDFUTURE;TZID=America/Chicago:20260308T023000",
        "DTSTART;TZID=America/Chicago:20260308T023000",
        "DURATION:PT2H",
    )
    found = read(tmp_path, daily, longer)
    assert [(b.start, b.end) for b in found.busy][-2:] == [
        (at(3, 9, 2, 30), at(3, 9, 4, 30)),
        (at(3, 10, 2, 30), at(3, 10, 4, 30)),
    ]


def test_day_added_in_a_skipped_hour_ends_by_the_clock_as_written(tmp_path):
    """02:00 is skipped: 08:00Z; 47 h later, and Tuesday 02:00 CDT, are both 07:00Z."""
    found = read(
        tmp_path,
        event(
            "DTSTART;TZID=America/Chicago:20260307T020000",
            "DTEND;TZID=America/Chicago:20260309T020000",
            "RDATE;TZID=America/Chicago:20260308T020000",
        ),
    )
    assert spans(found)[1] == (utc(2026, 3, 8, 8), utc(2026, 3, 10, 7), "busy")


def test_this_and_future_moves_far_into_the_window(tmp_path):
    """Mondays; from the 16th on ten days earlier, or ten later: the 23rd is moved."""
    weekly = event(
        "DTSTART:20260302T150000Z", "DURATION:PT1H", "RRULE:FREQ=WEEKLY;COUNT=4"
    )
    there = "RECURRENCE-ID;RANGE=THISANDFUTURE:20260316T150000Z"
    for first, day in (("20260306", 13), ("20260326", 33)):
        onward = event(there, f"DTSTART:{first}T150000Z", "DURATION:PT1H")
        start = utc(2026, 3, 1, 15) + timedelta(days=day - 1)
        window = (start, start + timedelta(hours=1))
        found = read(tmp_path, weekly, onward, window=window)
        assert spans(found) == [(*window, "busy")]


def test_days_taken_out_in_every_form(tmp_path):
    forms = (
        "EXDATE;TZID=America/Chicago:20260310T090000,20260311T090000",
        "EXDATE:20260310T140000Z,20260311T140000Z",
        "EXDATE;VALUE=DATE:20260310,20260311",
        "EXDATE:20260310T090000\r\nEXDATE;TZID=America/Halifax:20260311T110000",
    )
    for form in forms:
        assert starts(read(tmp_path, event(*DAILY, form))) == [(9, 9), (12, 9)]


def test_days_added_and_a_period_with_its_own_length(tmp_path):
    found = read(
        tmp_path,
        event(
            *DAILY,
            "RDATE;TZID=America/Chicago:20260315T090000,20260316T090000",
            "RDATE;VALUE=PERIOD:20260317T140000Z/PT3H",
        ),
    )
    assert starts(found)[4:] == [(15, 9), (16, 9), (17, 9)]
    assert found.busy[-1].end == at(3, 17, 12)


def test_start_outside_the_rule_is_an_instance_all_the_same(tmp_path):
    found = read(
        tmp_path,
        event(
            "DTSTART;TZID=America/Chicago:20260309T090000",
            "DURATION:PT1H",
            "RRULE:FREQ=WEEKLY;BYDAY=WE;COUNT=2",
        ),
    )
    assert starts(found) == [(9, 9), (11, 9), (18, 9)]


def test_date_as_last_day_of_times_includes_that_day(tmp_path):
    """Receivers differ (RFC 5545 §3.3.10 wants a time there); taken is safer."""
    lines = (*DAILY[:2], "RRULE:FREQ=DAILY;UNTIL=20260311")
    assert starts(read(tmp_path, event(*lines))) == [(9, 9), (10, 9), (11, 9)]


def test_instant_as_last_day_of_whole_days_includes_its_local_day(tmp_path):
    """23:00Z on the 10th is the 11th in Berlin, whose midnight it is."""
    lines = ("DTSTART;VALUE=DATE:20260309", "RRULE:FREQ=DAILY;UNTIL=20260310T230000Z")
    found = read_calendar(
        put(tmp_path, calendar(event(*lines))),
        window=MARCH,
        zone=ZoneInfo("Europe/Berlin"),
    )
    assert len(found.busy) == 3


def test_long_instance_that_began_before_the_window_is_seen(tmp_path):
    weeks = event(
        "DTSTART;VALUE=DATE:20260105",
        "DTEND;VALUE=DATE:20260202",
        "RRULE:FREQ=WEEKLY;INTERVAL=8",
    )
    window = (at(3, 25), at(3, 26))
    assert spans(read(tmp_path, weeks, window=window)) == [(*window, "busy")]


def test_highest_sequence_counts(tmp_path):
    old = event(*NINE, "SEQUENCE:1")
    new = event("DTSTART:20260311T140000Z", "DURATION:PT1H", "SEQUENCE:2")
    for parts in ((old, new), (new, old)):
        found = read(tmp_path, *parts)
        assert starts(found) == [(11, 9)]
        assert found.remarks == ("an older copy is ignored: entry (UID e@test)",)


def test_last_change_counts_where_sequences_are_equal(tmp_path):
    old = event(*NINE, "LAST-MODIFIED:20260201T000000Z")
    new = event(
        "DTSTART:20260311T140000Z", "DURATION:PT1H", "LAST-MODIFIED:20260202T000000Z"
    )
    assert starts(read(tmp_path, new, old)) == [(11, 9)]


def test_copies_of_one_version_that_differ_all_count(tmp_path):
    other = event("DTSTART:20260311T140000Z", "DURATION:PT1H")
    found = read(tmp_path, event(*NINE), other)
    assert starts(found) == [(10, 9), (11, 9)]
    assert found.remarks == (
        "copies of the same version differ, so the times of all count as busy: entry (UID e@test)",
    )


def test_same_entry_twice_is_one(tmp_path):
    found = read(tmp_path, event(*NINE), event(*NINE))
    assert len(found.busy) == 1
    assert found.remarks == ()


def test_newer_series_that_takes_a_day_out_beats_its_older_change(tmp_path):
    change = event(
        "RECURRENCE-ID;TZID=America/Chicago:20260310T090000",
        "DTSTART;TZID=America/Chicago:20260310T130000",
        "DURATION:PT1H",
        "SEQUENCE:1",
    )
    out = "EXDATE;TZID=America/Chicago:20260310T090000"
    assert starts(read(tmp_path, event(*DAILY, out, "SEQUENCE:2"), change)) == [
        (9, 9),
        (11, 9),
        (12, 9),
    ]
    other = "EXDATE;TZID=America/Chicago:20260311T090000"
    assert starts(read(tmp_path, event(*DAILY, other, "SEQUENCE:2"), change)) == [
        (9, 9),
        (10, 13),  # nobody took it out
        (12, 9),
    ]


def test_a_change_onward_in_another_zone_moves_each_by_that_zones_clock(tmp_path):
    """From 9:00 in Chicago, 10:00 in New York, to 12:00 in New York, 11:00 in Chicago."""
    onward = event(
        "RECURRENCE-ID;RANGE=THISANDFUTURE;TZID=America/Chicago:20260310T090000",
        "DTSTART;TZID=America/New_York:20260310T120000",
        "DURATION:PT1H",
    )
    assert starts(read(tmp_path, event(*DAILY), onward)) == [
        (9, 9),
        (10, 11),
        (11, 11),
        (12, 11),
    ]


def test_order_of_components_changes_nothing(tmp_path):
    parts = [
        event(*DAILY, "SUMMARY:a", uid="1"),
        event(*DAILY, "SUMMARY:b", uid="2"),
        event(
            "RECURRENCE-ID;TZID=America/Chicago:20260310T090000",
            "DTSTART;TZID=America/Chicago:20260313T090000",
            "DURATION:PT2H",
            uid="1",
        ),
        event("DTSTART:20260310T120000", "DURATION:PT1H", uid="3"),
        event("DTSTART:20260310T130000", "DURATION:PT1H", uid="3"),
    ]
    found = {
        (c.busy, c.remarks)
        for order in permutations(parts)
        for c in [read(tmp_path, *order)]
    }
    assert len(found) == 1


def test_stretches_are_clipped_to_the_window(tmp_path):
    window = (utc(2026, 3, 10, 14, 15), utc(2026, 3, 10, 14, 45))
    assert spans(read(tmp_path, event(*NINE), window=window)) == [(*window, "busy")]


# ---------------------------------------------------------------- availability layers


def layer(
    *lines: str,
    opens: tuple[str, str] | None = None,
    first: str = "20260310T140000Z",
    last: str = "20260310T180000Z",
) -> str:
    inner = []
    if opens:
        inner = [
            component("AVAILABLE", "UID:a", f"DTSTART:{opens[0]}", f"DTEND:{opens[1]}")
        ]
    bounds = [f"DTSTART:{first}", f"DTEND:{last}"]
    return component("VAVAILABILITY", *lines, *bounds, *inner)


def test_kind_of_an_availability(tmp_path):
    for word, kind in (
        ("", "unavailable"),
        ("BUSYTYPE:BUSY", "busy"),
        ("BUSYTYPE:BUSY-TENTATIVE", "tentative"),
        ("BUSYTYPE:BUSY-UNAVAILABLE", "unavailable"),
        ("BUSYTYPE:X-OURS", "busy"),
    ):
        lines = [word] if word else []
        assert [b.kind for b in read(tmp_path, layer("UID:1", *lines)).busy] == [kind]


def test_no_priority_is_the_lowest_and_one_the_highest(tmp_path):
    closed = layer("UID:low", "PRIORITY:0", "BUSYTYPE:BUSY")
    nine = layer("UID:9", "PRIORITY:9", opens=("20260310T140000Z", "20260310T170000Z"))
    one = layer("UID:1", "PRIORITY:1", first="20260310T160000Z")
    for parts in permutations((closed, nine, one)):
        assert spans(read(tmp_path, *parts)) == [
            (utc(2026, 3, 10, 16), utc(2026, 3, 10, 18), "unavailable")
        ]


def test_equal_priorities_open_each_other_only_where_one_says_so(tmp_path):
    closed = layer("UID:1", "BUSYTYPE:BUSY")
    opening = layer("UID:2", opens=("20260310T150000Z", "20260310T160000Z"))
    found = read(tmp_path, closed, opening)
    assert {b.kind for b in found.busy} == {"busy", "unavailable"}
    assert {(b.start.hour, b.end.hour) for b in found.busy} == {(14, 15), (16, 18)}


def test_event_blocks_within_available_time(tmp_path):
    opening = layer("UID:2", opens=("20260310T140000Z", "20260310T180000Z"))
    assert spans(read(tmp_path, opening, event(*NINE))) == [
        (at(3, 10, 9), at(3, 10, 10), "busy")
    ]


def test_available_night_takes_the_earlier_end_over_a_clock_change(tmp_path):
    """Exact: 12:00Z; by the clock 06:00 CDT, 11:00Z; the earlier is safe for free time."""
    nights = component(
        "AVAILABLE",
        "UID:a",
        "DTSTART;TZID=America/Chicago:20260304T220000",
        "DTEND;TZID=America/Chicago:20260305T060000",
        "RRULE:FREQ=DAILY;COUNT=9",
    )
    window = (utc(2026, 3, 8, 4), utc(2026, 3, 8, 13))
    found = read(tmp_path, component("VAVAILABILITY", "UID:1", nights), window=window)
    assert spans(found) == [(utc(2026, 3, 8, 11), utc(2026, 3, 8, 13), "unavailable")]
