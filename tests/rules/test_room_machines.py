"""What heating, airing and machines do to a room's air, each worked by hand.

Two humidities of one warmth are to each other as their vapour pressures, so a shut
room that nothing is given to keeps its percentage.

Tests of planner/air/balance.py, planner/air/wet_work.py.
"""

from datetime import UTC, datetime, time
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from planner.air.balance import (
    changes_per_h,
    dried_step,
    drying_per_h,
    on_ticks,
    room_air,
    room_warmth_c,
    step,
)
from planner.air.moist_air import (
    dry_air_kg_m3,
    humidity_ratio,
    ratio_vapour_pa,
    saturation_pa,
    vapour_pa,
)
from planner.air.waits import hours_at
from planner.air.wet_work import Laid, WetWork, coat_water_kg, given_off_kg
from planner.hours.grid import Grid
from planner.nouns.air import Climate, Dehumidifier, Thermostat, Ventilation
from planner.nouns.product import (
    Air,
    AirLimits,
    Hardening,
    HardeningWay,
    Product,
    Source,
)
from planner.trade.data.materials import product

HOURS = [time(h) for h in range(24)]
EIGHT_TO_TEN = ((time(8), time(10)),)


def grid(ticks=24, minutes=60):
    start = datetime(2027, 2, 8, 4, tzinfo=UTC)  # midnight in Halifax
    zone = ZoneInfo("America/Halifax")
    return Grid(start=start, tick_minutes=minutes, ticks=ticks, zone=zone)


def outside(air_c, rh, ticks=24, minutes=60):
    return Air(
        tick_minutes=minutes,
        air_c=np.full(ticks, float(air_c)),
        humidity_pct=np.full(ticks, float(rh)),
    )


def shut(**more):
    return Climate(volume_m3=600.0, leak_per_h=0.0, lag_h=0.0, **more)


# ------------------------------------------------------------------- warmth


def warmth(*thermostats, air_c=10.0, lag_h=0.0, start_c=None):
    climate = Climate(volume_m3=600.0, lag_h=lag_h, thermostats=thermostats)
    return room_warmth_c(outside(air_c, 50), climate, HOURS, start_c=start_c).tolist()


def test_heating_holds_its_temperature_in_its_hours_alone():
    found = warmth(Thermostat(heat_to_c=20.0, hours=EIGHT_TO_TEN))
    assert found == [10.0] * 8 + [20.0] * 2 + [10.0] * 14


def test_cooling_holds_its_temperature_in_its_hours_alone():
    found = warmth(Thermostat(cool_to_c=18.0, hours=EIGHT_TO_TEN), air_c=28.0)
    assert found == [28.0] * 8 + [18.0] * 2 + [28.0] * 14


def test_of_two_thermostats_the_warmer_heats_and_the_cooler_cools():
    warm = [Thermostat(heat_to_c=c) for c in (16.0, 20.0, 18.0)]
    assert warmth(*warm)[0] == 20.0
    cool = [Thermostat(cool_to_c=c) for c in (22.0, 18.0, 20.0)]
    assert warmth(*cool, air_c=28.0)[0] == 18.0
    # heated to more than it is cooled to: heating has its way
    both = Thermostat(heat_to_c=20.0), Thermostat(cool_to_c=18.0)
    assert warmth(*both, air_c=28.0)[0] == warmth(*both, air_c=5.0)[0] == 20.0


def test_between_its_thermostats_a_room_runs_free():
    both = Thermostat(heat_to_c=12.0, cool_to_c=25.0)
    assert [warmth(both, air_c=c)[0] for c in (5.0, 18.0, 30.0)] == [12.0, 18.0, 25.0]


def test_a_room_runs_to_the_outside_by_its_lag():
    # after an hour of a lag of two, exp(-1/2) of the ten degrees is left
    found = warmth(lag_h=2.0, start_c=20.0)
    assert found[0] == pytest.approx(10 + 10 * np.exp(-0.5))
    assert found[3] == pytest.approx(10 + 10 * np.exp(-2.0))
    assert warmth(lag_h=2.0)[0] == 10.0  # begun with the outside, it stays there


# ------------------------------------------------------------- air let in, machines


def test_hours_of_a_clock_are_added_up():
    two = (*EIGHT_TO_TEN, (time(22), time(1)))
    on = on_ticks(two, HOURS)
    assert np.flatnonzero(on).tolist() == [0, 8, 9, 22, 23]
    assert on_ticks((), HOURS).tolist() == [1.0] * 24


def test_leaks_are_there_all_day_and_each_ventilation_comes_on_top():
    climate = Climate(
        volume_m3=600.0,
        leak_per_h=0.5,
        ventilation=(
            Ventilation(air_changes_per_h=2.0, hours=EIGHT_TO_TEN),
            Ventilation(air_changes_per_h=1.0, hours=((time(9), time(11)),)),
        ),
    )
    found = changes_per_h(climate, HOURS).tolist()
    assert found[7:12] == [0.5, 2.5, 3.5, 1.5, 0.5]


def test_a_shut_room_keeps_the_humidity_that_it_begins_with():
    room = room_air(outside(20.0, 40.0), shut(), grid(), start_rh_pct=70.0)
    assert room.air.humidity_pct == pytest.approx(np.full(24, 70.0))
    # begun at 10 °C and 70 %, its water makes less at 20 °C: 1228 / 2339 Pa (ASHRAE
    # Fundamentals 2017 ch. 1 table 3) of it
    warmed = room_air(
        outside(20.0, 40.0), shut(), grid(), start_c=10.0, start_rh_pct=70
    )
    assert warmed.air.humidity_pct[-1] == pytest.approx(70 * 1228 / 2339, abs=0.05)
    # else it begins with the outside's water
    room = room_air(outside(20.0, 40.0), shut(), grid())
    assert room.air.humidity_pct == pytest.approx(np.full(24, 40.0))


def test_water_beyond_what_the_air_can_hold_condenses():
    # 20 °C and 90 %: a tenth of what it holds is still free
    holds = float(humidity_ratio(vapour_pa(20.0, 100.0)))
    held = float(humidity_ratio(vapour_pa(20.0, 90.0)))
    air_kg = 600.0 * float(dry_air_kg_m3(20.0, ratio_vapour_pa(held)))
    wet = np.zeros(24)
    wet[3], wet[5] = 5.0, 1.0
    room = room_air(
        outside(20.0, 90.0), shut(), grid(), given_off_kg=wet, weather=False
    )
    free_kg = (holds - held) * air_kg
    assert np.flatnonzero(room.condensed_kg > 1e-9).tolist() == [3, 5]
    assert room.condensed_kg[3] == pytest.approx(5.0 - free_kg)
    assert room.condensed_kg[5] == pytest.approx(1.0)
    assert room.air.humidity_pct[:3] == pytest.approx([90.0] * 3)
    assert room.air.humidity_pct[4:] == pytest.approx([100.0] * 20)
    assert room.given_off_kg.tolist() == wet.tolist()


def test_a_tick_in_which_the_air_becomes_full_is_taken_at_its_mean():
    # of what is free at 90 %, 1.2 times as much is given off: halfway are 96 %
    holds = float(humidity_ratio(vapour_pa(20.0, 100.0)))
    held = float(humidity_ratio(vapour_pa(20.0, 90.0)))
    air_kg = 600.0 * float(dry_air_kg_m3(20.0, ratio_vapour_pa(held)))
    wet = np.zeros(24)
    wet[3] = 1.2 * (holds - held) * air_kg
    room = room_air(
        outside(20.0, 90.0), shut(), grid(), given_off_kg=wet, weather=False
    )
    assert room.air.humidity_pct[3:5] == pytest.approx([96.0, 100.0], abs=0.1)


def test_a_room_colder_than_the_outside_begins_with_no_more_than_it_can_hold():
    climate = Climate(
        volume_m3=600.0,
        leak_per_h=0.0,
        lag_h=1000.0,
        thermostats=(Thermostat(heat_to_c=25.0, hours=((time(1), time(0)),)),),
    )
    room = room_air(outside(20.0, 90.0), climate, grid(), start_c=5.0)
    assert room.air.air_c[:2] == pytest.approx([5.0, 25.0], abs=0.02)
    assert room.condensed_kg.sum() == 0.0
    assert room.air.humidity_pct[0] == pytest.approx(100.0)
    # 5 °C holds 873 Pa, 25 °C 3170 Pa (ASHRAE Fundamentals 2017 ch. 1 table 3)
    assert room.air.humidity_pct[1] == pytest.approx(100 * 873 / 3170, abs=0.1)


def test_a_machine_runs_in_its_own_hours_and_another_in_its_own():
    one = Dehumidifier(rated_l_per_day=48.0, set_rh_pct=10.0, hours=EIGHT_TO_TEN)
    other = Dehumidifier(
        rated_l_per_day=48.0, set_rh_pct=10.0, hours=((time(12), time(13)),)
    )
    climate = shut(dehumidifiers=(one, other))
    room = room_air(outside(26.7, 60.0), climate, grid())
    assert np.flatnonzero(room.dried_kg > 0.0).tolist() == [8, 9, 12]
    # 2 l in an hour at its rating, a little less as the room dries
    assert 1.7 < room.dried_kg[8] < 2.0


def test_a_machine_stops_at_its_own_set_point():
    machines = tuple(
        Dehumidifier(rated_l_per_day=100.0, set_rh_pct=rh) for rh in (55.0, 45.0)
    )
    for some, end in ((machines, 45.0), (machines[:1], 55.0)):
        room = room_air(outside(25.0, 70.0), shut(dehumidifiers=some), grid())
        assert room.air.humidity_pct[-1] == pytest.approx(end)
        assert room.air.humidity_pct[0] < 70.0


def test_a_compressor_is_half_as_strong_half_way_into_the_cold():
    """Full from 15 °C, nothing at 5 °C (assumption): half at 10 °C."""
    compressor, adsorber = (
        Dehumidifier(
            rated_l_per_day=24.0, rated_c=20.0, rated_rh_pct=50.0, compressor=kind
        )
        for kind in (True, False)
    )
    air_c, air_kg = np.array([3.0, 5.0, 10.0, 15.0, 30.0]), np.full(5, 700.0)
    whole = drying_per_h(adsorber, air_c, air_kg)
    # a litre an hour at its rating, of 7.26 g/kg (ASHRAE 2017 eq. 20) in 700 kg
    assert whole == pytest.approx(np.full(5, 1.0 / (0.00726 * 700.0)), rel=0.002)
    share = drying_per_h(compressor, air_c, air_kg) / whole
    assert share == pytest.approx([0.0, 0.0, 0.5, 1.0, 1.0])


def test_weather_below_freezing_holds_a_tenth_more_than_its_percentage_over_ice():
    # -10 °C: 2.863 hPa over water, 2.599 over ice (meteorological tables, from
    # memory); formulas of the first differ by 3 in 1000
    climate = Climate(
        volume_m3=600.0, leak_per_h=2.0, thermostats=(Thermostat(heat_to_c=20.0),)
    )
    said = [
        room_air(outside(-10.0, 80.0), climate, grid(), weather=w).air.humidity_pct[-1]
        for w in (True, False)
    ]
    assert said[0] / said[1] == pytest.approx(2.863 / 2.599, rel=0.004)


def run_in_small_steps(ratio, *, changes, outside, gain, machines):
    """Return end, mean, let in and dried of an hour, as plainly as can be."""
    steps = 20_000
    dt = 1.0 / steps
    mean = let_in = dried = 0.0
    for _ in range(steps):
        pull = sum(p for goal, p in machines if ratio > goal) * ratio
        coming = changes * (outside - ratio)
        mean, let_in, dried = mean + ratio * dt, let_in + coming * dt, dried + pull * dt
        ratio += (coming + gain - pull) * dt
    return ratio, mean, let_in, dried


@pytest.mark.parametrize(
    ("ratio", "changes", "outside", "gain", "machines"),
    [
        # rising through two set points, the further one named first
        (0.004, 0.2, 0.004, 0.012, [(0.010, 0.3), (0.006, 0.4)]),
        # rising to a set point that holds it
        (0.004, 0.0, 0.0, 0.004, [(0.010, 1.0), (0.006, 2.0)]),
        # falling through two, the lower one named first
        (0.012, 0.1, 0.002, 0.0, [(0.005, 0.6), (0.009, 1.5)]),
        # falling to the lower one, held there against a gain
        (0.012, 0.0, 0.0, 0.001, [(0.009, 3.0), (0.007, 3.0)]),
        # never reaching its set point
        (0.012, 1.0, 0.011, 0.002, [(0.003, 0.5)]),
        # drier air let in does it alone
        (0.012, 3.0, 0.003, 0.0, [(0.013, 0.5)]),
    ],
)
def test_an_hour_with_machines_is_that_of_small_steps(
    ratio, changes, outside, gain, machines
):
    air = {"changes": changes, "outside": outside, "gain": gain, "machines": machines}
    exact = dried_step(ratio, hours=1.0, **air)
    rough = run_in_small_steps(ratio, **air)
    found = (exact.ratio, exact.mean, exact.let_in, exact.dried)
    assert found == pytest.approx(rough, abs=2e-6)


def test_water_that_reaches_a_set_point_just_at_the_end_of_a_tick():
    # 0 to 1/4 g in an hour at a steady gain: half of it on average, nothing dried
    done = dried_step(
        0.0, hours=1.0, changes=0.0, outside=0.0, gain=0.25, machines=[(0.25, 0.5)]
    )
    assert (done.ratio, done.mean, done.dried) == (0.25, 0.125, 0.0)


def test_a_step_with_next_to_no_air_change_is_the_limit_of_one_with_some():
    # W = W_0 + g t, its mean W_0 + g t / 2; an air change of 1e-9 an hour adds 1e-12
    for changes in (0.0, 1e-9, 4e-5):
        done = step(0.004, hours=2.0, changes=changes, outside=0.004, gain=0.001)
        assert done.ratio == pytest.approx(0.006, rel=1e-4)
        assert done.mean == pytest.approx(0.005, rel=1e-4)
    # 1/10 an hour for 2 h: from 1 towards 0, exp(-0.2), its mean (1 - exp(-0.2)) / 0.2
    done = step(1.0, hours=2.0, changes=0.1, outside=0.0, gain=0.0)
    assert done.ratio == pytest.approx(np.exp(-0.2))
    assert done.mean == pytest.approx((1 - np.exp(-0.2)) / 0.2)


def test_the_airs_origin_tells_all_that_was_reckoned_with():
    climate = Climate(
        volume_m3=600.0,
        leak_per_h=0.3,
        thermostats=(Thermostat(heat_to_c=20.0), Thermostat(cool_to_c=25.0)),
        ventilation=(
            Ventilation(air_changes_per_h=2.0),
            Ventilation(air_changes_per_h=1.5),
        ),
        dehumidifiers=(
            Dehumidifier(rated_l_per_day=20.0, set_rh_pct=50.0),
            Dehumidifier(rated_l_per_day=35.0, set_rh_pct=45.0),
        ),
    )
    wet = np.full(24, 0.5)
    air = room_air(outside(20.0, 40.0), climate, grid(), given_off_kg=wet).air
    assert air.origin == (
        "room of 600 m³, 0.3 air changes/h, heated to 20 °C, cooled to 25 °C, aired 2 "
        "times/h, aired 1.5 times/h, dehumidifier of 20 l/day set to 50 %, dehumidifier "
        "of 35 l/day set to 45 %, wet work gives off 12 l",
    )
    bare = room_air(outside(20.0, 40.0), shut(), grid()).air
    assert bare.origin == ("room of 600 m³, 0 air changes/h",)


# ------------------------------------------------------------------- wet coats


def fixed(hours_h):
    return Hardening(
        stage="dry",
        way=HardeningWay.DRIES,
        law="fixed",
        numbers=(("hours_h", hours_h),),
        error_frac=0.0,
        source=Source(text="test", tag="computed"),
    )


def laid(*spans, water_kg=4.0, hours_h=4.0):
    return Laid(stage=fixed(hours_h), water_kg=water_kg, spans=spans)


# Two kilograms laid in each of the hours 0 and 1, each leaving in the four hours
# after its own: half a kilogram an hour of each.
TWO_HOURS = [0.0, 0.5, 1.0, 1.0, 1.0, 0.5, 0.0, 0.0]


def test_what_is_laid_in_an_hour_gives_off_its_water_from_then_on():
    room = outside(20.0, 50.0, 8)
    assert given_off_kg([laid((0, 2))], room).tolist() == TWO_HOURS
    assert given_off_kg([laid((0, 1), (1, 2))], room).tolist() == TWO_HOURS
    two = given_off_kg([laid((0, 2)), laid((3, 4), water_kg=2.0)], room)
    # the other: 2 kg laid in hour 3, half a kilogram in each of hours 4 to 7
    assert two.tolist() == [0.0, 0.5, 1.0, 1.0, 1.5, 1.0, 0.5, 0.5]


def test_a_coat_that_isnt_laid_or_holds_no_water_gives_off_none():
    room = outside(20.0, 50.0, 8)
    assert not given_off_kg([laid(), laid((0, 2), water_kg=0.0)], room).any()
    # of one laid at the end, what leaves later isn't in the series
    assert given_off_kg([laid((6, 8))], room).tolist() == [0.0] * 7 + [0.5]
    assert not given_off_kg([laid((8, 9))], room).any()


@pytest.mark.parametrize("was_read", [True, False])
def test_coats_that_make_their_own_air_give_off_the_same_by_a_law_without_air(was_read):
    room = outside(20.0, 50.0, 8)
    coats = [laid((0, 2)), laid(), laid((0, 2), water_kg=0.0)]
    work = WetWork(coats, room, room, [was_read] * 8)
    found = [work.given_off(i, lambda kg: 1000.0 + kg) for i in range(8)]
    assert found == pytest.approx(TWO_HOURS, abs=1e-9)


def test_a_read_hour_is_dried_in_as_it_was_read():
    # the table: 17 h at 70 °F and 50 %, 72 h at 90 %, whatever the water makes of it
    warm_c = (70 - 32) / 1.8
    table = Hardening(
        stage="dry",
        way=HardeningWay.DRIES,
        law="drying_table",
        numbers=(),
        error_frac=0.0,
        source=Source(text="test", tag="computed"),
    )
    coat = Laid(stage=table, water_kg=17.0 * 72.0, spans=((0, 1),))
    model = outside(warm_c, 90.0, 3)
    read = Air(
        tick_minutes=60,
        air_c=model.air_c,
        humidity_pct=np.array([90.0, 50.0, 90.0]),
    )
    work = WetWork([coat], read, model, [False, True, False])
    ninety = float(saturation_pa(warm_c)) * 0.9
    found = [work.given_off(i, lambda kg: ninety) for i in range(3)]
    assert found == pytest.approx([0.0, 72.0, 17.0], rel=1e-3)


def test_a_reading_draws_the_hours_that_were_not_read():
    # read as 50 % where the model says 90 %: the rest is moved by as much vapour
    warm_c = (70 - 32) / 1.8
    coat = Laid(
        stage=Hardening(
            stage="dry",
            way=HardeningWay.DRIES,
            law="drying_table",
            numbers=(),
            error_frac=0.0,
            source=Source(text="test", tag="computed"),
        ),
        water_kg=17.0,
        spans=((0, 1),),
    )
    pulled, model = outside(warm_c, 50.0, 2), outside(warm_c, 90.0, 2)
    work = WetWork([coat], pulled, model, [False, False])
    ninety = float(saturation_pa(warm_c)) * 0.9
    assert [work.given_off(i, lambda kg: ninety) for i in range(2)] == pytest.approx(
        [0.0, 1.0], rel=1e-3
    )


def test_a_products_water_by_its_layer_or_by_what_a_litre_covers():
    def made(**more):
        return Product(
            id="p", title="p", kind="colour", stages=(), limits=AirLimits(), **more
        )

    # 10 m² at 5 m²/l are 2 l, at 0.5 l of water in each
    by_cover = made(coverage_m2_per_l=5.0, water_l_per_l=0.5)
    assert coat_water_kg(by_cover, 10.0) == 1.0
    # 10 m² of 2 mm are 20 l; of a thickness of one's own, 30 l
    by_layer = made(thickness_mm=2.0, coverage_m2_per_l=5.0, water_l_per_l=0.5)
    assert coat_water_kg(by_layer, 10.0) == 10.0
    assert coat_water_kg(by_layer, 10.0, thickness_mm=3.0) == 15.0
    # a quarter of the water is bound
    bound = made(thickness_mm=2.0, water_l_per_l=0.5, bound_frac=0.25)
    assert coat_water_kg(bound, 10.0) == 7.5
    assert coat_water_kg(made(water_l_per_l=0.5), 10.0) == 0.0


@pytest.mark.parametrize("water_kg", [0.02, 0.5, 3.0])
def test_water_of_a_tick_is_what_leaves_in_the_damp_that_it_makes(water_kg):
    """In a closet, 1 g makes 20 Pa: each hour's water fits the hour's own humidity."""
    warm_c = (70 - 32) / 1.8
    topping = product("topping").stages[0]
    coat = Laid(stage=topping, water_kg=water_kg, spans=((0, 1),))
    room = outside(warm_c, 50.0, 2)
    work = WetWork([coat], room, room, [False, False])
    full_pa = float(saturation_pa(warm_c))

    def vapour_with(kg):
        return 0.5 * full_pa + 20_000.0 * kg

    work.given_off(0, vapour_with)
    got_kg = work.given_off(1, vapour_with)
    damp_pct = vapour_with(got_kg) / full_pa * 100.0
    assert 50.0 < damp_pct < 98.0
    assert got_kg == pytest.approx(
        water_kg / hours_at(topping, warm_c, damp_pct), rel=0.01
    )
