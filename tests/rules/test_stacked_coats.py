"""Coats laid over others still wet: dry once the water of all has left, one after another.

That water leaves in proportion while a face stays wet is the constant rate of drying
(Sherwood 1929, Industrial and Engineering Chemistry 21, from memory); so a stack is a
queue, and its end has a closed form. The table's cell: 17 h at 70 °F and 50 %, from memory.

Tests of planner/air/waits.py, planner/trade/data/in_room.py,
planner/trade/recipes/compound/coated.py, planner/trade/recipes/compound/stacks.py.
"""

from dataclasses import replace
from datetime import UTC, datetime
from itertools import accumulate

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.air.waits import Beyond, hours_at, progress, ready_ticks, stacked_times
from planner.air.wet_work import Laid, given_off_kg
from planner.nouns.product import Air
from planner.trade.data.in_room import in_room
from planner.trade.data.materials import load, product
from planner.usecases.dry import dry_in_job, now_dry
from planner.usecases.read import read_inputs
from tests.support.values import STRAIGHT, changed, job_file, work_of

TOPPING, SETTING = product("topping"), product("setting-90")
WARM_C = (70 - 32) / 1.8
TICKS = 4 * 24 * 14


def dry(of):
    return next(s for s in of.stages if s.stage == "dry")


def steady(rh=50.0):
    return Air(
        tick_minutes=15, air_c=np.full(TICKS, WARM_C), humidity_pct=np.full(TICKS, rh)
    )


def stack_dry(ends, coats, air):
    """Return the tick at which a stack is dry, as a plan waits: once for each coat."""
    return max(
        int(
            ready_ticks(
                dry(one),
                air,
                thickness_mm=one.thickness_mm,
                times=stacked_times(one, "dry", coats[n + 1 :]),
                beyond=Beyond.STILL,
            )[end]
        )
        for n, (end, one) in enumerate(zip(ends, coats, strict=True))
    )


def test_one_coat_takes_its_own_hours():
    assert stacked_times(TOPPING, "dry", ()) == 1.0
    assert stack_dry([8], [TOPPING], steady()) == 8 + 4 * 17


@pytest.mark.parametrize("later", [0, 4, 40, 67])
def test_two_equal_coats_take_twice_as_long_from_the_first(later):
    # the second is laid while the first is wet: the water of both has left after 34 h
    assert stack_dry([8, 8 + later], [TOPPING] * 2, steady()) == 8 + 2 * 4 * 17


@pytest.mark.parametrize("later", [68, 69, 200])
def test_a_coat_over_one_that_is_dry_takes_its_own_hours(later):
    assert stack_dry([8, 8 + later], [TOPPING] * 2, steady()) == 8 + later + 4 * 17


def test_topping_over_two_setting_coats_by_hand():
    # setting keeps 30 % of 0.5 l/l: 0.35, topping loses 0.325; 17 h x 0.35/0.325 = 18.3 h
    own_h = 17 * 0.35 / 0.325
    all_h = 2 * own_h + 17
    times = stacked_times(SETTING, "dry", [SETTING, TOPPING])
    assert times * own_h == pytest.approx(all_h)
    # laid at 0, 3 and 24 h: still wet when the topping comes, so 53.6 h from the first
    ends = [0, 4 * 3, 4 * 24]
    got = stack_dry(ends, [SETTING, SETTING, TOPPING], steady())
    assert got == int(np.ceil(4 * all_h))


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.integers(1, 120), min_size=1, max_size=4),
    st.lists(st.sampled_from([TOPPING, SETTING]), min_size=4, max_size=4),
    st.lists(st.floats(5.0, 95.0), min_size=14, max_size=14),
)
def test_the_waits_of_a_stack_end_when_its_water_has_left(steps, kinds, humidities):
    """Water followed tick by tick, in air that changes each day."""
    air = Air(
        tick_minutes=15,
        air_c=np.full(TICKS, 20.0),
        humidity_pct=np.repeat(humidities, 96),
    )
    ends, coats = list(accumulate(steps)), kinds[: len(steps)]
    told = stack_dry(ends, coats, air)
    # one coat of topping an hour is the pace; each coat brings what it takes of that
    one = np.diff(ready_progress(air))
    brought = [stacked_times(TOPPING, "dry", [c]) - 1.0 for c in coats]
    wet, at, dry_at = 0.0, 0, TICKS + 1
    for tick in range(TICKS):
        while at < len(ends) and ends[at] == tick:
            wet += brought[at]
            at += 1
        if at == len(ends) and wet <= 1e-9:
            dry_at = tick
            break
        wet = max(wet - one[tick], 0.0)
    assert told == pytest.approx(dry_at, abs=1)


def ready_progress(air):
    return progress(
        dry(TOPPING), air, thickness_mm=TOPPING.thickness_mm, beyond=Beyond.STILL
    )


def test_a_stacks_water_leaves_once_and_at_the_pace_of_one_coat():
    air = steady()
    low = Laid(
        stage=dry(TOPPING),
        water_kg=6.0,
        spans=((0, 4),),
        thickness_mm=TOPPING.thickness_mm,
    )
    over = Laid(
        stage=dry(TOPPING),
        water_kg=6.0,
        spans=((20, 24),),
        thickness_mm=TOPPING.thickness_mm,
        under=0,
    )
    gone = given_off_kg([low, over], air)
    alone = given_off_kg([low], air)
    assert gone.sum() == pytest.approx(12.0)
    assert gone.max() == pytest.approx(alone.max())
    # beside each other they would give off twice as much in an hour
    beside = given_off_kg([low, replace(over, under=None)], air)
    assert beside.max() == pytest.approx(2 * alone.max())
    last = int(np.flatnonzero(gone > 1e-9)[-1]) + 1
    assert last == 4 + 2 * 68


# ---------------------------------------------------------------- in the work


def waits_after(work, coat, task):
    return {
        (x.wait.stage, x.wait.covered_by)
        for x in work.links
        if (x.before, x.after) == (coat, task) and x.wait
    }


def test_sanding_waits_for_each_coat_with_all_that_lies_over_it(tmp_path):
    work = work_of(tmp_path, STRAIGHT, methods="setting_coats = 2\ntopping_coats = 2")
    both = ("setting-90", "topping")
    assert waits_after(work, "setting-coat-1.wall", "rub.wall") == {("dry", both)}
    assert waits_after(work, "setting-coat-2.wall", "rub.wall") == {
        ("dry", ("topping",))
    }
    # the second topping goes over a dry stack, and is one by itself
    for coat, over in (("setting-coat-1", both), ("setting-coat-2", ("topping",))):
        assert waits_after(work, f"{coat}.wall", "topping-coat-2.wall") == {
            ("dry", over)
        }
    assert waits_after(work, "topping-coat-2.wall", "rub.wall") == {("dry", ())}


def test_where_each_coat_dries_first_there_is_no_stack(tmp_path):
    work = work_of(tmp_path, STRAIGHT, methods='next_coat_after = "dry"')
    assert all(not x.wait.covered_by for x in work.links if x.wait)
    assert all(t.over is None for t in work.tasks)


def test_no_more_than_four_coats_are_wet_on_one_another(tmp_path):
    work = work_of(tmp_path, STRAIGHT, methods="setting_coats = 5")
    coats = [f"setting-coat-{n}.wall" for n in range(1, 6)]
    assert waits_after(work, coats[0], coats[4]) == {("dry", ("setting-90",) * 3)}
    assert waits_after(work, coats[2], coats[3]) == {("set", ())}


def test_skim_goes_over_dry_joints(tmp_path):
    methods = "setting_coats = 2\ntopping_coats = 0\nskim_coats = 1"
    work = work_of(tmp_path, STRAIGHT, methods=methods)
    assert waits_after(work, "setting-coat-2.wall", "skim-coat-1.wall") == {("dry", ())}
    skim = next(t for t in work.tasks if t.phase == "skim-coat")
    assert skim.over is None


# -------------------------------------------------- what it lies on, what moves over it


def hours(of, **room):
    known = in_room(load(), **{"on_modules": 1.0, "air_m_s": 0.0, **room})[of]
    return hours_at(known.stages[-1], WARM_C, 50.0, known.thickness_mm)


def test_compound_dries_slower_on_a_face_that_takes_up_no_water():
    assert hours("topping") == pytest.approx(17.0)
    assert hours("topping", on_modules=1.25) == pytest.approx(21.25)
    # of a joint's two sides the slower counts: never quicker than on board
    assert hours("topping", on_modules=0.5) == pytest.approx(17.0)
    assert hours("water-primer", on_modules=2.0) == pytest.approx(hours("water-primer"))


def test_a_job_says_how_its_faces_dry_and_what_air_moves(tmp_path):
    own = '[air]\nmoving = "0.5 m/s"\n[kit]\ndrying_times = 1.5'
    job = job_file(tmp_path, changed(STRAIGHT, ("[kit]", own)))
    topping = read_inputs(job).products["topping"]
    # at the table's own cell: 17 h on board in still air
    got = hours_at(topping.stages[0], WARM_C, 50.0, topping.thickness_mm)
    assert got == pytest.approx(17.0 * 1.5 / (5.8 / 4))
    said = dry_in_job(
        "topping", job, at=datetime(2027, 2, 10, 12, tzinfo=UTC), thickness_mm=None
    )
    words = " ".join(said.split())
    assert "1.5 times as long as on board, for the moulded faces" in words
    assert "0.5 m/s of air" in words
    plain = now_dry("topping", temp_c=WARM_C, rh_pct=50.0, thickness_mm=None)
    assert "these hours are for board, in still air" in " ".join(plain.split())


def test_moving_air_dries_as_the_law_of_wind_says():
    # Uno (1998), ACI Materials Journal 95-M34: (V + 4) with V in km/h; 0.5 m/s: 5.8/4
    for of in ("topping", "setting-90", "water-primer"):
        assert hours(of) / hours(of, air_m_s=0.5) == pytest.approx(5.8 / 4)
    # what a data sheet gives for colour is never cut
    assert hours("flat-colour", air_m_s=1.0) >= 72.0
