"""The final cure of colour: its anchor, cold, damp, and what it is never shorter than.

The sheet's hours are those of general pages (read, weak): recoat 5 h, light foot traffic
24 h, full service 72 h at 25 °C and 50 %. Cold: twice as long for each 10 °C, the rule of
thumb for reaction rates (construction.rpxtech.com, read).

Tests of planner/air/waits.py, planner/trade/data/materials.py.
"""

from itertools import product as every

import numpy as np
import pytest

from planner.air.waits import Beyond, hours_at, ready_ticks
from planner.nouns.product import Air
from planner.trade.data.materials import product

COLOUR = {s.stage: s for s in product("flat-colour").stages}
LATER = (("light foot traffic", 24.0), ("full service", 72.0))


@pytest.mark.parametrize(("stage", "sheet_h"), LATER)
def test_at_the_sheets_own_air_it_is_the_sheets_time(stage, sheet_h):
    assert hours_at(COLOUR[stage], 25.0, 50.0) == pytest.approx(sheet_h)


@pytest.mark.parametrize(("stage", "sheet_h"), LATER)
def test_ten_degrees_colder_doubles_what_follows_the_first_hours(stage, sheet_h):
    # to recoat, by evaporation: psat(15 °C) = 1705 Pa beside 3169 Pa, same humidity
    first_h = 5.0 * (3169 / 1705) ** 1.037
    got = hours_at(COLOUR[stage], 15.0, 50.0)
    assert got == pytest.approx(first_h + 2 * (sheet_h - 5.0), rel=0.002)


@pytest.mark.parametrize(("stage", "sheet_h"), LATER)
def test_damp_lengthens_the_first_hours_only(stage, sheet_h):
    # at 80 % the air takes up 0.2/0.5 of the water: (0.5/0.2)^0.900 = 2.281 times
    got = hours_at(COLOUR[stage], 25.0, 80.0)
    assert got == pytest.approx(5.0 * 2.281 + sheet_h - 5.0, rel=0.002)


@pytest.mark.parametrize(("stage", "sheet_h"), LATER)
def test_no_air_makes_it_shorter_than_the_sheet_nor_than_recoat(stage, sheet_h):
    for temp_c, rh in every((1, 11, 20, 25, 31, 37), (0, 20, 50, 80, 97)):
        got = hours_at(COLOUR[stage], temp_c, rh)
        assert got >= sheet_h - 1e-9
        assert got >= hours_at(COLOUR["recoat"], temp_c, rh)


def test_nobody_walks_on_it_before_it_may_be_recoated_in_any_changing_air():
    rng = np.random.default_rng(14)
    for _ in range(50):
        air = Air(
            tick_minutes=60,
            air_c=rng.uniform(2.0, 36.0, 3000),
            humidity_pct=rng.uniform(5.0, 97.0, 3000),
        )
        recoat, feet = (
            ready_ticks(COLOUR[s], air, beyond=Beyond.STILL)
            for s in ("recoat", "light foot traffic")
        )
        assert (feet[:2000] > recoat[:2000]).all()


def test_a_sheet_slow_to_recoat_is_no_sooner_walked_on():
    from planner.trade.data.materials import from_sheet

    mine = from_sheet(
        product("flat-colour"), id="mine", title="Mine", recoat_h=30.0,
        at_c=20.0, at_rh_pct=50.0, sheet="its sheet",
    )  # fmt: skip
    feet = next(s for s in mine.stages if s.stage == "light foot traffic")
    assert hours_at(feet, 20.0, 50.0) == pytest.approx(30.0)
    assert hours_at(feet, 35.0, 20.0) == pytest.approx(30.0)
