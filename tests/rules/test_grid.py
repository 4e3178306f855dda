"""Dates and ticks: clock changes both ways, rounding that never favours us."""

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from planner.hours.grid import Grid

HALIFAX = ZoneInfo("America/Halifax")


def grid(day: date, days: int = 2) -> Grid:
    return Grid.from_day(day, days=days, tick_minutes=15, zone=HALIFAX)


def test_a_day_that_loses_an_hour_has_92_ticks():
    # Clocks go forward in Halifax on Sunday 14 March 2027, 02:00 (tzdata)
    days = grid(date(2027, 3, 13), 3).days()
    assert [last - first for _, first, last in days] == [96, 92, 96]


def test_a_day_that_gains_an_hour_has_100_ticks():
    # and back on Sunday 7 November 2027, 02:00
    days = grid(date(2027, 11, 6), 3).days()
    assert [last - first for _, first, last in days] == [96, 100, 96]


def test_local_hours_after_the_change_are_the_same_clock_hours():
    g = grid(date(2027, 3, 13), 3)
    eight = datetime(2027, 3, 14, 8, tzinfo=HALIFAX)
    # 24 h on Saturday and 7 h on Sunday: (24 + 7) * 4 = 124
    assert g.floor(eight) == 124
    assert g.local(124) == eight


def test_closed_hours_round_outwards_and_open_hours_inwards():
    g = grid(date(2027, 2, 8))
    span = [
        (
            datetime(2027, 2, 8, 8, 5, tzinfo=HALIFAX),
            datetime(2027, 2, 8, 8, 50, tzinfo=HALIFAX),
        )
    ]
    assert g.outward(span).items == ((32, 36),)
    assert g.inward(span).items == ((33, 35),)


def test_two_open_stretches_that_touch_lose_no_tick_between_them():
    g = grid(date(2027, 2, 8))
    at = [datetime(2027, 2, 8, 8, m, tzinfo=HALIFAX) for m in (0, 20, 45)]
    assert g.inward([(at[0], at[1]), (at[1], at[2])]).items == ((32, 35),)


@pytest.mark.parametrize(
    ("hours", "ticks"), [(1.0, 4), (1.01, 5), (0.25, 1), (0.1 + 0.2 - 0.05, 1)]
)
def test_hours_become_ticks_rounded_up_but_not_by_float_dust(hours, ticks):
    assert grid(date(2027, 2, 8)).ticks_up(hours) == ticks


def test_a_start_without_utc_is_refused():
    with pytest.raises(ValueError, match="not in UTC"):
        Grid(
            start=datetime(2027, 2, 8, tzinfo=HALIFAX),
            tick_minutes=15,
            ticks=4,
            zone=HALIFAX,
        )


def test_instants_and_ticks_invert_each_other():
    g = grid(date(2027, 2, 8))
    for tick in (0, 1, 95, 191):
        assert g.floor(g.instant(tick)) == g.ceil(g.instant(tick)) == tick
    assert g.ceil(g.instant(3) + timedelta(seconds=1)) == 4
    assert g.instant(0) == datetime(2027, 2, 8, 4, tzinfo=UTC)
