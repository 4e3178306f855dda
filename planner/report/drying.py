"""How far each coat has hardened at any moment, by the law and in the plan's air."""

from datetime import datetime, timedelta

import numpy as np

from planner.air import waits as laws
from planner.air.moist_air import FloatArray
from planner.plan import Plan, PlannedWait, UsedStage
from planner.records import Air, Hardening, Source, Way

Point = tuple[datetime, float]

_HAIR = 1e-9  # of the way: shares that are a half but for the last digits
_STRAIGHT = 0.006  # a share so close to the line between its neighbours is left out


class Drying:
    """The progress of every wait of a plan, from 0 (just laid) to 1 (ready)."""

    def __init__(self, plan: Plan) -> None:
        self.start = plan.air.start
        self.tick_min = plan.air.tick_minutes
        self.air = Air(
            tick_minutes=plan.air.tick_minutes,
            air_c=np.array(plan.air.air_c),
            humidity_pct=np.array(plan.air.humidity_pct),
        )
        self.products = {p.id: p for p in plan.products}
        self.known: dict[tuple[str, str], FloatArray] = {}
        self.drawn: dict[PlannedWait, tuple[Point, ...]] = {}

    def _summed(self, wait: PlannedWait) -> FloatArray:
        """Return the progress summed from the first tick on, for a wait's stage."""
        key = (wait.product, wait.stage)
        if key not in self.known:
            product = self.products[wait.product]
            used = next(s for s in product.stages if s.stage == wait.stage)
            self.known[key] = laws.progress(
                _stage(used),
                self.air,
                thickness_mm=product.thickness_mm,
                beyond=laws.Beyond.STILL,
            )
        return self.known[key]

    def _tick(self, when: datetime) -> int:
        return round((when - self.start) / timedelta(minutes=self.tick_min))

    def shares(self, wait: PlannedWait) -> FloatArray:
        """Return the share of the way at each tick from the wait's start to its end.

        The end is the planned one, margin and all, so the last share is 1.
        """
        a, b = self._tick(wait.begins), self._tick(wait.ready)
        summed = self._summed(wait)
        if b >= summed.size or summed[b] <= summed[a]:
            return np.linspace(0.0, 1.0, max(b - a, 1) + 1)
        return np.asarray((summed[a : b + 1] - summed[a]) / (summed[b] - summed[a]))

    def curve(self, wait: PlannedWait) -> tuple[Point, ...]:
        """Return the same as points, those on a straight line left out."""
        if wait not in self.drawn:
            shares = self.shares(wait)
            step = (wait.ready - wait.begins) / (shares.size - 1)
            self.drawn[wait] = tuple(
                (wait.begins + step * k, float(shares[k])) for k in _bends(shares)
            )
        return self.drawn[wait]

    def half_way(self, wait: PlannedWait) -> datetime:
        """Return the moment at which half of the way is behind."""
        shares = self.shares(wait)
        tick = int(np.searchsorted(shares, 0.5 - _HAIR))
        return wait.begins + timedelta(minutes=self.tick_min) * tick


def _stage(used: UsedStage) -> Hardening:
    """Return a stage as the laws take it."""
    return Hardening(
        stage=used.stage,
        way=Way(used.way),
        law=used.law,
        numbers=tuple(used.numbers.items()),
        error_frac=0.0,
        source=Source(text=used.source, tag=used.source_tag),
    )


def _bends(shares: FloatArray) -> list[int]:
    """Return the places at which a curve has to be drawn through.

    Split where it is furthest from the line between two ends, until it is near
    enough everywhere (Ramer 1972; Douglas and Peucker 1973).
    """
    kept, open_ = {0, shares.size - 1}, [(0, shares.size - 1)]
    while open_:
        first, last = open_.pop()
        inner = np.arange(first + 1, last)
        if inner.size == 0:
            continue
        slope = (shares[last] - shares[first]) / (last - first)
        off = np.abs(shares[first] + slope * (inner - first) - shares[inner])
        if off.max() > _STRAIGHT:
            middle = int(inner[int(np.argmax(off))])
            kept.add(middle)
            open_ += [(first, middle), (middle, last)]
    return sorted(kept)
