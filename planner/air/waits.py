"""When a coat is ready: for each tick at which it is finished, the tick it has dried.

A coat that needs h(T, RH) hours in constant air is 1/h of the way further after
each hour of it. In changing air those shares add up, day and night: a coat that is
finished at tick e is ready at the first tick k with

    sum of tick length / hours(air of the tick) over [e, k)  >=  1,

so the answer is rounded up to whole ticks, and a later finish is never earlier
ready. All laws go through the same sum; they differ in their hours only. The air is
that at the coldest wall (`planner.air.wall`); what runs out in the pan goes by the room.
"""

from collections.abc import Sequence
from dataclasses import replace
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from planner.air.law_range import HAIR, beyond_range, hours_in, refuse_beyond
from planner.air.laws import (
    LAWS,
    MOVING_ERROR_FRAC,
    Law,
    moving_times,
)
from planner.air.limits import breaks_by_limit, cold_before, limit_breaks, limit_words
from planner.air.moist_air import FloatArray
from planner.air.wall import at_wall
from planner.nouns.product import (
    Air,
    Hardening,
    HardeningWay,
    Latest,
    Product,
)

__all__ = [
    "AIR_DELTA_K",
    "AIR_DELTA_RH_PCT",
    "OF_THE_AIR",
    "Beyond",
    "beyond_range",
    "breaks_by_limit",
    "cautious_at",
    "cautious_frac",
    "cold_before",
    "hours_at",
    "latest_ticks",
    "likely_ticks",
    "limit_breaks",
    "limit_words",
    "progress",
    "ready_ticks",
    "shares",
    "shortest_h",
    "stacked_times",
]

TickArray = NDArray[np.int64]

# How far assumed air may be out (assumption); readings are closer.
AIR_DELTA_K, AIR_DELTA_RH_PCT = 1.0, 5.0
THICKNESS_ERROR_FRAC = 0.20  # of a coat's wet thickness (assumption)


# Ways of hardening that hang on the air, so that a job's margin lengthens them.
OF_THE_AIR = (HardeningWay.DRIES, HardeningWay.CLEARS)


class Beyond(StrEnum):
    """What to do with a tick whose air lies beyond a law's range."""

    REFUSE = "refuse"  # an error that names the first such hour
    STILL = "still"  # the coat makes no progress in this tick


def hours_at(
    stage: Hardening, temp_c: float, rh_pct: float, thickness_mm: float | None = None
) -> float:
    """Return the likely hours of a stage in constant air, those before it included.

    Raises
    ------
    OutOfRangeError
        Where the law's source doesn't cover the air.
    """
    air = _constant(temp_c, rh_pct)
    refuse_beyond(stage, air)
    own_h = float(hours_in(stage, air, thickness_mm)[0])
    if stage.after is None:
        return own_h
    return own_h + hours_at(stage.after, temp_c, rh_pct, thickness_mm)


def cautious_at(
    stage: Hardening, temp_c: float, rh_pct: float, thickness_mm: float | None = None
) -> float:
    """Return the cautious hours of a stage in constant air; see `cautious_frac`."""
    air = _constant(temp_c, rh_pct)
    refuse_beyond(stage, air)
    longer = 1.0 + float(cautious_frac(stage, air)[0])
    own_h = float(hours_in(stage, air, thickness_mm)[0]) * longer
    if stage.after is None:
        return own_h
    return own_h + cautious_at(stage.after, temp_c, rh_pct, thickness_mm)


def _constant(temp_c: float, rh_pct: float) -> Air:
    return Air(
        tick_minutes=60, air_c=np.array([temp_c]), humidity_pct=np.array([rh_pct])
    )


# ------------------------------------------------------------------ waits


def progress(
    stage: Hardening | Latest,
    air: Air,
    *,
    thickness_mm: float | None = None,
    margin_frac: float | FloatArray = 0.0,
    times: float = 1.0,
    beyond: Beyond = Beyond.REFUSE,
) -> FloatArray:
    """Return how many times over a coat hardens from the first tick to each.

    One entry for each end tick 0..N; a coat finished at e is, at k, the share
    progress[k] - progress[e] of the way. A stage before isn't counted in. `times` is
    how many times its own hours it takes, as `stacked_times` says.
    """
    if beyond is Beyond.REFUSE:
        refuse_beyond(stage, air)
    each = shares(stage, air, thickness_mm, margin_frac)
    return np.concatenate(([0.0], np.cumsum(each) / times))


def shares(
    stage: Hardening | Latest,
    air: Air,
    thickness_mm: float | None = None,
    margin_frac: float | FloatArray = 0.0,
) -> FloatArray:
    """Return how much of its way a coat hardens in each tick; beyond the law, none."""
    hours = hours_in(stage, air, thickness_mm)
    tick_h = air.tick_minutes / 60.0
    return np.asarray(tick_h / np.maximum(hours * (1.0 + margin_frac), 1e-6))


STACK_C, STACK_RH_PCT = 20.0, 50.0  # any air will do: all coats dry by one law


def stacked_times(own: Product, stage: str, covered_by: Sequence[Product]) -> float:
    """Return how many times its own hours a coat takes with others laid over it wet.

    Water leaves a stack of coats from its face, one coat's after another's, at the
    pace of a single coat (the constant rate of drying: Sherwood 1929, Industrial and
    Engineering Chemistry 21, from memory). So a stack is dry once each coat of it,
    from its own end on, has had the hours of itself and of all that lies over it.

    Examples
    --------
    >>> from planner.trade.data.materials import product
    >>> stacked_times(product("setting-90"), "dry", [product("setting-90")])
    2.0
    """
    hours = [
        hours_at(s, STACK_C, STACK_RH_PCT, p.thickness_mm)
        for p in (own, *covered_by)
        for s in p.stages
        if s.stage == stage
    ]
    return sum(hours) / hours[0]


def ready_ticks(
    stage: Hardening,
    air: Air,
    *,
    thickness_mm: float | None = None,
    margin_frac: float | FloatArray = 0.0,
    before_frac: float | None = None,
    times: float = 1.0,
    beyond: Beyond = Beyond.REFUSE,
) -> TickArray:
    """Return, for each end tick 0..N, the tick at which a coat finished then is ready.

    Parameters
    ----------
    stage : Hardening
        The stage of hardening that is waited for.
    air : Air
        The room's air, N ticks.
    thickness_mm : float, optional
        Wet thickness of the coat; without it, the stage's own. [mm]
    margin_frac : float or FloatArray
        Added to the hours, for all ticks or for each. [1]
    before_frac : float, optional
        Added to the hours of the stages before; without it, as much. [1]
    times : float
        How many times its own hours the stage takes, as `stacked_times` says. [1]
    beyond : Beyond
        What to do with air that the law doesn't cover.

    Returns
    -------
    NDArray[int64]
        N + 1 ticks, never falling, never before their own place. N + 1 stands
        for: not within the series. A stage of no hours is ready at once.

    Raises
    ------
    OutOfRangeError
        Where the air leaves the law's range and `beyond` is REFUSE.
    """
    end_ticks = np.arange(len(air) + 1, dtype=np.int64)
    if stage.after is not None:
        end_ticks = ready_ticks(
            stage.after,
            air,
            thickness_mm=thickness_mm,
            margin_frac=margin_frac if before_frac is None else before_frac,
            beyond=beyond,
        )
    if dict(stage.numbers).get("hours_h") == 0.0:
        return end_ticks
    done = progress(
        stage,
        air,
        thickness_mm=thickness_mm,
        margin_frac=margin_frac,
        times=times,
        beyond=beyond,
    )
    return _onwards(done, end_ticks)


def _onwards(done: FloatArray, since: TickArray) -> TickArray:
    """Return, for each tick in `since`, the tick by which one whole more is done."""
    ready = np.searchsorted(done, done + (1.0 - HAIR)).astype(np.int64)
    return np.append(ready, done.size)[since]


def likely_ticks(
    stage: Hardening,
    air: Air,
    *,
    thickness_mm: float | None = None,
    times: float = 1.0,
    beyond: Beyond = Beyond.REFUSE,
) -> TickArray:
    """Return `ready_ticks` without a margin: as likely too long as too short."""
    return ready_ticks(
        stage, air, thickness_mm=thickness_mm, times=times, beyond=beyond
    )


def cautious_frac(
    stage: Hardening,
    air: Air,
    *,
    delta_k: float = AIR_DELTA_K,
    delta_rh_pct: float = AIR_DELTA_RH_PCT,
) -> FloatArray:
    """Return the margin that makes a stage's hours cautious, for each tick.

    The root of the sum of squares of independent errors, each a fraction of the
    hours: the law's own (`error_frac`); the air's, from the hours at `delta_k`
    colder and at `delta_rh_pct` points damper (drier where that is slower), each
    step kept inside the law's range; its movement's, two fifths of what that
    saves; and the thickness's, a fifth of it, where the hours depend on it. [1].
    """
    air = at_wall(air)
    air_c, humidity_pct = air.air_c, air.humidity_pct
    law = LAWS[stage.law]
    damper = np.minimum(humidity_pct + delta_rh_pct, law.high_rh_pct)
    drier = np.maximum(humidity_pct - delta_rh_pct, 0.0)
    colder = np.maximum(air_c - delta_k, law.low_c)
    here = hours_in(stage, air, None)
    known = np.isfinite(here) & (here > 0.0)
    base = np.where(known, here, 1.0)

    def slower(celsius: FloatArray, humid: FloatArray) -> FloatArray:
        there = hours_in(stage, replace(air, air_c=celsius, humidity_pct=humid), None)
        ratio = np.where(known & np.isfinite(there), there, base) / base
        return np.maximum(ratio - 1.0, 0.0)

    by_warmth = slower(colder, humidity_pct)
    by_damp = np.maximum(slower(air_c, damper), slower(air_c, drier))
    by_layer = THICKNESS_ERROR_FRAC if "layer_mm" in dict(stage.numbers) else 0.0
    moving = moving_times(dict(stage.numbers).get("air_m_s", 0.0))
    by_moving = MOVING_ERROR_FRAC * (moving - 1.0)
    squares = stage.error_frac**2 + by_warmth**2 + by_damp**2 + by_layer**2
    squares += by_moving**2
    return np.asarray(np.sqrt(squares))


def shortest_h(latest: Latest, air: Air) -> float:
    """Return a latest time in the air of the series that makes it shortest. [h]."""
    law = LAWS[latest.law]
    return float(hours_in(latest, _nearest(law, air), None).min())


def _nearest(law: Law, air: Air) -> Air:
    """Return the room's air, moved to the nearest that the law covers."""
    return replace(
        air,
        wall_colder_delta_k=0.0,
        air_c=np.clip(air.air_c, law.low_c, law.high_c),
        humidity_pct=np.minimum(air.humidity_pct, law.high_rh_pct),
    )


def latest_ticks(latest: Latest, air: Air) -> TickArray:
    """Return, for each tick 0..N, the last tick by which what follows must start.

    Rounded down, never before its own place; N stands for: not within the series.
    Air that the law doesn't cover counts as the nearest air that it does: cold
    only lengthens these times, and above the warm end no coat may be laid.
    """
    done = progress(latest, _nearest(LAWS[latest.law], air))
    last = np.searchsorted(done, done + (1.0 + HAIR), side="right") - 1
    return np.maximum(last, np.arange(done.size)).astype(np.int64)
