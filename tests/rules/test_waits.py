"""A coat is ready when the hours that it has lain in add up, and not a tick before.

Tests of planner/air/waits.py.
"""

from dataclasses import replace
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from planner.air.waits import (
    Beyond,
    beyond_range,
    breaks_by_limit,
    cautious_at,
    cautious_frac,
    cold_before,
    hours_at,
    latest_ticks,
    likely_ticks,
    limit_breaks,
    limit_words,
    progress,
    ready_ticks,
)
from planner.errors import OutOfRangeError
from planner.measures import Units
from planner.nouns.product import (
    Air,
    AirLimits,
    Hardening,
    HardeningWay,
    Latest,
    Source,
)
from planner.trade.data.materials import product

SOURCE = Source(text="test", tag="computed")


def stage(law="fixed", error_frac=0.0, **numbers):
    return Hardening(
        stage="recoat",
        way=HardeningWay.DRIES,
        law=law,
        numbers=tuple(numbers.items()),
        error_frac=error_frac,
        source=SOURCE,
    )


def air(*parts, minutes=60, **more):
    """Return air of (ticks, °C, %) one after another."""
    air_c = np.concatenate([np.full(n, float(c)) for n, c, _ in parts])
    humid = np.concatenate([np.full(n, float(rh)) for n, _, rh in parts])
    return Air(tick_minutes=minutes, air_c=air_c, humidity_pct=humid, **more)


def by_name(id_, name):
    return next(s for s in product(id_).stages if s.stage == name)


def test_four_hours_from_each_end_and_five_for_not_within():
    # 6 ticks of an hour; a wait of 4 h begun at 0, 1, 2 ends at 4, 5, 6.
    ready = ready_ticks(stage(hours_h=4.0), air((6, 20, 50)))
    assert ready.tolist() == [4, 5, 6, 7, 7, 7, 7]


def test_a_wait_is_rounded_up_to_whole_ticks():
    assert ready_ticks(stage(hours_h=2.01), air((6, 20, 50)))[0] == 3
    assert ready_ticks(stage(hours_h=2.0), air((6, 20, 50)))[0] == 2


def test_no_hours_are_ready_at_once():
    ready = ready_ticks(stage(hours_h=0.0), air((3, 20, 50)))
    assert ready.tolist() == [0, 1, 2, 3]


def test_a_third_of_an_hour_adds_up_without_a_spare_tick():
    # 12 ticks of 5 min are an hour exactly, though 1/12 isn't a binary number.
    ready = ready_ticks(stage(hours_h=1.0), air((24, 20, 50), minutes=5))
    assert ready[0] == 12
    assert ready[12] == 24


def test_the_margin_is_added_to_the_hours():
    # 4 h and a quarter of it are 5 h
    ready = ready_ticks(stage(hours_h=4.0), air((9, 20, 50)), margin_frac=0.25)
    assert ready[0] == 5


def test_shares_of_changing_air_add_up():
    # The table: 70 °F and 50 % 17 h, 70 °F and 90 % 72 h. 8 h of the first are
    # 8/17; the rest, 9/17, takes 72 * 9/17 = 38.1 h of the second: 46.1, so 47.
    warm_c = (70 - 32) / 1.8
    room = air((8, warm_c, 50), (60, warm_c, 90))
    assert ready_ticks(by_name("topping", "dry"), room)[0] == 47


def test_progress_is_the_share_of_the_way():
    warm_c = (70 - 32) / 1.8
    done = progress(by_name("topping", "dry"), air((17, warm_c, 50)))
    assert done[0] == 0.0
    assert done[17] == pytest.approx(1.0)
    assert done[4] == pytest.approx(4 / 17)


def test_twice_the_thickness_takes_twice_the_hours():
    dry = by_name("topping", "dry")
    once, twice = (hours_at(dry, 20, 50, mm) for mm in (25.4 / 16, 25.4 / 8))
    assert twice == pytest.approx(2 * once)
    assert hours_at(dry, 20, 50) == pytest.approx(once)


def test_full_service_hangs_on_the_damp_no_longer_once_there_is_a_skin():
    # Phys. Rev. Lett. 131, 248102: a skin makes the rate independent of humidity.
    full, recoat = (by_name("flat-colour", s) for s in ("full service", "recoat"))
    rest_h = [hours_at(full, 12, rh) - hours_at(recoat, 12, rh) for rh in (50, 85)]
    assert rest_h[0] == pytest.approx(rest_h[1])


def test_setting_compound_sets_in_damp_air_but_does_not_dry():
    sets, dries = (by_name("setting-90", s) for s in ("set", "dry"))
    assert hours_at(sets, 20, 97) == hours_at(sets, 20, 30)
    assert hours_at(dries, 20, 97) > 5 * hours_at(dries, 20, 30)


# ------------------------------------------------------------ beyond the range


@pytest.mark.parametrize(
    ("temp_c", "rh"), [(20, 98.1), (-0.1, 50), (37.9, 50), (20, 100)]
)
def test_the_table_is_not_extrapolated(temp_c, rh):
    with pytest.raises(OutOfRangeError):
        hours_at(by_name("topping", "dry"), temp_c, rh)


@pytest.mark.parametrize(
    ("temp_c", "rh"), [(0, 98), (0, 0), (37.7777, 98), (37.7777, 0)]
)
def test_the_tables_own_corners_are_answered(temp_c, rh):
    assert hours_at(by_name("topping", "dry"), temp_c, rh) > 0


def test_the_first_hour_beyond_the_range_is_named_at_the_site():
    room = air(
        (30, 20, 50), (4, 20, 99),
        start=datetime(2027, 2, 8, 4, tzinfo=UTC), zone=ZoneInfo("America/Halifax"),
    )  # fmt: skip
    with pytest.raises(OutOfRangeError) as refused:
        ready_ticks(by_name("topping", "dry"), room)
    # midnight in Halifax and 30 hours
    assert "Tue 9 Feb 2027, 06:00" in refused.value.message
    assert "99 % RH" in refused.value.message
    assert "98 % RH" in refused.value.hint
    assert refused.value.exit_status == 2


def test_without_a_start_the_hour_is_counted():
    with pytest.raises(OutOfRangeError, match=r"7\.5 h from the start"):
        ready_ticks(
            by_name("topping", "dry"), air((15, 20, 50), (1, 20, 99), minutes=30)
        )


def test_standing_still_counts_nothing_beyond_the_range():
    warm_c = (70 - 32) / 1.8
    dry = by_name("topping", "dry")
    # 17 h at 50 %, with 5 h of 99 % after the eighth
    room = air((8, warm_c, 50), (5, warm_c, 99), (30, warm_c, 50))
    assert ready_ticks(dry, room, beyond=Beyond.STILL)[0] == 22
    assert beyond_range(dry, room).sum() == 5


# -------------------------------------------------------------------- cautious


def test_cautious_is_the_root_of_the_sum_of_squares():
    # A fixed time knows neither air nor thickness: the law's own error is all.
    room = air((1, 20, 50))
    assert cautious_frac(stage(hours_h=4.0, error_frac=0.3), room)[0] == pytest.approx(
        0.3
    )
    # Doubling per 10 K: a kelvin colder is 2^0.1 - 1 = 7.18 %; with 20 % of its own
    # sqrt(0.2² + 0.0718²) = 0.2125
    law = stage(
        "thermal_doubling", hours_h=4.0, at_c=20.0, doubling_k=10.0, error_frac=0.2
    )
    assert cautious_frac(law, room)[0] == pytest.approx(0.2125, abs=0.0001)
    assert cautious_at(law, 20, 50) == pytest.approx(4 * 1.2125, abs=0.001)


def test_a_fifth_of_the_thickness_counts_where_the_hours_depend_on_it():
    room = air((1, 20, 50))
    dry = by_name("topping", "dry")
    colder = hours_at(dry, 19, 50) / hours_at(dry, 20, 50) - 1
    damper = hours_at(dry, 20, 55) / hours_at(dry, 20, 50) - 1
    by_hand = (dry.error_frac**2 + colder**2 + damper**2 + 0.2**2) ** 0.5
    assert cautious_frac(dry, room)[0] == pytest.approx(by_hand)


def test_foam_is_cautious_towards_drier_air():
    foam = by_name("foam", "full")
    drier = hours_at(foam, 20, 45) / hours_at(foam, 20, 50) - 1
    assert drier > 0.1
    assert (
        cautious_frac(foam, air((1, 20, 50)))[0]
        >= (foam.error_frac**2 + drier**2) ** 0.5
    )


# ----------------------------------------------------------------- latest times


def latest(hours_h):
    return Latest(
        name="open time",
        law="fixed",
        numbers=(("hours_h", hours_h),),
        then="",
        source=SOURCE,
    )


def test_a_latest_time_is_rounded_down():
    room = air((5, 20, 50))
    assert latest_ticks(latest(2.5), room).tolist() == [2, 3, 4, 5, 5, 5]
    assert latest_ticks(latest(2.0), room).tolist() == [2, 3, 4, 5, 5, 5]
    assert latest_ticks(latest(0.5), room).tolist() == [0, 1, 2, 3, 4, 5]


def test_a_batch_of_class_90_is_used_up_in_an_hour_and_quicker_in_warmth():
    pan = next(w for w in product("setting-90").latest if w.name == "working time")
    mid_c = (75 - 32) / 1.8
    at_mid = latest_ticks(pan, air((40, mid_c, 50), minutes=5))
    warm = latest_ticks(pan, air((40, 34.0, 50), minutes=5))
    assert at_mid[0] == 12
    assert warm[0] < 12


# -------------------------------------------------------------------- the limits

PAINT = product("water-primer").limits


@pytest.mark.parametrize(
    ("temp_c", "rh", "bad"),
    [
        (20.0, 50.0, False),
        (10.0, 50.0, False),  # 50 °F kept: ASTM C840 §4.1
        (9.9, 50.0, True),
        (32.2, 50.0, False),  # 90 °F kept: MIL-HDBK-1110 §7.4.1
        (32.4, 50.0, True),
        (20.0, 85.1, True),  # ISO 12944-7 as summarised
        (20.0, 83.0, True),  # dew point 17.0 °C: under 3 °C away (ISO 8502-4)
        (20.0, 82.0, False),  # dew point 16.8 °C
    ],
)
def test_paint_keeps_its_limits(temp_c, rh, bad):
    assert limit_breaks(PAINT, air((1, temp_c, rh)))[0] == bad


def test_a_cold_surface_breaks_what_the_air_keeps():
    # 20 °C and 65 %: dew point 13.2 °C. A wall 4 K colder stands 2.8 °C above it.
    room = air((1, 20.0, 65.0))
    assert not limit_breaks(PAINT, room).any()
    assert limit_breaks(PAINT, replace(room, wall_colder_delta_k=4.0)).all()


def test_each_break_is_told_by_its_own_limit():
    broken = breaks_by_limit(PAINT, air((1, 9.0, 90.0)))
    said = [words for words, ticks in broken.items() if ticks.any()]
    assert said == [
        "room and surface at 50 °F (10 °C) or more",
        "85 % relative humidity or less",
        "surface 5.4 °F (3.0 °C) or more above the dew point",
    ]


def test_the_limits_in_words():
    words = limit_words(product("topping").limits, Units.US)
    assert words == (
        "room and surface at 50 °F (10 °C) or more, room at 95 °F (35 °C) or less, "
        "surface 1.8 °F (1.0 °C) or more above the dew point"
    )
    assert limit_words(AirLimits(), Units.US) == "no limits on the air"


def test_joint_treatment_needs_48_hours_of_50_f_before_it():
    # ASTM C840 §4.1. Cold in hours 0 to 9; from hour 10 on warm: first start 58.
    cold = cold_before(product("topping").limits, air((10, 8, 50), (80, 15, 50)))
    assert np.flatnonzero(~cold)[0] == 58
    assert cold[:58].all()
    assert not cold[58:].any()


def test_one_cold_hour_forbids_the_48_after_it():
    cold = cold_before(
        product("topping").limits, air((60, 15, 50), (1, 8, 50), (60, 15, 50))
    )
    assert np.flatnonzero(cold).tolist() == list(range(61, 109))


def test_before_the_series_the_air_of_its_first_tick_is_taken():
    limits = product("topping").limits
    assert not cold_before(limits, air((5, 15, 50))).any()
    assert cold_before(limits, air((5, 8, 50))).all()


def test_no_limit_before_the_start_forbids_nothing():
    assert not cold_before(AirLimits(min_c=10.0), air((5, 8, 50))).any()
    assert not cold_before(AirLimits(min_c_before_h=48.0), air((5, 8, 50))).any()


def test_cold_before_a_start_is_counted_in_ticks_of_any_length():
    # two hours of 10 °C: of half an hour each, four ticks
    limits = AirLimits(min_c=10.0, min_c_before_h=2.0)
    room = air((4, 15, 50), (1, 8, 50), (8, 15, 50), minutes=30)
    assert np.flatnonzero(cold_before(limits, room)).tolist() == [5, 6, 7, 8]
    # a wall 4 K colder than 13 °C is at 9 °C
    cooler = air((4, 15, 50), (1, 13, 50), (8, 15, 50), minutes=30)
    found = cold_before(limits, replace(cooler, wall_colder_delta_k=4.0))
    assert np.flatnonzero(found).tolist() == [5, 6, 7, 8]
    assert not cold_before(limits, cooler).any()
    # just kept is kept
    assert not cold_before(limits, air((9, 10, 50))).any()


def test_a_refusal_says_no_hour_where_there_is_but_one():
    dry = by_name("topping", "dry")
    with pytest.raises(OutOfRangeError) as refused:
        hours_at(dry, 20, 99)
    assert refused.value.message == (
        "no waiting time is known for 68 °F (20 °C) and 99 % RH"
    )
    # a start says no local hour without its zone, nor a zone without its start
    for known in (
        {"start": datetime(2027, 2, 8, 4, tzinfo=UTC)},
        {"zone": ZoneInfo("America/Halifax")},
    ):
        with pytest.raises(OutOfRangeError, match=r"% RH, 2 h from the start"):
            ready_ticks(dry, air((2, 20, 50), (1, 20, 99), **known))


def test_a_refusal_names_all_that_its_law_covers():
    with pytest.raises(OutOfRangeError) as dry:
        hours_at(by_name("topping", "dry"), 20, 99)
    assert dry.value.hint.endswith(
        ": covers 32 to 100 °F (0 to 38 °C) and up to 98 % RH"
    )
    with pytest.raises(OutOfRangeError) as bed:
        hours_at(by_name("dry-mortar", "crust"), 41, 50)
    assert bed.value.hint.endswith(": covers 32 to 104 °F (0 to 40 °C)")


def test_fumes_clear_once_the_coat_has_dried_and_each_counts_in_its_own_air():
    """Recoat 16 h at 25 °C; then ln 20 = 2.9957 air changes, at one an hour three."""
    primer = by_name("solvent-primer", "free of fumes")
    room = air((40, 25, 50), changes_per_h=np.full(40, 1.0))
    assert likely_ticks(primer, room)[0] == 16 + 3
    assert ready_ticks(primer, room, margin_frac=1.0)[0] == 32 + 6
    # not within the series
    assert likely_ticks(primer, room)[22:].tolist() == [41] * 19
    assert hours_at(primer, 25, 50) == pytest.approx(16 + 2.9957 / 0.3, abs=0.01)
    assert beyond_range(primer, air((1, 25, 50), (1, 45, 50))).tolist() == [False, True]


def test_cautious_hours_hold_those_of_the_drying_before():
    primer = by_name("solvent-primer", "free of fumes")
    assert cautious_at(primer, 25, 50) == pytest.approx(
        16 * 1.5051 + 2.9957 / 0.3 * 1.5, abs=0.01
    )


def test_thickness_counts_for_cautious_hours_too():
    dry = by_name("topping", "dry")
    once, twice = (cautious_at(dry, 20, 50, mm) for mm in (25.4 / 16, 25.4 / 8))
    assert twice == pytest.approx(2 * once)


def test_a_step_of_the_air_is_kept_within_the_laws_range():
    """At 0 °C the table knows nothing colder: warmth adds no error, damp still does."""
    dry = by_name("topping", "dry")
    damper = hours_at(dry, 0, 55) / hours_at(dry, 0, 50) - 1
    by_hand = (dry.error_frac**2 + damper**2 + 0.2**2) ** 0.5
    assert cautious_frac(dry, air((1, 0, 50)))[0] == pytest.approx(by_hand)
    colder = hours_at(dry, 19, 98) / hours_at(dry, 20, 98) - 1
    by_hand = (dry.error_frac**2 + colder**2 + 0.2**2) ** 0.5
    assert cautious_frac(dry, air((1, 20, 98)))[0] == pytest.approx(by_hand)


def test_latest_times_shorten_with_warmth_and_stand_at_the_nearest_air():
    window = product("solvent-primer").latest[0]
    # 72 h at 25 °C; the law covers up to 40 °C: 72 / 2^1.5 = 25.46 h from there on
    assert latest_ticks(window, air((200, 25, 50)))[0] == 72
    assert latest_ticks(window, air((200, 40, 50)))[0] == 25
    assert latest_ticks(window, air((200, 55, 50)))[0] == 25


def test_an_hour_before_a_limit_breaks_isnt_broken():
    limits = AirLimits(min_c=10.0, max_c=30.0, max_rh_pct=80.0)
    room = air((1, 10, 80), (1, 30, 80), (1, 9.9, 50), (1, 30.1, 50), (1, 20, 80.1))
    assert limit_breaks(limits, room).tolist() == [False, False, True, True, True]
    # a wall 2 K colder: its own temperature counts for the lowest, not the highest
    found = breaks_by_limit(limits, replace(room, wall_colder_delta_k=2.0))
    assert [b.tolist() for b in found.values()] == [
        [True, False, True, False, False],
        [False, False, False, True, False],
        [False, False, False, False, True],
    ]


def test_hours_of_a_stage_hold_those_of_the_drying_before_in_its_own_damp_air():
    # the table: 17 h at 70 °F and 50 %, 72 h at 90 %; two hours on, whatever the air
    later = replace(stage(hours_h=2.0), after=by_name("topping", "dry"))
    warm_c = (70 - 32) / 1.8
    assert hours_at(later, warm_c, 50) == pytest.approx(19.0)
    assert hours_at(later, warm_c, 90) == pytest.approx(74.0)
    assert hours_at(later, warm_c, 90, 25.4 / 8) == pytest.approx(146.0)


def test_a_setting_compound_that_sets_longer_than_it_dries_is_dry_when_set():
    """100 h at 75 °F; 15 % more at 55 °F; below 45 °F as at 45 °F, 1.5 steps colder."""
    slow = stage("drying_table", class_min=6000.0, water_l_per_l=0.1)
    for celsius, hours in (((75 - 32) / 1.8, 100), ((55 - 32) / 1.8, 115)):
        assert hours_at(slow, celsius, 20) == pytest.approx(hours)
    assert hours_at(slow, 0, 20) == pytest.approx(100 * 1.15**1.5)
    # in damp air it dries longer than it sets: 0.1 / 0.325 of the table's hours
    damp = hours_at(slow, 0, 98)
    plain = hours_at(stage("drying_table"), 0, 98)
    assert damp == pytest.approx(plain * 0.1 / 0.325)
    assert damp > 124


def test_a_highest_temperature_forbids_no_start_by_cold():
    limits = AirLimits(max_c=30.0, min_c_before_h=48.0)
    assert not cold_before(limits, air((5, 8, 50))).any()


def test_without_a_colder_surface_the_air_itself_counts():
    room = air((2, 10.0, 50))
    limits = AirLimits(min_c=10.0, min_c_before_h=2.0)
    assert not any(b.any() for b in breaks_by_limit(limits, room).values())
    assert not limit_breaks(limits, room).any()
    assert not cold_before(limits, room).any()


def test_cautious_hours_are_refused_where_likely_ones_are():
    with pytest.raises(OutOfRangeError):
        cautious_at(by_name("topping", "dry"), 20, 99)
