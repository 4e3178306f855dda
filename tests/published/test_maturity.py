"""Maturity of cement by ASTM C1074, against worked examples.

Nurse-Saul and equivalent age as on civinnovate.com and construction.rpxtech.com; the
form of Arrhenius after Carino (1984), *Cement, Concrete and Aggregates* 6(2) 61-73.

Tests of planner/air/laws.py, planner/air/waits.py.
"""

import numpy as np
import pytest

from planner.air.laws import arrhenius_age, nurse_saul
from planner.air.waits import progress, ready_ticks
from planner.nouns.product import Air, Hardening, HardeningWay, Source


def stage(law, **numbers):
    return Hardening(
        stage="load",
        way=HardeningWay.CURES,
        law=law,
        numbers=tuple(numbers.items()),
        error_frac=0.1,
        source=Source(text="test", tag="computed"),
    )


def hours_of(*parts):
    """Return hourly air: hours at °C, one part after another."""
    air_c = np.concatenate([np.full(hours, float(c)) for hours, c in parts])
    return Air(tick_minutes=60, air_c=air_c, humidity_pct=np.full(air_c.size, 50.0))


@pytest.mark.parametrize(
    ("days", "air_c", "datum_c", "maturity_c_h"),
    [
        (28, 15, -11, 728 * 24),  # 728 °C·d, civinnovate.com
        (28, 18, -11, 19_488),  # textbooks round to about 19 800
        (7, 20, -10, 5_040),
    ],
)
def test_nurse_saul_needs_the_days_of_the_worked_examples(
    days, air_c, datum_c, maturity_c_h
):
    hours = nurse_saul(
        np.array([float(air_c)]),
        np.array([50.0]),
        maturity_c_h=maturity_c_h,
        datum_c=datum_c,
    )
    assert float(hours[0]) == pytest.approx(days * 24)


# Equivalent age of 24 h at each temperature, Q = 5000 K. [h]
AGES = {
    20: {5: 9.566, 10: 13.140, 15: 17.852, 20: 24.0, 25: 31.947, 30: 42.127},
    23: {5: 8.048, 10: 11.055, 15: 15.019, 20: 20.192, 25: 26.878, 30: 35.442},
}


@pytest.mark.parametrize("at_c", AGES)
def test_a_day_ages_the_bed_by_its_equivalent_age(at_c):
    for air_c, age_h in AGES[at_c].items():
        an_hour = arrhenius_age(
            np.array([float(air_c)]), np.array([50.0]), age_h=1.0, at_c=at_c, q_k=5000
        )
        assert 24.0 / float(an_hour[0]) == pytest.approx(age_h, abs=0.00051), air_c


# 12 h at 10 °C, 12 h at 15 °C, 24 h at 20 °C, 24 h at 8 °C.
CHANGING = ((12, 10), (12, 15), (24, 20), (24, 8))


@pytest.mark.parametrize(("datum_c", "maturity_c_h"), [(0, 972), (-10, 1692)])
def test_maturity_adds_up_over_changing_air(datum_c, maturity_c_h):
    law = stage("nurse_saul", maturity_c_h=maturity_c_h, datum_c=datum_c)
    assert progress(law, hours_of(*CHANGING))[-1] == pytest.approx(1.0)


def test_equivalent_age_adds_up_over_changing_air():
    law = stage("arrhenius_age", age_h=51.085, at_c=20, q_k=5000)
    done = progress(law, hours_of(*CHANGING))
    assert done[-1] == pytest.approx(1.0, rel=2e-5)


def test_the_bed_is_ready_in_the_tick_in_which_its_age_is_reached():
    # 972 °C·h is reached exactly at the end of hour 72; 970 within it.
    for maturity_c_h in (972, 970):
        law = stage("nurse_saul", maturity_c_h=maturity_c_h, datum_c=0)
        assert ready_ticks(law, hours_of(*CHANGING))[0] == 72
    law = stage("nurse_saul", maturity_c_h=973, datum_c=0)
    assert ready_ticks(law, hours_of(*CHANGING))[0] == 73  # N + 1: not within it


def test_nothing_is_gained_below_the_datum():
    law = stage("nurse_saul", maturity_c_h=100, datum_c=0)
    air = hours_of((5, 10), (10, -5), (5, 10))  # 50, then nothing, then 50
    assert ready_ticks(law, air)[0] == 20
