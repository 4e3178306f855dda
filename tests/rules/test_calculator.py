"""The calculator's answers, worked by hand from the numbers of the products.

A solvent primer may be recoated after 16 h at 25 °C, twice as long for each 10 K of
cold; its fumes are then cleared to a twentieth by air changes, ln 20 = 2.9957 of them.

Tests of planner/air/calculator.py.
"""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from planner.air.calculator import (
    hours_table,
    in_constant_air,
    in_room_air,
    second_opinion,
)
from planner.air.waits import hours_at, shortest_h
from planner.nouns.product import Air, Hardening, HardeningWay, Source
from planner.trade.data.materials import product

WARM_C = (70 - 32) / 1.8  # where the table gives 17 h at 50 %
SIXTEENTH_MM, EIGHTH_MM = 25.4 / 16, 25.4 / 8


def air(*parts, minutes=60, changes=None):
    """Return air of (ticks, °C, %) one after another."""
    air_c = np.concatenate([np.full(n, float(c)) for n, c, _ in parts])
    humid = np.concatenate([np.full(n, float(rh)) for n, _, rh in parts])
    return Air(
        tick_minutes=minutes, air_c=air_c, humidity_pct=humid, changes_per_h=changes
    )


def test_a_setting_class_is_15_per_cent_slower_for_20_f_of_cold():
    # class 90: 107.5 min midway (75 °F), from the spread of its setting
    sets = product("setting-90").stages[0]
    for fahrenheit, share in ((75, 1.0), (55, 1.15), (95, 1 / 1.15)):
        got = hours_at(sets, (fahrenheit - 32) / 1.8, 50.0)
        assert got == pytest.approx(107.5 / 60 * share)


def test_all_stages_and_latest_times_in_constant_air():
    said = in_constant_air(product("solvent-primer"), temp_c=15.0, rh_pct=50.0)
    recoat, clear = said.stages
    assert (recoat.stage, recoat.way) == ("recoat", HardeningWay.DRIES)
    assert (clear.stage, clear.way) == ("free of fumes", HardeningWay.CLEARS)
    assert recoat.law == "doubling with cold"
    # 10 K colder than 25 °C: 32 h; a shut room changes its air 0.3 times an hour
    assert recoat.likely_h == pytest.approx(32.0)
    assert clear.likely_h == pytest.approx(32.0 + 2.9957 / 0.3, abs=0.01)
    # its error of a half, and 2^0.1 - 1 = 0.0718 for a kelvin: 0.5051 together
    assert recoat.cautious_h == pytest.approx(32.0 * 1.5051, abs=0.01)
    assert clear.cautious_h == pytest.approx(
        32.0 * 1.5051 + 2.9957 / 0.3 * 1.5, abs=0.02
    )
    (window,) = said.latest
    assert window.name == "recoat window"
    assert window.hours_h == pytest.approx(144.0)  # 72 h at 25 °C
    assert window.then == product("solvent-primer").latest[0].then


def test_a_thickness_of_ones_own_counts_in_constant_air_and_in_a_rooms():
    one, two = (
        in_constant_air(
            product("topping"), temp_c=WARM_C, rh_pct=50.0, thickness_mm=mm
        ).stages[0]
        for mm in (None, EIGHTH_MM)
    )
    assert (one.likely_h, two.likely_h) == pytest.approx((17.0, 34.0))
    room = air((80, WARM_C, 50))
    hours = [
        in_room_air(product("topping"), room, tick=3, thickness_mm=mm)
        .stages[0]
        .likely_h
        for mm in (None, SIXTEENTH_MM, EIGHTH_MM)
    ]
    assert hours == [17.0, 17.0, 34.0]


def test_twice_the_known_thickness_is_just_not_too_thick():
    at: Any = {"temp_c": WARM_C, "rh_pct": 50.0}
    just = in_constant_air(product("topping"), thickness_mm=2 * SIXTEENTH_MM, **at)
    assert just.warnings == ()
    over = in_constant_air(product("topping"), thickness_mm=3.3, **at)
    assert over.warnings == (
        "a coat of 3.3 mm is more than twice the 1.6 mm that the times are known "
        "for: lay it in two",
    )
    # a paint's times are known for no thickness
    paint = in_constant_air(product("flat-colour"), thickness_mm=3.3, **at)
    assert paint.warnings == ()


def test_a_rooms_air_counts_from_the_coat_on_with_its_own_air_changes():
    # shellac: 1 h at 25 °C; cautious by 0.15 and 0.0718: 1.166 h; quarters of an hour
    changes = np.concatenate((np.zeros(10), np.full(40, 2.0)))
    room = air((10, 5, 90), (40, 25, 50), minutes=15, changes=changes)
    recoat, clear = in_room_air(product("shellac-primer"), room, tick=10).stages
    assert (recoat.likely_h, recoat.cautious_h) == (1.0, 1.25)
    # 2.9957 air changes at two an hour are 1.498 h, six quarters
    assert clear.likely_h == 2.5
    # cautious: 1.498 h and half of it, 2.247 h, nine quarters
    assert clear.cautious_h == 1.25 + 2.25


@pytest.mark.parametrize(("ticks", "hours"), [(15, None), (16, 16.0), (17, 16.0)])
def test_a_stage_is_within_the_series_up_to_its_last_tick(ticks, hours):
    room = air((ticks, 25, 50))
    said = in_room_air(product("solvent-primer"), room, tick=0)
    assert said.stages[0].likely_h == hours
    assert said.latest[0].hours_h is None


def test_a_latest_time_in_a_rooms_air():
    # 72 h at 25 °C: half of it in 36 h, the rest at 15 °C takes twice as long
    room = air((5, 5, 50), (36, 25, 50), (80, 15, 50))
    said = in_room_air(product("solvent-primer"), room, tick=5)
    assert said.latest[0].hours_h == 36 + 72


def test_limits_are_looked_at_from_the_coat_until_it_is_cautiously_over():
    cold = "room and surface at 50 °F (10 °C) or more"

    def broken(*parts, tick=0):
        return in_room_air(product("topping"), air(*parts), tick=tick).broken

    assert broken((60, WARM_C, 50)) == ()
    assert broken((10, WARM_C, 50), (1, 5, 50), (60, WARM_C, 50)) == (cold,)
    assert broken((5, 5, 50), (60, WARM_C, 50), tick=5) == ()
    assert broken((40, WARM_C, 50), (10, 5, 50)) == ()
    # likely dry after 17 h, cautiously after more: the 18th hour still counts
    assert broken((17, WARM_C, 50), (60, 5, 50)) == (cold,)
    kept = in_room_air(product("topping"), air((60, WARM_C, 50)), tick=0).kept
    dew = "surface 1.8 °F (1.0 °C) or more above the dew point"
    assert kept == (cold, "room at 95 °F (35 °C) or less", dew)


def dries(**numbers):
    return Hardening(
        stage="dry",
        way=HardeningWay.DRIES,
        law="drying_table",
        numbers=tuple(numbers.items()),
        error_frac=0.1,
        source=Source(text="a sheet", tag="user"),
    )


def test_a_second_opinion_states_both_hours_and_how_far_they_are_apart():
    # Evaporation at 25 °C and 50 %, p_s 3.1697 kPa (ASHRAE Fundamentals 2017 ch. 1
    # table 3): 23.0544 / (3.1697^1.03689 * 0.5^0.90011) = 13.0 h. 50/13.008 = 3.84.
    fifty = dries(hours_h=50.0, at_c=25.0, at_rh_pct=50.0)
    assert second_opinion(fifty, 25.0, 50.0) == (
        "dry: 50.0 h is 284 % over the 13.0 h that evaporation gives in this air; "
        "see a sheet"
    )
    # 5/13.008 = 0.384
    assert "62 % under" in second_opinion(dries(hours_h=5.0), 25.0, 50.0)
    # a seventh off isn't told, a fifth is
    assert second_opinion(dries(hours_h=13.0 * 1.14), 25.0, 50.0) == ""
    assert "20 % over" in second_opinion(dries(hours_h=13.0 * 1.2), 25.0, 50.0)
    assert "20 % under" in second_opinion(dries(hours_h=13.0 * 0.8), 25.0, 50.0)


def test_the_calculator_passes_a_second_opinion_on_as_a_warning():
    slow = replace(product("topping"), stages=(dries(hours_h=50.0),))
    (said,) = in_constant_air(slow, temp_c=25.0, rh_pct=50.0).warnings
    assert said == second_opinion(dries(hours_h=50.0), 25.0, 50.0) != ""


def test_a_second_opinion_goes_by_the_water_that_leaves():
    # twice the water, half of it bound: as much leaves as of ready-mixed compound
    half = dries(hours_h=13.0, water_l_per_l=0.65, bound_frac=0.5)
    assert second_opinion(half, 25.0, 50.0) == ""
    # all of twice the water: 26 h
    assert "50 % under the 26.0 h" in second_opinion(
        dries(hours_h=13.0, water_l_per_l=0.65), 25.0, 50.0
    )
    # how long it sets has no part in it, nor its thickness
    slow = dries(water_l_per_l=0.325, class_min=6000.0, layer_mm=3.0)
    assert second_opinion(slow, 25.0, 50.0) == ""


@pytest.mark.parametrize(
    ("temp_c", "rh", "said"),
    [
        (0.0, 50.0, True),
        (-0.1, 50.0, False),
        (37.7, 50.0, True),
        (37.9, 50.0, False),
        (20.0, 98.0, True),
        (20.0, 98.1, False),
    ],
)
def test_a_second_opinion_has_the_tables_range(temp_c, rh, said):
    assert bool(second_opinion(dries(hours_h=500.0), temp_c, rh)) == said


def test_a_law_that_isnt_the_tables_has_no_second_opinion():
    film = replace(dries(hours_h=500.0), law="water_film")
    assert second_opinion(film, 20.0, 50.0) == ""


def test_the_table_for_the_wall_by_thickness():
    dry = product("topping").stages[0]
    once, twice = (
        hours_table(dry, temps_c=(WARM_C,), rhs_pct=(50.0, 90.0), thickness_mm=mm)
        for mm in (SIXTEENTH_MM, EIGHTH_MM)
    )
    assert once[:, 0].tolist() == pytest.approx([17.0, 72.0])  # the table's cells
    assert twice[:, 0].tolist() == pytest.approx([34.0, 144.0])


def test_the_shortest_working_time_is_that_of_the_warmest_air():
    (pan,) = product("setting-90").latest
    mid_c = (75 - 32) / 1.8
    # an hour midway, 1.15 times quicker at 95 °F; warmer air counts as that
    for warmest, share in ((mid_c, 1.0), (35.0, 1.15), (50.0, 1.15)):
        room = air((3, 12, 50), (1, warmest, 50), (3, 15, 50))
        assert shortest_h(pan, room) == pytest.approx(1.0 / share)
