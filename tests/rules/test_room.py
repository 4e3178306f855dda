"""The room's air is laid in layers: assumed, by month, read, drawn to what was read.

Tests of planner/air/room.py, planner/nouns/air.py.
"""

import math
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from planner.air.moist_air import saturation_pa, vapour_pa
from planner.air.room import assumed, overlaid, read_ticks, with_readings, within
from planner.hours.grid import Grid
from planner.nouns.air import AirReading, DayNight
from planner.nouns.product import Air

HALIFAX = ZoneInfo("America/Halifax")
CONSTANT = DayNight(
    day_c=20,
    day_rh_pct=50,
    night_c=20,
    night_rh_pct=50,
    day_from=time(7),
    day_to=time(19),
)
SWINGING = DayNight(
    day_c=20,
    day_rh_pct=50,
    night_c=14,
    night_rh_pct=65,
    day_from=time(7),
    day_to=time(19),
)


def grid(day=date(2027, 2, 8), days=3, minutes=60):
    return Grid.from_day(day, days=days, tick_minutes=minutes, zone=HALIFAX)


def reading(hour, air_c, rh, day=8):
    when = datetime(2027, 2, day, tzinfo=HALIFAX) + timedelta(hours=hour)
    return AirReading(when=when, air_c=air_c, humidity_pct=rh)


def test_day_and_night_follow_the_sites_clock():
    air = assumed(SWINGING, grid())
    assert air.air_c[6] == 14
    assert air.air_c[7] == 20
    assert air.air_c[18] == 20
    assert air.air_c[19] == 14
    assert air.humidity_pct[6] == 65


def test_the_day_begins_at_seven_on_both_sides_of_a_clock_change():
    # 14 March 2027, 02:00 becomes 03:00 in Halifax: tick 6 begins at 07:00.
    air = assumed(SWINGING, grid(day=date(2027, 3, 14)))
    assert air.air_c[5] == 14
    assert air.air_c[6] == 20


def test_a_night_that_is_named_across_midnight():
    clocks = [time(h) for h in range(24)]
    inside = within(clocks, time(22), time(5))
    assert [h for h in range(24) if inside[h]] == [0, 1, 2, 3, 4, 22, 23]
    assert within(clocks, time(0), time(0)).all()


def test_a_month_has_its_own_air():
    wet = DayNight(
        day_c=18,
        day_rh_pct=75,
        night_c=18,
        night_rh_pct=75,
        day_from=time(7),
        day_to=time(19),
    )
    air = assumed(CONSTANT, grid(day=date(2027, 2, 28)), {3: wet})
    assert air.humidity_pct[23] == 50
    assert air.humidity_pct[24] == 75
    assert "month 3" in air.origin[1]


def test_readings_win_where_they_lie_and_say_so():
    readings = [reading(10, 18, 60), reading(12, 16, 70)]
    air = overlaid(assumed(CONSTANT, grid()), readings, grid())
    assert air.air_c[9] == 20
    assert air.air_c[13] == 20
    # tick 10 runs from 10:00 to 11:00; its middle is 10:30: a quarter of the way
    assert air.air_c[10] == pytest.approx(17.5)
    assert air.air_c[11] == pytest.approx(16.5)
    # vapour runs straight between the readings
    between = 0.75 * vapour_pa(18, 60) + 0.25 * vapour_pa(16, 70)
    assert vapour_pa(air.air_c[10], air.humidity_pct[10]) == pytest.approx(
        float(between)
    )
    assert "2 readings" in air.origin[1]
    assert "else as assumed" in air.origin[2]


def test_a_long_silence_between_readings_is_not_bridged():
    far = [
        reading(4, 15, 60),
        reading(5, 15, 60),
        reading(20, 15, 60),
        reading(21, 15, 60),
    ]
    air = overlaid(assumed(CONSTANT, grid()), far, grid())
    assert air.air_c[4] == 15
    assert (air.air_c[6:19] == 20).all()
    assert air.air_c[20] == 15


def test_no_readings_leave_the_assumed_air():
    air = with_readings(assumed(CONSTANT, grid()), [], grid())
    assert (air.air_c == 20).all()
    assert len(air.origin) == 1


def test_the_last_reading_pulls_the_near_future_and_fades():
    # Read at noon: 3 °C under what is assumed.
    past = [reading(h + 0.5, 17, 55) for h in range(13)]
    air = with_readings(assumed(CONSTANT, grid()), past, grid())
    assert air.air_c[12] == pytest.approx(17)
    # An hour, a day and two days after the reading: 3 exp(-t/24) is left.
    for hours in (1, 24, 48):
        left = 3 * math.exp(-hours / 24)
        assert air.air_c[12 + hours] == pytest.approx(20 - left, abs=1e-9)
        vapour = vapour_pa(air.air_c[12 + hours], air.humidity_pct[12 + hours])
        drier = float(vapour_pa(20, 50) - vapour_pa(17, 55)) * math.exp(-hours / 24)
        assert float(vapour) == pytest.approx(float(vapour_pa(20, 50)) - drier)
    assert "pulls" in air.origin[-1]


@pytest.mark.parametrize("minutes", [15, 20, 60])
def test_a_last_reading_between_two_ticks_is_compared_with_what_comes_after(minutes):
    """At seven the room is taken to become 20 °C; 18 °C are read then, and hold on.

    Beside the night's 14 °C they would have made a morning 4 °C warmer than assumed. A
    third of an hour has no exact middle in hours, so the nearer tick was a toss-up.
    """
    ticks = grid(minutes=minutes)
    air = with_readings(assumed(SWINGING, ticks), [reading(7, 18, 50)], ticks)
    seven = 7 * 60 // minutes
    left = 2 * math.exp(-minutes / 2 / (24 * 60))
    assert air.air_c[seven - 1] == 14
    assert air.air_c[seven] == pytest.approx(20 - left)


@pytest.mark.parametrize(
    ("air_c", "humid", "words"),
    [
        ([20.0], [50.0, 50.0], "not one length"),
        ([np.nan], [50.0], "missing"),
        ([20.0], [101.0], "between 0 and 100"),
        ([20.0], [np.nan], "between 0 and 100"),
    ],
)
def test_what_is_no_air_is_refused(air_c, humid, words):
    with pytest.raises(ValueError, match=words):
        Air(tick_minutes=60, air_c=np.array(air_c), humidity_pct=np.array(humid))


def test_instants_in_any_zone_are_the_same_reading():
    here = reading(10.5, 18, 60)
    there = AirReading(when=here.when.astimezone(UTC), air_c=18, humidity_pct=60)
    model = assumed(CONSTANT, grid())
    one, other = (with_readings(model, [r], grid()) for r in (here, there))
    assert (one.air_c == other.air_c).all()
    assert one.air_c[10] == 18


def test_assumed_air_knows_its_grid_and_says_what_was_assumed():
    air = assumed(SWINGING, grid())
    assert (air.start, air.zone, air.tick_minutes) == (grid().start, HALIFAX, 60)
    assert air.origin == (
        "assumed 68 °F (20 °C), 50 % RH from 07:00 to 19:00, else 57 °F (14 °C), 65 % RH",
    )
    assert assumed(CONSTANT, grid()).origin == (
        "assumed 68 °F (20 °C), 50 % RH day and night",
    )


def test_months_that_the_grid_does_not_hold_are_not_told():
    other = replace(CONSTANT, day_c=10, night_c=10)
    # 28 February and 1 and 2 March
    days = grid(day=date(2027, 2, 28))
    air = assumed(CONSTANT, days, {3: other, 2: SWINGING, 4: other})
    assert [air.air_c[t] for t in (6, 7, 24, 71)] == [14, 20, 10, 10]
    assert [words.split(":")[0] for words in air.origin[1:]] == [
        "assumed in month 2",
        "assumed in month 3",
    ]


def read_hours(*hours, **more):
    readings = [reading(h, 18, 60) for h in hours]
    return np.flatnonzero(read_ticks(readings, grid(days=1), **more)).tolist()


def test_readings_six_hours_apart_are_bridged_and_no_further():
    """The hour's middle lies half an hour after its start."""
    assert read_hours(8.5, 14.5) == [8, 9, 10, 11, 12, 13, 14]
    assert read_hours(8.5, 14.6) == [8, 14]
    assert read_hours(14.5, 8.5) == read_hours(8.5, 14.5)
    assert read_hours(8.5, 10.5, gap_h=1.9) == [8, 10]
    assert read_hours(8.5, 10.5, gap_h=2.0) == [8, 9, 10]
    assert read_hours(8.5, 10.5, 12.5, gap_h=2.0) == [8, 9, 10, 11, 12]


def test_a_reading_speaks_for_the_hour_that_it_falls_in():
    assert read_hours(8.0) == [8]
    assert read_hours(8.9) == [8]
    assert read_hours() == []
    assert read_hours(-5.0, 30.0) == []


def test_readings_that_cover_all_say_nothing_of_the_rest():
    every = [reading(h + 0.5, 18, 60) for h in range(72)]
    air = overlaid(assumed(CONSTANT, grid()), every, grid())
    assert (air.air_c == 18).all()
    assert len(air.origin) == 2
    half = overlaid(assumed(CONSTANT, grid()), every[:36], grid())
    assert half.origin[2] == "the readings cover 50 % of the time; else as assumed"


def test_read_air_holds_no_more_water_than_it_can():
    """Between 30 °C and 0 °C, both damp, half the vapour is more than 15 °C holds."""
    far = [reading(8.5, 30, 100), reading(10.5, 0, 100)]
    air = overlaid(assumed(CONSTANT, grid()), far, grid())
    assert air.air_c[9] == 15
    assert saturation_pa(30) / 2 > saturation_pa(15)
    assert air.humidity_pct[9] == 100


@pytest.mark.parametrize("hour", [-30.0, 100.0])
def test_a_reading_outside_the_days_planned_pulls_nothing(hour):
    air = with_readings(assumed(CONSTANT, grid()), [reading(hour, 10, 90)], grid())
    assert (air.air_c == 20).all()
    assert (air.humidity_pct == 50).all()


def test_the_last_reading_is_the_latest_whatever_their_order():
    model = assumed(CONSTANT, grid())
    past = [reading(12.5, 17, 55), reading(10.5, 23, 40), reading(11.5, 23, 40)]
    air = with_readings(model, past, grid())
    assert air.air_c[13] == pytest.approx(20 - 3 * math.exp(-1 / 24))
    assert "by -3.0 °C" in air.origin[-1]
    assert (air.air_c[:10] == 20).all()


def test_vapour_drawn_down_by_a_dry_reading_never_falls_below_none():
    """A reading far drier and warmer than the model, which is cold the next night."""
    cold = replace(CONSTANT, night_c=-20, night_rh_pct=10)
    air = with_readings(assumed(cold, grid()), [reading(12.5, 20, 1)], grid())
    assert air.humidity_pct.min() >= 0.0
    assert air.humidity_pct[19] == 0.0
