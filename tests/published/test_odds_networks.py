"""Three-point estimates, chains and joins of played tasks against published results.

The networks are played by the policy itself: everybody has one task, is open around the
clock, and a tick is an hour.

Tests of planner/files/job/sections/spreads.py, planner/odds/play.py, planner/trade/data/odds.py.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import exp, log, pi, sqrt
from statistics import NormalDist

import numpy as np
import pytest

from planner.hours.spans import Spans
from planner.nouns.odds import Factor
from planner.odds.clockwork import person_hours, team_days, team_time
from planner.odds.draws import Draws
from planner.odds.play import play
from planner.odds.script import Script
from planner.schedule.problem.parts import Person
from planner.trade.data.odds import of_percentiles, of_points
from tests.support.odds import DAY, STILL, Made, World, script_of_world

FUTURES = 20_000
WEEK = 7 * DAY


def _mean(factor: Factor) -> float:
    """Return the mean of a log-normal factor (Johnson and others, ch. 14)."""
    return factor.median * exp(factor.frac**2 / 2)


def _variance(factor: Factor) -> float:
    return (exp(factor.frac**2) - 1.0) * _mean(factor) ** 2


# ------------------------------------------------------------ three points, percentiles

# Taylor, Introduction to Management Science, supplementary module on project management
# (flylib.com/books/en/3.287.1.117/1): optimistic, most likely, pessimistic times. It
# prints the way 1-3-5-7, 24 units, and a chance of .9633 to be done within 28.
TAYLOR = {
    "1": (5, 8, 17),
    "2": (7, 10, 13),
    "3": (3, 5, 7),
    "4": (1, 3, 5),
    "5": (4, 6, 8),
    "6": (3, 3, 3),
    "7": (3, 4, 5),
}
TAYLOR_MEANS = {"1": 9, "2": 10, "3": 5, "4": 3, "5": 6, "6": 3, "7": 4}


def _of(points: Sequence[float]) -> Factor:
    """Return three times as a factor of the most likely one."""
    return of_points(*(p / points[1] for p in points))


@pytest.mark.parametrize("name", TAYLOR)
def test_three_points_keep_the_mean_and_deviation_of_pert(name: str) -> None:
    """(a + 4 m + b) / 6 and (b - a) / 6; Taylor's means are printed with them."""
    short, usual, long = TAYLOR[name]
    factor = _of(TAYLOR[name])
    assert usual * _mean(factor) == pytest.approx(TAYLOR_MEANS[name])
    deviation = usual * sqrt(_variance(factor))
    assert deviation == pytest.approx((long - short) / 6)


def test_a_path_of_three_points_is_as_sure_as_the_textbook_says() -> None:
    """Taylor's path: 24 and a variance of 5; within 28 in .9633 of cases, played in .95.

    The book takes the sum to be normal. Ours leans to the long side as its tasks do,
    which takes more than a part in a hundred from that chance: played, it is what the
    convolution of the tasks says.
    """
    path = [TAYLOR[n] for n in ("1", "3", "5", "7")]
    assert sum(p[1] * _mean(_of(p)) for p in path) == pytest.approx(24.0)
    assert sum(p[1] ** 2 * _variance(_of(p)) for p in path) == pytest.approx(5.0)
    assert NormalDist(24, sqrt(5)).cdf(28) == pytest.approx(0.9633, abs=2e-4)
    ends = _network({n: (TAYLOR[n], b) for n, b in _chain("1", "3", "5", "7")})["7"]
    weeks = ends / WEEK
    assert float(weeks.mean()) == pytest.approx(24.0, abs=0.06)
    assert float(weeks.var()) == pytest.approx(5.0, rel=0.05)
    exact = float(_convolved([TAYLOR[n] for n in ("1", "3", "5", "7")])[28 * WEEK])
    assert float((weeks <= 28).mean()) == pytest.approx(exact, abs=0.005)
    assert 0.945 < exact < 0.9633


def test_two_percentiles_come_back() -> None:
    """One in ten lies below, one in ten above; NormalDist of the standard library."""
    factor = of_percentiles(0.85, 1.30)
    normal = NormalDist(log(factor.median), factor.frac)
    assert normal.cdf(log(0.85)) == pytest.approx(0.1)
    assert normal.cdf(log(1.30)) == pytest.approx(0.9)
    drawn = Draws(spread=STILL, futures=FUTURES, series=1, seed=1)
    spread = replace(STILL, own_pace=(("tape", factor),))
    pace = replace(drawn, spread=spread).pace("t", "tape")
    assert np.quantile(pace, (0.1, 0.9)) == pytest.approx((0.85, 1.30), rel=0.01)
    assert (replace(drawn, spread=spread).pace("t", "prime") == 1.0).all()


def test_points_that_a_log_normal_factor_cannot_have_are_refused() -> None:
    """They rise, and the long side is no shorter than the short one."""
    with pytest.raises(ValueError, match="don't rise"):
        of_points(1.1, 1.0, 1.5)
    with pytest.raises(ValueError, match="longest must be 130 % at least"):
        of_points(0.7, 1.0, 1.2)
    with pytest.raises(ValueError, match="don't rise"):
        of_percentiles(1.2, 1.1)
    assert of_points(1.0, 1.0, 1.0).frac == 0.0


# ---------------------------------------------------------------------- networks, played

# The hospital project of Heizer and Render, Operations Management, chapter on project
# management (from memory; recomputed): 15 weeks, variance 3.11, and by the book's table
# .7157 to be done within 16 weeks, as if the way A-C-E-G-H were alone.
HOSPITAL = {
    "A": ((1, 2, 3), ()),
    "B": ((2, 3, 4), ()),
    "C": ((1, 2, 3), ("A",)),
    "D": ((2, 4, 6), ("A", "B")),
    "E": ((1, 4, 7), ("C",)),
    "F": ((1, 2, 9), ("C",)),
    "G": ((3, 4, 11), ("D", "E")),
    "H": ((1, 2, 3), ("F", "G")),
}
CRITICAL = ("A", "C", "E", "G", "H")


def test_the_hospital_project_alone_on_its_way_and_with_what_joins_it() -> None:
    """Alone, the mean and variance are the book's; what joins makes it later.

    The chance of 16 weeks alone is the book's .7157 to the skew of G, which puts more
    of the chance before them. How much later the joins of B-D and of F make it, a
    longest path through times drawn by scipy.stats says as well.
    """
    from scipy import stats  # type: ignore[import-untyped]  # ships no types; slow

    way = {n: (HOSPITAL[n][0], b) for n, b in _chain(*CRITICAL)}
    alone = _network(way)["H"] / WEEK
    assert float(alone.mean()) == pytest.approx(15.0, abs=0.05)
    assert float(alone.var()) == pytest.approx(3.1111, rel=0.06)
    assert NormalDist(15, sqrt(3.1111)).cdf(16) == pytest.approx(0.7157, abs=2e-3)
    assert float((alone <= 16).mean()) == pytest.approx(0.7157, abs=0.04)
    whole = _network(HOSPITAL)["H"] / WEEK
    assert (whole >= alone).all()
    assert float(whole.mean()) > float(alone.mean()) + 0.1
    assert float((whole <= 16).mean()) < float((alone <= 16).mean()) - 0.01
    random = np.random.default_rng(9)
    second: dict[str, np.ndarray] = {}
    for name, (points, before) in HOSPITAL.items():
        one = _of(points)
        law = stats.lognorm(s=one.frac, scale=one.median * points[1])
        since = [second[b] for b in before] or [np.zeros(FUTURES)]
        drawn = law.rvs(FUTURES, random_state=random)
        second[name] = np.maximum.reduce(since) + drawn
    assert float(whole.mean()) == pytest.approx(float(second["H"].mean()), abs=0.06)
    assert float((whole <= 16).mean()) == pytest.approx(
        float((second["H"] <= 16).mean()), abs=0.015
    )


# An exercise on a course page (wizedu.com/questions/717873): fourteen activities, whose
# estimates lean to the long side, to the short side, or to none. It prints their means,
# a length of 50.8333 days, sigma 3.3458, and a chance to be done in 55 days, .8935 by the
# table of the normal distribution. The slack is printed in part, the rest recomputed.
COURSE = {
    "A": ((5, 5, 7), ()),
    "B": ((1, 2, 5), ()),
    "C": ((5, 5, 5), ("A",)),
    "D": ((4, 8, 13), ("A",)),
    "E": ((1, 10, 17), ("B", "C")),
    "F": ((1, 5, 7), ("D",)),
    "G": ((2, 6, 9), ("D",)),
    "H": ((4, 4, 6), ("E", "F")),
    "I": ((2, 7, 10), ("G", "H")),
    "J": ((2, 4, 7), ("I",)),
    "K": ((6, 10, 13), ("I",)),
    "L": ((2, 6, 6), ("J",)),
    "M": ((2, 2, 3), ("K",)),
    "N": ((7, 7, 12), ("L", "M")),
}
COURSE_WAY = ("A", "C", "E", "H", "I", "K", "M", "N")
COURSE_SLACK = {"B": 8.0, "D": 1.8333, "F": 1.8333, "G": 5.0, "J": 2.5, "L": 2.5}


def _like(points: Sequence[float]) -> Factor:
    """Return a factor of one unit with PERT's mean and deviation, whichever way it leans.

    The job file refuses estimates that lean to the short side, for a factor leans to the
    long one; here the two moments alone are to be the exercise's.
    """
    short, usual, long = points
    mean, deviation = (short + 4 * usual + long) / 6, (long - short) / 6
    frac = sqrt(log(1.0 + (deviation / mean) ** 2))
    return Factor(frac=frac, median=mean / exp(frac**2 / 2))


@pytest.mark.slow
def test_a_network_whose_estimates_lean_both_ways_is_as_long_as_is_printed() -> None:
    """Its way alone has the printed mean and sigma; by 55 days, .8935 to the skew.

    With no spread each activity ends when the printed slack says; played whole, the
    joins of D-F, of G and of J-L make it later than its way alone.
    """
    as_usual = {
        n: (Factor(frac=0.0, median=_mean(_like(points))), before)
        for n, (points, before) in COURSE.items()
    }
    ends = {n: float(e[0]) / WEEK for n, e in _network(as_usual).items()}
    assert ends["N"] == pytest.approx(50.8333, abs=0.05)  # each is rounded up to hours
    after = {n: [f for f, (_, b) in COURSE.items() if n in b] for n in COURSE}
    least: dict[str, float] = {}
    for name in reversed(COURSE):
        starts = [least[f] - _mean(_like(COURSE[f][0])) for f in after[name]]
        least[name] = min(starts, default=50.8333)
        slack = least[name] - ends[name]
        assert slack == pytest.approx(COURSE_SLACK.get(name, 0.0), abs=0.05), name
    way = {n: (_like(COURSE[n][0]), b) for n, b in _chain(*COURSE_WAY)}
    alone = _network(way)["N"] / WEEK
    assert float(alone.mean()) == pytest.approx(50.8333, abs=0.1)
    assert float(alone.std()) == pytest.approx(3.3458, rel=0.03)
    assert NormalDist(50.8333, 3.3458).cdf(55) == pytest.approx(0.8935, abs=2e-4)
    assert float((alone <= 55).mean()) == pytest.approx(0.8935, abs=0.01)
    whole = (
        _network({n: (_like(p), before) for n, (p, before) in COURSE.items()})["N"]
        / WEEK
    )
    assert float(whole.mean()) > float(alone.mean()) + 0.1
    assert float((whole <= 55).mean()) < float((alone <= 55).mean()) - 0.01


def test_where_two_like_paths_meet_the_later_of_them_counts() -> None:
    """Merge bias: the mean of the later of two like log-normal times, in closed form.

    E max = 2 E Phi(s / sqrt 2); for little spread that is the s / sqrt(pi) which Clark
    1961 ("The greatest of a finite set of random variables", Operations Research 9)
    gives for two normal ones. From memory.
    """
    frac = 0.2
    points = Factor(frac=frac)
    ends = _network(
        {"X": (points, ()), "Y": (points, ()), "Z": (Factor(frac=0.0), ("X", "Y"))}
    )
    joined = np.maximum(ends["X"], ends["Y"]) / WEEK
    exact = 2.0 * _mean(points) * NormalDist().cdf(frac / sqrt(2.0))
    assert float(joined.mean()) == pytest.approx(exact, rel=0.005)
    normal = _mean(points) * (1.0 + frac / sqrt(pi))
    assert exact == pytest.approx(normal, rel=0.005)
    assert (ends["Z"] == np.maximum(ends["X"], ends["Y"]) + WEEK).all()


def test_a_chain_ends_as_the_convolution_of_its_tasks_says() -> None:
    """Quantiles of four tasks one after the other, by numeric convolution in hours."""
    total = _convolved([HOSPITAL[n][0] for n in ("A", "F", "G", "H")])
    way = {n: (HOSPITAL[n][0], b) for n, b in _chain("A", "F", "G", "H")}
    ends = _network(way)["H"]
    for chance in (0.1, 0.5, 0.8, 0.95):
        exact = int(np.searchsorted(total, chance))
        assert float((ends <= exact).mean()) == pytest.approx(chance, abs=0.01)


def _convolved(tasks: Sequence[Sequence[float]]) -> np.ndarray:
    """Return the chance that a chain of three-point times has ended, by whole hour."""
    whole = np.array([1.0])
    for points in tasks:
        factor = _of(points)
        normal = NormalDist(log(factor.median * points[1] * WEEK), factor.frac or 1e-9)
        below = [0.0, *(normal.cdf(log(h)) for h in range(1, 40 * WEEK + 1))]
        whole = np.convolve(whole, np.concatenate(([0.0], np.diff(below))))
    chance: np.ndarray = np.cumsum(whole)
    return chance


@dataclass(frozen=True)
class _Straight:
    """A task's usual hours and its factor."""

    hours: int
    factor: Factor


def _chain(*names: str) -> list[tuple[str, tuple[str, ...]]]:
    """Return each name with the one before it."""
    return [(n, names[max(i - 1, 0) : i]) for i, n in enumerate(names)]


def _network(
    tasks: Mapping[str, tuple[Sequence[float] | Factor, Sequence[str]]],
) -> Mapping[str, np.ndarray]:
    """Return the end of each task in many futures. [h].

    A task has three points in weeks, or a factor of one week, and what it follows.
    """
    said = {
        name: _Straight(hours=WEEK, factor=points)
        if isinstance(points, Factor)
        else _Straight(hours=round(points[1] * WEEK), factor=_of(points))
        for name, (points, _) in tasks.items()
    }
    spread = replace(STILL, own_pace=tuple((n, s.factor) for n, s in said.items()))
    days = 90 * 7
    world = World(
        days=days,
        people={f"p{name}": Spans(((0, days * DAY),)) for name in tasks},
        tasks=tuple(
            Made(
                id=name,
                kind=name,
                team=(f"p{name}",),
                bay=name,
                hours=said[name].hours,
                set_up=0,
                one_go=False,
                after=tuple((b, ()) for b in before),
            )
            for name, (_, before) in tasks.items()
        ),
        called=frozenset(),
    )
    draws = Draws(spread=spread, futures=FUTURES, series=1, seed=4)
    return play(_around_the_clock(script_of_world(world)), draws).ends


def _around_the_clock(script: Script) -> Script:
    """Return a script whose people work without a night in one long shift."""
    everywhere = np.ones(script.horizon, dtype=np.bool_)

    def step_of(number: int) -> object:
        step = script.steps[number]
        person = Person(id=step.task.id, open=Spans(((0, script.horizon),)))
        days = team_days(0, [person_hours(person, script.horizon)], everywhere)
        time = team_time(days, one_go=False, may_begin=everywhere, ticks=1)
        return replace(step, teams=(replace(step.teams[0], time=time),))

    steps = tuple(step_of(n) for n in range(len(script.steps)))
    return replace(script, steps=steps)  # type: ignore[arg-type]
