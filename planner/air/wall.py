"""The air at the coldest wall: as much vapour as the room's, at the wall's temperature.

A coat is as warm as what it lies on, and water leaves it by the difference between the
pressure of saturated air at its own temperature and the vapour in the room (Dalton). So
a law that knows constant air is asked about the wall's: colder than the room's and by
that damper, up to the dew point, where water no longer leaves at all.
"""

from dataclasses import replace

import numpy as np

from planner.air.moist_air import humidity_pct, vapour_pa
from planner.nouns.product import Air


def at_wall(air: Air) -> Air:
    """Return the air as it is at the coldest wall; the room's where none is colder.

    Examples
    --------
    Air of 20 °C and 50 % has its dew point at 9.3 °C: at a wall of 10 °C it is nearly
    saturated.

    >>> room = Air(tick_minutes=60, air_c=np.array([20.0]),
    ...            humidity_pct=np.array([50.0]), wall_colder_delta_k=10.0)
    >>> float(at_wall(room).humidity_pct[0]).__round__(0)
    95.0
    """
    if air.wall_colder_delta_k == 0.0:
        return air
    wall_c = air.air_c - air.wall_colder_delta_k
    damp = humidity_pct(wall_c, vapour_pa(air.air_c, air.humidity_pct))
    return replace(
        air,
        air_c=wall_c,
        humidity_pct=np.clip(damp, 0.0, 100.0),
        wall_colder_delta_k=0.0,
    )
