"""How far each coat has hardened at any moment, by the law and in the plan's air."""

from datetime import datetime, timedelta

import numpy as np

from planner.air import waits as laws
from planner.air.moist_air import FloatArray
from planner.nouns.plan import Plan, PlannedWait
from planner.nouns.product import Air, Hardening, HardeningWay, Source
from planner.nouns.used import UsedStage

Point = tuple[datetime, float]

_HAIR = 1e-9  # of the way: shares that are a half but for the last digits
_STRAIGHT = 0.006  # a share so close to the line between its neighbours is left out


class Drying:
    """The progress of every wait of a plan, from 0 (just laid) to 1 (ready)."""

    def __init__(self, plan: Plan) -> None:
        self.start = plan.stage.air.start
        self.tick_min = plan.stage.air.tick_minutes
        self.air = Air(
            tick_minutes=plan.stage.air.tick_minutes,
            air_c=np.array(plan.stage.air.air_c),
            humidity_pct=np.array(plan.stage.air.humidity_pct),
            changes_per_h=np.array(plan.stage.air.changes_per_h),
            wall_colder_delta_k=plan.stage.air.wall_colder_delta_k,
        )
        self.waits = {(w.task, w.product, w.stage): w for w in plan.waits}
        self.products = {p.id: p for p in plan.products}
        self.known: dict[tuple[str, str], FloatArray] = {}
        self.drawn: dict[PlannedWait, tuple[Point, ...]] = {}

    def _summed(self, wait: PlannedWait) -> FloatArray:
        """Return the progress summed from the first tick on, for a wait's stage."""
        key = (wait.product, wait.stage)
        if key not in self.known:
            self.known[key] = laws.progress(
                _stage(self._used(wait)),
                self.air,
                thickness_mm=self.products[wait.product].thickness_mm,
                beyond=laws.Beyond.STILL,
            )
        return self.known[key]

    def _used(self, wait: PlannedWait) -> UsedStage:
        stages = self.products[wait.product].stages
        return next(s for s in stages if s.stage == wait.stage)

    def _tick(self, when: datetime) -> int:
        return round((when - self.start) / timedelta(minutes=self.tick_min))

    def shares(self, wait: PlannedWait) -> FloatArray:
        """Return the share of the way at each tick from the wait's start to its end.

        The end is the planned one, margin and all, so the last share is 1. A stage
        that begins after another stands at 0 until that one is reached.
        """
        a, b = self._tick(wait.begins), self._tick(wait.ready)
        idle = min(self._idle(wait, a), b - a)
        summed = self._summed(wait)
        if b >= summed.size or summed[b] <= summed[a + idle]:
            own = np.linspace(0.0, 1.0, max(b - a - idle, 1) + 1)
        else:
            done = summed[a + idle : b + 1] - summed[a + idle]
            own = done / done[-1]
        return np.concatenate((np.zeros(idle), own))

    def _idle(self, wait: PlannedWait, begins: int) -> int:
        """Return the ticks until the stage before is reached."""
        after = self._used(wait).after
        before = self.waits.get((wait.task, wait.product, after or ""))
        return 0 if before is None else self._tick(before.ready) - begins

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
        way=HardeningWay(used.way),
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
