"""Whether a date is kept as often as it is said to be.

Dates come from the usual 10,000 futures; how often they are kept is counted in 2,000
others. In the last test those differ in kind, too: nothing is tuned to them, and what
came out is printed by

    pytest -s -m slow tests/examples/test_odds_calibration.py

Tests of planner/odds/draws.py, planner/odds/play.py, planner/odds/tally.py.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from zlib import crc32

import numpy as np
import pytest

from planner.nouns.odds import Factor, Spread, Threat
from planner.nouns.work import ReturnKind
from planner.odds.draws import Draws
from planner.odds.play import play
from planner.odds.script import Script, script_of
from planner.odds.tally import PERCENTS, kept_by
from planner.odds.weather import airs
from planner.planning.posing import problem_of
from planner.trade.data.odds import spread
from planner.usecases.living.placed import placements_of
from planner.usecases.read import read_inputs
from planner.usecases.standing import standing_plan
from tests.support.examples import Planned
from tests.support.places import ROOT

USUAL, OTHERS = 10_000, 2_000
BANDS = {50: (0.47, 0.53), 80: (0.77, 0.83), 95: (0.94, 0.96)}
WEEKS = 26

Floats = np.ndarray
Kind = Callable[[np.random.Generator, float, float, int], Floats]


def _triangular(r: np.random.Generator, mean: float, sd: float, n: int) -> Floats:
    """Leaning to the long side: its least value is its most likely one."""
    wide = sd * np.sqrt(18.0)
    low = mean - wide / 3.0
    return r.triangular(low, low, low + wide, n)


def _gamma(r: np.random.Generator, mean: float, sd: float, n: int) -> Floats:
    return r.gamma((mean / sd) ** 2, sd**2 / mean, n)


def _uniform(r: np.random.Generator, mean: float, sd: float, n: int) -> Floats:
    half = sd * np.sqrt(3.0)
    return r.uniform(mean - half, mean + half, n)


KINDS: Mapping[str, Kind] = {
    "triangular": _triangular,
    "gamma": _gamma,
    "uniform": _uniform,
}


@dataclass(frozen=True, kw_only=True)
class OtherDraws(Draws):
    """Factors of another kind, with the mean and the deviation of the log-normal ones."""

    kind: str

    def _factor(self, cause: Threat, name: str, factor: Factor) -> Floats:
        if factor.frac == 0.0:
            return np.full(self.futures, factor.median)
        mean = factor.median * np.exp(factor.frac**2 / 2)
        sd = mean * np.sqrt(np.exp(factor.frac**2) - 1.0)
        seed = [self.seed, crc32(cause.encode()), crc32(name.encode())]
        random = np.random.default_rng(seed)
        return KINDS[self.kind](random, mean, sd, self.futures)


@dataclass(frozen=True, kw_only=True)
class Case:
    """A plan to be played."""

    name: str
    script: Script
    spread: Spread
    series: int

    def back(self, draws: Draws) -> Floats:
        """Return when full service has come back, future by future."""
        return play(self.script, draws).returns[ReturnKind.FULL_SERVICE]

    def usual(self, seed: int, futures: int) -> Draws:
        """Return draws of the usual kind."""
        return Draws(spread=self.spread, futures=futures, series=self.series, seed=seed)


@pytest.fixture(
    scope="module",
    params=[
        "straight",
        pytest.param("corner", marks=pytest.mark.slow),
        pytest.param("corner-damp", marks=pytest.mark.slow),
    ],
)
def case(request: pytest.FixtureRequest, planned: Mapping[str, Planned]) -> Case:
    """An example's plan, long enough for every future to end."""
    name = request.param
    inputs = read_inputs(ROOT / f"examples/{name}/job.toml")
    plan = standing_plan(inputs, planned[name].folder)
    assert plan is not None
    problem, how = problem_of(inputs, weeks=WEEKS), spread(inputs.job)
    air = airs(
        problem.air,
        delta_k=how.air_delta_k,
        delta_rh_pct=how.air_delta_rh_pct,
        memory_h=how.air_memory_h,
        seed=1,
    )
    script = script_of(problem, placements_of(plan), air)
    return Case(name=name, script=script, spread=how, series=len(air))


def _tell(words: str) -> None:
    print(words)  # noqa: T201 - what came out is asked for with -s


def test_dates_are_kept_as_often_as_said_in_futures_of_another_seed(case: Case) -> None:
    """Of 2,000 others, within the bands. Many futures return in the same tick.

    So a share lies in a band if the band meets the shares before and with that tick.
    """
    dates = {p: kept_by(case.back(case.usual(1, USUAL)), p) for p in PERCENTS}
    others = case.back(case.usual(77, OTHERS))
    for percent, when in dates.items():
        low, high = BANDS[percent]
        before, by = float((others < when).mean()), float((others <= when).mean())
        _tell(f"{case.name}, {percent} %: kept in {before:.3f} to {by:.3f}")
        assert before <= high, percent
        assert by >= low, percent


@pytest.mark.slow
@pytest.mark.parametrize("kind", KINDS)
def test_dates_in_futures_of_another_kind(case: Case, kind: str) -> None:
    """Equal means and deviations; what came of it is told, and not far from said."""
    dates = {p: kept_by(case.back(case.usual(1, USUAL)), p) for p in PERCENTS}
    draws = OtherDraws(
        spread=case.spread, futures=OTHERS, series=case.series, seed=77, kind=kind
    )
    others = case.back(draws)
    kept = {p: float((others <= when).mean()) for p, when in dates.items()}
    told = ", ".join(f"{p} %: {share:.3f}" for p, share in kept.items())
    _tell(f"{case.name}, {kind}: kept {told}")
    for percent, share in kept.items():
        assert abs(share - percent / 100) < 0.1
