"""A person is open in shifts, less holidays, less whatever a calendar takes.

Tests of planner/files/job/sections/shift_words.py, planner/hours/open.py.
"""

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest

from planner.files.job.sections.shift_words import clock_span, shift_of
from planner.hours.grid import Grid
from planner.hours.open import daily, person_hours
from planner.nouns.calendar import Busy
from planner.nouns.job import CrewMember

HALIFAX = ZoneInfo("America/Halifax")
MONDAY = date(2027, 2, 8)


def grid(days: int = 7, day: date = MONDAY) -> Grid:
    return Grid.from_day(day, days=days, tick_minutes=60, zone=HALIFAX)


def person(*shifts: str) -> CrewMember:
    return CrewMember(
        id="ana",
        name="Ana",
        trades=("painter",),
        shifts=tuple(shift_of(s) for s in shifts),
        rest_h=11,
    )


def busy(start: tuple[int, int], end: tuple[int, int], title: str = "dentist") -> Busy:
    return Busy(
        start=datetime(2027, 2, *start, tzinfo=HALIFAX).astimezone(UTC),
        end=datetime(2027, 2, *end, tzinfo=HALIFAX).astimezone(UTC),
        kind="busy",
        title=title,
        file="ana.ics",
        uid="1",
    )


def test_a_week_of_shifts_without_anything_taken():
    got = person_hours(
        person("Mon-Fri 08:00-12:00 13:00-17:00"), grid=grid(), busy=(), holidays=()
    )
    assert got.open.total == 5 * 8
    assert got.open.items[:2] == ((8, 12), (13, 17))
    assert got.shifts.items[0] == (8, 17)  # the hull, lunch included
    assert got.taken == ()


def test_an_appointment_takes_the_hours_that_it_touches_and_says_why():
    got = person_hours(
        person("Mon 08:00-12:00"),
        grid=grid(),
        busy=(busy((8, 9), (8, 10)),),
        holidays=(),
    )
    assert got.open.items == ((8, 9), (10, 12))
    assert [(r, s.items) for r, s in got.taken] == [('"dentist" (ana.ics)', ((9, 10),))]


def test_a_private_entry_is_taken_without_its_title():
    got = person_hours(
        person("Mon 08:00-12:00"),
        grid=grid(),
        busy=(busy((8, 9), (8, 10), ""),),
        holidays=(),
    )
    assert got.taken[0][0] == "a private entry (ana.ics)"


def test_no_shift_begins_on_a_public_holiday():
    got = person_hours(
        person("Mon-Tue 08:00-12:00"),
        grid=grid(),
        busy=(),
        holidays=((MONDAY, "Demo Day"),),
    )
    assert got.open.items == ((32, 36),)
    assert got.taken[0][0] == "Demo Day (public holiday)"


@pytest.mark.parametrize(
    ("lines", "shifts"),
    [
        (("Mon 07:00-11:00", "Mon 15:00-19:00"), ((7, 19),)),
        (("Mon 05:00-09:00", "Mon 14:00-18:00"), ((5, 18),)),
        (("Mon 05:00-09:00", "Mon 15:00-19:00"), ((5, 9), (15, 19))),  # six hours
        (("Mon 05:00-09:00 15:00-19:00",), ((5, 19),)),
        (("Mon 20:00-24:00", "Tue 00:00-02:00", "Tue 04:00-06:00"), ((20, 30),)),
        (("Mon 20:00-24:00", "Tue 06:00-10:00"), ((20, 24), (30, 34))),
    ],
)
def test_hours_less_than_six_hours_apart_are_one_shift(lines, shifts):
    got = person_hours(person(*lines), grid=grid(), busy=(), holidays=())
    assert got.shifts.items == shifts


def test_the_hours_of_a_break_are_those_that_pass():
    """On 14 March 2027 the clock goes from 2 to 3: an hour less lies between."""
    night = grid(2, date(2027, 3, 13))
    lines = person("Sat 18:00-23:00", "Sun 05:00-09:00")
    got = person_hours(lines, grid=night, busy=(), holidays=())
    assert got.shifts.items == ((18, 32),)


def test_a_holiday_before_the_grid_takes_nothing():
    """The grid begins on Monday; Sunday's shift would have ended before it."""
    got = person_hours(
        person("Mon-Sun 08:00-12:00"),
        grid=grid(),
        busy=(),
        holidays=((MONDAY - timedelta(days=1), "Some Sunday"),),
    )
    assert got.taken == ()
    assert got.open.total == 7 * 4


def test_a_night_shift_reaches_in_from_the_day_before_the_first():
    got = person_hours(person("Sun 22:00-06:00"), grid=grid(1), busy=(), holidays=())
    assert got.open.items == ((0, 6),)


def test_a_night_shift_is_an_hour_short_when_clocks_go_forward():
    # Sunday 14 March 2027, 02:00 in Halifax becomes 03:00: 22:00-06:00 is 7 hours
    got = person_hours(
        person("Sat 22:00-06:00"), grid=grid(2, date(2027, 3, 13)), busy=(), holidays=()
    )
    assert got.open.total == 7


def test_a_shift_that_is_taken_whole_is_no_shift():
    got = person_hours(
        person("Mon-Tue 08:00-12:00"),
        grid=grid(),
        busy=(busy((8, 7), (8, 13)),),
        holidays=(),
    )
    assert got.shifts.items == ((32, 36),)


def test_the_stage_is_open_at_the_same_hours_every_day():
    assert daily(grid(2), (time(7), time(22))).items == ((7, 22), (31, 46))
    assert daily(grid(2), None).items == ((0, 48),)


@pytest.mark.parametrize(
    ("line", "days", "first"),
    [
        ("Mon-Fri 08:00-12:00 13:00-17:00", (0, 1, 2, 3, 4), (time(8), time(12))),
        ("sat,sun 9:00-13:00", (5, 6), (time(9), time(13))),
        ("Fri-Mon 20:00-24:00", (0, 4, 5, 6), (time(20), time(0))),
        ("Mon 20:00-24:00 00:30-05:00", (0,), (time(20), time(0))),
        ("Mon 20:00-02:00 02:00-20:00", (0,), (time(20), time(2))),
    ],
)
def test_shifts_as_people_write_them(line, days, first):
    shift = shift_of(line)
    assert (shift.weekdays, shift.hours[0]) == (days, first)


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("Mon-Fri", "names no hours"),
        ("08:00-12:00", "not weekdays"),
        ("Mnday 08:00-12:00", "not a weekday"),
        ("Mon 08:00-12:00 11:00-13:00", "overlap"),
        ("Mon 13:00-17:00 08:00-12:00", "overlap"),
        ("Mon 20:00-24:00 19:00-20:15", "overlap"),
        ("Mon 20:00-02:00 01:00-03:00", "overlap"),
        ("Mon 20:00-02:00 03:00-01:00", "overlap"),
        ("Mon 08:00-25:00", "no such time"),
        ("Mon 08:00-08:00", "ends when it begins"),
        ("Mon 08:00-12:00 maybe", "not weekdays"),
    ],
)
def test_a_line_that_is_no_shift_says_why(line, said):
    with pytest.raises(ValueError, match=said):
        shift_of(line)


def test_a_span_of_hours_needs_two_times():
    assert clock_span("07:00-22:00") == (time(7), time(22))
    assert clock_span("00:00-24:00") == (time(0), time(0))
    with pytest.raises(ValueError, match="not a span of hours"):
        clock_span("07:00")


def test_what_follows_a_stretch_past_midnight_lies_on_the_next_day():
    got = person_hours(
        person("Mon 20:00-02:00 02:30-06:00"), grid=grid(), busy=(), holidays=()
    )
    # Monday is day 0: from 20:00 to 02:00 and from 03:00, the first whole tick.
    assert got.open.items == ((20, 26), (27, 30))
    assert got.shifts.items == ((20, 30),)


def test_a_building_open_over_midnight_is_open_on_the_first_night_too():
    """18:00 to 2:00: the day before the first reaches in until 2:00."""
    assert daily(grid(2), (time(18), time(2))).items == ((0, 2), (18, 26), (42, 48))


def test_each_entry_takes_its_part_of_the_shifts_that_it_meets():
    """Three shifts of four hours; what lies between them is nobody's to take."""
    got = person_hours(
        person("Mon 00:00-04:00 08:00-12:00 16:00-20:00"),
        grid=grid(1),
        busy=(
            busy((8, 3), (8, 9), "early"),  # an hour of the first, one of the second
            busy((8, 12), (8, 16), "between"),
            busy((8, 11), (8, 17), "late"),
            busy((8, 19), (8, 23), "last"),
        ),
        holidays=(),
    )
    assert got.open.items == ((0, 3), (9, 11), (17, 19))
    assert [(words.split('"')[1], s.items) for words, s in got.taken] == [
        ("early", ((3, 4), (8, 9))),
        ("late", ((11, 12), (16, 17))),
        ("last", ((19, 20),)),
    ]


def test_an_entry_after_or_before_the_grid_takes_nothing():
    got = person_hours(
        person("Mon 08:00-12:00"),
        grid=grid(1),
        busy=(busy((5, 8), (5, 12)), busy((20, 8), (20, 12))),
        holidays=(),
    )
    assert got.open.items == ((8, 12),)
    assert got.taken == ()


def test_a_holidays_hours_are_those_of_all_its_shifts():
    got = person_hours(
        person("Mon 08:00-12:00 13:00-17:00", "Mon 20:00-22:00"),
        grid=grid(1),
        busy=(),
        holidays=((MONDAY, "Demo Day"),),
    )
    assert [s.items for _, s in got.taken] == [((8, 12), (13, 17), (20, 22))]
    assert not got.open
    assert not got.shifts


def test_hours_from_midnight_to_midnight_are_the_whole_day():
    assert daily(grid(2), (time(0), time(0))).items == ((0, 48),)
    got = person_hours(person("Mon 00:00-24:00"), grid=grid(2), busy=(), holidays=())
    assert got.open.items == ((0, 24),)
