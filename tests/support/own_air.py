"""A plan's own air worked out once more, roughly and by itself, to check plans by.

It shares nothing with `planner/planning`: minute by minute, the room's water is what it
was, plus what leaks in, plus what the coats give off at the speed that the law of their
product has in the air of that minute, less what machines take. Vapour by Magnus' formula
(constants of WMO-No. 8, from memory); the room as warm as the plan says it is.
"""

import math
from datetime import datetime

import numpy as np

from planner.air.room import assumed
from planner.air.waits import ready_ticks, shares
from planner.nouns.job import Job
from planner.nouns.plan import Plan
from planner.nouns.product import Air
from planner.trade.data.materials import product

MINUTES = 5  # of a step
LATE_TICKS = 2  # that a wait may be off, as steps are coarse here
NEAR_K, NEAR_PCT = 0.15, 0.8  # by which a limit may be missed, for the same reason
RATIO = 0.621945  # molar mass of water to that of dry air


def saturation_pa(air_c: float) -> float:
    return 611.2 * math.exp(17.62 * air_c / (243.12 + air_c))


def dew_point_c(air_c: float, humidity_pct: float) -> float:
    x = math.log(humidity_pct / 100.0) + 17.62 * air_c / (243.12 + air_c)
    return 243.12 * x / (17.62 - x)


def ratio_of(vapour_pa: float) -> float:
    return RATIO * vapour_pa / (101_325.0 - vapour_pa)


class _Grid:
    def __init__(self, job: Job, plan: Plan) -> None:
        self.start, self.zone = plan.stage.air.start, job.zone
        self.tick_minutes, self.ticks = plan.tick_minutes, len(plan.stage.air.air_c)


def _coats(plan: Plan):
    """Yield for each coat: stage, thickness, kg in each tick laid, ticks laid."""
    for task in plan.tasks:
        if task.product is None or task.wet_m2 == 0.0:
            continue
        what = product(task.product)
        stages = {s.stage: s for s in what.stages}
        stage = stages.get("dry") or stages.get("recoat")
        if stage is None or what.water_l_per_l == 0.0:
            continue
        if what.thickness_mm is not None:
            litres = task.wet_m2 * what.thickness_mm
        else:
            litres = task.wet_m2 / (what.coverage_m2_per_l or math.inf)
        litres *= what.water_l_per_l * (1.0 - what.bound_frac)
        laid = [
            tick
            for a, b in task.spans
            for tick in range(_tick(plan, a), _tick(plan, b))
        ]
        yield stage, what.thickness_mm, litres / len(laid), laid


def _tick(plan: Plan, when: datetime) -> int:
    return round((when - plan.stage.air.start).total_seconds() / 60 / plan.tick_minutes)


def own_humidity_pct(job: Job, plan: Plan) -> np.ndarray:
    """Return the room's humidity, tick by tick, by leaks, coats and machines."""
    climate = job.climate
    assert climate is not None
    grid = _Grid(job, plan)
    outside = assumed(job.outside or job.air, grid)
    step_h = MINUTES / 60
    coats = [
        (stage, thick, each, laid, np.zeros(len(laid)))
        for stage, thick, each, laid in _coats(plan)
    ]
    out = np.zeros(grid.ticks)
    water = None
    for tick in range(grid.ticks):
        warm = plan.stage.air.air_c[tick]
        outer = ratio_of(
            saturation_pa(float(outside.air_c[tick]))
            * float(outside.humidity_pct[tick])
            / 100.0
        )
        water = min(outer, ratio_of(saturation_pa(warm))) if water is None else water
        air_kg = climate.volume_m3 * 101_325.0 / (287.04 * (warm + 273.15)) * 0.99
        changes = climate.leak_per_h + sum(
            v.air_changes_per_h for v in climate.ventilation if v.hours == ()
        )
        seen = []
        for _ in range(plan.tick_minutes // MINUTES):
            humid = 100.0 * water / (RATIO + water) * 101_325.0 / saturation_pa(warm)
            seen.append(humid)
            gain_kg = 0.0
            for stage, thick, each, laid, along in coats:
                wet = np.array(laid) + 1 <= tick
                if not (wet & (along < 1.0)).any():
                    continue
                here = Air(
                    wall_colder_delta_k=job.wall_colder_delta_k,
                    tick_minutes=MINUTES,
                    air_c=np.array([warm]),
                    humidity_pct=np.array([min(humid, 100.0)]),
                )
                share = float(shares(stage, here, thick)[0])
                went = np.where(wet, np.clip(1.0 - along, 0.0, share), 0.0)
                along[:] = along + went
                gain_kg += each * went.sum()
            dried = 0.0
            for machine in climate.dehumidifiers:
                rated = ratio_of(
                    saturation_pa(machine.rated_c) * machine.rated_rh_pct / 100.0
                )
                if humid > machine.set_rh_pct:
                    dried += machine.rated_l_per_day / 24 * step_h * water / rated
            water += changes * (outer - water) * step_h + (gain_kg - dried) / air_kg
        out[tick] = min(sum(seen) / len(seen), 100.0)
    return out


def faults_in_own_air(job: Job, plan: Plan) -> list[str]:
    """Return the waits that end, and the limits that break, against the plan."""
    humid = own_humidity_pct(job, plan)
    air = Air(
        wall_colder_delta_k=job.wall_colder_delta_k,
        tick_minutes=plan.tick_minutes,
        air_c=np.array(plan.stage.air.air_c),
        humidity_pct=humid,
        changes_per_h=np.array(plan.stage.air.changes_per_h),
    )
    faults = []
    for wait in plan.waits:
        what = product(wait.product)
        stage = next(s for s in what.stages if s.stage == wait.stage)
        margin = job.margin_frac if wait.way in ("dries", "clears") else 0.0
        over = ready_ticks(
            stage, air, thickness_mm=what.thickness_mm, margin_frac=margin
        )
        ready = int(over[min(_tick(plan, wait.begins), len(air))])
        if ready - _tick(plan, wait.ready) > LATE_TICKS and ready <= len(air):
            faults.append(f"{wait.task} {wait.stage}: ready {ready}, not {wait.ready}")
    dry = {(w.task, w.stage): _tick(plan, w.ready) for w in plan.waits}
    for task in plan.tasks:
        until = dry.get((task.id, task.dry_stage or ""))
        if task.product is None or until is None:
            continue
        limits = product(task.product).limits
        for tick in range(_tick(plan, task.start), until):
            warm, damp = plan.stage.air.air_c[tick], float(humid[tick])
            wall = warm - job.wall_colder_delta_k
            above = wall - dew_point_c(warm, damp)
            if limits.min_c is not None and wall < limits.min_c - NEAR_K:
                faults.append(f"{task.id}: {wall:.1f} °C at {tick}")
            if limits.max_c is not None and warm > limits.max_c + NEAR_K:
                faults.append(f"{task.id}: {warm:.1f} °C at {tick}")
            if limits.max_rh_pct is not None and damp > limits.max_rh_pct + NEAR_PCT:
                faults.append(f"{task.id}: {damp:.1f} % at {tick}")
            margin_k = limits.dew_margin_delta_k
            if margin_k is not None and above < margin_k - NEAR_K:
                faults.append(f"{task.id}: {above:.1f} K over the dew point at {tick}")
    return faults
