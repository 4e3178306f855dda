"""What holds of every wait in any air; a falsified property is a failure.

Tests of planner/air/law_range.py, planner/air/laws.py, planner/air/waits.py.
"""

from dataclasses import replace
from time import process_time

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from planner.air.laws import LAWS
from planner.air.moist_air import humidity_pct, vapour_pa
from planner.air.waits import (
    Beyond,
    cautious_frac,
    hours_at,
    latest_ticks,
    likely_ticks,
    ready_ticks,
)
from planner.nouns.product import Air
from planner.trade.data import materials

PRODUCTS = materials.load()
STAGES = [(p, s) for p in PRODUCTS.values() for s in p.stages]
NAMES = [f"{p.id}:{s.stage}" for p, s in STAGES]
LATEST = [w for p in PRODUCTS.values() for w in p.latest]
TICK_MINUTES = 60

every_stage = st.sampled_from([s for _, s in STAGES])
# Foam is the one product that damp air helps.
drying_stage = st.sampled_from([s for _, s in STAGES if s.law != "moisture_cure"])
shellac_fumes = next(
    s for p, s in STAGES if p.id == "shellac-primer" and s.after is not None
)
warm = st.floats(8.0, 35.0)
damp = st.floats(0.0, 98.0)


@st.composite
def airs(draw, low_rh=0.0, high_rh=98.0):
    """Draw hourly air of up to ten days, inside every law's range."""
    count = draw(st.integers(1, 240))
    return Air(
        tick_minutes=TICK_MINUTES,
        air_c=draw(arrays(float, count, elements=st.floats(8.0, 35.0))),
        humidity_pct=draw(arrays(float, count, elements=st.floats(low_rh, high_rh))),
    )


@given(every_stage, airs(), st.floats(0.0, 1.0))
def test_readiness_never_goes_backwards_nor_before_its_own_end(stage, air, margin):
    ready = ready_ticks(stage, air, margin_frac=margin)
    assert ready.shape == (len(air) + 1,)
    assert (np.diff(ready) >= 0).all()
    assert (ready >= np.arange(len(air) + 1)).all()
    assert (ready <= len(air) + 1).all()


@given(every_stage, airs())
def test_cautious_is_at_least_the_error_of_the_law(stage, air):
    assert (cautious_frac(stage, air) >= stage.error_frac).all()


@given(every_stage, airs(), st.floats(0.0, 0.5), st.floats(0.0, 0.5))
def test_a_larger_margin_never_shortens(stage, air, one, other):
    small, large = sorted((one, other))
    assert (
        ready_ticks(stage, air, margin_frac=large)
        >= ready_ticks(stage, air, margin_frac=small)
    ).all()


@given(drying_stage, airs(high_rh=80.0), st.floats(0.0, 18.0))
def test_damper_air_never_shortens_a_wait(stage, air, points):
    damper = Air(
        tick_minutes=TICK_MINUTES,
        air_c=air.air_c,
        humidity_pct=air.humidity_pct + points,
    )
    assert (ready_ticks(stage, damper) >= ready_ticks(stage, air)).all()


@given(drying_stage, warm, damp, st.floats(0.0, 15.0))
def test_air_warmed_with_its_own_water_never_lengthens_a_wait(stage, air_c, rh, more):
    then_c = min(air_c + more, 35.0)
    then_rh = float(humidity_pct(then_c, vapour_pa(air_c, rh)))
    assert hours_at(stage, then_c, then_rh) <= hours_at(stage, air_c, rh) * (1 + 1e-9)


def in_turn(stage):
    """Return the stage and those before it, each by itself."""
    before = [] if stage.after is None else in_turn(stage.after)
    return [*before, replace(stage, after=None)]


@given(every_stage, warm, damp, st.integers(1, 4))
@example(shellac_fumes, 24.875, 0.0, 1)  # 1.009 h and 9.986 h: 2 + 10 ticks, not 11
def test_in_constant_air_the_wait_is_the_hours_rounded_up(stage, air_c, rh, per_hour):
    minutes = 60 // per_hour
    # A stage after another begins on a tick: each is rounded up by itself.
    ticks = sum(
        int(np.ceil(hours_at(one, air_c, rh) * per_hour - 1e-6))
        for one in in_turn(stage)
    )
    count = ticks + 5
    air = Air(
        tick_minutes=minutes,
        air_c=np.full(count, air_c),
        humidity_pct=np.full(count, rh),
    )
    assert likely_ticks(stage, air)[3] == 3 + ticks


@given(every_stage, airs(), st.integers(1, 48))
def test_what_came_before_a_coat_does_not_matter(stage, air, earlier):
    longer = Air(
        tick_minutes=TICK_MINUTES,
        air_c=np.concatenate((np.full(earlier, 12.0), air.air_c)),
        humidity_pct=np.concatenate((np.full(earlier, 90.0), air.humidity_pct)),
    )
    assert (
        likely_ticks(stage, longer)[earlier:] == likely_ticks(stage, air) + earlier
    ).all()


@given(
    st.sampled_from([s for _, s in STAGES if "layer_mm" in dict(s.numbers)]),
    airs(),
    st.floats(0.5, 3.0),
    st.floats(0.5, 3.0),
)
def test_a_thicker_coat_never_dries_sooner(stage, air, one, other):
    thin, thick = sorted((one, other))
    assert (
        ready_ticks(stage, air, thickness_mm=thick)
        >= ready_ticks(stage, air, thickness_mm=thin)
    ).all()


@given(st.sampled_from(LATEST), airs())
def test_a_latest_time_never_goes_backwards_nor_before_its_own_end(latest, air):
    last = latest_ticks(latest, air)
    assert (np.diff(last) >= 0).all()
    assert (last >= np.arange(len(air) + 1)).all()
    assert (last <= len(air)).all()


@settings(max_examples=50)
@given(
    every_stage,
    arrays(float, st.integers(1, 100), elements=st.floats(-20.0, 50.0)),
    st.floats(0.0, 100.0),
)
def test_beyond_a_laws_range_a_coat_stands_still(stage, air_c, rh):
    air = Air(
        tick_minutes=TICK_MINUTES, air_c=air_c, humidity_pct=np.full(air_c.size, rh)
    )
    ready = ready_ticks(stage, air, beyond=Beyond.STILL)
    assert (np.diff(ready) >= 0).all()
    law = LAWS[stage.law]
    if rh > law.high_rh_pct + 1e-6 or (air_c < law.low_c - 1e-6).all():
        assert (ready == len(air) + 1).all()


@pytest.mark.parametrize(("held", "stage"), STAGES, ids=NAMES)
def test_a_setting_compound_is_never_dry_before_it_has_set(held, stage):
    sets = [s for s in held.stages if s.stage == "set"]
    if stage.stage != "dry" or not sets:
        assert stage.law in LAWS
        return
    for air_c in (8.0, 20.0, 34.9):
        for rh in (0.0, 50.0, 98.0):
            assert hours_at(stage, air_c, rh) >= hours_at(sets[0], air_c, rh) * (
                1 - 1e-12
            )


def test_all_products_over_90_days_of_quarter_hours_take_under_50_ms():
    count = 90 * 96
    hour = np.arange(count) / 4.0
    air = Air(
        tick_minutes=15,
        air_c=18.0 + 3.0 * np.sin(hour * np.pi / 12.0),
        humidity_pct=60.0 + 20.0 * np.sin(hour * np.pi / 60.0),
    )

    def seconds():
        begun = process_time()
        for product, stage in STAGES:
            ready_ticks(stage, air, thickness_mm=product.thickness_mm, margin_frac=0.25)
        return process_time() - begun

    assert min(seconds() for _ in range(7)) < 0.050
