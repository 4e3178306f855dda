"""The judge's own laws of air and of hardening, by numbers worked by hand.

Nothing is planned here: each law is asked alone. Moist air is held against psychrolib,
which follows the ASHRAE Handbook - Fundamentals (2017), chapter 1.

Tests of planner/judge/case.py, planner/judge/physics/air.py,
planner/judge/physics/balance.py, planner/judge/physics/hardening.py,
planner/judge/physics/vapour.py.
"""

import math
from datetime import UTC, datetime, time, timedelta
from types import SimpleNamespace
from typing import cast

import numpy as np
import psychrolib
import pytest

from planner.air.laws import LAWS
from planner.judge.case import JudgedPlan, joined, number, runs_of
from planner.judge.physics import air, balance
from planner.judge.physics.hardening import COVERED, speed, table_h
from planner.judge.physics.vapour import (
    ATMOSPHERE_PA,
    dry_air_kg_m3,
    of_ratio_pa,
    over_ice_pa,
    over_water_pa,
    ratio,
    vapour_pa,
)
from planner.nouns.air import AirReading, DayNight
from planner.nouns.plan import Plan, PlannedTask
from planner.nouns.product import (
    AirLimits,
    Hardening,
    HardeningWay,
    Latest,
    Product,
    Source,
)
from planner.usecases.read import read_inputs
from tests.support.judge import SMALL

DAY = 96  # ticks of a quarter of an hour
WEEK = 7 * DAY
NONE = Source(text="made up", tag="assumption")


@pytest.fixture(scope="module")
def case(tmp_path_factory) -> JudgedPlan:
    """A week from Monday 5 April 2027 in Tallinn, without a task."""
    path = tmp_path_factory.mktemp("job") / "job.toml"
    path.write_text(SMALL, "utf-8")
    empty = SimpleNamespace(grid_ticks=WEEK, tasks=(), waits=())
    return JudgedPlan(read_inputs(path), cast(Plan, empty))


def one(value: float) -> np.ndarray:
    return np.array([value])


def per_h(law, numbers, c=20.0, rh=50.0, changes=0.3, thick_mm=None) -> float:
    stage = Hardening(
        stage="dry",
        way=HardeningWay.DRIES,
        law=law,
        numbers=tuple(numbers.items()),
        error_frac=0.0,
        source=NONE,
    )
    return float(speed(stage, one(c), one(rh), one(changes), thick_mm)[0])


# --------------------------------------------------------------------- moist air


@pytest.mark.parametrize("celsius", [-20.0, -5.0, 0.5, 10.0, 20.0, 25.0, 38.0])
def test_saturated_air_is_that_of_the_handbooks_library(celsius):
    psychrolib.SetUnitSystem(psychrolib.SI)
    full = psychrolib.GetSatVapPres(celsius)
    assert float(over_ice_pa(celsius)) == pytest.approx(full, rel=1e-4)
    assert float(vapour_pa(celsius, 40.0)) == pytest.approx(0.4 * full, rel=1e-4)
    water = psychrolib.GetHumRatioFromVapPres(full, ATMOSPHERE_PA)
    assert float(ratio(full)) == pytest.approx(water, rel=1e-4)
    assert float(of_ratio_pa(water)) == pytest.approx(full, rel=1e-4)
    # a cubic metre of moist air less its water
    moist = psychrolib.GetMoistAirDensity(celsius, water, ATMOSPHERE_PA)
    dry = float(dry_air_kg_m3(celsius, full))
    assert dry == pytest.approx(moist / (1.0 + water), rel=1e-3)


def test_below_freezing_more_vapour_stands_over_water_than_over_ice():
    # 286 Pa over supercooled water of -10 °C, 260 Pa over ice (WMO-No. 8, from memory)
    assert float(over_water_pa(-10.0)) == pytest.approx(286.5, rel=3e-3)
    assert float(over_ice_pa(-10.0)) == pytest.approx(259.9, rel=1e-3)
    assert float(over_water_pa(12.0)) == float(over_ice_pa(12.0))


# --------------------------------------------------------------------- hardening


def f(fahrenheit: float) -> float:
    return (fahrenheit - 32.0) / 1.8


def test_the_drying_table_is_met_at_its_cells_and_between_them():
    # cells of planner/air/drying_table.csv; between them straight in ln(hours)
    for c, rh, hours in (
        (f(70), 0.0, 9.0),
        (f(70), 50.0, 17.0),
        (f(32), 10.0, 42.0),
        (f(65), 0.0, math.sqrt(13 * 9)),
        (f(32), 100 * (1 - math.sqrt(0.9)), math.sqrt(38 * 42)),
    ):
        assert float(table_h(one(c), one(rh))[0]) == pytest.approx(hours, rel=1e-6)


@pytest.mark.parametrize(
    ("law", "numbers", "c", "rh", "hours"),
    [
        ("fixed", {"hours_h": 6.0}, 12.0, 90.0, 6.0),
        ("set_class", {"class_min": 90.0}, f(75), 50.0, 1.5),
        ("set_class", {"class_min": 90.0}, f(55), 50.0, 1.5 * 1.15),
        ("set_class", {"class_min": 90.0, "at_c": f(55)}, f(75), 50.0, 1.5 / 1.15),
        ("thermal_doubling", {"hours_h": 8.0, "at_c": 20.0, "doubling_k": 10.0}, 10.0, 50.0, 16.0),
        ("thermal_doubling", {"hours_h": 8.0, "at_c": 20.0, "doubling_k": 10.0}, 30.0, 50.0, 4.0),
        # (20 + 10) degree hours an hour, of 600
        ("nurse_saul", {"datum_c": -10.0, "maturity_c_h": 600.0}, 20.0, 50.0, 20.0),
        ("nurse_saul", {"datum_c": -10.0, "maturity_c_h": 600.0}, 10.0, 50.0, 30.0),
        # exp(-5000 (1/283.15 - 1/293.15)) = 0.5475
        ("arrhenius_age", {"q_k": 5000.0, "at_c": 20.0, "age_h": 10.0}, 10.0, 50.0, 10 / 0.5475),
        ("arrhenius_age", {"q_k": 5000.0, "at_c": 20.0, "age_h": 10.0}, 20.0, 50.0, 10.0),
        ("moisture_cure", {"hours_h": 24.0, "at_c": 20.0, "at_rh_pct": 40.0}, 20.0, 60.0, 16.0),
        # never more than twice as fast, nor less than a quarter
        ("moisture_cure", {"hours_h": 24.0, "at_c": 20.0, "at_rh_pct": 40.0}, 20.0, 90.0, 12.0),
        ("moisture_cure", {"hours_h": 24.0, "at_c": 20.0, "at_rh_pct": 40.0}, 20.0, 5.0, 96.0),
        ("water_film", {"hours_h": 4.0}, 25.0, 50.0, 4.0),
        # (1 - 0.75) / (1 - 0.5) = a half, to the power of 0.90011: 0.5359
        ("water_film", {"hours_h": 4.0}, 25.0, 75.0, 4.0 / 0.5359),
        ("water_film", {"hours_h": 4.0, "at_rh_pct": 75.0}, 25.0, 50.0, 4.0 * 0.5359),
    ],
)  # fmt: skip
def test_each_law_by_hand(law, numbers, c, rh, hours):
    assert 1.0 / per_h(law, numbers, c, rh) == pytest.approx(hours, rel=1e-3)


def test_a_films_cure_is_slowed_by_cold_and_hastened_by_nothing():
    numbers = {"water_h": 4.0, "hours_h": 100.0, "at_c": 25.0, "doubling_k": 10.0}
    # 96 h are left after the water; twice that in 10 °C less; no less in warmth, drought
    for c, rh, hours in (
        (25.0, 50.0, 96.0),
        (15.0, 50.0, 192.0),
        (35.0, 50.0, 96.0),
        (25.0, 0.0, 96.0),
    ):
        assert 1 / per_h("film_cure", numbers, c, rh) == pytest.approx(hours)


def test_fumes_go_by_changes_of_air_until_so_much_is_left():
    # exp(-3) is left after three changes: 10 h at 0.3 an hour
    left = {"left_frac": math.exp(-3.0)}
    assert 1 / per_h("airing", left, changes=0.3) == pytest.approx(10.0)
    assert 1 / per_h("airing", left, changes=1.5) == pytest.approx(2.0)


def test_a_coat_of_twice_the_thickness_takes_twice_as_long():
    numbers = {"hours_h": 6.0, "layer_mm": 2.0}
    for thick_mm, hours in ((None, 6.0), (2.0, 6.0), (4.0, 12.0), (1.0, 3.0)):
        assert 1 / per_h("fixed", numbers, thick_mm=thick_mm) == pytest.approx(hours)


def test_in_air_that_no_source_covers_a_coat_stands_still_and_a_window_runs_on():
    numbers = {"class_min": 60.0}
    assert per_h("set_class", numbers, f(45)) > 0.0
    assert per_h("set_class", numbers, f(45) - 0.1) == 0.0
    assert per_h("set_class", numbers, 35.0) > 0.0
    assert per_h("set_class", numbers, 35.1) == 0.0
    assert per_h("water_film", {"hours_h": 4.0}, 20.0, 98.0) > 0.0
    assert per_h("water_film", {"hours_h": 4.0}, 20.0, 98.1) == 0.0
    window = Latest(
        name="x", law="set_class", numbers=(("class_min", 60.0),), then="", source=NONE
    )
    colder, edge = (
        float(speed(window, one(c), one(50.0), one(0.3), None)[0])
        for c in (f(45) - 5.0, f(45))
    )
    assert colder == edge > 0.0


# ------------------------------------------------------------------ the air's hours


def h(hour: float, day: int = 0) -> int:
    return day * DAY + round(hour * 4)


def at(hour: float) -> datetime:
    """Return an hour of Monday 5 April; Tallinn is three hours ahead then."""
    return datetime(2027, 4, 4, 21, tzinfo=UTC) + timedelta(hours=hour)


def read(hour: float, air_c: float, humidity_pct: float) -> AirReading:
    return AirReading(when=at(hour), air_c=air_c, humidity_pct=humidity_pct)


def test_hours_of_the_day_include_their_start_and_may_go_over_midnight(case):
    day = air.during(case, time(7, 0), time(19, 30))
    assert runs_of(day)[:2] == [(h(7), h(19.5)), (h(7, 1), h(19.5, 1))]
    night = air.during(case, time(22, 15), time(6, 0))
    assert runs_of(night)[:2] == [(0, h(6)), (h(22.25), h(6, 1))]
    both = air.on(case, ((time(7), time(8)), (time(20), time(21))))
    assert runs_of(both)[:2] == [(h(7), h(8)), (h(20), h(21))]
    assert air.on(case, ()).all()


def test_air_is_assumed_by_day_and_night_and_by_the_month_that_says_so(case):
    def spec(day_c):
        return DayNight(
            day_c=day_c,
            day_rh_pct=40.0,
            night_c=12.0,
            night_rh_pct=70.0,
            day_from=time(8),
            day_to=time(20),
        )

    for months, day_c in (
        ((), 20.0),
        (((4, spec(23.0)),), 23.0),
        (((5, spec(9.0)),), 20.0),
        (((5, spec(9.0)), (4, spec(23.0))), 23.0),
    ):
        warm, damp = air.assumed(case, spec(20.0), months)
        assert (warm[h(8)], damp[h(8)]) == (day_c, 40.0)
        assert (warm[h(19.75)], damp[h(19.75)]) == (day_c, 40.0)
        assert (warm[h(20)], damp[h(20)]) == (12.0, 70.0)
        assert (warm[h(7.75)], damp[h(7.75)]) == (12.0, 70.0)


def model() -> tuple[np.ndarray, np.ndarray]:
    return np.full(WEEK, 10.0), np.full(WEEK, 80.0)


def test_readings_count_from_the_first_to_the_last_and_run_straight_between(case):
    warm, damp = air.laid_over(
        case, *model(), [read(14, 24.0, 60.0), read(10, 20.0, 50.0)]
    )
    assert runs_of(warm != 10.0) == [(h(10), h(14.25))]
    # the middle of the tick from 11:45 is 112.5 of 240 minutes on
    part = 112.5 / 240.0
    assert warm[h(11.75)] == pytest.approx(20.0 + 4.0 * part)
    psychrolib.SetUnitSystem(psychrolib.SI)
    full = psychrolib.GetSatVapPres
    pa = 0.5 * full(20.0) * (1 - part) + 0.6 * full(24.0) * part
    assert damp[h(11.75)] == pytest.approx(100 * pa / full(warm[h(11.75)]), rel=1e-4)
    assert warm[h(14)] == 24.0
    assert damp[h(14)] == pytest.approx(60.0)
    assert damp[h(14.25)] == 80.0


@pytest.mark.parametrize(("until", "bridged"), [(16.0, True), (16.25, False)])
def test_readings_six_hours_apart_are_bridged_and_no_further_ones(case, until, bridged):
    warm, _ = air.laid_over(
        case, *model(), [read(10, 20.0, 50.0), read(until, 24.0, 50.0)]
    )
    assert bool(warm[h(13)] != 10.0) == bridged
    assert (warm[h(10)] != 10.0, warm[h(until)]) == (True, 24.0)


def test_the_last_reading_fades_by_a_third_part_in_a_day(case):
    last = [read(14.125, 24.0, 50.0)]  # the middle of the tick from 14:00
    over = air.laid_over(case, *model(), last)
    warm, damp = air.faded(case, model(), over, last)
    assert (warm[h(13.75)], damp[h(13.75)]) == (10.0, 80.0)
    assert warm[h(14)] == 24.0
    assert warm[h(14, 1)] == pytest.approx(10.0 + 14.0 * math.exp(-1.0))
    assert warm[h(2, 1)] == pytest.approx(10.0 + 14.0 * math.exp(-0.5))
    psychrolib.SetUnitSystem(psychrolib.SI)
    full = psychrolib.GetSatVapPres
    there = 0.8 * full(10.0)
    pa = there + (0.5 * full(24.0) - there) * math.exp(-1.0)
    right = 100 * pa / full(float(warm[h(14, 1)]))
    assert damp[h(14, 1)] == pytest.approx(right, rel=1e-4)


def test_a_reading_between_two_ticks_is_compared_with_the_later_one(case):
    warm, damp = model()
    warm[h(14) :] = 20.0
    last = [read(14, 18.0, 50.0)]
    found, _ = air.faded(
        case, (warm, damp), air.laid_over(case, warm, damp, last), last
    )
    assert found[h(13.75)] == 10.0
    assert found[h(14)] == pytest.approx(20.0 - 2.0 * math.exp(-7.5 / 1440))


def test_a_room_that_nobody_describes_is_shut(case):
    assert (air.changes(case) == 0.3).all()


# ----------------------------------------------------------------- water in the room


def test_a_coats_water_goes_by_thickness_or_else_by_coverage():
    def product(**more):
        return Product(
            id="x", title="x", kind="x", stages=(), limits=AirLimits(), **more
        )

    # 10 m² at 3 mm are 30 l; 0.4 of it water, a quarter of that is kept
    thick = product(
        thickness_mm=3.0, coverage_m2_per_l=8.0, water_l_per_l=0.4, bound_frac=0.25
    )
    assert balance.water_kg(thick, 10.0) == pytest.approx(9.0)
    rolled = product(coverage_m2_per_l=8.0, water_l_per_l=0.5)
    assert balance.water_kg(rolled, 20.0) == pytest.approx(1.25)
    assert balance.water_kg(product(water_l_per_l=0.5), 20.0) == 0.0


def test_a_leaking_room_follows_the_outside_and_a_machine_holds_its_set_point():
    def after(minutes, per_h, gain=0.0, machines=()):
        water = 0.010
        for _ in range(minutes):
            water = balance._next(water, 1 / 60, per_h, 0.004, gain, list(machines), 0)
        return water

    # one change an hour: exp(-1) of the difference is left after an hour
    assert after(60, 1.0) == pytest.approx(0.004 + 0.006 * math.exp(-1), rel=1e-5)
    assert after(60, 0.0, gain=0.002) == pytest.approx(0.012)
    machine = (one(0.007), one(0.5))  # half of the room's water an hour, down to 0.007
    assert after(30, 0.0, machines=[machine]) == pytest.approx(
        0.010 * math.exp(-0.25), rel=1e-5
    )
    assert after(120, 0.0, machines=[machine]) == pytest.approx(0.007)
    off = (one(0.011), one(0.5))
    assert after(60, 0.0, machines=[off]) == 0.010
    # what leaks away anyway falls through the set point of a machine without a halt
    idle = (one(0.007), one(0.0))
    assert after(60, 3.0, machines=[idle]) == pytest.approx(after(60, 3.0), rel=1e-4)


def test_the_mean_of_a_falling_tick_is_that_of_the_whole_tick_not_of_its_ends():
    """Three changes an hour for 20 min: the mean of exp(-x) from 0 to 1 is 1 - 1/e."""
    passed = [1.0]
    for _ in range(20):
        passed.append(balance._next(passed[-1], 1 / 60, 3.0, 0.0, 0.0, [], 0))
    assert balance.mean_of(passed) == pytest.approx(1.0 - math.exp(-1), rel=5e-4)


# -------------------------------------------------------------------- the time line


def test_the_grid_is_cut_by_whole_ticks(case):
    quarter = 900
    # from 10 minutes to 50: two ticks lie in it, four are touched
    assert runs_of(case.within([(600, 3000)])) == [(1, 3)]
    assert runs_of(case.touched([(600, 3000)])) == [(0, 4)]
    # two that touch within a tick hold it together
    assert runs_of(case.within([(0, 400), (400, quarter)])) == [(0, 1)]
    assert runs_of(case.within([(-9000, quarter), (quarter, quarter)])) == [(0, 1)]
    assert runs_of(case.touched([(-9000, -10), (500, 500)])) == []
    assert joined([(5, 9), (0, 2), (2, 3), (4, 4), (6, 7)]) == [(0, 3), (5, 9)]


def test_days_and_daily_hours_follow_the_sites_clock(case):
    days = list(case.local_days())
    assert (days[0][0].isoformat(), days[0][1:]) == ("2027-04-04", (-86400, 0))
    assert (days[-1][0].isoformat(), len(days)) == ("2027-04-11", 8)
    first = case.daily((time(22), time(6)))[0]
    assert first == (-2 * 3600, 6 * 3600)  # over midnight
    assert case.daily((time(6), time(22)))[1] == (6 * 3600, 22 * 3600)
    assert case.tick(at(1.24)) == 4
    assert case.of_tick(4) == at(1.0)
    assert case.local_minutes[h(9.5)] % 1440 == 9.5 * 60


def test_a_coats_number_is_told_by_its_id():
    def task(id_, phase):
        return cast(PlannedTask, SimpleNamespace(id=id_, phase=phase))

    assert number(task("setting-coat-2.wall", "setting-coat")) == 2
    assert number(task("colour-1", "colour")) == 1
    assert number(task("tape.wall", "tape")) == 0


def test_the_air_that_a_law_covers_is_the_same_for_planner_and_judge():
    """Each states it by itself, from the law's source."""
    stated = {n: (x.low_c, x.high_c, x.high_rh_pct) for n, x in LAWS.items()}
    assert set(COVERED) == set(stated)
    for name, bounds in COVERED.items():
        assert bounds == pytest.approx(stated[name], abs=1e-9), name
