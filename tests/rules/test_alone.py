"""A coat alone in the room: from when its limits hold, and how far it is followed.

Ticks are hours of a week at 20 °C and 50 %, but where a test says otherwise; the room
is so large that the coat's own water doesn't count.

Tests of planner/air/alone.py.
"""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from planner.air.alone import LONGEST_H, Alone, Awaited, Coat, alone
from planner.nouns.product import Air, HardeningWay
from planner.trade.data.materials import product

PAINT = product("flat-colour")
CLEAR = next(
    s for s in product("solvent-primer").stages if s.way is HardeningWay.CLEARS
)
RECOAT = next(s for s in PAINT.stages if s.stage == "recoat")
WEEK = 7 * 24


def air_of(count: int = WEEK, **more: Any) -> Air:
    given = {
        "air_c": np.full(count, 20.0),
        "humidity_pct": np.full(count, 50.0),
        "changes_per_h": np.full(count, 0.5),
    }
    return Air(tick_minutes=60, **{**given, **more})


def cold_at(tick: int) -> Air:
    air_c = np.full(WEEK, 20.0)
    air_c[tick] = 2.0
    return air_of(air_c=air_c)


def lone(
    ends: list[int],
    laid: list[int],
    air: Air,
    *,
    water_kg: float = 1.0,
    room_kg: float = 1e9,
    times: float = 1.0,
    whole: list[int] | None = None,
) -> Alone:
    recoat = Awaited(name="recoat", stage=RECOAT, margin_frac=0.0, times=times)
    return alone(
        Coat(
            drying=RECOAT,
            water_kg=water_kg,
            thickness_mm=None,
            awaited=(recoat,),
            dry=recoat,
            limits=PAINT.limits,
        ),
        np.array(ends),
        np.array(laid),
        np.array(whole or laid),
        air=air,
        room_kg=np.full(len(air), room_kg),
    )


@pytest.mark.parametrize(
    ("cold", "broken"),
    [
        (19, [False, False]),
        (20, [False, True]),  # the longer one's first hour
        (25, [False, True]),
        (26, [True, True]),
        (30, [True, True]),
    ],
)
def test_limits_hold_from_the_first_hour_that_each_is_laid_in(cold, broken):
    """Both end at 30; one is laid in four hours, the other in ten."""
    assert lone([30, 30], [4, 10], cold_at(cold)).broken.tolist() == broken
    # what was laid before a pause is left out
    paused = lone([30, 30], [4, 10], cold_at(cold), whole=[10, 12])
    assert paused.broken.tolist() == broken


def test_limits_hold_until_it_is_dry_and_no_longer():
    over = int(lone([30], [4], air_of()).over["recoat"][0])
    assert 31 < over < 60
    assert lone([30], [4], cold_at(over - 1)).broken[0]
    assert not lone([30], [4], cold_at(over)).broken[0]


def test_the_water_of_what_is_laid_first_counts_while_the_rest_is_laid():
    """In a small room 20 kg of water are too much while the air is at 70 %, not after."""
    pct = np.full(WEEK, 10.0)
    pct[26:30] = 70.0
    damp = air_of(humidity_pct=pct)
    assert not lone([30], [4], damp).broken[0]
    assert lone([30], [4], damp, water_kg=20.0, room_kg=300.0).broken[0]
    dry = air_of(humidity_pct=np.full(WEEK, 10.0))
    assert not lone([30], [4], dry, water_kg=20.0, room_kg=300.0).broken[0]


def test_what_isnt_dry_within_the_days_looked_at_is_later_and_broken():
    air = air_of()
    found = lone([WEEK - 1, 30], [1, 4], air)
    assert found.over["recoat"][0] == WEEK + 1
    assert found.broken.tolist() == [True, False]


def test_a_coat_is_followed_for_two_weeks_and_what_becomes_dry_isnt_touched():
    """Nothing dries in the first 400 hours, which are saturated."""
    pct = np.full(500, 50.0)
    pct[:400] = 100.0
    long = air_of(500, humidity_pct=pct)
    over = int(lone([420], [1], long).over["recoat"][0])
    assert over > 421
    just = air_of(over, humidity_pct=pct[:over])
    found = lone([10, 420, over - 1], [1, 1, 1], just).over["recoat"]
    assert found.tolist() == [10 + LONGEST_H - 1, over, over + 1]


def test_each_stage_waited_for_is_followed_by_its_own_length():
    air = air_of()
    coat = Coat(
        drying=RECOAT,
        water_kg=1.0,
        thickness_mm=None,
        awaited=(
            Awaited(name="once", stage=RECOAT, margin_frac=0.0),
            Awaited(name="thrice", stage=RECOAT, margin_frac=0.0, times=3.0),
        ),
        dry=None,
        limits=PAINT.limits,
    )
    ends, one = np.array([30]), np.array([1])
    found = alone(coat, ends, one, one, air=air, room_kg=np.full(WEEK, 1e9)).over
    once, thrice = (int(found[name][0]) - 30 for name in ("once", "thrice"))
    assert once > 1
    assert thrice in range(3 * once - 2, 3 * once + 1)  # whole hours, rounded up


def clear_at(air: Air) -> int:
    """Return when fumes are out of the room of a coat that is finished at 30."""
    clear = Awaited(name="clear", stage=replace(CLEAR, after=None), margin_frac=0.0)
    coat = Coat(
        drying=RECOAT,
        water_kg=1.0,
        thickness_mm=None,
        awaited=(clear,),
        dry=None,
        limits=PAINT.limits,
    )
    ends, one = np.array([30]), np.array([1])
    found = alone(coat, ends, one, one, air=air, room_kg=np.full(WEEK, 1e9))
    return int(found.over["clear"][0])


def test_fumes_clear_by_the_air_changes_of_the_room():
    """Twice the air changes, half the time; without them it isn't known."""
    still, twice = (
        clear_at(air_of(changes_per_h=np.full(WEEK, n))) for n in (0.5, 1.0)
    )
    assert 2 < twice - 30 < still - 30 < WEEK
