"""What holds a humidity is worked out from the day with most water to lose.

Tests of planner/air/advice.py.
"""

from dataclasses import replace
from datetime import UTC, datetime, time
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from planner.air.advice import air_changes_to_hold, hold
from planner.air.balance import room_air
from planner.air.wet_work import Laid, coat_water_kg, drying_stage, given_off_kg
from planner.hours.grid import Grid
from planner.nouns.air import Climate, Dehumidifier, Thermostat, Ventilation
from planner.nouns.product import Air
from planner.trade.data.materials import product

DAYS = 10
TICKS = DAYS * 96


def grid():
    return Grid(
        start=datetime(2027, 2, 8, 4, tzinfo=UTC), tick_minutes=15, ticks=TICKS,
        zone=ZoneInfo("America/Halifax"),
    )  # fmt: skip


def outside(air_c, rh):
    return Air(
        tick_minutes=15,
        air_c=np.full(TICKS, float(air_c)),
        humidity_pct=np.full(TICKS, rh),
    )


HEATED = Climate(
    volume_m3=600.0, leak_per_h=0.2, thermostats=(Thermostat(heat_to_c=20.0),)
)
STEADY = np.full(TICKS, 1.0 / 4)  # 1 kg an hour


def test_air_changes_are_the_steady_state_of_the_balance():
    # 1 kg/h into 700 kg of air, 2 g/kg drier outside: 1 / (700 * 0.002)
    changes = air_changes_to_hold(
        gain_kg_h=1.0, air_kg=700.0, inside=0.007, outside=0.005
    )
    assert changes == pytest.approx(1 / 1.4)
    assert (
        air_changes_to_hold(gain_kg_h=1.0, air_kg=700.0, inside=0.005, outside=0.005)
        is None
    )


def test_a_steady_gain_is_held_by_either():
    dry_winter = outside(-5.0, 80.0)
    before = room_air(dry_winter, HEATED, grid(), given_off_kg=STEADY).air
    assert before.humidity_pct[-1] > 60
    said = hold(dry_winter, HEATED, grid(), given_off_kg=STEADY, target_rh_pct=50.0)
    assert said.now_over_h > 200
    assert said.air_changes_per_h is not None
    assert said.rated_l_per_day is not None
    assert said.aired_over_h == 0.0
    assert said.dried_over_h == 0.0
    aired = replace(
        HEATED, ventilation=(Ventilation(air_changes_per_h=said.air_changes_per_h),)
    )
    room = room_air(dry_winter, aired, grid(), given_off_kg=STEADY).air
    assert room.humidity_pct[-1] == pytest.approx(50.0, abs=0.05)
    # Two thirds of the machine don't hold it: the number isn't just large.
    small = Dehumidifier(rated_l_per_day=said.rated_l_per_day * 2 / 3, set_rh_pct=50.0)
    room = room_air(
        dry_winter, replace(HEATED, dehumidifiers=(small,)), grid(), given_off_kg=STEADY
    ).air
    assert room.humidity_pct[-1] > 51.0


def test_damp_outside_air_is_no_help_but_a_machine_is():
    # 18 °C and 95 % holds more water than 20 °C and 50 %.
    muggy = outside(18.0, 95.0)
    said = hold(muggy, HEATED, grid(), given_off_kg=STEADY, target_rh_pct=50.0)
    assert said.air_changes_per_h is None
    assert said.rated_l_per_day is not None
    assert said.dried_over_h is not None
    assert said.dried_over_h < 8  # until it has caught up with the air of the start


def test_the_worst_day_is_the_day_of_the_coat():
    compound = product("topping")
    air = room_air(outside(5.0, 85.0), HEATED, grid()).air
    stage = drying_stage(compound)
    assert stage is not None
    coat = Laid(
        stage=stage,
        water_kg=coat_water_kg(compound, 40.0),
        spans=((500, 520),),
    )
    wet = given_off_kg([coat], air)
    assert wet.sum() == pytest.approx(40.0 * 1.5875 * 0.325)
    said = hold(
        outside(5.0, 85.0), HEATED, grid(), given_off_kg=wet, target_rh_pct=45.0
    )
    day = slice(said.worst_day_starts, said.worst_day_starts + 96)
    assert wet[day].sum() == pytest.approx(said.worst_day_l)
    assert said.worst_day_l == pytest.approx(wet.sum())  # all of it, in under a day


def test_ventilation_keeps_to_its_hours():
    by_day = replace(
        HEATED,
        ventilation=(Ventilation(air_changes_per_h=5.0, hours=((time(8), time(18)),)),),
    )
    room = room_air(outside(0.0, 80.0), by_day, grid(), given_off_kg=STEADY).air
    # 08:00 and 18:00 at the site are ticks 32 and 72 of each day
    last_day = room.humidity_pct[-96:]
    assert last_day[71] < last_day[31] - 10


def test_a_compressor_does_nothing_in_the_cold_and_an_adsorber_does():
    cold = Climate(volume_m3=600.0, leak_per_h=0.0, lag_h=0.0)
    start = outside(4.0, 90.0)
    for compressor, fell in ((True, False), (False, True)):
        machine = Dehumidifier(rated_l_per_day=20, set_rh_pct=50, compressor=compressor)
        room = room_air(start, replace(cold, dehumidifiers=(machine,)), grid()).air
        assert (room.humidity_pct[-1] < 60) == fell


def test_a_room_without_air_in_it_is_refused():
    with pytest.raises(ValueError, match="volume_m3"):
        Climate(volume_m3=0.0)
    with pytest.raises(ValueError, match="air_changes_per_h"):
        Climate(volume_m3=10.0, ventilation=(Ventilation(air_changes_per_h=-1.0),))
