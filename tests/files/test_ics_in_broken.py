"""What can't be read in full is refused with a clear reason, and tells no secrets.

Tests of planner/files/ics/child.py, planner/files/ics/properties.py,
planner/files/ics/reading.py, planner/files/ics/stretches.py, planner/files/ics/text.py,
planner/files/plain.py.
"""

import subprocess
import sys
import time
from pathlib import Path

import pytest

from planner.errors import CalendarError
from planner.files.ics import child, reading
from planner.files.ics.reading import read_calendar, read_days
from planner.files.ics.stretches import Request
from tests.support.ics import CHICAGO, calendar, component, event, put, utc

MARCH = (utc(2026, 3, 1), utc(2026, 4, 1))
NINE = ("DTSTART:20260310T140000Z", "DTEND:20260310T150000Z")
LOCAL_NINE = "DTSTART;TZID=America/Chicago:20260310T090000"


def lines_of(data: str | bytes, tmp_path: Path) -> list[str]:
    """Return the faults that reading a broken file ends in."""
    with pytest.raises(CalendarError) as caught:
        read_calendar(put(tmp_path, data), window=MARCH, zone=CHICAGO)
    head, *faults = caught.value.lines()
    assert head.startswith(f"{tmp_path}/x.ics: ")
    assert caught.value.exit_status == 2
    return [f.strip() for f in faults]


def one(*lines: str) -> str:
    return calendar(event(*lines))


def zone(*rule: str) -> str:
    return component(
        "VTIMEZONE",
        "TZID:Ours",
        component(
            "STANDARD",
            "DTSTART:20070101T020000",
            "TZOFFSETFROM:-0500",
            "TZOFFSETTO:-0600",
            *rule,
        ),
    )


IN_OURS = event("DTSTART;TZID=Ours:20260310T090000", "DURATION:PT1H")
CUT = calendar(event(*NINE)).encode()

# Name of the kind of harm: the bytes, and the one fault as it is printed.
BROKEN: dict[str, tuple[str | bytes, str]] = {
    "empty": (b"", "the file: it is empty; export the calendar again"),
    "blank": (b"\r\n \r\n", "the file: it is empty; export the calendar again"),
    "web page": (
        b"<!DOCTYPE html><p>Sign in",
        "the file: it is a web page or XML, not a calendar;"
        " save the .ics behind the link",
    ),
    "UTF-16": (
        one(*NINE).encode("utf-16"),
        "the file: it is encoded as UTF-16; save or export it as UTF-8",
    ),
    "Latin-1": (
        one(*NINE, "SUMMARY:Fête").encode("latin-1"),
        "line 9: byte 0xEA is not UTF-8; save or export it as UTF-8",
    ),
    "CR alone": (
        one(*NINE).replace("\r\n", "\r"),
        "the file: its lines end in CR alone; save it with CR LF line ends",
    ),
    "cut short": (
        CUT[: CUT.index(b"DTEND")],
        "the file: it ends too early: there is no END:VEVENT for the BEGIN in line 4;"
        " download or export the calendar again",
    ),
    "another format": (
        "BEGIN:VCARD\r\nEND:VCARD\r\n",
        "line 1: a calendar begins with VCALENDAR, not VCARD",
    ),
    "plain text": (
        "Tuesday: shoot\r\n",
        "line 1: text stands outside BEGIN:VCALENDAR and END:VCALENDAR;"
        " export the calendar again",
    ),
    "wrong END": (
        one(*NINE).replace("END:VEVENT", "END:VTODO"),
        "line 9: END:VTODO where END:VEVENT should stand (its BEGIN is in line 4);"
        " export the calendar again",
    ),
    "END alone": ("END:VCALENDAR\r\n", "line 1: END:VCALENDAR without a BEGIN"),
    "junk behind": (
        one(*NINE) + "more\r\n",
        "line 11: text stands outside BEGIN:VCALENDAR and END:VCALENDAR;"
        " export the calendar again",
    ),
    "older format": (
        "BEGIN:VCALENDAR\r\nVERSION:1.0\r\nEND:VCALENDAR\r\n",
        "line 1: VERSION 1.0 is an older format, which isn't read;"
        " export it as iCalendar 2.0",
    ),
    "too deep": (
        "BEGIN:VCALENDAR\r\n" + "BEGIN:X-A\r\n" * 10 + "END:X-A\r\n" * 10,
        "line 11: components are nested deeper than 10",
    ),
    "too many": (
        calendar(*["BEGIN:VTODO\r\nEND:VTODO"] * 20_001),
        "the file: more than 20,000 components; export fewer days",
    ),
    "too large": (
        b"X" * 5_000_001,
        "the file: it is larger than 5,000,000 bytes; export fewer days",
    ),
}
ENTRY = "entry (UID e@test): "
FIX = "; correct the entry, or leave it out by its UID ([[calendars.leave_out]])"
WRITE = "; write it as 20270210T090000"
BROKEN_ENTRIES: dict[str, tuple[str, str]] = {
    "no start": (
        one("DURATION:PT1H"),
        "it has no DTSTART, so nobody can tell when it is" + FIX,
    ),
    "start is words": (
        one("DTSTART:Tuesday"),
        'DTSTART: not a date or time: "Tuesday"' + WRITE,
    ),
    "day that isn't": (
        one("DTSTART:20260230T090000Z"),
        'DTSTART: not a date or time that exists: "20260230T090000Z"' + FIX,
    ),
    "trailing junk": (
        one(LOCAL_NINE + "0"),
        'DTSTART: not a date or time: "20260310T0900000"' + WRITE,
    ),
    "unknown zone": (
        one("DTSTART;TZID=Ours:20260310T090000"),
        'DTSTART: unknown time zone: "Ours"; the file must define it in a VTIMEZONE,'
        " or name an IANA zone such as America/Halifax",
    ),
    "zone with brackets and colons": (
        one("DTSTART;TZID=(UTC-06:00) Central Time:20260310T090000"),
        'DTSTART: not a date or time: "00) Central Time:20260310T090000"' + WRITE,
    ),
    "zone and UTC": (
        one(LOCAL_NINE + "Z"),
        'DTSTART: given both in UTC and in another zone: "20260310T090000Z"' + FIX,
    ),
    "zone in two ways": (
        calendar(zone(), zone("RRULE:FREQ=YEARLY"), IN_OURS),
        'DTSTART: time zone defined twice, and differently: "Ours"' + FIX,
    ),
    "zone that is not yearly": (
        calendar(zone("RRULE:FREQ=SECONDLY"), IN_OURS),
        "DTSTART: a VTIMEZONE has a rule other than one clock change a year" + FIX,
    ),
    "zone without offsets": (
        calendar(zone().replace("TZOFFSETTO:-0600", "TZOFFSETTO:6"), IN_OURS),
        "DTSTART: a VTIMEZONE lacks TZOFFSETFROM or TZOFFSETTO" + FIX,
    ),
    "own zone that is unknown": (
        calendar("X-WR-TIMEZONE:Nowhere", event("DTSTART:20260310T090000")),
        'X-WR-TIMEZONE: unknown time zone: "Nowhere"; the file must define it in a'
        " VTIMEZONE, or name an IANA zone such as America/Halifax",
    ),
    "end before start": (
        one("DTSTART:20260310T140000Z", "DTEND:20260310T130000Z"),
        "it ends before it starts" + FIX,
    ),
    "end before start by the clock change": (
        one(
            "DTSTART;TZID=America/Chicago:20260308T023000",
            "DTEND;TZID=America/Chicago:20260308T030000",
        ),
        "it ends before it starts" + FIX,
    ),
    "negative duration": (
        one(LOCAL_NINE, "DURATION:-PT1H"),
        'DURATION: a duration below zero: "-PT1H"' + FIX,
    ),
    "duration of words": (
        one(LOCAL_NINE, "DURATION:1 hour"),
        'DURATION: not a duration: "1 hour"; write it as PT1H30M or P1D',
    ),
    "date and time": (
        one(LOCAL_NINE, "DTEND;VALUE=DATE:20260311"),
        "DTSTART and DTEND must both be dates or both be times" + FIX,
    ),
    "start twice": (one(*NINE, NINE[0]), "DTSTART stands there twice" + FIX),
    "garbled end": (
        one(LOCAL_NINE, "DTEND 20260310T150000Z"),
        "line 8 is not a line of iCalendar" + FIX,
    ),
    "rule of words": (
        one(*NINE, "RRULE:every week"),
        'RRULE: a part of the rule that isn\'t understood: "EVERY WEEK"' + FIX,
    ),
    "rule with a lost sign": (
        one(*NINE, "RRULE:FREQ=DAILY;COUNT10"),
        'RRULE: a part of the rule that isn\'t understood: "COUNT10"' + FIX,
    ),
    "rule with an unknown frequency": (
        one(*NINE, "RRULE:FREQ=FORTNIGHTLY"),
        'RRULE: the rule has no FREQ, or an unknown one: "FORTNIGHTLY"' + FIX,
    ),
    "rule every second": (
        one(*NINE, "RRULE:FREQ=SECONDLY"),
        "RRULE: a rule that repeats every second is not expanded" + FIX,
    ),
    "interval of nothing": (
        one(*NINE, "RRULE:FREQ=DAILY;INTERVAL=0"),
        'RRULE: INTERVAL must be a whole number from 1: "0"' + FIX,
    ),
    "count of nothing": (
        one(*NINE, "RRULE:FREQ=DAILY;COUNT=0"),
        'RRULE: COUNT must be a whole number from 1: "0"' + FIX,
    ),
    "count and until": (
        one(*NINE, "RRULE:FREQ=DAILY;COUNT=2;UNTIL=20260401T000000Z"),
        "RRULE: the rule has both COUNT and UNTIL:"
        ' "FREQ=DAILY;COUNT=2;UNTIL=20260401T000000Z"' + FIX,
    ),
    "month thirteen": (
        one(*NINE, "RRULE:FREQ=YEARLY;BYMONTH=13"),
        'RRULE: BYMONTH must be 1 to 12: "13"' + FIX,
    ),
    "thirtieth of February": (
        one(*NINE, "RRULE:FREQ=DAILY;BYMONTH=2;BYMONTHDAY=30"),
        "RRULE: the rule never gives a start" + FIX,
    ),
    "hours that never meet": (
        one(*NINE, "RRULE:FREQ=HOURLY;INTERVAL=2;BYHOUR=15"),
        "RRULE: the rule never gives a start" + FIX,
    ),
    "weekday that isn't": (
        one(*NINE, "RRULE:FREQ=WEEKLY;BYDAY=DI"),
        'RRULE: not a weekday: "DI"; write it as MO, 1MO or -1MO',
    ),
    "another calendar's rule": (
        one(*NINE, "RRULE:RSCALE=CHINESE;FREQ=YEARLY"),
        "RRULE: rules of another calendar than the Gregorian aren't read" + FIX,
    ),
    "minutes for 26 years": (
        one("DTSTART:20000101T000000Z", "DURATION:PT1M", "RRULE:FREQ=MINUTELY"),
        "RRULE: a rule of more than 500,000 steps to reach the planning period;"
        " let the series start later or repeat less often",
    ),
    "too many added days": (
        one(*NINE, "RDATE:" + ",".join(["20260310T140000Z"] * 10_001)),
        "RDATE: more than 10,000 dates" + FIX,
    ),
    "range into the past": (
        one(*NINE, "RECURRENCE-ID;RANGE=THISANDPRIOR:20260310T140000Z"),
        'RECURRENCE-ID: RANGE must be THISANDFUTURE: "THISANDPRIOR"' + FIX,
    ),
    "period that is none": (
        one(*NINE, "RDATE;VALUE=PERIOD:20260310T140000Z"),
        'RDATE: not a period: "20260310T140000Z"; write it as START/END',
    ),
    "sequence of words": (
        one(*NINE, "SEQUENCE:new"),
        'SEQUENCE: not a whole number: "new"' + FIX,
    ),
    "entry within an entry": (
        one(*NINE, event(*NINE)),
        "a VEVENT stands inside it, which isn't allowed" + FIX,
    ),
    "availability in floating time": (
        calendar(component("VAVAILABILITY", "UID:e@test", "DTSTART:20260310T090000")),
        "this VAVAILABILITY must begin and end at times with a zone" + FIX,
    ),
    "free time without an end": (
        calendar(
            component("VAVAILABILITY", component("AVAILABLE", "UID:e@test", LOCAL_NINE))
        ),
        "this AVAILABLE has neither DTEND nor DURATION" + FIX,
    ),
    "free time on a date": (
        calendar(
            component(
                "VAVAILABILITY",
                component(
                    "AVAILABLE",
                    "UID:e@test",
                    "DTSTART;VALUE=DATE:20260310",
                    "DURATION:P1D",
                ),
            )
        ),
        "this AVAILABLE must begin and end at times with a zone" + FIX,
    ),
    "report of dates": (
        calendar(component("VFREEBUSY", "UID:e@test", "FREEBUSY:20260310/20260311")),
        'FREEBUSY: a date where a time is needed: "20260310"' + FIX,
    ),
}


@pytest.mark.parametrize("name", BROKEN)
def test_broken_file_is_refused_with_one_reason(name, tmp_path):
    data, fault = BROKEN[name]
    assert lines_of(data, tmp_path) == [fault]


@pytest.mark.parametrize("name", BROKEN_ENTRIES)
def test_broken_entry_is_refused_with_one_reason(name, tmp_path):
    text, fault = BROKEN_ENTRIES[name]
    assert lines_of(text, tmp_path) == [ENTRY + fault]


# A fold (RFC 5545 §3.1) whose leading blank somebody's editor took away: the rest of
# the value is a line of its own then. Each reads as something else without it.
LOST_BLANK = {
    "a weekly rule as one day": ("RRULE:", "FREQ=WEEKLY;BYDAY=MO"),
    "a rule on some days as one on one day": ("RRULE:FREQ=WEEKLY", ";BYDAY=MO,TU,WE"),
    "further dates as none": ("RDATE:", "20260311T140000Z,20260312T140000Z"),
    "two further dates as one": ("RDATE:20260311T140000Z", ",20260312T140000Z"),
    "dates taken out": ("EXDATE:", "20260311T140000Z"),
    "a rule taken out": ("EXRULE:", "FREQ=WEEKLY;BYDAY=MO"),
    "an identity as another's": ("UID:040000008200E00074C5B7101A82E008", "00000000B0"),
    "an instance": ("RECURRENCE-ID:", "20260310T140000Z"),
    "a version": ("SEQUENCE:", "7"),
}
LOST_BLANK_ALONE = {
    "a time as a whole day": (("DTSTART:20260310", "T140000Z"), "DTSTART"),
    "an hour and a half as an hour": (
        ("DTSTART:20260310T140000Z", "DURATION:PT1H", "30M"),
        "DURATION",
    ),
    "no length": (("DTSTART:20260310T140000Z", "DURATION:", "PT8H"), "DURATION"),
}


@pytest.mark.parametrize("name", LOST_BLANK)
def test_a_value_lost_to_the_next_line_is_a_fault(name, tmp_path):
    lines = LOST_BLANK[name]
    found = lines_of(one(*NINE, *lines), tmp_path)
    prop = lines[0].partition(":")[0]
    words = f"is not a line of iCalendar; it may belong to the {prop} before it"
    assert any(words in line for line in found), found
    folded = (lines[0] + "\r\n " + lines[1],)
    if prop not in ("UID", "RECURRENCE-ID"):  # two of these are a fault of their own
        read_calendar(put(tmp_path, one(*NINE, *folded)), window=MARCH, zone=CHICAGO)


@pytest.mark.parametrize("name", LOST_BLANK_ALONE)
def test_a_time_or_length_lost_to_the_next_line_is_a_fault(name, tmp_path):
    lines, prop = LOST_BLANK_ALONE[name]
    found = lines_of(one(*lines), tmp_path)
    words = f"is not a line of iCalendar; it may belong to the {prop} before it"
    assert any(words in line for line in found), found


def test_a_calendar_s_zone_lost_to_the_next_line_is_a_fault(tmp_path):
    text = calendar(event(*NINE), "X-WR-TIMEZONE:", "America/New_York")
    (found,) = lines_of(text, tmp_path)
    assert "it may belong to the X-WR-TIMEZONE before it" in found


def test_a_title_lost_to_the_next_line_is_read_past(tmp_path):
    text = one(*NINE, "SUMMARY:", "Product table")
    found = read_calendar(put(tmp_path, text), window=MARCH, zone=CHICAGO)
    assert len(found.busy) == 1
    assert any("is not iCalendar" in r for r in found.remarks)


def test_a_byte_order_mark_is_passed_over(tmp_path):
    plain = read_calendar(put(tmp_path, one(*NINE)), window=MARCH, zone=CHICAGO)
    marked = one(*NINE).encode("utf-8-sig")
    assert read_calendar(put(tmp_path, marked), window=MARCH, zone=CHICAGO) == plain


def test_missing_file_is_refused(tmp_path):
    with pytest.raises(CalendarError) as caught:
        read_calendar(tmp_path / "none.ics", window=MARCH, zone=CHICAGO)
    assert caught.value.lines()[1] == (
        "  the file: none.ics can't be opened (No such file or directory)"
    )


def test_all_faults_of_a_file_come_together(tmp_path):
    bad_time = event("SUMMARY:First", "DTSTART:x", "DTEND:y", "RRULE:FREQ=z", uid="1")
    bad_rule = event("SUMMARY:Second", *NINE, "RRULE:FREQ=SECONDLY", uid="2")
    faults = lines_of(calendar(bad_time, event(*NINE, uid="3"), bad_rule), tmp_path)
    assert [f.split(": ")[0:2] for f in faults] == [
        ['entry "First" (UID 1)', "DTSTART"],
        ['entry "First" (UID 1)', "DTEND"],
        ['entry "First" (UID 1)', "RRULE"],
        ['entry "Second" (UID 2)', "RRULE"],
    ]


def test_broken_entry_may_be_left_out_and_the_remarks_say_so(tmp_path):
    path = put(tmp_path, calendar(event("DTSTART:x", uid="1"), event(*NINE, uid="2")))
    found = read_calendar(path, window=MARCH, zone=CHICAGO, leave_out=frozenset({"1"}))
    assert [b.uid for b in found.busy] == ["2"]
    assert found.remarks == ("left out, as the job file asks: entry (UID 1)",)


SECRET = "Zahnarzt Ypsilon"


@pytest.mark.parametrize(
    "word", ["CLASS:PRIVATE", "CLASS:CONFIDENTIAL", "CLASS PRIVATE"]
)
@pytest.mark.parametrize(
    "lines",
    [
        [f"DTSTART:{SECRET}"],
        [f"DTSTART;TZID={SECRET}:20260310T090000"],
        [f"DTSTART;VALUE={SECRET}:20260310T090000"],
        [*NINE, f"RRULE:{SECRET}"],
        [*NINE, f"RDATE:{SECRET}"],
        [*NINE, f"DURATION:{SECRET}", f"SEQUENCE:{SECRET}"],
        [*NINE, f"RECURRENCE-ID;RANGE={SECRET}:20260310T140000Z"],
        [LOCAL_NINE, f"DTEND {SECRET}"],
        [f"{SECRET} {SECRET}"],
    ],
)
def test_no_message_tells_the_text_of_a_private_entry(lines, word, tmp_path):
    text = one(word, f"SUMMARY:{SECRET}", *lines)
    printed = "\n".join(lines_of(text, tmp_path))
    assert "private entry (UID e@test)" in printed
    assert "Zahnarzt" not in printed
    assert "ZAHNARZT" not in printed


def test_free_times_within_a_private_availability_are_private_too(tmp_path):
    times = component("AVAILABLE", "UID:a", f"SUMMARY:{SECRET}", f"DTSTART:{SECRET}")
    text = calendar(component("VAVAILABILITY", "UID:v", "CLASS:PRIVATE", times))
    assert lines_of(text, tmp_path) == [
        "private entry (UID a): DTSTART: not a date or time" + WRITE
    ]


def test_no_remark_tells_the_title_of_a_private_entry(tmp_path):
    text = one(
        "CLASS:PRIVATE", f"SUMMARY:{SECRET}", "DTSTART:20260310T090000", "DURATION:PT1H"
    )
    found = read_calendar(put(tmp_path, text), window=MARCH, zone=CHICAGO)
    assert "private entry (UID e@test)" in found.remarks[0]
    assert "Zahnarzt" not in repr(found)


def test_control_characters_of_a_title_are_not_printed(tmp_path):
    (fault,) = lines_of(one("SUMMARY:a\x1b[31mb\x07", "DTSTART:x"), tmp_path)
    assert fault.startswith('entry "a [31mb"')


# --------------------------------------------------------- what is forgiven, harmlessly


ODD = {
    "LF line ends": lambda t: t.replace("\r\n", "\n"),
    "byte order mark": lambda t: "\ufeff" + t,
    "blank lines": lambda t: t.replace("\r\n", "\r\n\r\n"),
    "doubled CR": lambda t: t.replace("\r\n", "\r\r\n"),
    "comment behind": lambda t: t + "X-COMMENT:cached\r\n",
    "small letters": lambda t: t.replace("DTSTART", "dtstart").replace("VEV", "vev"),
    "fold with a tab": lambda t: t.replace("20260310T14", "2026031\r\n\t0T14"),
    "fold in a name": lambda t: t.replace("DTSTART", "DTS\r\n TART"),
    "line without a value": lambda t: t.replace("SUMMARY:Fête", "ORGANIZER;CN=Fête"),
    "empty dates": lambda t: t.replace("DTEND", "RDATE:\r\nEXDATE:\r\nDTEND"),
}


@pytest.mark.parametrize("name", ODD)
def test_harmless_oddities_are_read(name, tmp_path):
    text = ODD[name](one(*NINE, "SUMMARY:Fête"))
    found = read_calendar(put(tmp_path, text), window=MARCH, zone=CHICAGO)
    assert [(b.start.hour, b.end.hour) for b in found.busy] == [(14, 15)]


def test_fold_inside_a_character_is_undone_in_bytes(tmp_path):
    """RFC 5545 §3.1 allows a fold between the octets of a character."""
    data = one(*NINE, "SUMMARY:Fête").encode()
    accent = "ê".encode()
    folded = data.replace(accent, accent[:1] + b"\r\n " + accent[1:])
    (taken,) = read_calendar(put(tmp_path, folded), window=MARCH, zone=CHICAGO).busy
    assert taken.title == "Fête"


# ------------------------------------------------------------------ limits and children

# No minute has a second start, so a search for one goes on to the year 9999.
NEVER = "RRULE:FREQ=MINUTELY;BYDAY=TU;BYSETPOS=2"


def test_small_files_are_read_in_this_process(tmp_path, monkeypatch):
    def refuse(request):
        raise AssertionError("a process was started")

    monkeypatch.setattr(reading, "_read_apart", refuse)
    weekly = [
        event(*NINE, "RRULE:FREQ=WEEKLY;BYDAY=TU,TH", uid=str(n)) for n in range(200)
    ]
    yearly = event(*NINE, "RRULE:FREQ=YEARLY;BYMONTH=3;BYMONTHDAY=10", uid="y")
    path = put(tmp_path, calendar(*weekly, yearly))
    assert read_calendar(path, window=MARCH, zone=CHICAGO).busy


def test_process_of_its_own_says_the_same(tmp_path, monkeypatch):
    good = put(tmp_path, calendar(event(*NINE, "CLASS:PRIVATE")), "a.ics")
    bad = put(tmp_path, one("DTSTART:x"), "b.ics")
    answers = []
    for size in (reading.SMALL_BYTES, 0):
        monkeypatch.setattr(reading, "SMALL_BYTES", size)
        with pytest.raises(CalendarError) as caught:
            read_calendar(bad, window=MARCH, zone=CHICAGO)
        found = read_calendar(good, window=MARCH, zone=CHICAGO)
        answers.append((found, caught.value.lines()))
    assert answers[0] == answers[1]
    assert len(answers[0][0].busy) == 1


def test_rule_that_gives_nothing_leaves_its_start(tmp_path):
    """From 2026 on, no fourth year is a leap year."""
    text = one(*NINE, "RRULE:FREQ=YEARLY;INTERVAL=4;BYMONTH=2;BYMONTHDAY=29")
    assert len(read_calendar(put(tmp_path, text), window=MARCH, zone=CHICAGO).busy) == 1


TOO_LONG = (
    "the file: reading it takes too long;"
    " look for a rule that never matches, or export fewer days"
)


def test_rule_that_never_matches_is_stopped_by_the_clock(tmp_path, monkeypatch):
    monkeypatch.setattr(reading, "DEADLINE_S", 2.0)
    started = time.monotonic()
    assert lines_of(one(*NINE, NEVER), tmp_path) == [TOO_LONG]
    assert time.monotonic() - started < 8


@pytest.mark.slow
def test_processor_time_of_the_process_is_limited(tmp_path):
    """The same rule again, without a shorter deadline: ten seconds of work."""
    pytest.importorskip("resource")
    started = time.monotonic()
    assert lines_of(one(*NINE, NEVER), tmp_path) == [TOO_LONG]
    assert time.monotonic() - started < reading.DEADLINE_S


def test_every_minute_of_a_year_is_too_many_times(tmp_path):
    text = one("DTSTART:20260101T000000Z", "DURATION:PT1M", "RRULE:FREQ=MINUTELY")
    with pytest.raises(CalendarError) as caught:
        read_calendar(
            put(tmp_path, text),
            window=(utc(2026, 1, 1), utc(2026, 6, 1)),
            zone=CHICAGO,
        )
    assert caught.value.lines()[1].startswith(
        "  entry (UID e@test): RRULE: more than 50,000 times in the planning period"
    )


def test_memory_of_the_process_is_limited():
    """Two gigabytes are more than it may have."""
    pytest.importorskip("resource")
    words = (
        "from planner.files.ics.child import limit_process\n"
        "limit_process()\n"
        "bytearray(2 << 30)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", words], capture_output=True, check=False
    )
    assert done.stderr.decode().splitlines()[-1] == "MemoryError"


def test_memory_run_out_is_a_fault(tmp_path, monkeypatch):
    def greedy(request, steps_max):
        raise MemoryError

    monkeypatch.setattr(child, "taken_stretches", greedy)
    request = Request(
        name="x.ics",
        sources=(),
        window=MARCH,
        zone=CHICAGO,
        owners=frozenset(),
        tentative_is_free=False,
        leave_out=frozenset(),
        days_off=False,
    )
    found = child.answer(request)
    assert isinstance(found, tuple)
    (fault,) = found
    assert str(fault) == (
        "the file: reading it takes too much memory; export fewer days"
    )


def test_days_off_are_refused_like_any_other_calendar(tmp_path):
    with pytest.raises(CalendarError):
        read_days(put(tmp_path, one("DTSTART:x")), window=MARCH, zone=CHICAGO)
