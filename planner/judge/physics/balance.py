"""The room's air by a balance of its own, in short steps, with the plan's coats in it.

Each minute the room loses and gains air by leaks and fans, gains the water that the
coats give off, and a dehumidifier takes water out while it is damper than its set
point; warmth runs towards the outside by the room's lag, and is held by thermostats.
"""

import math
from collections.abc import Iterator
from itertools import pairwise

import numpy as np

from planner.judge.case import JudgedPlan
from planner.judge.physics.air import assumed, changes, laid_over, on
from planner.judge.physics.hardening import Floats, speed
from planner.judge.physics.stacks import stacks
from planner.judge.physics.vapour import (
    dry_air_kg_m3,
    of_ratio_pa,
    over_ice_pa,
    over_water_pa,
    ratio,
    vapour_pa,
)
from planner.nouns.air import Climate
from planner.nouns.product import Hardening, Product

STEP_S = 60
COIL_FULL_C, COIL_NOTHING_C = 15.0, 5.0  # where a compressor's coil ices up


def given_off_kg(case: JudgedPlan, air_c: Floats, humidity_pct: Floats) -> Floats:
    """Return the water that the plan's coats give to the room in each tick. [kg]."""
    out = np.zeros(air_c.size)
    none = np.zeros(air_c.size)
    colder_k = case.job.wall_colder_delta_k
    wall_c, wall_pct = air_c - colder_k, humidity_pct
    if colder_k:
        held = 100.0 * vapour_pa(air_c, humidity_pct) / over_ice_pa(wall_c)
        wall_pct = held.clip(0.0, 100.0)
    tick_h = case.step / 3600
    below = {
        upper.id: lower.id
        for bay in case.plan.stage.bays
        for coats in stacks(case, bay.id)
        for lower, upper in pairwise(coats)
    }
    left: dict[
        str, list[int]
    ] = {}  # of each coat, when the water of each part has left
    for task in sorted(case.plan.tasks, key=lambda t: t.end):
        product = case.inputs.products.get(task.product or "")
        stage = _drying(product) if product else None
        if product is None or stage is None or task.wet_m2 <= 0.0:
            continue
        per_h = speed(stage, wall_c, wall_pct, none, product.thickness_mm)
        done = np.concatenate(([0.0], np.cumsum(per_h * tick_h)))
        laid = [
            tick + 1
            for a, b in task.spans
            for tick in range(case.tick(a), case.tick(b))
            if tick < air_c.size
        ]
        under = left.get(below.get(task.id, ""), [])
        left[task.id] = []
        for number, end in enumerate(laid):
            free = 0
            if under:  # the same part of the area, as both coats go the same way
                free = under[(2 * number + 1) * len(under) // (2 * len(laid))]
            since = done[max(end, free)]
            part = np.clip(done - since, 0.0, 1.0)
            out += water_kg(product, task.wet_m2) / len(laid) * np.diff(part)
            gone = int(np.searchsorted(done, since + 1.0 - 1e-9))
            left[task.id].append(min(gone, done.size - 1))
    return out


def _drying(product: Product) -> Hardening | None:
    """Return the stage in which a coat gives off its water."""
    by_name = {s.stage: s for s in product.stages}
    return by_name.get("dry") or by_name.get("recoat")


def water_kg(product: Product, area_m2: float) -> float:
    """Return the water in a coat that has to leave: a litre weighs a kilogram. [kg]."""
    if product.thickness_mm is not None:
        litres = area_m2 * product.thickness_mm
    elif product.coverage_m2_per_l:
        litres = area_m2 / product.coverage_m2_per_l
    else:
        litres = 0.0
    return litres * product.water_l_per_l * (1.0 - product.bound_frac)


def room(case: JudgedPlan, climate: Climate, wet_kg: Floats) -> tuple[Floats, Floats]:
    """Return temperature and humidity of each tick of `wet_kg`."""
    count = wet_kg.size
    spec = case.job.outside or case.job.air
    out_c, out_rh = laid_over(case, *assumed(case, spec), case.inputs.outside)
    out_c, out_rh = out_c[:count], out_rh[:count]
    weather = case.job.outside is not None or bool(case.inputs.outside)
    full_pa = over_water_pa(out_c) if weather else over_ice_pa(out_c)
    outer = ratio(full_pa * out_rh / 100.0)
    air_c = _warmth(case, climate, out_c)
    air_kg = climate.volume_m3 * dry_air_kg_m3(air_c, of_ratio_pa(outer))
    full = ratio(over_ice_pa(air_c))
    steps = max(case.step // STEP_S, 1)
    hours = case.step / steps / 3600
    per_h = changes(case)[:count]
    gain = wet_kg / air_kg / (case.step / 3600)
    machines = list(_machines(case, climate, air_c, air_kg))
    water = float(min(outer[0], full[0]))
    means = np.empty(count)
    for i in range(count):
        here = (hours, float(per_h[i]), float(outer[i]), float(gain[i]), machines, i)
        passed = [water]
        for _ in range(steps):
            passed.append(_next(passed[-1], *here))
        water = passed[-1]
        means[i] = mean_of(passed)
        if water > full[i]:
            means[i] = min(means[i], full[i])
            water = float(full[i])
    humidity = 100.0 * of_ratio_pa(means) / over_ice_pa(air_c)
    return air_c, np.clip(humidity, 0.0, 100.0)


def mean_of(passed: list[float]) -> float:
    """Return the mean of what runs straight between values that lie equally apart."""
    return sum(a + b for a, b in pairwise(passed)) / 2.0 / (len(passed) - 1)


def _next(
    water: float,
    hours: float,
    per_h: float,
    outer: float,
    gain: float,
    machines: list[tuple[Floats, Floats]],
    tick: int,
) -> float:
    """Return the room's water after a short step, halfway between its two ends."""
    pull = sum(float(p[tick]) for goal, p in machines if water > goal[tick])
    leaving = per_h + pull
    rate = per_h * outer + gain - leaving * water
    after = water + rate * hours / (1.0 + leaving * hours / 2.0)
    reached = [float(g[tick]) for g, _ in machines if after < g[tick] < water]
    if not reached:
        return after
    # A machine stops at its set point: what would rise again without it is held there,
    # and what falls without it falls on.
    goal = max(reached)
    rest = hours * (goal - after) / (water - after)
    return min(goal, _next(goal, rest, per_h, outer, gain, machines, tick))


def _machines(
    case: JudgedPlan, climate: Climate, air_c: Floats, air_kg: Floats
) -> Iterator[tuple[Floats, Floats]]:
    """Yield each machine: its set point as water, and the share that it takes an hour."""
    for m in climate.dehumidifiers:
        rated = float(ratio(vapour_pa(m.rated_c, m.rated_rh_pct)))
        ice = (air_c - COIL_NOTHING_C) / (COIL_FULL_C - COIL_NOTHING_C)
        works = np.clip(ice, 0.0, 1.0) if m.compressor else np.ones_like(air_c)
        litres_h = m.rated_l_per_day / 24.0 * works * on(case, m.hours)[: air_c.size]
        goal = ratio(vapour_pa(air_c, np.full(air_c.size, m.set_rh_pct)))
        yield goal, litres_h / rated / air_kg


def _warmth(case: JudgedPlan, climate: Climate, out_c: Floats) -> Floats:
    """Return the room's temperature at the end of each tick."""
    follow = 1.0
    if climate.lag_h > 0.0:
        follow = -math.expm1(-case.step / 3600 / climate.lag_h)
    low = np.full(out_c.size, -np.inf)
    high = np.full(out_c.size, np.inf)
    for t in climate.thermostats:
        works = on(case, t.hours)[: out_c.size]
        if t.heat_to_c is not None:
            low = np.where(works, np.maximum(low, t.heat_to_c), low)
        if t.cool_to_c is not None:
            high = np.where(works, np.minimum(high, t.cool_to_c), high)
    warm = float(out_c[0])
    out = np.empty(out_c.size)
    for i in range(out_c.size):
        warm += (out_c[i] - warm) * follow
        warm = max(min(warm, high[i]), low[i])
        out[i] = warm
    return out
