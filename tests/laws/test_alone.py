"""A coat alone in the room is never damper than in company: what bounds rest on.

Tests of planner/air/alone.py, planner/air/balance.py, planner/air/waits.py.
"""

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.air.alone import Awaited, Coat, alone
from planner.air.balance import room_air, room_air_kg
from planner.air.moist_air import humidity_ratio, weather_vapour_pa
from planner.air.waits import Beyond, limit_breaks, ready_ticks
from planner.air.wet_work import Laid, WetWork, coat_water_kg
from planner.nouns.air import Climate, Thermostat
from planner.nouns.product import Air
from planner.trade.data.materials import product
from tests.laws.test_room_water import WEEK, grid, laid

PAINT = product("flat-colour")
RECOAT = next(s for s in PAINT.stages if s.stage == "recoat")
COLDER_K = 1.0


@settings(max_examples=20, deadline=None)
@given(
    st.floats(80.0, 600.0),
    st.floats(0.3, 1.5),
    st.floats(5.0, 60.0),
    st.integers(20, 3 * 96),
    st.integers(1, 16),
    st.lists(laid(), max_size=2),
)
def test_in_company_a_coat_is_ready_no_sooner_and_breaks_no_less(
    volume, leak, area, end, ticks, others
):
    climate = Climate(
        volume_m3=volume,
        leak_per_h=leak,
        thermostats=(Thermostat(heat_to_c=19.0),),
    )
    outside = Air(
        wall_colder_delta_k=COLDER_K,
        tick_minutes=15,
        air_c=np.full(WEEK, 12.0),
        humidity_pct=np.full(WEEK, 70.0),
    )
    where = grid(WEEK)
    dry = room_air(outside, climate, where).air
    water_kg = coat_water_kg(PAINT, area)
    start = max(end - ticks, 0)
    mine = Laid(stage=RECOAT, water_kg=water_kg, spans=((start, end),))
    work = WetWork([mine, *others], dry, dry, [False] * WEEK)
    own = room_air(outside, climate, where, wet_work=work).air
    long = np.array([end - start])
    recoat = Awaited(name="recoat", stage=RECOAT, margin_frac=0.25)
    lone = alone(
        Coat(
            drying=RECOAT,
            water_kg=water_kg,
            thickness_mm=None,
            awaited=(recoat,),
            dry=recoat,
            limits=PAINT.limits,
        ),
        np.array([end]),
        long,
        long,
        air=dry,
        room_kg=room_air_kg(
            climate,
            dry.air_c,
            humidity_ratio(weather_vapour_pa(12.0, np.full(WEEK, 70.0))),
        ),
    )
    ready = int(ready_ticks(RECOAT, own, margin_frac=0.25, beyond=Beyond.STILL)[end])
    assert lone.over["recoat"][0] <= ready
    if lone.broken[0] and ready <= WEEK:
        bad = limit_breaks(PAINT.limits, own)
        assert bad[start:ready].any() or lone.over["recoat"][0] > WEEK
