"""The air in a room: which coats wet it, how often it is worked out, what outlasts it.

Tests of planner/planning/inside.py.
"""

from dataclasses import replace
from datetime import timedelta
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest

from planner.air import balance, waits
from planner.air.wet_work import Laid
from planner.nouns.air import AirReading
from planner.nouns.inputs import Inputs
from planner.nouns.product import Latest
from planner.planning.horizons import grid_of
from planner.planning.inside import (
    coats_of,
    dry_air_kg,
    gives_water,
    inside,
    outside_of,
    usable_h,
)
from planner.trade.data.materials import product
from planner.usecases.read import read_inputs
from tests.support.schedule import place
from tests.support.values import STRAIGHT, changed, job_file

ROOM = """
[air]
temperature = "18 C"
humidity = "60 %"
[air.outside]
temperature = "12 C"
humidity = "70 %"
[air.room]
volume = "180 m3"
[[air.room.heat]]
to = "19 C"
"""


@pytest.fixture(scope="module")
def inputs(tmp_path_factory) -> Inputs:
    text = changed(STRAIGHT, ("[stage]", f"{ROOM}[stage]"))
    return read_inputs(job_file(tmp_path_factory.mktemp("damp"), text))


@pytest.fixture(scope="module")
def grid(inputs):
    return grid_of(inputs.job, weeks=1)


PAINT, TOPPING = product("flat-colour"), product("topping")
PRODUCTS = {
    "paint": PAINT,
    "topping": TOPPING,
    "dry": replace(PAINT, water_l_per_l=0.0),
    "never dry": replace(PAINT, stages=()),
}


def works(**coats: tuple[str | None, float]) -> Any:
    tasks = [
        SimpleNamespace(id=id_, product=p, wet_m2=m2, over=None)
        for id_, (p, m2) in coats.items()
    ]
    return SimpleNamespace(tasks=tasks)


def test_a_coat_gives_water_where_it_has_some_and_a_stage_in_which_it_leaves():
    work = works(
        colour=("paint", 30.0),
        none=("paint", 0.0),
        oil=("dry", 30.0),
        glue=("never dry", 30.0),
        sand=(None, 30.0),
    )
    assert gives_water(work, PRODUCTS) == {"colour"}


def test_the_coats_of_a_plan_lie_where_they_are_worked():
    work = works(
        colour=("paint", 30.0),
        coat=("topping", 10.0),
        none=("paint", 0.0),
        glue=("never dry", 30.0),
        sand=(None, 30.0),
    )
    skip = place("colour", 4, 12, "ann").worked
    plan = [
        place("coat", 0, 12, "ann", skip=skip),
        *(place(n, 1, 3, "ann") for n in ("none", "glue", "sand", "colour")),
    ]
    work.tasks[1].over = "colour"
    colour, coat = coats_of(work, PRODUCTS, plan)
    # in the order in which they are done, each with the one that it lies on
    assert (colour.under, coat.under) == (None, 0)
    assert coat.spans == ((0, 4),)
    assert (coat.stage.stage, coat.thickness_mm) == ("dry", TOPPING.thickness_mm)
    assert colour.spans == ((1, 3),)
    assert (colour.stage.stage, colour.thickness_mm) == ("recoat", None)
    assert PAINT.coverage_m2_per_l is not None
    assert colour.water_kg == pytest.approx(
        30.0 / PAINT.coverage_m2_per_l * PAINT.water_l_per_l * (1 - PAINT.bound_frac)
    )


def read_at(inputs: Inputs, grid, *ticks: int) -> Inputs:
    readings = tuple(
        AirReading(
            when=grid.start + timedelta(minutes=15 * t), air_c=21.0, humidity_pct=55.0
        )
        for t in ticks
    )
    return replace(inputs, readings=readings)


@pytest.mark.parametrize(
    ("wet", "read", "times"),
    [(False, False, 1), (False, True, 1), (True, False, 2), (True, True, 3)],
)
def test_with_coats_the_air_is_worked_out_once_more_and_twice_with_readings(
    inputs, grid, monkeypatch, wet, read, times
):
    """Of what readings change, the hours after the last hang on the water before it."""
    seen: list[Any] = []
    worked_out = balance.room_air

    def room_air(*args, **how):
        seen.append(how)
        return worked_out(*args, **how)

    monkeypatch.setattr(balance, "room_air", room_air)
    stage = next(s for s in PAINT.stages if s.stage == "recoat")
    coats = (Laid(stage=stage, water_kg=5.0, spans=((40, 48),)),) if wet else ()
    own = read_at(inputs, grid, 30, 34) if read else inputs
    found = inside(replace(own, kept=type(own.kept)()), grid, coats)
    assert len(seen) == times
    assert all(how["weather"] for how in seen)
    assert ["wet_work" in how for how in seen] == [False] + [True] * (times - 1)
    given = found.given_off_kg.sum()
    assert (given == pytest.approx(5.0, rel=0.01)) if wet else (given == 0.0)
    assert bool(found.air.air_c[30] > 20.9) is read
    assert found.air.air_c[-1] == pytest.approx(19.0, abs=0.01)


def test_a_room_that_is_not_described_keeps_what_is_assumed_and_read(inputs, grid):
    bare = replace(inputs, job=replace(inputs.job, climate=None))
    found = inside(read_at(bare, grid, 30), grid)
    assert found.air.air_c[29] == 18.0
    assert found.air.air_c[30] > 20.9
    for kg in (found.given_off_kg, found.let_in_kg, found.dried_kg, found.condensed_kg):
        assert kg.tolist() == [0.0] * grid.ticks
    with pytest.raises(ValueError, match="doesn't describe the room"):
        dry_air_kg(bare, grid)


def test_the_room_holds_its_volume_of_dry_air(inputs, grid):
    kg = dry_air_kg(inputs, grid)
    # 180 m³ at 19 °C; of the 1013 hPa the vapour takes 0.7 of saturation at 12 °C,
    # 14.0 hPa: 9.8 (gas constant of dry air 287.04 J/(kg K), both from memory)
    assert kg[-1] == pytest.approx(180.0 * (101_325 - 980) / 287.04 / 292.15, rel=0.002)


def test_what_is_let_in_is_weather_where_it_is_told_or_read(inputs, grid):
    outer, weather = outside_of(inputs, grid)
    assert (outer.air_c[0], weather) == (12.0, True)
    bare = replace(inputs, job=replace(inputs.job, outside=None))
    outer, weather = outside_of(bare, grid)
    assert (outer.air_c[0], weather) == (18.0, False)
    read = replace(bare, outside=read_at(bare, grid, 0).readings)
    outer, weather = outside_of(read, grid)
    assert (outer.air_c[0], weather) == (21.0, True)


def test_what_runs_out_can_be_worked_for_its_shortest_time_in_any_hour(
    inputs, grid, monkeypatch
):
    def latest(name: str, h: float) -> Latest:
        return cast(Latest, SimpleNamespace(name=name, h=h))

    def of(*times: Latest) -> Any:
        return replace(PAINT, latest=times)

    monkeypatch.setattr(waits, "shortest_h", lambda one, _air: one.h)
    products = {
        "a": replace(of(latest("open time", 2.0), latest("working time", 0.5),
                        latest("recoat window", 0.1)), id="a"),
        "b": replace(of(latest("recoat window", 0.1)), id="b"),
        "c": replace(of(latest("open time", 1.0)), id="c"),
    }  # fmt: skip
    assert usable_h(products, inside(inputs, grid).air) == {"a": 0.5, "c": 1.0}
    assert np.isfinite(inside(inputs, grid).air.air_c).all()
