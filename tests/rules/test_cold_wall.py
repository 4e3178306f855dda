"""Coats dry, and limits hold, by the coldest wall: in a plan, in `air`, in `dry --job`.

The air at a wall holds the room's vapour at the wall's temperature. Checked against
psychrolib, the reference library of the ASHRAE handbook's moist air, and against the
worked rule of a coatings page (read, weak): at 70 °F and 65 % the dew point is 57 °F.

Tests of planner/air/limits.py, planner/air/waits.py, planner/air/wall.py.
"""

import math
from dataclasses import replace

import numpy as np
import psychrolib
import pytest

from planner.air.limits import breaks_by_limit
from planner.air.waits import Beyond, ready_ticks
from planner.air.wall import at_wall
from planner.nouns.product import Air
from planner.trade.data.materials import product
from tests.support.command import covetime
from tests.support.values import STRAIGHT, job_file

DRY = next(s for s in product("topping").stages if s.stage == "dry")


def room(temp_c, rh_pct, colder_k=0.0, hours=2000):
    return Air(
        tick_minutes=60,
        air_c=np.full(hours, float(temp_c)),
        humidity_pct=np.full(hours, float(rh_pct)),
        wall_colder_delta_k=colder_k,
    )


@pytest.mark.parametrize(("temp_c", "rh", "colder_k"), [(20, 50, 3), (15, 70, 4.5)])
def test_the_walls_air_holds_the_rooms_vapour(temp_c, rh, colder_k):
    psychrolib.SetUnitSystem(psychrolib.SI)
    held_pa = psychrolib.GetVapPresFromRelHum(temp_c, rh / 100)
    wall = at_wall(room(temp_c, rh, colder_k, hours=1))
    assert wall.air_c[0] == temp_c - colder_k
    expected = psychrolib.GetRelHumFromVapPres(temp_c - colder_k, held_pa)
    assert wall.humidity_pct[0] == pytest.approx(100 * expected, abs=0.05)
    assert at_wall(wall) is wall


def test_a_coat_dries_as_slowly_as_in_a_room_of_the_walls_own_air():
    # by hand: over the wall 3 K colder the law t = a / (ps^1.037 (1 - RH)^0.900) of
    # the table has ps(17 °C) = 1938 Pa, RH = 1169/1938 = 60.3 %, beside 2339 Pa, 50 %
    cold, warm = room(20, 50, 3.0), room(20, 50)
    slow = int(ready_ticks(DRY, cold)[0])
    quick = int(ready_ticks(DRY, warm)[0])
    by_law = (2339 / 1938) ** 1.037 * (0.5 / (1 - 1169 / 1938)) ** 0.9
    assert slow / quick == pytest.approx(by_law, rel=0.06)
    assert slow == int(ready_ticks(DRY, at_wall(cold))[0])


def test_below_the_dew_point_nothing_dries():
    # 70 °F and 65 %: dew point 57 °F; a wall of 56 °F is wet
    wet = room((70 - 32) / 1.8, 65, 14 / 1.8)
    assert ready_ticks(DRY, wet, beyond=Beyond.STILL)[0] > len(wet)


@pytest.mark.parametrize("id_", ["topping", "all-purpose", "setting-90", "setting-45"])
def test_compound_keeps_off_a_wall_near_the_dew_point(id_):
    """No work on damp surfaces: GA-236, as reported by weatherbuild.co (read)."""
    limits = product(id_).limits
    words = "surface 1.8 °F (1.0 °C) or more above the dew point"
    # 20 °C and 65 %: dew point 13.2 °C by Magnus' formula
    gamma = math.log(0.65) + 17.27 * 20 / (237.7 + 20)
    dew_c = 237.7 * gamma / (17.27 - gamma)
    for above_k, bad in ((1.2, False), (0.8, True)):
        air = room(20, 65, 20 - dew_c - above_k, hours=1)
        assert breaks_by_limit(limits, air)[words][0] == bad
        assert not breaks_by_limit(limits, replace(air, wall_colder_delta_k=0.0))[
            words
        ][0]


def test_plan_air_and_dry_speak_of_the_same_wall(tmp_path):
    """A wall below the dew point: no coat dries on it, and every command says so."""
    cold = STRAIGHT + COLD
    file = job_file(tmp_path, cold)
    dew = "without surface 1.0 °C (1.8 °F) or more above the dew point"
    dried = covetime("dry", "topping", "--job", str(file), "--at", "2027-02-17 12:00")
    assert dried.stdout.startswith("NOT IN THIS AIR")
    assert dew in dried.stdout
    assert "not within the series" in dried.stdout
    aired = covetime("air", str(file), "--days", "3")
    assert dew in " ".join(aired.stdout.split())
    assert "wall is 10.0 °C (18.0 °F) colder than the room" in " ".join(
        aired.stdout.split()
    )
    planned = covetime("plan", str(file), "--out", str(tmp_path / "out"))
    assert planned.returncode != 0
    assert "surface" in planned.stderr


COLD = """
[air]
temperature = "20 C"
humidity = "60 %"
wall_colder = "10 C"
"""
