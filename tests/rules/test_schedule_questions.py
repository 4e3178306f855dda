"""Bounds that quick questions raise, where the solver alone leaves a gap.

Tests of planner/schedule/climb/ladder.py.
"""

from dataclasses import replace

import pytest

from planner.schedule.climb import ladder
from planner.schedule.climb.solve import solve
from planner.schedule.problem.limits import SearchLimits
from planner.schedule.problem.outcome import Planned
from planner.schedule.problem.parts import AimKind
from tests.support.small import best_by_trial, small_instance

# Of the seeds from 3000 on, those with few plans.
SEEDS = (3000, 3002, 3004, 3008, 3009, 3010, 3013, 3014)


def asked(
    monkeypatch: pytest.MonkeyPatch, seed: int, questions: int
) -> tuple[int, int]:
    """Return value and bound of the last return, by questions alone, and check them."""
    problem = replace(small_instance(seed), aims=(AimKind.LAST_RETURN,))
    best = best_by_trial(problem)
    assert best is not None, "choose another seed: this one has no plan"
    monkeypatch.setattr(ladder, "SMALL", 0)
    monkeypatch.setattr(ladder, "QUESTIONS", questions)
    monkeypatch.setattr(ladder.Ladder, "first_bound", lambda *_: 0)
    monkeypatch.setattr(ladder.Ladder, "bound", lambda *_: 0)
    monkeypatch.setattr(ladder.Ladder, "solve_whole", lambda *_: None)
    monkeypatch.setattr(ladder.Ladder, "solve_in_rounds", lambda *_: None)
    outcome = solve(problem, limits=SearchLimits(work=5.0), explain=False)
    assert isinstance(outcome, Planned)
    found = outcome.aims[0]
    assert found.bound <= best[0] <= found.value
    return found.bound, best[0]


@pytest.mark.parametrize("seed", SEEDS)
def test_questions_come_to_the_best_value_and_never_beyond(monkeypatch, seed):
    bounds = [asked(monkeypatch, seed, n)[0] for n in (0, 1, 2, 8)]
    best = asked(monkeypatch, seed, 8)[1]
    assert bounds == sorted(bounds)
    assert bounds[0] == 0
    assert bounds[1] > 0
    assert bounds[-1] == best
