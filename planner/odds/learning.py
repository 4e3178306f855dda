"""What is learned on a job: its crew's pace, and how fast its products dry.

Before anything is logged, the futures of a job differ by log-normal factors (`draws`): a
task takes the factor of the job times that of its kind of work times its own; a coat the
factor of the job times its own. These spreads are the prior. What was logged narrows it.

Pace. With `j` the logarithm of the job's factor, `w` those of its kinds of work, each
task that was logged from begin to end says, as it took `r` times its planned hours,

    ln r = j + w[kind] + e,   e ~ N(0, task^2 + (LOGGED_WITHIN_H / hours worked)^2)

All of this is normal, so the posterior of every `j + w[kind]` is the usual one of a
linear model, with mean m and covariance S before, A the sums, R the variances of e:

    K = S A' (A S A' + R)^-1,   mean = m + K (ln r - A m),   covariance = S - K A S

Waits. A coat that was found wet took more than `a` times its planned hours, one that was
found dry at most `b` times; both are worked out in the air that there was. Then, with `t` the
logarithm of the factor that all coats of the product share,

    p(t) ~ N(t; m, job^2) * product over coats of [F((ln b - t) / coat) - F((ln a - t) / coat)]

where F is the distribution function of the standard normal. Its mean and deviation are
summed over a fine grid.

What is planned with is the change of the median, exp(mean - m), no less than two thirds
and no more than one and a half, in steps of a twentieth, so that a plan isn't moved for
less. What is left of the factor stays in the futures.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import erf, exp, inf, log, sqrt

import numpy as np

from planner.nouns.odds import Factor, Lesson, Spread

LOGGED_WITHIN_H = 0.25  # how well begin and end are logged (assumption)
LEAST_TIMES, MOST_TIMES, STEP = 2 / 3, 3 / 2, 0.05
LEAST_FRAC = 0.01  # of a coat's own spread: what nobody can tell apart
FAR, POINTS = 5.0, 401  # deviations of the prior on each side, and points of the grid


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkedTask:
    """A task that was logged from begin to end, without setting up. [h] of its team."""

    work: str
    planned_h: float
    worked_h: float


@dataclass(frozen=True, slots=True, kw_only=True)
class CoatSeen:
    """A coat that was looked at: by its factor, it takes more than one, at most another."""

    product: str
    more_than: float = 0.0
    at_most: float = inf


def learned_pace(
    seen: Sequence[WorkedTask], kinds: Iterable[str], spread: Spread
) -> tuple[Lesson, ...]:
    """Return what tasks that were logged teach of each kind of work; () of none."""
    known = [s for s in seen if s.worked_h > 0.0 and s.planned_h > 0.0]
    if not known:
        return ()
    names = sorted({*kinds, *(s.work for s in known)})
    own = dict(spread.own_pace)
    factors = [own.get(k, spread.pace_work) for k in names]
    job, task = spread.pace_job, spread.pace_task
    # of each kind: the logarithm of the job's factor times its own
    mean = np.array([log(job.median) + log(f.median) for f in factors])
    covariance = np.full((len(names), len(names)), job.frac**2)
    covariance += np.diag([f.frac**2 for f in factors])
    sums = np.array([[float(k == s.work) for k in names] for s in known])
    errors = np.diag(
        [task.frac**2 + (LOGGED_WITHIN_H / s.worked_h) ** 2 for s in known]
    )
    found = np.array([log(s.worked_h / s.planned_h / task.median) for s in known])
    gain = covariance @ sums.T @ np.linalg.inv(sums @ covariance @ sums.T + errors)
    after = mean + gain @ (found - sums @ mean)
    left = covariance - gain @ sums @ covariance
    return tuple(
        _lesson(name, before, now, sqrt(max(var, 0.0)), sum(s.work == name for s in known))
        for name, before, now, var in zip(
            names, mean.tolist(), after.tolist(), np.diag(left).tolist(), strict=True
        )
    )  # fmt: skip


def learned_waits(seen: Sequence[CoatSeen], spread: Spread) -> tuple[Lesson, ...]:
    """Return what coats that were looked at teach of each product that is among them."""
    return tuple(
        _of_product(name, [s for s in seen if s.product == name], spread)
        for name in sorted({s.product for s in seen})
    )


def _of_product(name: str, seen: Sequence[CoatSeen], spread: Spread) -> Lesson:
    coat = dict(spread.own_waits).get(name, spread.waits_coat)
    frac, prior = max(coat.frac, LEAST_FRAC), spread.waits_job
    at = log(prior.median) + prior.frac * np.linspace(-FAR, FAR, POINTS)
    normal = (at - log(prior.median)) / (prior.frac or 1.0)
    weight = np.exp(-(normal**2) / 2.0)
    for one in seen:
        weight = weight * np.array([_chance(one, t, coat.median, frac) for t in at])
    if not weight.sum() > 0.0:  # beyond all that the prior holds possible
        weight = np.exp(-(normal**2) / 2.0)
    weight = weight / weight.sum()
    mean = float(weight @ at)
    left = sqrt(float(weight @ (at - mean) ** 2))
    return _lesson(name, log(prior.median), mean, left, len(seen))


def _chance(one: CoatSeen, shared: float, median: float, frac: float) -> float:
    """Return how likely a coat is found as it was, by the factor that all share."""

    def below(factor: float) -> float:
        if factor <= 0.0:
            return 0.0
        if factor == inf:
            return 1.0
        return (1.0 + erf((log(factor / median) - shared) / frac / sqrt(2.0))) / 2.0

    return max(below(one.at_most) - below(one.more_than), 0.0)


def _lesson(of: str, before: float, after: float, frac: float, seen: int) -> Lesson:
    times = planned_times(exp(after - before))
    return Lesson(
        of=of, times=times, left=Factor(frac=frac, median=exp(after) / times), seen=seen
    )


def planned_times(median: float) -> float:
    """Return how many times its hours something is planned with, bounded and in steps.

    Examples
    --------
    >>> planned_times(1.02), planned_times(1.16), planned_times(4.0)
    (1.0, 1.15, 1.5)
    """
    bounded = min(max(median, LEAST_TIMES), MOST_TIMES)
    return round(round(bounded / STEP) * STEP, 10)
