"""Jobs that can't be planned, each for a reason that is known beforehand."""

from collections.abc import Callable
from dataclasses import replace

from planner.schedule.problem.instance import Instance
from planner.schedule.problem.parts import Lookup, Pin
from tests.benchmarks.jobs import QUARTERS_PER_DAY, QUARTERS_PER_HOUR

NARROW_H = 6  # less than any coat dries in


def half_the_time(job: Instance, best: int) -> Instance:
    """Return the job due in half its best time: less than its longest chain."""
    return _due(job, best // 2)


def narrow_window(job: Instance, best: int) -> Instance:
    """Return the job with a recoat window that ends before the coat is dry."""
    (window,) = (k for k in job.lookups if k.name == "within 72 h")
    narrow = Lookup(
        name=window.name,
        over=tuple(t + NARROW_H * QUARTERS_PER_HOUR for t in range(job.horizon + 1)),
    )
    kept = tuple(k for k in job.lookups if k is not window)
    return replace(job, lookups=(*kept, narrow))


def early_pin(job: Instance, best: int) -> Instance:
    """Return the job with its varnish agreed for the first morning."""
    pin = Pin(
        task="z00-varnish", start=8 * QUARTERS_PER_HOUR, fact="varnish on the first day"
    )
    return replace(job, pins=(pin,))


def a_day_sooner(job: Instance, best: int) -> Instance:
    """Return the job due a day before its best return: people are too few."""
    return _due(job, best - QUARTERS_PER_DAY)


def _due(job: Instance, due: int) -> Instance:
    closures = tuple(replace(c, due=due) for c in job.closures)
    return replace(job, closures=closures)


CLASHES: dict[str, Callable[[Instance, int], Instance]] = {
    "chain": half_the_time,
    "window": narrow_window,
    "pin": early_pin,
    "people": a_day_sooner,
}
