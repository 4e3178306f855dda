"""Copies of entries, and what is counted of rules before they are expanded.

Tests of planner/files/ics/availability.py, planner/files/ics/properties.py,
planner/files/ics/rules.py, planner/files/ics/series.py, planner/files/ics/stretches.py.
"""

from datetime import datetime, timedelta

import pytest

from planner.errors import CalendarError
from planner.files.ics.properties import LABELS_SHOWN, Notes
from planner.files.ics.reading import read_calendar
from planner.files.ics.rules import read_rule, starts, steps
from planner.files.ics.text import BadValueError, Component
from planner.files.ics.values import Moment
from planner.files.ics.zones import Zones
from tests.support.ics import CHICAGO, calendar, component, event, put, utc

MARCH = (utc(2026, 3, 1), utc(2026, 4, 1))
NINE = ("DTSTART:20260310T140000Z", "DTEND:20260310T150000Z")
TEN = ("DTSTART:20260310T150000Z", "DTEND:20260310T160000Z")
ZONES = Zones(Component("VCALENDAR", 1, {}, (), ()))
JANUARY = datetime(2026, 1, 1)  # noqa: DTZ001 - local


def read(tmp_path, *parts: str):
    path = put(tmp_path, calendar(*parts))
    return read_calendar(path, window=MARCH, zone=CHICAGO)


def refusals(tmp_path, text: str) -> list[str]:
    with pytest.raises(CalendarError) as caught:
        read_calendar(put(tmp_path, text), window=MARCH, zone=CHICAGO)
    return [f.strip() for f in caught.value.lines()[1:]]


# ------------------------------------------------------------------------- copies


def available(*lines: str) -> str:
    return component("AVAILABLE", "UID:open", "DTSTAMP:20260101T000000Z", *lines)


DAILY = (*NINE, "RRULE:FREQ=DAILY")
MOVED = "RECURRENCE-ID:20260311T140000Z"
OTHER = component("AVAILABLE", "UID:also", "DTSTAMP:20260101T000000Z", *NINE)


@pytest.mark.parametrize(
    "copies",
    [
        (available(*NINE), available(*TEN)),
        (available(*DAILY), available(*NINE, MOVED), available(*TEN, MOVED)),
        (OTHER, available(*NINE), available(*TEN)),
        (available(*NINE), available(*TEN), OTHER),
    ],
    ids=["whole", "one moved", "the second", "the first"],
)
def test_two_copies_of_open_hours_that_differ_are_not_guessed_between(tmp_path, copies):
    whole = component("VAVAILABILITY", "UID:week", "DTSTAMP:20260101T000000Z", *copies)
    (fault,) = refusals(tmp_path, calendar(whole))
    assert "two copies of an AVAILABLE differ, and neither is newer" in fault


def test_two_changes_of_open_hours_that_move_other_days_both_count(tmp_path):
    next_day = MOVED.replace("0311", "0312")
    whole = component(
        "VAVAILABILITY",
        "UID:week",
        "DTSTAMP:20260101T000000Z",
        available(*DAILY),
        available(*TEN, MOVED),
        available(*TEN, next_day),
    )
    busy = read(tmp_path, whole).busy
    open_at = [
        not any(b.start <= utc(2026, 3, day, hour) < b.end for b in busy)
        for day, hour in ((10, 14), (10, 15), (11, 14), (12, 14), (13, 14))
    ]
    assert open_at == [True, True, False, False, True]


def test_each_copy_of_a_series_is_weighed(tmp_path):
    few = event(*NINE, "RRULE:FREQ=DAILY")
    many = event("DTSTART:20000101T000000Z", "DURATION:PT1M", "RRULE:FREQ=MINUTELY")
    for copies in ((few, many), (many, few)):
        (fault,) = refusals(tmp_path, calendar(*copies))
        assert "a rule of more than 500,000 steps" in fault


def test_of_an_older_format_nothing_more_is_told(tmp_path):
    broken = event("DTSTART:tomorrow")
    text = calendar(broken).replace("VERSION:2.0", "VERSION:1.0")
    (fault,) = refusals(tmp_path, text)
    assert "VERSION 1.0 is an older format" in fault
    assert "DTSTART" in refusals(tmp_path, calendar(broken))[0]


# -------------------------------------------------------------------------- rules


def rule(text: str):
    return read_rule(text, ZONES, whole_day=False)


@pytest.mark.parametrize(
    ("text", "gives"),
    [
        # a month is searched in five steps; it has five Mondays at most, one first one
        ("FREQ=MONTHLY;BYDAY=MO", 5 + 5),
        ("FREQ=MONTHLY;BYDAY=1MO", 5 + 1),
        ("FREQ=MONTHLY;BYDAY=1MO,-1MO,TU", 5 + 1 + 1 + 5),
        ("FREQ=MONTHLY;BYMONTHDAY=1,15", 5 + 2),
        ("FREQ=MONTHLY;BYMONTHDAY=1,15;BYDAY=MO", 5 + 2),
        ("FREQ=MONTHLY;BYDAY=MO,TU,WE,TH,FR,SA,SU", 5 + 31),
        ("FREQ=MONTHLY", 5 + 1),
        ("FREQ=MONTHLY;BYMONTH=3", 5 + 1),
    ],
)  # fmt: skip
def test_steps_of_a_month_are_the_days_that_it_can_give(text, gives):
    assert steps(rule(text), JANUARY, JANUARY + timedelta(days=20)) == gives


def test_a_year_of_all_its_mondays_and_a_month_of_it():
    days = timedelta(days=300)
    # counted by the month it would be more than a year has days
    assert steps(rule("FREQ=YEARLY;BYDAY=MO"), JANUARY, JANUARY + days) == 20 + 366
    march = rule("FREQ=YEARLY;BYMONTH=3;BYDAY=MO")
    assert steps(march, JANUARY, JANUARY + days) == 20 + 5


@pytest.mark.parametrize(
    ("part", "first"),
    [
        ("BYSECOND=30", (1, 1, 0, 0, 30)),
        ("BYMINUTE=5", (1, 1, 0, 5, 0)),
        ("BYHOUR=7", (1, 1, 7, 0, 0)),
        ("BYMONTHDAY=9", (1, 9, 0, 0, 0)),
        ("BYYEARDAY=40", (2, 9, 0, 0, 0)),
        ("BYWEEKNO=3;BYDAY=TH", (1, 15, 0, 0, 0)),  # the first of January is a Thursday
        ("BYMONTH=4", (4, 1, 0, 0, 0)),
        ("BYDAY=MO;BYSETPOS=2", (1, 12, 0, 0, 0)),
        ("BYDAY=2FR", (1, 9, 0, 0, 0)),
    ],
)
def test_each_part_of_a_rule_counts(part, first):
    start = Moment(JANUARY, None, whole_day=False)
    found = starts(
        rule(f"FREQ=YEARLY;{part}"), start, CHICAGO, JANUARY + timedelta(days=400)
    )
    assert next(found) == datetime(2026, *first)  # noqa: DTZ001 - local


@pytest.mark.parametrize(
    ("day", "found"),
    [("MO", (0, "MO")), ("53MO", (53, "MO")), ("-53MO", (-53, "MO")), ("+1FR", (1, "FR"))],
)  # fmt: skip
def test_a_weekday_may_be_any_that_a_year_has(day, found):
    assert rule(f"FREQ=YEARLY;BYDAY={day}").days == (found,)


@pytest.mark.parametrize("day", ["0MO", "54MO", "-54MO"])
def test_a_weekday_that_no_year_has_is_refused(day):
    with pytest.raises(BadValueError, match="not a weekday"):
        rule(f"FREQ=YEARLY;BYDAY={day}")


@pytest.mark.parametrize(("count", "tail"), [(0, ""), (1, ": e0"), (LABELS_SHOWN, ""),
                                            (LABELS_SHOWN + 2, " and 2 more")])  # fmt: skip
def test_a_remark_names_the_first_few_entries_and_how_many_more(count, tail):
    notes = Notes()
    for number in range(count):
        notes.remark("odd", f"e{number}")
    if not count:
        notes.remark("odd")
    (said,) = notes.remarks()
    assert said.startswith("odd")
    assert said.endswith(tail)
    assert ("more" in said) is (count > LABELS_SHOWN)


@pytest.mark.parametrize("part", ["BYDAY=MO", "BYDAY=MO,TU", "BYMONTHDAY=1,2"])
def test_a_place_among_days_needs_days_to_be_counted(part):
    assert rule(f"FREQ=MONTHLY;{part};BYSETPOS=1").numbers["BYSETPOS"] == (1,)
    with pytest.raises(BadValueError, match="doesn't allow"):
        rule("FREQ=MONTHLY;BYSETPOS=1")
