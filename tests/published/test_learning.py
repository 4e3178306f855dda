"""What a log teaches, against a library's own integration and sampling, and by hand.

The library is SciPy, `scipy.integrate.quad` and `scipy.stats`; the linear model of normal
variables is that of any textbook on Bayesian statistics (*from memory*: Gelman et al.,
Bayesian Data Analysis, 3rd edition 2013, chapters 2.5 and 14).

Tests of planner/odds/learning.py, planner/odds/draws.py.
"""

from dataclasses import replace
from math import exp, inf, log, sqrt

import numpy as np
import pytest

from planner.nouns.odds import Factor, Lesson, Threat
from planner.odds.draws import Draws
from planner.odds.learning import (
    LOGGED_WITHIN_H,
    CoatSeen,
    WorkedTask,
    learned_pace,
    learned_waits,
    planned_times,
)
from tests.support.odds import ORDINARY


def median(lesson: Lesson) -> float:
    """Return the posterior median of the factor, before it is planned with."""
    return lesson.times * lesson.left.median


# ----------------------------------------------------------------------- pace


def test_one_task_by_hand():
    """Ten hours planned, twelve worked.

    Variance before: 0.10^2 + 0.20^2 = 0.05; of the error: 0.15^2 + (0.25 / 12)^2 =
    0.022934. Gain 0.05 / 0.072934 = 0.685551. ln 1.2 = 0.182322, so the mean is 0.124991,
    the median 1.1331; what is left: sqrt(0.05 * (1 - 0.685551)) = 0.12539.
    """
    assert LOGGED_WITHIN_H == 0.25
    task = WorkedTask(work="sand", planned_h=10.0, worked_h=12.0)
    (found,) = learned_pace([task], ["sand"], ORDINARY)
    assert median(found) == pytest.approx(1.1331, abs=1e-4)
    assert found.left.frac == pytest.approx(0.12539, abs=1e-5)
    assert (found.times, found.seen) == (1.15, 1)


def test_another_kind_of_work_learns_what_both_share():
    """Of the other kind, the job's factor alone is known better: gain 0.01 / 0.072934."""
    task = WorkedTask(work="sand", planned_h=10.0, worked_h=12.0)
    other = {one.of: one for one in learned_pace([task], ["sand", "prime"], ORDINARY)}
    prime = other["prime"]
    assert median(prime) == pytest.approx(exp(0.01 / 0.072934 * log(1.2)), abs=1e-5)
    left = 0.05 - 0.01**2 / 0.072934
    assert prime.left.frac == pytest.approx(sqrt(left), abs=1e-5)
    assert (prime.times, prime.seen) == (1.05, 0)  # exp(0.025) is 1.0253


def test_many_tasks_are_as_by_conditioning_a_joint_normal_distribution():
    """The covariance of all logarithms, conditioned by blocks, without any gain."""
    rng = np.random.default_rng(7)
    kinds = ["a", "b", "c"]
    seen = [
        WorkedTask(
            work=str(rng.choice(kinds[:2])),
            planned_h=float(rng.uniform(0.5, 8)),
            worked_h=float(rng.uniform(0.5, 8)),
        )
        for _ in range(9)
    ]
    found = learned_pace(seen, kinds, ORDINARY)
    of = [*kinds, *(s.work for s in seen)]
    all_ = np.full((12, 12), 0.1**2) + 0.2**2 * np.equal.outer(of, of)
    for i, s in enumerate(seen):
        all_[3 + i, 3 + i] += 0.15**2 + (LOGGED_WITHIN_H / s.worked_h) ** 2
    logs = np.array([log(s.worked_h / s.planned_h) for s in seen])
    solved = np.linalg.solve(all_[3:, 3:], np.column_stack([logs, all_[3:, :3]]))
    means = all_[:3, 3:] @ solved[:, 0]
    left = all_[:3, :3] - all_[:3, 3:] @ solved[:, 1:]
    assert [log(median(f)) for f in found] == pytest.approx(means.tolist())
    assert [f.left.frac for f in found] == pytest.approx(np.sqrt(np.diag(left)))


def test_nothing_logged_teaches_nothing():
    assert learned_pace([], ["sand"], ORDINARY) == ()
    assert learned_waits([], ORDINARY) == ()
    odd = WorkedTask(work="sand", planned_h=1.0, worked_h=-0.1)
    assert learned_pace([odd], ["sand"], ORDINARY) == ()


def test_the_draws_have_the_spread_that_is_left_and_keep_their_ranks():
    lesson = Factor(frac=0.05, median=1.02)
    learned = replace(
        ORDINARY, learned_pace=(("sand", lesson),), pace_task=Factor(frac=0.0)
    )
    before, after = (
        Draws(spread=s, futures=20_000, series=1, seed=1).pace("t", "sand")
        for s in (replace(ORDINARY, pace_task=Factor(frac=0.0)), learned)
    )
    assert np.array_equal(np.argsort(before), np.argsort(after))
    assert np.exp(np.log(after).mean()) == pytest.approx(1.02, abs=0.002)
    assert np.log(after).std() == pytest.approx(0.05, abs=0.001)


# ---------------------------------------------------------------------- waits

SEEN = {
    "wet at a quarter more": [CoatSeen(product="p", more_than=1.25)],
    "dry at nine tenths": [CoatSeen(product="p", at_most=0.9)],
    "between": [CoatSeen(product="p", more_than=1.1, at_most=1.2)],
    "three coats": [
        CoatSeen(product="p", more_than=1.1),
        CoatSeen(product="p", more_than=1.05, at_most=1.3),
        CoatSeen(product="p", at_most=1.2),
    ],
}


@pytest.mark.parametrize("name", SEEN)
def test_looks_at_coats_are_weighed_as_an_integral_says(name):
    from scipy import integrate, stats  # type: ignore[import-untyped]  # ships none; slow

    coats = SEEN[name]

    def density(t: float) -> float:
        out = stats.norm.pdf(t, 0.0, 0.15)
        for one in coats:
            high = (
                1.0 if one.at_most == inf else stats.norm.cdf(log(one.at_most), t, 0.08)
            )
            low = stats.norm.cdf(log(one.more_than), t, 0.08) if one.more_than else 0.0
            out *= high - low
        return float(out)

    def moment(power: int, about: float = 0.0) -> float:
        def inner(t: float) -> float:
            return (t - about) ** power * density(t)

        return float(integrate.quad(inner, -1.0, 1.0, limit=200)[0])

    whole = moment(0)
    mean = moment(1) / whole
    (found,) = learned_waits(coats, ORDINARY)
    assert log(median(found)) == pytest.approx(mean, abs=2e-4)
    assert found.left.frac == pytest.approx(sqrt(moment(2, mean) / whole), abs=2e-4)
    assert found.left.frac < 0.15


def test_a_coat_wet_past_its_time_makes_its_product_slower_and_no_other():
    coats = [CoatSeen(product="p", more_than=1.4), CoatSeen(product="q", at_most=1.5)]
    found = {one.of: one for one in learned_waits(coats, ORDINARY)}
    assert found["p"].times >= 1.25
    assert found["q"].times == 1.0


def test_what_is_beyond_all_belief_changes_nothing():
    (found,) = learned_waits([CoatSeen(product="p", more_than=1e6)], ORDINARY)
    assert found.times == 1.0
    assert found.left.frac == pytest.approx(0.15, abs=1e-3)


def test_what_is_planned_with_is_bounded_and_in_steps():
    assert [planned_times(x) for x in (0.1, 0.97, 0.98, 1.0, 1.024, 1.026, 9.0)] == [
        0.65, 0.95, 1.0, 1.0, 1.0, 1.05, 1.5,
    ]  # fmt: skip


def test_a_coat_found_wet_is_drawn_as_if_all_drier_ones_had_been_thrown_away():
    """Truncated log-normal draws against the distribution of the library."""
    from scipy import stats

    alone = replace(ORDINARY, waits_job=Factor(frac=0.0))
    draws = Draws(spread=alone, futures=20_000, series=1, seed=3)
    least = np.full(20_000, 1.1)
    found = draws.wait("coat", "p", more_than=least)
    assert (found > 1.1).all()
    low = log(1.1) / 0.08
    right = stats.truncnorm(low, inf, loc=0.0, scale=0.08)
    assert stats.kstest(np.log(found), right.cdf).pvalue > 0.01
    plain = draws.wait("coat", "p")
    assert np.array_equal(np.argsort(plain), np.argsort(found))
    planned = draws.as_planned(Threat.WAITS).wait("coat", "p", more_than=least)
    assert (planned == 1.1).all()
