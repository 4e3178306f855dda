"""Draws, air and shares of variance against closed forms and published functions.

Tests of planner/odds/draws.py, planner/odds/tally.py, planner/odds/weather.py.
"""

import numpy as np
import pytest

from planner.nouns.odds import Factor, Spread, Threat
from planner.nouns.product import Air
from planner.odds.draws import Draws
from planner.odds.tally import first_order, kept_by
from planner.odds.weather import airs
from tests.support.odds import ORDINARY

DRAWS = Draws(spread=ORDINARY, futures=20_000, series=9, seed=5)


def test_pace_is_lognormal_with_the_three_spreads_as_independent_parts() -> None:
    """Variances of logarithms add up; two tasks of a kind share two of the three parts.

    Moments of the lognormal distribution: Johnson, Kotz and Balakrishnan, *Continuous
    Univariate Distributions* 1, ch. 14 (from memory); the fit is judged by scipy.stats.
    """
    from scipy import stats  # type: ignore[import-untyped]  # ships no types; slow

    one, two = DRAWS.pace("a", "tape"), DRAWS.pace("b", "tape")
    other = DRAWS.pace("c", "prime")
    whole = np.sqrt(0.10**2 + 0.20**2 + 0.15**2)
    assert stats.kstest(np.log(one) / whole, "norm").pvalue > 0.01
    assert float(one.mean()) == pytest.approx(np.exp(whole**2 / 2), rel=0.01)
    shared = np.corrcoef(np.log(one), np.log(two))[0, 1]
    assert shared == pytest.approx((0.10**2 + 0.20**2) / whole**2, abs=0.02)
    apart = np.corrcoef(np.log(one), np.log(other))[0, 1]
    assert apart == pytest.approx(0.10**2 / whole**2, abs=0.02)


def test_a_chain_of_tasks_has_the_sum_of_means_and_variances() -> None:
    """As PERT adds them where tasks are independent (Malcolm and others 1959)."""
    alone = Draws(
        spread=Spread(
            **{f: getattr(ORDINARY, f) for f in ORDINARY.__slots__}
            | {"pace_job": Factor(frac=0.0), "pace_work": Factor(frac=0.0)}
        ),
        futures=20_000,
        series=1,
        seed=2,
    )
    chain = sum(alone.pace(f"t{n}", "fix") for n in range(8))
    mean = np.exp(0.15**2 / 2)
    variance = (np.exp(0.15**2) - 1) * np.exp(0.15**2)
    assert float(np.mean(chain)) == pytest.approx(8 * mean, rel=0.005)
    assert float(np.var(chain)) == pytest.approx(8 * variance, rel=0.05)


def test_causes_are_drawn_apart_and_again_by_name() -> None:
    """The same futures whenever asked; another seed for one cause leaves the rest."""
    assert (DRAWS.pace("a", "tape") == DRAWS.pace("a", "tape")).all()
    anew = DRAWS.drawn_anew(Threat.PACE)
    assert (anew.pace("a", "tape") != DRAWS.pace("a", "tape")).any()
    assert (anew.wait("a", "") == DRAWS.wait("a", "")).all()
    assert (DRAWS.as_planned(Threat.PACE).pace("a", "tape") == 1.0).all()


def test_what_is_drawn_anew_tells_nothing_of_the_first_draw() -> None:
    """Else a cause that is drawn anew stays in the share of every other cause."""
    anew = DRAWS.drawn_anew(*Threat)
    pairs = {
        "air": (DRAWS.air(), anew.air()),
        "pace": (DRAWS.pace("a", "tape"), anew.pace("a", "tape")),
        "wait": (DRAWS.wait("a", ""), anew.wait("a", "")),
        "crates": (DRAWS.late_days(), anew.late_days()),
        "away": (DRAWS.away("ana", 3).ravel(), anew.away("ana", 3).ravel()),
        "touched up": (DRAWS.touched_up("a", 9, 0.5), anew.touched_up("a", 9, 0.5)),
    }
    for name, (one, two) in pairs.items():
        together = ((one - one.mean()) * (two - two.mean())).mean()
        assert abs(float(together / (one.std() * two.std()))) < 0.05, name
    other = DRAWS.drawn_anew(Threat.PACE)
    assert (other.air() == DRAWS.air()).all()


def test_chances_come_as_often_as_they_say() -> None:
    """Late crates 1 in 10, by 3 days on average before rounding up; away 1 in 50."""
    late = DRAWS.late_days()
    assert float((late > 0).mean()) == pytest.approx(0.1, abs=0.01)
    # the mean of an exponential of 3 days rounded up to whole days is 1 / (1 - e^-1/3)
    assert float(late[late > 0].mean()) == pytest.approx(
        1 / (1 - np.exp(-1 / 3)), rel=0.05
    )
    assert float(DRAWS.away("ana", 20).mean()) == pytest.approx(0.02, abs=0.001)


def test_the_airs_errors_persist_as_a_first_order_process_does() -> None:
    """Standard deviation as given; after 24 h of 72 h the correlation is exp(-1/3).

    Autocorrelation of a first-order autoregressive process: Box and Jenkins, *Time
    Series Analysis*, ch. 3 (from memory).
    """
    air = Air(
        tick_minutes=60,
        air_c=np.full(24 * 400, 20.0),
        humidity_pct=np.full(24 * 400, 50.0),
    )
    made = airs(air, delta_k=1.0, delta_rh_pct=5.0, memory_h=72.0, seed=3)
    assert (made[0].air_c == air.air_c).all()
    warmth = np.array([a.air_c[::24] for a in made[1:]]) - 20.0
    damp = np.array([a.humidity_pct[::24] for a in made[1:]]) - 50.0
    assert float(warmth.std()) == pytest.approx(1.0, rel=0.05)
    assert float(damp.std()) == pytest.approx(5.0, rel=0.05)
    lagged = np.corrcoef(warmth[:, :-1].ravel(), warmth[:, 1:].ravel())[0, 1]
    assert lagged == pytest.approx(np.exp(-1 / 3), abs=0.03)
    assert abs(np.corrcoef(warmth.ravel(), damp.ravel())[0, 1]) < 0.05


def test_first_order_shares_of_a_function_that_has_known_ones() -> None:
    """Ishigami and Homma's function: 0.3139, 0.4424 and 0 of the variance.

    Ishigami and Homma, *ISUMA '90*, with a = 7 and b = 0.1; the closed forms are in
    Sobol and Levitan 1999 (both from memory).
    """

    def ishigami(x: np.ndarray) -> np.ndarray:
        value: np.ndarray = np.sin(x[0]) * (1 + 0.1 * x[2] ** 4)
        value += 7 * np.sin(x[1]) ** 2
        return value

    random = np.random.default_rng(1)
    one = random.uniform(-np.pi, np.pi, (3, 200_000))
    two = random.uniform(-np.pi, np.pi, (3, 200_000))
    for number, known in enumerate((0.3139, 0.4424, 0.0)):
        mixed = two.copy()
        mixed[number] = one[number]
        share = first_order(ishigami(one), ishigami(mixed))
        assert share == pytest.approx(known, abs=0.01)
    assert first_order(np.ones(4), np.ones(4)) == 0.0


def test_a_date_is_kept_in_at_least_so_many_of_a_hundred_futures() -> None:
    """The least tick by which the share has returned, as numpy's inverted_cdf has it."""
    back = np.arange(1, 101)
    assert [kept_by(back, p) for p in (50, 80, 95)] == [50, 80, 95]
    assert kept_by(np.array([5, 5, 5, 9]), 80) == 9
