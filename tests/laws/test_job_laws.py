"""An easier job never returns later: an hour, a person, a trade more, a booking fewer.

Tests of planner/planning/posing.py, planner/schedule/climb/solve.py.
"""

from functools import cache
from itertools import pairwise

import pytest

from tests.support.easier import EASED, returns, returns_by_day

returns_of = cache(returns)  # several tests ask for the same

QUICK = (1, 7, 11)  # seeds whose small jobs have a plan, and all there is to ease


def check(seed: int, name: str) -> bool:
    """Check the law on a seed's small job; tell whether it could be checked."""
    found = returns_of(seed, name)
    if found is None:
        return False
    before, after = found
    assert after is not None, "there is a plan before, and none after"
    assert after <= before
    return True


@pytest.mark.parametrize("name", EASED)
def test_an_easier_job_never_returns_later(name):
    checked = [check(seed, name) for seed in QUICK]
    assert any(checked)


def test_an_easier_job_may_well_return_sooner():
    found = [returns_of(seed, name) for seed in QUICK for name in EASED]
    assert sum(f is not None and f[1] is not None and f[1] < f[0] for f in found) > 2


def check_days(seed: int, ends: tuple[int, ...]) -> None:
    """Check that days that end later never make a return later, short nights or not."""
    found = [b for b in returns_by_day(seed, ends) if b.certain]
    for shorter, longer in pairwise(found):
        if shorter.tick is not None:
            assert longer.tick is not None
            assert longer.tick <= shorter.tick


@pytest.mark.parametrize("seed", [3, 9, 18])
def test_a_longer_day_never_returns_later_however_short_the_night(seed):
    check_days(seed, (18, 20, 21, 22))


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(1, 100))
def test_a_longer_day_never_returns_later_many_times(seed):
    check_days(seed, (17, 18, 19, 20, 21, 22, 23))


@pytest.mark.slow
@pytest.mark.parametrize("name", EASED)
def test_an_easier_job_never_returns_later_many_times(name):
    assert sum(check(seed, name) for seed in range(100, 200)) > 5
