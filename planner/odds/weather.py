"""The room's air as it may turn out: a set of series around the plan's own.

Temperature and humidity err by a first-order autoregressive process each: the error of
an hour is carried on into the next, and fades over the correlation time that the job
gives. Every future takes one of the series. The first series is the plan's own air.

Where the job describes the room and its record of the air outside holds several years,
each of these years' same weeks is a series instead: what heating, ventilation and the
plan's own wet work make of it.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from planner.air import room
from planner.nouns.inputs import Inputs
from planner.nouns.odds import Spread
from planner.nouns.product import Air
from planner.planning.inside import coats_of, years_inside
from planner.planning.problem import Problem
from planner.schedule.problem.outcome import Placement

SERIES = 33


def series_of(
    inputs: Inputs,
    problem: Problem,
    placements: Sequence[Placement],
    spread: Spread,
    seed: int,
) -> tuple[Air, ...]:
    """Return the series of air in which a plan is played, the plan's own first."""
    coats = coats_of(problem.work, problem.products, placements)
    read = room.read_ticks(inputs.readings, problem.grid)[: problem.now]
    years = years_inside(inputs, problem.grid, coats)
    if years:
        return (problem.air, *years)
    return inputs.kept.large_of(
        airs,
        problem.air,
        delta_k=spread.air_delta_k,
        delta_rh_pct=spread.air_delta_rh_pct,
        memory_h=spread.air_memory_h,
        seed=seed,
        known=int(np.flatnonzero(read)[-1]) + 1 if read.any() else 0,
    )


def airs(
    air: Air,
    *,
    delta_k: float,
    delta_rh_pct: float,
    memory_h: float,
    seed: int,
    known: int = 0,
    series: int = SERIES,
) -> tuple[Air, ...]:
    """Return so many series of air: a given one, and others around it.

    Parameters
    ----------
    air
        The plan's air, one value a tick.
    delta_k, delta_rh_pct
        Standard deviations of the errors. [K, points of relative humidity]
    memory_h
        The time in which the correlation of an error with itself falls to 1/e. [h]
    seed
        Of the errors; equal seeds give equal series for any plan of a job.
    known
        How many ticks have passed when the air was last measured: until then, to the
        day, it isn't off.
    """
    if delta_k == 0.0 and delta_rh_pct == 0.0:
        return (air,)
    ticks_per_day = 24 * 60 // air.tick_minutes
    days = -(-len(air) // ticks_per_day) + 1
    keep = float(np.exp(-24.0 / memory_h)) if memory_h > 0.0 else 0.0
    noise = np.random.default_rng([seed, 1]).standard_normal((2, series - 1, days))
    error = np.empty_like(noise)
    error[..., 0] = noise[..., 0]
    last = known // ticks_per_day
    if known:
        error[..., : last + 1] = 0.0
    for day in range(last + 1, days):
        error[..., day] = (
            keep * error[..., day - 1] + np.sqrt(1.0 - keep**2) * noise[..., day]
        )
    at = np.arange(len(air)) / ticks_per_day
    others = (
        replace(
            air,
            air_c=air.air_c + delta_k * np.interp(at, np.arange(days), warmth),
            humidity_pct=np.clip(
                air.humidity_pct + delta_rh_pct * np.interp(at, np.arange(days), damp),
                0.0,
                100.0,
            ),
        )
        for warmth, damp in zip(error[0], error[1], strict=True)
    )
    return (air, *others)
