"""Dates and ticks: clock changes both ways, rounding that never favours us.

Tests of planner/hours/grid.py.
"""

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


@pytest.mark.parametrize(
    ("minutes", "ticks", "said"),
    [
        (0, 4, "does not divide 60"),
        (-15, 4, "does not divide 60"),
        (7, 4, "does not divide 60"),
        (120, 4, "does not divide 60"),
        (15, 0, "is not positive"),
        (15, -1, "is not positive"),
    ],
)
def test_a_grid_without_whole_ticks_is_refused(minutes, ticks, said):
    start = datetime(2027, 2, 8, 4, tzinfo=UTC)
    with pytest.raises(ValueError, match=said):
        Grid(start=start, tick_minutes=minutes, ticks=ticks, zone=HALIFAX)


@pytest.mark.parametrize(("minutes", "ticks"), [(1, 1), (60, 1), (15, 96)])
def test_ticks_of_a_minute_to_an_hour_make_a_grid(minutes, ticks):
    start = datetime(2027, 2, 8, 4, tzinfo=UTC)
    grid = Grid(start=start, tick_minutes=minutes, ticks=ticks, zone=HALIFAX)
    assert grid.end == start + timedelta(minutes=minutes * ticks)


def test_a_grid_ends_with_a_whole_tick_within_its_last_day():
    """Lord Howe Island's clocks go back half an hour on 4 April 2027 (tzdata).

    That day lasts 24.5 hours: 24 ticks of an hour fit in.
    """
    howe = ZoneInfo("Australia/Lord_Howe")
    got = Grid.from_day(date(2027, 4, 4), days=1, tick_minutes=60, zone=howe)
    assert got.ticks == 24


def at(hour: int, minute: int = 0, day: int = 8) -> datetime:
    return datetime(2027, 2, day, hour, minute, tzinfo=HALIFAX)


def test_hours_are_cut_at_both_ends_of_the_grid():
    g = grid(date(2027, 2, 8), 1)
    over = [(at(22, day=7), at(1)), (at(23), at(2, day=9))]
    assert g.outward(over).items == g.inward(over).items == ((0, 4), (92, 96))
    before = [(at(5, day=7), at(6, day=7))]
    assert g.outward(before).items == g.inward(before).items == ()


def test_open_stretches_are_joined_in_whatever_order_they_come():
    """8:00-8:20, 8:20-8:45 and 9:00-9:10: whole quarters from 8:00 to 8:45 alone."""
    g = grid(date(2027, 2, 8))
    found = [(at(9), at(9, 10)), (at(8, 20), at(8, 45)), (at(8), at(8, 20))]
    assert g.inward(found).items == ((32, 35),)
    # a stretch within another that ends later ends nothing: 8:00-9:00
    assert g.inward([(at(8), at(9)), (at(8, 5), at(8, 10))]).items == ((32, 36),)
    # 8:00-8:10, 9:05-9:20 and 9:20-9:50: a quarter from 9:15 needs the last two joined
    three = [(at(8), at(8, 10)), (at(9, 5), at(9, 20)), (at(9, 20), at(9, 50))]
    assert g.inward(three).items == ((37, 39),)


def test_days_follow_each_other_where_one_begins_within_a_tick():
    """On Lord Howe Island 4 April 2027 lasts 24.5 h, so the 5th begins at 48.5 h."""
    howe = ZoneInfo("Australia/Lord_Howe")
    got = Grid.from_day(date(2027, 4, 3), days=3, tick_minutes=60, zone=howe)
    assert [d[1:] for d in got.days()] == [(0, 24), (24, 48), (48, 72)]
