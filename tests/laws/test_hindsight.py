"""What no plan can promise lies before what any plan comes to, future by future.

Tests of planner/promise/hindsight.py.
"""

from math import comb

import numpy as np
import pytest

from planner.nouns.case import Case
from planner.nouns.work import ReturnKind
from planner.odds.play import play
from planner.odds.script import script_in
from planner.planning.answering import answer
from planner.planning.searching import Search
from planner.promise.hindsight import Hindsight, _interval, hindsight_bound
from planner.promise.improving import as_arranged
from planner.schedule.first.reordered import Reordering
from planner.schedule.problem.limits import SearchLimits
from planner.usecases.read import read_inputs
from tests.support.values import STRAIGHT, changed, job_file

LITTLE = Search(limits=SearchLimits(work=0.05))
FUTURES = 12
KINDS = {
    "as it is": STRAIGHT,
    "crates late, joints seen": changed(
        STRAIGHT,
        (
            "earliest = 2027-02-08",
            "earliest = 2027-02-08\ndelivery = 2027-02-09T10:00:00",
        ),
        ("[stage]", '[odds]\nlate_crates = "60 %"\npace = "30 %"\n[stage]'),
    ),
}


@pytest.mark.parametrize("kind", KINDS)
def test_no_plan_returns_before_what_is_known_of_a_future(tmp_path, kind):
    case = Case(inputs=read_inputs(job_file(tmp_path, KINDS[kind])))
    first = answer(case, LITTLE)
    known = Hindsight(case, max(r.when for r in first.returns), seed=3, futures=FUTURES)
    assert known.holds
    least = np.array([known.least_return(f) for f in range(FUTURES)])
    assert len(set(least.tolist())) > 1
    order, teams = as_arranged(known.problem, first.placements)
    passes = Reordering(known.problem.instance)
    plans = [first.placements, passes.plan(order, {}), passes.plan(order[::-1], teams)]
    tight = 0
    for plan in plans:
        assert plan is not None
        played = play(script_in(known.rooms[0], plan), known.draws)
        back = played.returns[ReturnKind.FULL_SERVICE]
        assert (least <= back).all()
        tight += int((back - least <= 4 * 24 * 3).sum())
    assert tight > 0  # it isn't true because it says nothing


def test_the_bound_of_a_promise_lies_within_its_own_error(tmp_path):
    case = Case(inputs=read_inputs(job_file(tmp_path)))
    first = answer(case, LITTLE)
    found = hindsight_bound(
        case, max(r.when for r in first.returns), percent=50, futures=FUTURES
    )
    assert found is not None
    assert found.low is not None
    assert found.when is not None
    assert found.high is not None
    assert found.low <= found.when <= found.high


@pytest.mark.parametrize(("count", "share"), [(32, 0.8), (12, 0.5), (24, 0.95)])
def test_the_places_hold_the_quantile_nineteen_times_in_twenty(count, share):
    """The binomial distribution, summed up from its own terms."""
    low, high = _interval(count, share)

    def below(number):
        terms = (
            comb(count, k) * share**k * (1 - share) ** (count - k)
            for k in range(number + 1)
        )
        return sum(terms)

    assert below(low) <= 0.025 < below(low + 1)
    assert high == count or below(high) >= 0.975
    assert below(high - 1) < 0.975
