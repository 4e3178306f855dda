"""Moist air against ASHRAE's printed values and against CoolProp.

ASHRAE values: *Handbook - Fundamentals* (2017), chapter 1, tables 2 and 3 and
example 1, as quoted in the psychrolib test suite (tests/test_psychrolib_si.py).
CoolProp's humid air (RP-1485, real gas) is another authority with other equations.

Tests of planner/air/moist_air.py.
"""

from typing import Any

import numpy as np
import pytest

from planner.air.moist_air import (
    R_WATER_J_KG_K,
    ZERO_C_K,
    dew_point_c,
    dry_air_kg_m3,
    humidity_pct,
    humidity_ratio,
    ratio_vapour_pa,
    saturation_over_water_pa,
    saturation_pa,
    vapour_pa,
    weather_humidity_pct,
    weather_vapour_pa,
)

PA_PER_PSI = 6894.757  # exact to the digits, NIST SP 811


def humid_air(wanted: str, *state: Any) -> float:
    """Return a property of humid air as CoolProp has it; it takes two seconds to load."""
    from CoolProp.CoolProp import HAPropsSI

    return float(HAPropsSI(wanted, *state))


@pytest.mark.parametrize(
    ("air_c", "pressure_pa"), [(-5, 401.74), (5, 872.6), (25, 3169.7), (50, 12351.3)]
)
def test_saturation_as_ashrae_table_3_prints_it(air_c, pressure_pa):
    assert float(saturation_pa(air_c)) == pytest.approx(pressure_pa, rel=3e-4)


@pytest.mark.parametrize(
    ("air_f", "pressure_psi"), [(41, 0.12656), (77, 0.45973), (122, 1.79140)]
)
def test_saturation_as_ashrae_table_3_prints_it_in_inch_pounds(air_f, pressure_psi):
    pressure = float(saturation_pa((air_f - 32) / 1.8)) / PA_PER_PSI
    assert pressure == pytest.approx(pressure_psi, rel=3e-4)


@pytest.mark.parametrize(
    ("air_c", "ratio", "tolerance"),
    [(5, 0.005425, 0.005), (25, 0.020173, 0.005), (50, 0.086863, 0.01)],
)
def test_saturated_water_content_as_ashrae_table_2_prints_it(air_c, ratio, tolerance):
    # Table 2 is of real air; the enhancement is left out here.
    assert float(humidity_ratio(saturation_pa(air_c))) == pytest.approx(
        ratio, rel=tolerance
    )


def test_ashrae_example_1_from_its_water_content():
    # 40 °C dry bulb, W = 0.0065: dew point 7 °C, RH 14 % (printed to those digits).
    vapour = ratio_vapour_pa(0.0065)
    humidity = float(humidity_pct(40.0, vapour))
    assert humidity == pytest.approx(14.0, abs=0.5)
    assert float(dew_point_c(40.0, humidity)) == pytest.approx(7.0, abs=0.7)


# Worked out with psychrolib's own iteration, to 0.01 °C.
@pytest.mark.parametrize(
    ("air_c", "half", "damp"),
    [
        (10, 0.06, 6.71),
        (15, 4.67, 11.58),
        (20, 9.27, 16.45),
        (23, 12.03, 19.36),
        (25, 13.86, 21.31),
        (30, 18.45, 26.17),
    ],
)
def test_dew_points_at_50_and_80_per_cent(air_c, half, damp):
    assert float(dew_point_c(air_c, 50)) == pytest.approx(half, abs=0.006)
    assert float(dew_point_c(air_c, 80)) == pytest.approx(damp, abs=0.006)


@pytest.mark.parametrize(
    ("rh", "dew_f"),
    [(30, 36), (40, 43), (50, 50), (60, 55), (65, 57), (70, 60), (80, 63), (85, 65),
     (90, 67)],
)  # fmt: skip
def test_dew_points_of_the_wall_chart_at_70_f(rh, dew_f):
    # handypdf.com dew-point chart, whole °F, up to 1.6 °F low: 2 °F allowed.
    here = float(dew_point_c((70 - 32) / 1.8, rh)) * 1.8 + 32
    assert here == pytest.approx(dew_f, abs=2.0)


@pytest.mark.parametrize(
    ("rh", "dew_c"), [(40, 5), (50, 9), (60, 12), (70, 14), (80, 16), (90, 18)]
)
def test_dew_points_of_the_climate_table_at_20_c(rh, dew_c):
    # scribd 39380596, whole °C; its 5 °C at 40 % is a degree low, as the chart above
    # is: the same 2 °F allowed.
    assert float(dew_point_c(20, rh)) == pytest.approx(dew_c, abs=2.0 / 1.8)


@pytest.mark.parametrize(
    ("air_c", "g_m3"), [(10, 9.4), (15, 12.8), (20, 17.3), (25, 23.0), (30, 30.4)]
)
def test_water_in_a_cubic_metre_of_saturated_air(air_c, g_m3):
    # scribd 39380596, to 0.1 g
    per_m3 = vapour_pa(air_c, 100) / (R_WATER_J_KG_K * (air_c + ZERO_C_K)) * 1000.0
    assert float(per_m3) == pytest.approx(g_m3, abs=0.06)


def test_30_c_and_55_per_cent_have_a_dew_point_of_20_c():
    # coatings glossary, whole °C
    assert float(dew_point_c(30, 55)) == pytest.approx(20, abs=0.5)


@pytest.mark.parametrize("air_c", [0.5, 10, 20, 30, 45, 60])
@pytest.mark.parametrize("rh", [20, 50, 80])
def test_dew_points_by_magnus_agree_within_its_accuracy(air_c, rh):
    # sciencealpha.com: a = 17.27, b = 237.7 °C, ± 0.4 °C over 0 to 60 °C
    if float(dew_point_c(air_c, rh)) < 0:  # Magnus is over water, ASHRAE over ice
        return
    gamma = np.log(rh / 100) + 17.27 * air_c / (237.7 + air_c)
    assert float(dew_point_c(air_c, rh)) == pytest.approx(
        237.7 * gamma / (17.27 - gamma), abs=0.4
    )


@pytest.mark.parametrize(
    ("air_c", "rh", "to_c", "then"),
    [(15, 70, 20, 51.0), (15, 70, 25, 37.7), (10, 80, 20, 42.0), (20, 50, 15, 68.6)],
)
def test_warmed_or_cooled_air_keeps_its_water(air_c, rh, to_c, then):
    # Worked out with psychrolib.
    warmed_pct = humidity_pct(to_c, vapour_pa(air_c, rh))
    assert float(warmed_pct) == pytest.approx(then, abs=0.06)


def judged():
    """Return the worst differences from CoolProp over a grid of room air."""
    worst = {"water": 0.0, "dew": 0.0, "mass": 0.0}
    for air_c in np.arange(0.5, 45.0, 2.0):
        for rh in (2, 5, 20, 35, 50, 65, 80, 95, 99):
            state = ("T", air_c + 273.15, "P", 101325.0, "R", rh / 100)
            pressure = vapour_pa(air_c, rh)
            water = float(humidity_ratio(pressure)) / humid_air("W", *state) - 1.0
            mass = (
                float(dry_air_kg_m3(air_c, pressure)) * humid_air("Vda", *state) - 1.0
            )
            dew = float(dew_point_c(air_c, rh)) - (humid_air("D", *state) - 273.15)
            for name, off in (("water", water), ("dew", dew), ("mass", mass)):
                worst[name] = max(worst[name], abs(off))
    return worst


def test_coolprop_agrees_on_water_dew_point_and_mass():
    # CoolProp's enhancement of saturation by pressure (0.4 to 0.5 %) is the whole
    # difference in water; the ideal-gas equations of ASHRAE leave it out.
    worst = judged()
    assert worst["water"] < 0.006
    assert worst["dew"] < 0.02  # °C
    assert worst["mass"] < 0.001


def test_coolprop_agrees_on_heating_at_constant_moisture():
    for air_c, rh, to_c in ((5, 90, 20), (-5, 80, 18), (15, 70, 25)):
        water = humid_air("W", "T", air_c + 273.15, "P", 101325, "R", rh / 100)
        then = humid_air("R", "T", to_c + 273.15, "P", 101325, "W", water) * 100
        warmed_pct = humidity_pct(to_c, vapour_pa(air_c, rh))
        assert float(warmed_pct) == pytest.approx(then, abs=0.1)


# Over water, supercooled: Smithsonian Meteorological Tables, 6th ed., table 94
# (hPa), from memory; WMO's short formula claims 0.6 %, and is 0.45 % over at -20 °C.
@pytest.mark.parametrize(
    ("air_c", "hpa"), [(-20, 1.2540), (-10, 2.8627), (-5, 4.2148), (0, 6.1078)]
)
def test_saturation_over_supercooled_water(air_c, hpa):
    assert float(saturation_over_water_pa(air_c)) / 100 == pytest.approx(hpa, rel=6e-3)


def test_weather_and_room_mean_the_same_above_freezing_and_not_below():
    assert float(weather_vapour_pa(12, 70)) == pytest.approx(float(vapour_pa(12, 70)))
    # -10 °C: 2.8627 / 2.5990 hPa over water and ice (Smithsonian, from memory)
    ratio = float(weather_vapour_pa(-10, 70)) / float(vapour_pa(-10, 70))
    assert ratio == pytest.approx(1.10, abs=0.005)


def test_weather_humidity_from_the_dew_point_is_whole_at_the_dew_point():
    assert float(weather_humidity_pct(7.0, 7.0)) == pytest.approx(100.0)
    assert float(weather_humidity_pct(30.0, 20.0)) == pytest.approx(55.0, abs=0.5)


def test_air_that_no_room_has_is_refused():
    with pytest.raises(ValueError, match="air_c"):
        saturation_pa(200.0)
