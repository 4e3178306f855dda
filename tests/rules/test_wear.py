"""Days of use and what lay on the floor: how worn a colour is, and when it is due.

That a colour lasts so many days, and what overshoes and plastic spare it, is *common
practice, no source*; the figures here are made up.

Tests of planner/living/wear.py, planner/nouns/living/wear.py.
"""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from planner.files.logbook.lines import event_of, line_of, with_id
from planner.living.laid_over import effective
from planner.living.wear import share, wear_of
from planner.nouns.calendar import Busy
from planner.nouns.happened import Happening, Logbook, OnFloor, What
from planner.nouns.job import Repaint

ZONE = ZoneInfo("Europe/Dublin")
REPAINT = Repaint(
    area="floor", coats=1, lasts_days=4.0, overshoes_frac=0.5, plastic_frac=0.25
)
BOTH = (OnFloor.OVERSHOES, OnFloor.PLASTIC)


def at(day: int, hour: int = 0) -> datetime:
    """A moment of April 2027 at the site."""
    return datetime(2027, 4, day, hour, tzinfo=ZONE)


def used(first: int, until: int, *on_floor: OnFloor) -> Happening:
    """Use from the begin of a day to the begin of another one."""
    return with_id(
        Happening(
            id="",
            what=What.USED,
            at=at(until),
            logged=at(until),
            start=at(first),
            until=at(until),
            on_floor=on_floor,
            words="a shoot",
        )
    )


def painted(day: int) -> Happening:
    moment = at(day, 16)
    return with_id(Happening(id="", what=What.PAINTED, at=moment, logged=moment))


def booking(first: int, until: int) -> Busy:
    return Busy(
        start=at(first).astimezone(UTC),
        end=at(until).astimezone(UTC),
        kind="busy",
        title="x",
        file="b.ics",
        uid=str(first),
    )


def wear(*events: Happening, bookings: tuple[Busy, ...] = ()):
    return wear_of(Logbook(events=events), bookings, REPAINT, ZONE)


def test_days_of_use_add_up_by_what_lay_on_the_floor():
    """3 days bare, 2 with overshoes, 1 with plastic: 3 + 2/2 + 1/4 = 4.25 days."""
    found = wear(
        used(5, 8), used(12, 14, OnFloor.OVERSHOES), used(20, 21, OnFloor.PLASTIC)
    )
    assert found.by(date(2027, 4, 30)) == pytest.approx(4.25)
    assert found.by(date(2027, 4, 12)) == pytest.approx(3.0)  # before that day begins
    assert found.by(date(2027, 4, 13)) == pytest.approx(3.5)
    assert found.due == date(2027, 4, 13)  # 3 + 1/2 + 1/2 = 4 of 4


def test_of_overshoes_and_plastic_the_better_counts():
    assert share((), REPAINT) == 1.0
    assert share(BOTH, REPAINT) == 0.25


def test_of_two_uses_on_a_day_the_worse_counts_and_the_day_once():
    found = wear(used(5, 7, *BOTH), used(6, 8))
    assert [d.share_frac for d in found.days] == [0.25, 1.0, 1.0]


def test_painting_begins_anew_with_the_next_day():
    found = wear(used(5, 9), painted(8), used(10, 11))
    assert found.painted == date(2027, 4, 8)
    assert [d.day for d in found.days] == [date(2027, 4, 10)]
    assert found.due is None


def test_a_booking_counts_unless_its_days_were_logged():
    found = wear(used(5, 6, OnFloor.PLASTIC), bookings=(booking(5, 8),))
    assert [(d.day.day, d.share_frac, d.is_logged) for d in found.days] == [
        (5, 0.25, True),
        (6, 1.0, False),
        (7, 1.0, False),
    ]


def test_a_booking_until_midnight_doesnt_touch_the_next_day():
    found = wear(bookings=(booking(5, 6),))
    assert [d.day.day for d in found.days] == [5]


def test_a_booking_over_midnight_touches_both_days():
    late = replace(
        booking(5, 6), start=at(5, 22).astimezone(UTC), end=at(6, 2).astimezone(UTC)
    )
    assert [d.day.day for d in wear(bookings=(late,)).days] == [5, 6]


def test_what_was_taken_back_doesnt_count():
    event = used(5, 8)
    undo = with_id(
        Happening(
            id="",
            what=What.UNDO,
            at=at(9),
            logged=at(9),
            about=event.id,
        )
    )
    assert wear(event, undo).days == ()


def test_use_is_read_back_from_its_line_and_moves_no_plan():
    event = used(5, 8, *BOTH)
    assert event_of(line_of(event)) == event
    assert "| floor overshoes, plastic |" in line_of(event)
    assert effective(Logbook(events=(event, painted(9)))) == ()


def test_nothing_but_use_has_something_on_the_floor():
    with pytest.raises(ValueError, match="nothing lies on the floor for it"):
        replace(painted(5), on_floor=BOTH)


def test_wear_never_falls_with_more_use():
    found = wear(*(used(d, d + 1, *BOTH[: d % 3]) for d in range(1, 25)))
    by = [found.by(date(2027, 4, 1) + timedelta(days=n)) for n in range(26)]
    assert by == sorted(by)
    assert found.due is not None
    assert found.by(found.due + timedelta(days=1)) >= REPAINT.lasts_days
    assert found.by(found.due) < REPAINT.lasts_days
