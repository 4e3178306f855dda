"""Folders of calendars, public holidays, and whole calendars of a made-up stage.

Tests of planner/files/ics/entries.py, planner/files/ics/reading.py,
planner/files/ics/stretches.py.
"""

from datetime import date, datetime, time, timedelta
from pathlib import Path

import pytest
from dateutil.easter import easter

from planner.errors import CalendarError
from planner.files.ics.reading import read_calendar, read_days
from planner.nouns.calendar import Busy
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

SHIPPED = Path(__file__).parents[2] / "calendars"
DEMO = Path(__file__).parents[1] / "data" / "calendars"
MARCH = (local(CHICAGO, 2026, 3, 1), local(CHICAGO, 2026, 4, 1))
SPRING = (local(HALIFAX, 2027, 2, 8), local(HALIFAX, 2027, 4, 12))
NINE = ("DTSTART:20260310T140000Z", "DTEND:20260310T150000Z")


# ------------------------------------------------------------------------- folders


def test_folder_is_read_as_one_calendar(tmp_path):
    put(tmp_path, calendar(event(*NINE, uid="1")), "a.ics")
    put(
        tmp_path,
        calendar(event(*NINE, "SEQUENCE:1", "STATUS:CANCELLED", uid="1")),
        "b.ICS",
    )
    put(tmp_path, calendar(event(*NINE, uid="2")), "c.ics")
    put(tmp_path, "not a calendar", "notes.txt")
    put(tmp_path, "not a calendar", ".hidden.ics")
    found = read_calendar(tmp_path, window=MARCH, zone=CHICAGO)
    assert found.file == str(tmp_path)
    assert [(b.uid, b.file) for b in found.busy] == [("2", f"{tmp_path}/c.ics")]
    assert found.remarks == ("an older copy is ignored: a.ics: entry (UID 1)",)


def test_zones_of_one_file_in_a_folder_are_unknown_to_the_next(tmp_path):
    nine = "DTSTART;TZID=Ours:20260310T090000"
    own = (
        "BEGIN:VTIMEZONE\r\nTZID:Ours\r\nBEGIN:STANDARD\r\nDTSTART:20000101T000000\r\n"
        "TZOFFSETFROM:+0100\r\nTZOFFSETTO:+0100\r\nEND:STANDARD\r\nEND:VTIMEZONE"
    )
    put(tmp_path, calendar(own, event(nine, "DURATION:PT1H", uid="1")), "a.ics")
    put(tmp_path, calendar(event(nine, uid="2")), "b.ics")
    with pytest.raises(CalendarError) as caught:
        read_calendar(tmp_path, window=MARCH, zone=CHICAGO)
    assert [f.where for f in caught.value.faults] == ["b.ics: entry (UID 2): DTSTART"]


def test_faults_of_all_files_in_a_folder_come_together(tmp_path):
    put(tmp_path, calendar(event("DTSTART:x")), "a.ics")
    put(tmp_path, "", "b.ics")
    with pytest.raises(CalendarError) as caught:
        read_calendar(tmp_path, window=MARCH, zone=CHICAGO)
    assert [f.where for f in caught.value.faults] == [
        "a.ics: entry (UID e@test): DTSTART",
        "b.ics: the file",
    ]


def test_folder_without_calendars_is_refused(tmp_path):
    with pytest.raises(CalendarError) as caught:
        read_calendar(tmp_path, window=MARCH, zone=CHICAGO)
    assert caught.value.lines()[1] == "  the file: no .ics file in this folder"


# ------------------------------------------------------------------------ days off


def days(found: tuple[Busy, ...]) -> dict[date, str]:
    return {b.start.astimezone(CHICAGO).date(): b.title for b in found}


def test_whole_days_are_days_off_whatever_their_standing(tmp_path):
    text = calendar(
        "X-WR-TIMEZONE:UTC",
        event(
            "DTSTART;VALUE=DATE:20260306", "TRANSP:TRANSPARENT", "SUMMARY:a", uid="1"
        ),
        event(
            "DTSTART;VALUE=DATE:20260308",
            "DTEND;VALUE=DATE:20260310",
            "X-MICROSOFT-CDO-BUSYSTATUS:FREE",
            "SUMMARY:b",
            uid="2",
        ),
        event("DTSTART;VALUE=DATE:20260312", "STATUS:CANCELLED", uid="3"),
        event("DTSTART:20260313T000000", "DTEND:20260314T000000", "SUMMARY:c", uid="4"),
        event("DTSTART:20260316T090000Z", "DURATION:PT1H", "SUMMARY:d", uid="5"),
        event(
            "DTSTART;VALUE=DATE:20200330",
            "RRULE:FREQ=YEARLY",
            "SUMMARY:e",
            uid="6",
        ),
    )
    found = read_days(put(tmp_path, text), window=MARCH, zone=CHICAGO)
    assert days(found.busy) == {
        date(2026, 3, 6): "a",
        date(2026, 3, 8): "b",
        date(2026, 3, 9): "b",
        date(2026, 3, 13): "c",
        date(2026, 3, 30): "e",
    }
    words = "it isn't for whole days, so it is no day off"
    assert f'{words}: entry "d" (UID 5)' in found.remarks


def test_day_off_is_the_sites_day_from_midnight_to_midnight(tmp_path):
    """8 March 2026 has 23 hours in Chicago."""
    text = calendar(event("DTSTART;VALUE=DATE:20260308"))
    (day,) = read_days(put(tmp_path, text), window=MARCH, zone=CHICAGO).busy
    assert (day.start, day.end) == (utc(2026, 3, 8, 6), utc(2026, 3, 9, 5))
    assert (day.kind, day.all_day) == ("unavailable", True)


def test_day_off_is_not_cut_by_the_window(tmp_path):
    text = calendar(event("DTSTART;VALUE=DATE:20260310"))
    noon = (local(CHICAGO, 2026, 3, 10, 12), local(CHICAGO, 2026, 3, 10, 13))
    (day,) = read_days(put(tmp_path, text), window=noon, zone=CHICAGO).busy
    assert day.end - day.start == timedelta(days=1)


# --------------------------------------------------------- whole made-up calendars


@pytest.mark.parametrize("folder", [SHIPPED, DEMO], ids=["shipped", "own"])
def test_our_own_calendars_have_cr_lf_and_short_lines_and_no_faults(folder):
    files = sorted(folder.glob("*.ics"))
    assert len(files) >= 9
    for file in files:
        data = file.read_bytes()
        assert data.count(b"\n") == data.count(b"\r\n")
        assert max(map(len, data.split(b"\r\n"))) <= 75
        assert data.endswith(b"END:VCALENDAR\r\n")
        reader = read_days if "holidays" in file.name else read_calendar
        assert reader(file, window=SPRING, zone=HALIFAX).busy


def read_demo(name: str) -> list[tuple[datetime, datetime, str]]:
    return spans(read_calendar(DEMO / name, window=SPRING, zone=HALIFAX))


def h(*parts: int) -> datetime:
    return local(HALIFAX, 2027, *parts)


def test_stage_bookings_leave_four_weeks():
    assert read_demo("stage-bookings.ics") == [
        (h(2, 8, 8), h(2, 10, 18), "busy"),
        (h(3, 10, 7), h(3, 12, 19), "busy"),
        (h(3, 16), h(3, 19), "busy"),
        (h(4, 5), h(4, 8), "tentative"),
    ]


def test_tight_bookings_leave_no_two_days():
    taken = read_demo("stage-bookings-tight.ics")
    ends = [SPRING[0], *(end for _, end, _ in taken)]
    gaps = [s - e for (s, _, _), e in zip(taken, ends, strict=False)]
    assert max(gaps) < timedelta(days=2)


def test_quiet_sessions_are_tuesdays_and_thursdays_with_one_moved_and_one_off():
    starts = {
        s.astimezone(HALIFAX).replace(tzinfo=None)
        for s, _, _ in read_demo("quiet-next-door.ics")
    }
    usual = {
        datetime.combine(date(2027, 2, 8) + timedelta(days=n), time(13))
        for n in range(63)
    }
    usual = {d for d in usual if d.weekday() in (1, 3)}
    assert usual - starts == {h(2, 18, 13).astimezone(HALIFAX).replace(tzinfo=None)} | {
        h(3, 2, 13).astimezone(HALIFAX).replace(tzinfo=None)
    }
    assert starts - usual == {h(2, 19, 10).astimezone(HALIFAX).replace(tzinfo=None)}


@pytest.mark.parametrize(
    ("name", "taken", "free"),
    [
        # The appointment moved from Tuesday the 16th to Wednesday the 17th.
        ("marisol", [(2, 17, 14), (2, 17, 17), (2, 26, 9)], [(2, 16, 9), (2, 23, 9)]),
        # Three days of leave, back on the 25th; no Monday shop on Heritage Day.
        ("ignatius", [(2, 22, 9), (2, 24, 16), (3, 4, 8)], [(2, 25, 9), (2, 15, 8)]),
        # Thursday the 18th moved to Friday; the parcel takes no time.
        ("beatriz", [(2, 19, 9), (2, 25, 14), (3, 4, 9)], [(2, 18, 9), (2, 12, 9)]),
        # Published hours: later start in the first week of March, half Saturdays.
        ("oluwaseun", [(3, 1, 8), (2, 8, 6), (2, 27, 9)], [(3, 1, 10), (2, 20, 9)]),
        # Out of office though "transparent"; the moved appointment; free notes.
        ("hedda", [(2, 18, 9), (2, 24, 16), (2, 13, 7)], [(2, 23, 8), (2, 22, 9)]),
    ],
)
def test_what_each_crew_calendar_says(name, taken, free):
    found = read_calendar(DEMO / f"crew-{name}.ics", window=SPRING, zone=HALIFAX).busy
    for hours, expected in ((taken, True), (free, False)):
        for parts in hours:
            assert any(b.start <= h(*parts) < b.end for b in found) is expected, parts


def test_holidays_of_2027():
    """General holidays of Nova Scotia: Labour Standards Code; Easter 2027: 28 March.

    Easter from python-dateutil's `easter`, the others from the rule each names.
    """
    window = (local(HALIFAX, 2027, 1, 1), local(HALIFAX, 2028, 1, 1))
    found = read_days(DEMO / "holidays-nova-scotia.ics", window=window, zone=HALIFAX)
    there = {b.title: b.start.astimezone(HALIFAX).date() for b in found.busy}
    assert there == {
        "New Year's Day": date(2027, 1, 1),
        "Heritage Day": date(2027, 2, 15),
        "Good Friday": easter(2027) - timedelta(days=2),
        "Canada Day": date(2027, 7, 1),
        "Labour Day": date(2027, 9, 6),
        "Christmas Day": date(2027, 12, 25),
    }


def test_what_tells_hours_holds_no_days_off_and_that_is_said(tmp_path):
    hours = component("VAVAILABILITY", "UID:v", "DTSTART:20260310T140000Z")
    report = component("VFREEBUSY", "UID:f", "FREEBUSY:20260310T140000Z/PT1H")
    off = event("DTSTART;VALUE=DATE:20260310")
    path = put(tmp_path, calendar(hours, off, report))
    found = read_days(path, window=MARCH, zone=CHICAGO)
    assert spans(found) == spans(
        read_days(put(tmp_path, calendar(off), "off.ics"), window=MARCH, zone=CHICAGO)
    )
    assert len(found.busy) == 1
    assert found.remarks == (
        "a VAVAILABILITY contains no days off, so it is ignored",
        "a VFREEBUSY contains no days off, so it is ignored",
    )
