"""Waits as they turn out: when a coat is ready, in many futures at once.

In each series of air a coat hardens by shares of its way, tick by tick, as the plan's
own waits do, but without the planning margin. A future multiplies what the coat needs
by a factor of its own.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from planner.air.waits import shares
from planner.nouns.product import Air, Hardening, HardeningWay, Product

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]

_HAIR = 1e-9
_LEAST, _HALVINGS = 1e-3, 24  # of a coat's factor, and to within a millionth
_MOST = 1e4  # times over that a coat hardens within the horizon, at most


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PlayedStage:
    """One stage of hardening in each series of air; `None`: it takes no time."""

    done: Floats | None  # series after series, each a row of its own, rising all along
    shortens: bool  # a factor below 1 makes it shorter than its sheet says


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PlayedWait:
    """A wait in each series of air, its stages one after the other."""

    ticks: int
    stages: tuple[PlayedStage, ...]
    product: str = ""  # what hardens

    def over(self, end: Ints, factor: Floats, series: Ints) -> Ints:
        """Return the tick at which a coat finished at each end tick is ready.

        One past the last tick stands for: not within the horizon.
        """
        row = series * (self.ticks + 1)
        at = np.minimum(end, self.ticks)
        lost = end > self.ticks
        for stage in self.stages:
            if stage.done is None:
                continue
            need = factor if stage.shortens else np.maximum(factor, 1.0)
            found = np.searchsorted(stage.done, stage.done[row + at] + need - _HAIR)
            at = found - row
            lost = lost | (at > self.ticks)
            at = np.minimum(at, self.ticks)
        return np.where(lost, self.ticks + 1, at)

    def least_factor(self, end: Ints, seen: int, series: Ints) -> Floats:
        """Return the factor that a coat found wet at a tick must have more than.

        It is the largest by which the coat would have been ready by then.
        """
        low, high = np.full(len(end), _LEAST), np.full(len(end), 1.0 / _LEAST)
        for _ in range(_HALVINGS):
            middle = np.sqrt(low * high)
            ready = self.over(end, middle, series) <= seen
            low, high = np.where(ready, middle, low), np.where(ready, high, middle)
        return low


Named = tuple[str, tuple[Hardening, Product, float]]


def played(
    stage: Hardening,
    airs: Sequence[Air],
    product: Product,
    times: float = 1.0,
) -> PlayedWait:
    """Return a wait for a stage of hardening, with all stages before it.

    `stage` is one of the product's; it takes `times` its own hours where other coats are
    laid over it wet.
    """
    return _InAirs(airs).played(stage, product, times)


def all_played(
    named: tuple[Named, ...], airs: tuple[Air, ...]
) -> dict[str, PlayedWait]:
    """Return waits in each series of air by their names; see `played` for each."""
    here = _InAirs(airs)
    return {name: here.played(*wait) for name, wait in named}


class _InAirs:
    """Series of air, and how what was asked about hardens in them."""

    def __init__(self, airs: Sequence[Air]) -> None:
        self.ticks, self.series = len(airs[0]), len(airs)
        changes = [a.changes_per_h for a in airs if a.changes_per_h is not None]
        self.in_a_row = replace(
            airs[0],
            air_c=np.concatenate([a.air_c for a in airs]),
            humidity_pct=np.concatenate([a.humidity_pct for a in airs]),
            changes_per_h=np.concatenate(changes) if changes else None,
        )
        self._done: dict[tuple[object, ...], Floats] = {}

    def played(self, stage: Hardening, product: Product, times: float) -> PlayedWait:
        stages: list[PlayedStage] = []
        one: Hardening | None = stage
        while one is not None:
            stages.insert(0, self.stage(one, product.thickness_mm, times))
            one = one.after
        return PlayedWait(ticks=self.ticks, stages=tuple(stages), product=product.id)

    def stage(
        self, one: Hardening, thickness_mm: float | None, times: float
    ) -> PlayedStage:
        if dict(one.numbers).get("hours_h") == 0.0:
            return PlayedStage(done=None, shortens=False)
        rows = np.minimum(self.done(one, thickness_mm) / times, _MOST)
        rows = rows + np.arange(self.series)[:, None] * 2.0 * _MOST
        return PlayedStage(
            done=rows.ravel(),
            shortens=one.way in (HardeningWay.DRIES, HardeningWay.CLEARS),
        )

    def done(self, one: Hardening, thickness_mm: float | None) -> Floats:
        """Return how many times over a coat hardens by each tick, a row for each series."""
        key = (one.law, one.numbers, one.times, thickness_mm)
        if key not in self._done:
            each = shares(one, self.in_a_row, thickness_mm)
            rows = np.zeros((self.series, self.ticks + 1))
            np.cumsum(each.reshape(self.series, -1), axis=1, out=rows[:, 1:])
            self._done[key] = rows
        return self._done[key]
