"""Edges of reading a calendar: limits that are just kept, rules just allowed.

Tests of planner/files/ics/availability.py, planner/files/ics/reading.py,
planner/files/ics/rules.py, planner/files/ics/series.py, planner/files/ics/text.py,
planner/files/ics/values.py, planner/files/ics/zones.py.
"""

import pickle
import signal
import subprocess
from datetime import datetime, timedelta
from itertools import permutations

import pytest

from planner.errors import CalendarError, Fault
from planner.files.ics import reading
from planner.files.ics import text as ics_text
from planner.files.ics.reading import read_calendar, read_days
from planner.files.ics.rules import STEPS_MAX, outlay, read_rule, starts, steps
from planner.files.ics.text import BadValueError, Component
from planner.files.ics.values import Moment, length, moment
from planner.files.ics.zones import Zones, instant, second_coming, wall
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
NINE = ("DTSTART:20260310T140000Z", "DTEND:20260310T150000Z")
ZONES = Zones(Component("VCALENDAR", 1, {}, (), ()))


def refusals(path, **options) -> list[str]:
    with pytest.raises(CalendarError) as caught:
        read_calendar(path, window=MARCH, zone=CHICAGO, **options)
    head, *faults = caught.value.lines()
    assert head
    return [f.strip() for f in faults]


# ---------------------------------------------------------------- how much is read


def folder_of_two(tmp_path):
    folder = tmp_path / "two"
    folder.mkdir()
    put(folder, calendar(event(*NINE, uid="a")), "a.ics")
    put(folder, calendar(event(*NINE, uid="b")), "b.ics")
    return folder


def test_a_folder_may_hold_just_as_many_components_as_a_file(tmp_path, monkeypatch):
    """Two calendars with an event each are four components."""
    folder = folder_of_two(tmp_path)
    monkeypatch.setattr(reading, "COMPONENTS_MAX", 4)
    found = read_calendar(folder, window=MARCH, zone=CHICAGO)
    assert {b.file.split("/")[-1] for b in found.busy} == {"a.ics", "b.ics"}
    monkeypatch.setattr(reading, "COMPONENTS_MAX", 3)
    assert refusals(folder) == ["the file: more than 3 components"]


@pytest.mark.parametrize(
    ("limit", "size", "apart"),
    [
        ("SMALL_COMPONENTS", 4, False),
        ("SMALL_COMPONENTS", 3, True),
        ("SMALL_BYTES", None, False),
        ("SMALL_BYTES", -1, True),
    ],
)
def test_what_is_small_together_is_read_here_and_the_rest_apart(
    limit, size, apart, tmp_path, monkeypatch
):
    folder = folder_of_two(tmp_path)
    both = sum(p.stat().st_size for p in folder.iterdir())
    asked = []

    def read_apart(request):
        asked.append(request)
        return Calendar(file="", busy=(), remarks=())

    monkeypatch.setattr(reading, "_read_apart", read_apart)
    exact = size if limit == "SMALL_COMPONENTS" else both + (size or 0)
    monkeypatch.setattr(reading, limit, exact)
    read_calendar(folder, window=MARCH, zone=CHICAGO)
    assert bool(asked) == apart


@pytest.mark.parametrize(
    ("status", "error", "words"),
    [
        (-signal.SIGKILL, "", "it takes too much memory"),
        (1, "Traceback\n  a line\nMemoryError\n", "it takes too much memory"),
        (-signal.SIGXCPU, "", "it takes too long"),
    ],
)
def test_an_end_by_a_limit_is_a_fault_of_the_file(
    status, error, words, tmp_path, monkeypatch
):
    path = put(tmp_path, calendar(event(*NINE)))
    monkeypatch.setattr(reading, "SMALL_BYTES", 0)
    ended = subprocess.CompletedProcess([], status, b"", error.encode())
    monkeypatch.setattr(subprocess, "run", lambda *_, **__: ended)
    (said,) = refusals(path)
    assert words in said


def test_a_fault_of_the_program_in_the_process_is_no_fault_of_the_file(
    tmp_path, monkeypatch
):
    path = put(tmp_path, calendar(event(*NINE)))
    monkeypatch.setattr(reading, "SMALL_BYTES", 0)
    ended = subprocess.CompletedProcess([], 1, b"", b"MemoryError\nKeyError: 'x'\n")
    monkeypatch.setattr(subprocess, "run", lambda *_, **__: ended)
    with pytest.raises(RuntimeError, match="KeyError"):
        read_calendar(path, window=MARCH, zone=CHICAGO)


def test_what_the_process_answers_is_passed_on(tmp_path, monkeypatch):
    path = put(tmp_path, calendar(event(*NINE)))
    monkeypatch.setattr(reading, "SMALL_BYTES", 0)
    faults = (Fault(where="here", message="it is so", hint="do this"),)
    whole = Calendar(file="x", busy=(), remarks=("told",))
    for answer in (whole, faults):
        ended = subprocess.CompletedProcess([], 0, pickle.dumps(answer), b"")
        monkeypatch.setattr(subprocess, "run", lambda *_, e=ended, **__: e)
        if answer is whole:
            assert read_calendar(path, window=MARCH, zone=CHICAGO) == whole
        else:
            assert refusals(path) == ["here: it is so; do this"]


@pytest.mark.parametrize(
    "window",
    [
        (datetime(2026, 3, 1, tzinfo=CHICAGO), MARCH[1]),
        (MARCH[0], datetime(2026, 4, 1, tzinfo=CHICAGO)),
        (MARCH[0], MARCH[0]),
        (MARCH[1], MARCH[0]),
    ],
)
def test_a_window_is_two_instants_in_order_in_utc(window, tmp_path):
    path = put(tmp_path, calendar(event(*NINE)))
    for read in (read_calendar, read_days):
        with pytest.raises(ValueError, match="window"):
            read(path, window=window, zone=CHICAGO)


# ---------------------------------------------------------------- rules


@pytest.mark.parametrize(
    "rule",
    [
        "FREQ=MONTHLY;BYWEEKNO=3",
        "FREQ=DAILY;BYWEEKNO=3",
        "FREQ=WEEKLY;BYDAY=1MO",
        "FREQ=DAILY;BYDAY=-1FR",
        "FREQ=YEARLY;BYWEEKNO=3;BYDAY=1MO",
        "FREQ=WEEKLY;BYMONTHDAY=3",
        "FREQ=DAILY;BYYEARDAY=3",
        "FREQ=WEEKLY;BYYEARDAY=3",
        "FREQ=MONTHLY;BYYEARDAY=3",
        "FREQ=MONTHLY;BYSETPOS=1",
    ],
)
def test_parts_that_rfc_5545_does_not_allow_together_are_refused(rule):
    """RFC 5545 §3.3.10, the table and the text above it."""
    with pytest.raises(BadValueError, match="doesn't allow with it"):
        read_rule(rule, ZONES, whole_day=False)


def test_weeks_of_the_year_without_their_days_are_refused():
    """By RFC 5545 the weekday is that of the start; programs also take all seven days.

    Of times that are offered these would be six days too many, each year.
    """
    for text in ("FREQ=YEARLY;BYWEEKNO=20", "FREQ=YEARLY;BYWEEKNO=20;BYMONTH=5"):
        with pytest.raises(BadValueError, match="no days of them"):
            read_rule(text, ZONES, whole_day=False)


@pytest.mark.parametrize(
    "rule",
    [
        "FREQ=YEARLY;BYWEEKNO=3;BYMONTHDAY=17",
        "FREQ=YEARLY;BYWEEKNO=3;BYYEARDAY=17",
        "FREQ=YEARLY;BYWEEKNO=3;BYDAY=MO",
        "FREQ=MONTHLY;BYDAY=1MO",
        "FREQ=YEARLY;BYDAY=-1FR",
        "FREQ=MONTHLY;BYMONTHDAY=3",
        "FREQ=DAILY;BYMONTHDAY=3",
        "FREQ=YEARLY;BYYEARDAY=3",
        "FREQ=HOURLY;BYYEARDAY=3",
        "FREQ=MONTHLY;BYDAY=MO;BYSETPOS=1",
        "FREQ=MONTHLY;BYMONTHDAY=1,2;BYSETPOS=-1",
    ],
)
def test_parts_that_rfc_5545_allows_together_are_read(rule):
    assert read_rule(rule, ZONES, whole_day=False).freq in rule


@pytest.mark.parametrize(
    ("part", "least", "most", "negative"),
    [
        ("BYMINUTE", 0, 59, False),
        ("BYHOUR", 0, 23, False),
        ("BYMONTHDAY", 1, 31, True),
        ("BYYEARDAY", 1, 366, True),
        ("BYWEEKNO", 1, 53, True),
        ("BYMONTH", 1, 12, False),
        ("BYSETPOS", 1, 366, True),
    ],
)
def test_numbers_lie_within_the_bounds_of_rfc_5545(part, least, most, negative):
    """RFC 5545 §3.3.10; only some may count from the end."""

    def read(number):
        read_rule(f"FREQ=YEARLY;BYDAY=MO;{part}={number}", ZONES, whole_day=False)

    signs = (1, -1) if negative else (1,)
    for number in (sign * size for sign in signs for size in (least, most)):
        read(number)
    for number in (most + 1, *([] if negative else [-1]), *([0] if least else [])):
        with pytest.raises(BadValueError, match=f"{part} must be {least} to {most}"):
            read(number)
    if negative:
        with pytest.raises(BadValueError, match="also negative"):
            read(-most - 1)


def test_an_empty_rule_is_remarked_on(tmp_path):
    found = read_calendar(
        put(tmp_path, calendar(event(*NINE, "RRULE:"))), window=MARCH, zone=CHICAGO
    )
    assert [r for r in found.remarks if "an empty RRULE is ignored" in r]


def whole(**parts):
    return read_rule(
        ";".join(f"{n}={v}" for n, v in parts.items()), ZONES, whole_day=False
    )


JANUARY = datetime(2026, 1, 1)  # noqa: DTZ001 - local


def test_steps_of_a_rule_are_its_periods_times_what_each_gives():
    """Ten days hold ten whole periods of a day, and the one at their end."""
    last = JANUARY + timedelta(days=10)
    assert steps(whole(FREQ="DAILY"), JANUARY, last) == 11
    assert steps(whole(FREQ="DAILY", INTERVAL=2), JANUARY, last) == 6
    assert steps(whole(FREQ="HOURLY"), JANUARY, last) == 241
    assert (
        steps(whole(FREQ="DAILY", BYHOUR="8,9", BYMINUTE="0,30"), JANUARY, last) == 44
    )
    # three times in all
    assert steps(whole(FREQ="DAILY", COUNT=3), JANUARY, last) == 3
    assert steps(whole(FREQ="DAILY", COUNT=30), JANUARY, last) == 11
    # two weeks; each is searched once, and gives three days
    assert steps(whole(FREQ="WEEKLY", BYDAY="MO,TU,FR"), JANUARY, last) == 2 * 4
    assert steps(whole(FREQ="DAILY"), last, JANUARY) == 0
    assert steps(whole(FREQ="DAILY"), JANUARY, JANUARY) == 1


@pytest.mark.parametrize(
    ("rule", "idle"),
    [
        # each period, or each few years, has a start
        ({"FREQ": "DAILY"}, False),
        ({"FREQ": "WEEKLY", "BYDAY": "MO"}, False),
        ({"FREQ": "DAILY", "INTERVAL": 2, "BYDAY": "MO"}, False),
        ({"FREQ": "DAILY", "BYMONTH": 3}, False),
        ({"FREQ": "MONTHLY", "BYMONTHDAY": "5,31"}, False),
        ({"FREQ": "MONTHLY", "INTERVAL": 12, "BYMONTHDAY": "5,31"}, False),
        ({"FREQ": "MONTHLY", "BYDAY": "1MO"}, False),
        ({"FREQ": "MONTHLY", "BYDAY": "MO,TU", "BYSETPOS": -1}, False),
        ({"FREQ": "YEARLY", "BYMONTH": 2, "BYMONTHDAY": 29}, False),
        # these may never have one again
        ({"FREQ": "DAILY", "INTERVAL": 7, "BYDAY": "MO"}, True),
        ({"FREQ": "DAILY", "INTERVAL": 2, "BYMONTH": 3}, True),
        ({"FREQ": "MONTHLY", "INTERVAL": 12, "BYMONTHDAY": 31}, True),
        ({"FREQ": "MONTHLY", "BYDAY": "5MO"}, True),
        ({"FREQ": "MONTHLY", "BYDAY": "1MO", "BYSETPOS": 2}, True),
        ({"FREQ": "YEARLY", "INTERVAL": 4, "BYMONTH": 2, "BYMONTHDAY": 29}, True),
        ({"FREQ": "HOURLY", "BYDAY": "MO"}, True),
    ],
)
def test_a_rule_that_may_match_nothing_more_is_weighed_to_the_end_of_counting(
    rule, idle
):
    last = JANUARY + timedelta(days=100)
    found = outlay(whole(**rule), JANUARY, last)
    assert (found > steps(whole(**rule), JANUARY, last)) == idle


def test_a_rule_of_just_as_many_steps_as_are_allowed_is_read(tmp_path, monkeypatch):
    assert STEPS_MAX == 500_000
    # every minute of 11 hours, and one more
    minutes = event(
        "DTSTART:20260310T000000Z",
        "DTEND:20260310T000030Z",
        "RRULE:FREQ=MINUTELY;UNTIL=20260310T110000Z",
    )
    found = read_calendar(put(tmp_path, calendar(minutes)), window=MARCH, zone=CHICAGO)
    assert len(found.busy) == 661


def test_a_rule_is_held_to_until_and_to_the_last_time_asked_for():
    start = Moment(JANUARY, None, whole_day=False)
    rule = read_rule("FREQ=DAILY;UNTIL=20260103T000000", ZONES, whole_day=False)
    days = [d.day for d in starts(rule, start, CHICAGO, JANUARY + timedelta(days=9))]
    assert days == [1, 2, 3]
    days = [d.day for d in starts(rule, start, CHICAGO, JANUARY + timedelta(days=1))]
    assert days == [1, 2]
    # the instant of 18:00 the day before in Chicago
    rule = read_rule("FREQ=DAILY;UNTIL=20260103T000000Z", ZONES, whole_day=False)
    days = [d.day for d in starts(rule, start, CHICAGO, JANUARY + timedelta(days=9))]
    assert days == [1, 2]


# ---------------------------------------------------------------- lengths and zones


@pytest.mark.parametrize(
    ("text", "days", "seconds"),
    [
        ("P1W", 7, 0),
        ("P2D", 2, 0),
        ("PT1H30M", 0, 5400),
        ("P1DT1S", 1, 1),
        ("+PT15M", 0, 900),
        ("P0D", 0, 0),
        ("P146000D", 146_000, 0),  # 400 years of 365 days
    ],
)
def test_lengths_are_read(text, days, seconds):
    found = length(text)
    assert (found.days, found.exact) == (days, timedelta(seconds=seconds))


@pytest.mark.parametrize("text", ["P", "PT", "P1DT", "-PT1H", "1D", "P146001D", "P1Y"])
def test_what_is_no_length_is_refused(text):
    with pytest.raises(BadValueError):
        length(text)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("20261301", "exists"),
        ("20260229T000000", "exists"),
        ("20260310T240000", "exists"),
        ("15821231", "exists"),
        ("2026031", "not a date"),
    ],
)
def test_a_time_that_does_not_exist_is_refused(text, said):
    with pytest.raises(BadValueError, match=said):
        moment(text, kind=None, tzid=None, zones=ZONES)


def test_a_leap_second_is_the_first_of_the_next_minute():
    found = moment("20261231T235960Z", kind=None, tzid=None, zones=ZONES)
    assert found.utc(CHICAGO) == utc(2027, 1, 1)
    first = moment("15830101", kind="DATE", tzid=None, zones=ZONES)
    assert (first.local.year, first.whole_day, first.zone) == (1583, True, None)


def test_a_value_must_be_what_its_parameter_says():
    for text, kind in (("20260310", "DATE-TIME"), ("20260310T090000", "DATE")):
        with pytest.raises(BadValueError, match="VALUE"):
            moment(text, kind=kind, tzid=None, zones=ZONES)
    found = moment("20260310T090000", kind="date-time", tzid=None, zones=ZONES)
    assert not found.whole_day


def test_utc_and_a_zone_at_once_are_refused_but_where_they_agree():
    with pytest.raises(BadValueError, match="both in UTC"):
        moment("20260310T090000Z", kind=None, tzid="America/Chicago", zones=ZONES)
    same = moment("20260310T090000Z", kind=None, tzid="Etc/UTC", zones=ZONES)
    assert same.utc(CHICAGO) == utc(2026, 3, 10, 9)


def test_an_hour_that_comes_twice_has_a_second_coming_and_no_other_has():
    """Chicago's clocks go back on 1 November 2026 at 2:00 (tzdata)."""
    half_past = datetime(2026, 11, 1, 1, 30)  # noqa: DTZ001 - local
    assert instant(half_past, CHICAGO) == utc(2026, 11, 1, 6, 30)
    assert second_coming(half_past, CHICAGO) == utc(2026, 11, 1, 7, 30)
    assert wall(utc(2026, 11, 1, 7, 30), CHICAGO) == half_past
    for hour in (0, 2, 3):
        other = half_past.replace(hour=hour)
        assert second_coming(other, CHICAGO) is None


def test_an_available_time_ends_when_it_says_within_the_hour_that_comes_twice(
    tmp_path,
):
    """Free from midnight until the second 1:30, as its end in UTC says."""
    times = component(
        "AVAILABLE",
        "UID:a",
        "DTSTART;TZID=America/Chicago:20261101T000000",
        "DTEND:20261101T073000Z",
    )
    found = read_calendar(
        put(tmp_path, calendar(component("VAVAILABILITY", "UID:v", times))),
        window=(utc(2026, 11, 1, 5), utc(2026, 11, 1, 9)),
        zone=CHICAGO,
    )
    assert [(a, b) for a, b, _ in spans(found)] == [
        (utc(2026, 11, 1, 7, 30), utc(2026, 11, 1, 9))
    ]


@pytest.mark.parametrize(
    ("until", "hour"),
    # the onset of 14 March 2027 at 2:00, five hours behind: 7:00 in UTC
    [("20270314T070000Z", 13), ("20270314T065959Z", 14), ("20270314T020000", 13)],
)
def test_the_last_onset_of_a_zones_own_rule_is_counted_in_its_own_time(
    until, hour, tmp_path
):
    zone = component(
        "VTIMEZONE",
        "TZID:Ours",
        component(
            "STANDARD",
            "DTSTART:20201101T020000",
            "TZOFFSETFROM:-0400",
            "TZOFFSETTO:-0500",
            "RRULE:FREQ=YEARLY;BYMONTH=11;BYDAY=1SU",
        ),
        component(
            "DAYLIGHT",
            "DTSTART:20200308T020000",
            "TZOFFSETFROM:-0500",
            "TZOFFSETTO:-0400",
            f"RRULE:FREQ=YEARLY;BYMONTH=3;BYDAY=2SU;UNTIL={until}",
        ),
    )
    entry = event("DTSTART;TZID=Ours:20270701T090000", "DURATION:PT1H")
    found = read_calendar(
        put(tmp_path, calendar(zone, entry)),
        window=(utc(2027, 7, 1), utc(2027, 7, 2)),
        zone=CHICAGO,
    )
    assert [(b.start.hour, b.end.hour) for b in found.busy] == [(hour, hour + 1)]


# ---------------------------------------------------------------- availability, days


@pytest.mark.parametrize(
    "lines",
    [
        ["DTSTART:20260310T140000Z", "DTEND:20260310T180000Z", "DURATION:PT1H"],
        ["DTEND:20260310T180000Z", "DURATION:PT1H"],
        ["DURATION:PT1H"],
    ],
)
def test_an_availabilitys_length_needs_a_start_and_no_end(lines, tmp_path):
    path = put(tmp_path, calendar(component("VAVAILABILITY", "UID:v", *lines)))
    (said,) = refusals(path)
    assert "it has a DURATION without a DTSTART, or together with a DTEND" in said


@pytest.mark.parametrize(
    ("lines", "hours"),
    [
        (["DTSTART:20260310T140000Z", "DTEND:20260310T180000Z"], (14, 18)),
        (["DTSTART:20260310T140000Z", "DURATION:PT2H"], (14, 16)),
        (["DTSTART:20260310T140000Z"], (14, 20)),
        (["DTEND:20260310T180000Z"], (12, 18)),
        ([], (12, 20)),
    ],
)
def test_an_availability_may_be_open_at_either_end(lines, hours, tmp_path):
    found = read_calendar(
        put(tmp_path, calendar(component("VAVAILABILITY", "UID:v", *lines))),
        window=(utc(2026, 3, 10, 12), utc(2026, 3, 10, 20)),
        zone=CHICAGO,
    )
    assert [(b.start.hour, b.end.hour) for b in found.busy] == [hours]


def test_each_of_several_times_available_is_free(tmp_path):
    times = [
        component(
            "AVAILABLE",
            f"UID:a{n}",
            f"DTSTART:20260310T{n}0000Z",
            f"DTEND:20260310T{n + 1}0000Z",
        )
        for n in (13, 15, 17)
    ]
    found = read_calendar(
        put(tmp_path, calendar(component("VAVAILABILITY", "UID:v", *times))),
        window=(utc(2026, 3, 10, 12), utc(2026, 3, 10, 20)),
        zone=CHICAGO,
    )
    taken = [(b.start.hour, b.end.hour) for b in found.busy]
    assert taken == [(12, 13), (14, 15), (16, 17), (18, 20)]


def test_an_older_copy_of_an_availability_is_passed_over(tmp_path):
    old, new = (
        component(
            "VAVAILABILITY",
            "UID:v",
            f"SEQUENCE:{n}",
            f"DTSTART:20260310T{n}0000Z",
            "DTEND:20260310T180000Z",
        )
        for n in (14, 16)
    )
    for parts in ((old, new), (new, old), (new, old, new)):
        found = read_calendar(
            put(tmp_path, calendar(*parts)), window=MARCH, zone=CHICAGO
        )
        assert [b.start.hour for b in found.busy] == [16]
        assert found.remarks == ("an older copy is ignored: entry (UID v)",)


def test_two_copies_of_an_availability_that_differ_are_refused(tmp_path):
    parts = [
        component("VAVAILABILITY", "UID:v", f"DTSTART:20260310T{n}0000Z")
        for n in (14, 16)
    ]
    (said,) = refusals(put(tmp_path, calendar(*parts)))
    assert said.startswith("entry (UID v): two copies of it differ, and neither is")


def test_days_off_of_several_days_are_each_told_within_the_window(tmp_path):
    """28 February to 3 March; the window begins on 1 March at the site."""
    days = event("DTSTART;VALUE=DATE:20260228", "DTEND;VALUE=DATE:20260304")
    window = (local(HALIFAX, 2026, 3, 1), local(HALIFAX, 2026, 3, 3))
    found = read_days(put(tmp_path, calendar(days)), window=window, zone=HALIFAX)
    assert [b.start.astimezone(HALIFAX).day for b in found.busy] == [1, 2]
    assert {b.end - b.start for b in found.busy} == {timedelta(days=1)}


def test_a_calendar_may_hold_just_as_many_components_as_are_allowed(
    tmp_path, monkeypatch
):
    path = put(tmp_path, calendar(event(*NINE)))
    monkeypatch.setattr(ics_text, "COMPONENTS_MAX", 2)
    assert len(read_calendar(path, window=MARCH, zone=CHICAGO).busy) == 1
    monkeypatch.setattr(ics_text, "COMPONENTS_MAX", 1)
    assert refusals(path) == ["the file: more than 1 components; export fewer days"]


def test_steps_of_a_year_are_days_of_its_months_and_the_search_for_them():
    """Three days of two months are six; a year is searched in twenty steps."""
    rule = whole(FREQ="YEARLY", BYMONTH="1,2", BYMONTHDAY="1,2,3")
    assert steps(rule, JANUARY, JANUARY + timedelta(days=300)) == 20 + 6
    rule = whole(FREQ="YEARLY", BYMONTH="1,2,3")
    assert steps(rule, JANUARY, JANUARY + timedelta(days=300)) == 20 + 3


def test_what_a_dropped_rule_would_take_out_stays_in_and_is_remarked_on(tmp_path):
    daily = (*NINE, "RRULE:FREQ=DAILY;COUNT=3", "EXRULE:FREQ=DAILY;COUNT=2")
    path = put(tmp_path, calendar(event(*daily)))
    found = read_calendar(path, window=MARCH, zone=CHICAGO)
    assert len(found.busy) == 3
    assert any("EXRULE" in r and "(UID e@test)" in r for r in found.remarks)


def test_copies_that_differ_are_remarked_on_by_the_same_one_in_any_order(tmp_path):
    copies = [event(*NINE, f"SUMMARY:{t}", f"STATUS:{s}") for t, s in (
        ("one", "CONFIRMED"), ("two", "TENTATIVE"), ("three", "CANCELLED"),
    )]  # fmt: skip
    said = {
        read_calendar(
            put(tmp_path, calendar(*parts)), window=MARCH, zone=CHICAGO
        ).remarks
        for parts in permutations(copies)
    }
    assert len(said) == 1


def test_each_onset_that_a_zone_names_by_its_date_counts(tmp_path):
    """By dates alone, summer time in 2026 and 2027: 9:00 is 13:00 in UTC."""
    changes = (
        ("STANDARD", "-0400", "-0500", "20261101T020000,20271107T020000"),
        ("DAYLIGHT", "-0500", "-0400", "20260308T020000,20270314T020000"),
    )
    parts = [
        component(
            name,
            f"DTSTART:{dates[:15]}",
            f"TZOFFSETFROM:{before}",
            f"TZOFFSETTO:{after}",
            f"RDATE:{dates}",
        )
        for name, before, after, dates in changes
    ]
    zone = component("VTIMEZONE", "TZID:Ours", *parts)
    for year, month, hour in ((2026, 7, 13), (2027, 1, 14), (2027, 7, 13)):
        entry = event(f"DTSTART;TZID=Ours:{year}{month:02}05T090000", "DURATION:PT1H")
        found = read_calendar(
            put(tmp_path, calendar(zone, entry)),
            window=(utc(year, month, 1), utc(year, month, 9)),
            zone=CHICAGO,
        )
        assert [b.start.hour for b in found.busy] == [hour]
