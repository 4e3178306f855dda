"""What dehumidifier, or how many air changes, would hold a humidity."""

from dataclasses import dataclass, replace

import numpy as np

from planner.air.balance import (
    changes_per_h,
    drying_per_h,
    outer_ratio,
    room_air,
    room_air_kg,
)
from planner.air.moist_air import (
    FloatArray,
    humidity_ratio,
    vapour_pa,
)
from planner.air.room import Ticks, local_starts
from planner.nouns.air import Climate, Dehumidifier, RoomAir, Ventilation
from planner.nouns.product import Air

DAY_H = 24.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Advice:
    """What would hold the target on the worst day, and how well it does all the time.

    Either `air_changes_per_h` on top of the room's own, or machines that together
    are rated at `rated_l_per_day`, in place of those it has. None means that no
    number of them would. The hours over are those in which the room is more than
    one point above the target all the same, since a day's mean hides its peaks.
    """

    target_rh_pct: float
    worst_day_starts: int  # tick
    worst_day_l: float  # that the wet work gives off in it
    air_changes_per_h: float | None
    aired_over_h: float | None
    rated_l_per_day: float | None
    dried_over_h: float | None
    now_over_h: float  # as the room is


def air_changes_to_hold(
    *, gain_kg_h: float, air_kg: float, inside: float, outside: float
) -> float | None:
    """Return the air changes that hold a humidity ratio, None where air can't.

    n = G / (m (W_in - W_out)), the steady state of the water balance. [1/h].
    """
    if inside <= outside:
        return None
    return gain_kg_h / (air_kg * (inside - outside))


def hold(
    outside: Air,
    climate: Climate,
    grid: Ticks,
    *,
    given_off_kg: FloatArray,
    target_rh_pct: float = 50.0,
    machine: Dehumidifier | None = None,
    weather: bool = True,
) -> Advice:
    """Return the ventilation or the dehumidifier that would hold a humidity.

    Sized for the day on which the room has to lose most water, from that day's
    means in steady state; then run through all ticks to say what is left. `machine`
    gives the rating and the kind; its litres and set point are worked out here.
    """
    bare = replace(climate, dehumidifiers=())

    def run(changed: Climate) -> RoomAir:
        return room_air(
            outside, changed, grid, given_off_kg=given_off_kg, weather=weather
        )

    tick_h = outside.tick_minutes / 60.0
    window = max(1, min(round(DAY_H / tick_h), len(outside)))
    air_c = run(bare).air.air_c
    goal = humidity_ratio(vapour_pa(air_c, target_rh_pct))
    outer = outer_ratio(outside, weather=weather)
    air_kg = room_air_kg(climate, air_c, outer)
    clocks = [t.time() for t in local_starts(grid)]
    changes = changes_per_h(climate, clocks)
    surplus = given_off_kg / tick_h + changes * air_kg * (outer - goal)
    daily = _moving_mean(surplus, window)
    start = int(np.argmax(daily))
    day = slice(start, start + window)
    need_kg_h = float(daily[start])

    more = air_changes_to_hold(
        gain_kg_h=max(need_kg_h, 0.0),
        air_kg=float(air_kg[day].mean()),
        inside=float(goal[day].mean()),
        outside=float(outer[day].mean()),
    )
    aired = None if more is None else run(_aired(bare, more))
    kind = machine or Dehumidifier(rated_l_per_day=1.0)
    unit = replace(kind, rated_l_per_day=1.0, set_rh_pct=target_rh_pct)
    pull = float(
        (drying_per_h(unit, air_c, air_kg) * goal * air_kg)[day].mean()
    )  # kg/h for each rated l/day
    litres = max(need_kg_h, 0.0) / pull if pull > 0.0 else None
    dried = None
    if litres is not None:
        sized = replace(unit, rated_l_per_day=litres)
        dried = run(replace(bare, dehumidifiers=(sized,)))
    return Advice(
        target_rh_pct=target_rh_pct,
        worst_day_starts=start,
        worst_day_l=float(given_off_kg[day].sum()),
        air_changes_per_h=more,
        aired_over_h=None if aired is None else _over_h(aired, target_rh_pct),
        rated_l_per_day=litres,
        dried_over_h=None if dried is None else _over_h(dried, target_rh_pct),
        now_over_h=_over_h(run(climate), target_rh_pct),
    )


def _aired(climate: Climate, more_per_h: float) -> Climate:
    """Return the climate with so many air changes more, day and night."""
    extra = Ventilation(air_changes_per_h=more_per_h)
    return replace(climate, ventilation=(*climate.ventilation, extra))


def _over_h(room: RoomAir, target_rh_pct: float) -> float:
    """Return how long the room is more than one point above the target. [h]."""
    over = room.air.humidity_pct > target_rh_pct + 1.0
    return float(over.sum()) * room.air.tick_minutes / 60.0


def _moving_mean(values: FloatArray, window: int) -> FloatArray:
    total = np.concatenate(([0.0], np.cumsum(values)))
    return np.asarray((total[window:] - total[:-window]) / window)
