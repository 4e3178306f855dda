"""The ticks that a plan may use: those in which somebody could work, and the free gaps."""

import numpy as np

from planner.hours.spans import Spans
from planner.schedule.problem.instance import Instance
from planner.schedule.problem.parts import Activity, Closure
from planner.schedule.space.days import Ints
from planner.schedule.space.starts import workable_mask


def useful_ticks(instance: Instance, tasks: tuple[Activity, ...]) -> Ints:
    """Return the useful ticks: where work is possible, and one in each tight span."""
    horizon = instance.horizon
    opens = {p.id: p.open.mask(horizon)[:horizon] for p in instance.people}
    useful = np.zeros(horizon, dtype=np.bool_)
    seen: set[tuple[tuple[str, ...], bool, tuple[object, ...]]] = set()
    for task in tasks:
        unmanned = any(m.size == 0 for m in task.modes)
        key = (tuple(sorted(task.eligible)), unmanned, task.no_work)
        if key in seen:
            continue
        seen.add(key)
        somebody = np.full(horizon, unmanned, dtype=np.bool_)
        for p in task.eligible:
            somebody |= opens[p]
        useful |= workable_mask(task, (somebody,), horizon)
    for pool in instance.pools:
        spans = [(start, end) for start, end, _ in pool.less]
        spans += list(instance.days) if pool.day_price else []
        for start, end in spans:
            if not useful[start:end].any():
                useful[start] = True
    return np.flatnonzero(useful).astype(np.int64)


def gaps_between_bookings(
    closure: Closure, horizon: int
) -> tuple[tuple[int, int], ...]:
    """Return the spans between bookings in which the closure may lie, in order."""
    last = horizon if closure.due is None else min(horizon, closure.due)
    booked = Spans.of(span for block in closure.booked for span in block.ticks)
    return (Spans.of([(0, last)]) - booked).items
