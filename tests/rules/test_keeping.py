"""A plan that is made to be kept: when protection helps, and what is told of it.

Tests of planner/promise/keeping.py, planner/promise/improving.py,
planner/promise/judging.py, planner/promise/telling.py,
planner/schedule/first/reordered.py, planner/nouns/protection.py.
"""

from collections import Counter
from dataclasses import replace
from datetime import timedelta
from random import Random
from time import monotonic

import pytest

from planner.nouns.case import Case
from planner.nouns.protection import UNPROTECTED, Offer, Protection
from planner.odds.tally import HURRIED, SEED
from planner.planning.answer import Answer
from planner.planning.answering import answer
from planner.planning.posing import answered, posed
from planner.planning.searching import Search
from planner.promise.improving import Improving, as_arranged
from planner.promise.judging import Judge, Judged
from planner.promise.keeping import KeptPlan, kept_from, worth_showing
from planner.promise.playing import odds_of_placed
from planner.schedule.check.verify import verify
from planner.schedule.first.reordered import Reordering
from planner.schedule.problem.limits import SearchLimits, StoppedError
from planner.usecases.plan import promised
from planner.usecases.read import read_inputs
from tests.support.finished import finished
from tests.support.values import STRAIGHT, changed, job_file

LITTLE = Search(limits=SearchLimits(work=0.05))
SOME = Search(limits=SearchLimits(work=1.0))  # a quarter of the usual changes
FUTURES = 400


@pytest.fixture(scope="module")
def case(tmp_path_factory) -> Case:
    return Case(inputs=read_inputs(job_file(tmp_path_factory.mktemp("job"))))


@pytest.fixture(scope="module")
def first(case: Case) -> Answer:
    return answer(case, LITTLE)


@pytest.fixture(scope="module")
def found(case: Case, first: Answer) -> KeptPlan:
    return kept_from(case, first, SOME, futures=FUTURES)


def test_a_protected_case_is_another_case(case):
    guarded = replace(case, protection=Protection(labour_frac=0.2))
    assert guarded.fingerprint != case.fingerprint
    assert replace(guarded, protection=UNPROTECTED).fingerprint == case.fingerprint
    with pytest.raises(ValueError, match="below 0"):
        Protection(labour_frac=-0.1)


def test_protection_makes_work_and_waits_longer_in_the_search_alone(case):
    """Half as much again: 1 h are 6 ticks; a wait never shorter, some longer."""
    plain = posed(case, weeks=6)
    longer = posed(
        replace(case, protection=Protection(labour_frac=0.5, waits_frac=0.5)), weeks=6
    )
    assert longer.work == plain.work
    for one, two in zip(plain.instance.tasks, longer.instance.tasks, strict=True):
        hours = next(t for t in plain.work.tasks if t.id == one.id)
        for a, b, team in zip(one.modes, two.modes, hours.teams, strict=True):
            needed = hours.person_hours / (team.size * team.yield_frac)
            assert a.ticks == plain.grid.ticks_up(needed + hours.elapsed_h)
            assert b.ticks == plain.grid.ticks_up(1.5 * (needed + hours.elapsed_h))
    waits = {k.name: k.over for k in plain.instance.lookups}
    sums = {k.name: sum(k.over) - sum(waits[k.name]) for k in longer.instance.lookups}
    assert min(sums.values()) >= 0
    assert max(sums.values()) > 0


def test_the_plan_that_is_told_has_the_real_lengths_and_keeps_every_rule(case, found):
    problem = answered(case, found.answer)
    assert verify(problem.instance, found.answer.placements) == ()
    plan = finished(case, found.answer)  # the judge has passed it
    assert plan.stage.closure == found.answer.closure


def test_what_is_promised_is_never_later_than_without_protection(found):
    assert found.promised is not None
    assert found.unprotected.promised is not None
    assert found.promised <= found.unprotected.promised
    assert found.offer.promised == found.promised


def test_what_is_promised_is_what_the_plans_own_odds_say(case, first, found):
    judge = Judge(case, first, percent=found.percent, seed=SEED)
    odds = judge.odds(found.answer, FUTURES)
    by = {c.percent: c.when for r in odds.returns for c in r.by}
    assert by[found.percent] == found.promised


def test_protection_helps_where_work_runs_over(found):
    """Two people in a row of a dozen tasks; a plan without slack is rarely kept."""
    assert found.unprotected.planned < found.unprotected.promised
    assert found.promised < found.unprotected.promised
    assert found.offer in found.trade


def test_a_plan_is_made_anew_from_its_order_and_its_teams(case, first):
    problem = answered(case, first)
    order, teams = as_arranged(problem, first.placements)
    assert sorted(order) == sorted(t.id for t in problem.instance.tasks)
    passes = Reordering(problem.instance)
    made = passes.plan(order, teams)
    assert made is not None
    assert verify(problem.instance, made) == ()
    assert {p.task: p.team for p in made} == teams
    one = max(order, key=lambda task: len(passes.teams(task)))
    for team in passes.teams(one):
        other = passes.plan(order, {**teams, one: team})
        assert other is not None
        assert verify(problem.instance, other) == ()
        assert next(p.team for p in other if p.task == one) == team


@pytest.mark.slow
def test_no_more_plans_are_played_than_asked_for_and_none_that_was_worse_again(
    case, first
):
    problem = posed(case, weeks=len(first.grid.days()) // 7)
    judge = Judge(case, first, percent=80, seed=SEED)
    played = []

    def rough(placements):
        played.append((placements, judge.rough(placements).score))
        return judge.rough(placements)

    improving = Improving(problem, 0, rough, lambda: False)
    start = improving.arranged(*as_arranged(problem, first.placements))
    assert start is not None
    better = improving.improved(start, changes=15, random=Random(1))
    worse = Counter(plan for plan, score in played if score > start.rough.score)
    assert len(played) == 1 + 15
    assert set(worse.values()) == {1}
    assert better.rough.score == min(score for _, score in played)
    assert better.rough.score < start.rough.score


def test_the_same_seed_gives_the_same_plan(case, first, found):
    assert kept_from(case, first, SOME, futures=FUTURES) == found


def test_a_job_without_spread_needs_no_protection(tmp_path):
    frac = "pace pace_by_work pace_by_task waits waits_by_coat humidity away"
    still = "\n".join(f'{name} = "0 %"' for name in (*frac.split(), "late_crates"))
    still += '\ntemperature = "0 C"\ntouch_up = "15 min"\n'
    text = changed(STRAIGHT, ("[stage]", f"[odds]\n{still}\n[stage]"))
    case = Case(inputs=read_inputs(job_file(tmp_path, text)))
    first = answer(case, LITTLE)
    steps: list[str] = []
    found = kept_from(case, first, LITTLE, futures=50, step=steps.append)
    assert found.answer == first
    assert found.offer == found.unprotected
    assert [s for s in steps if "labour" in s] == []


def test_only_the_case_itself_is_asked(case, first):
    guarded = replace(case, protection=Protection(labour_frac=0.2))
    with pytest.raises(ValueError, match="protected"):
        kept_from(guarded, first, LITTLE)
    with pytest.raises(ValueError, match="another case"):
        kept_from(case, replace(first, fingerprint="x"), LITTLE)


def test_an_interrupted_search_keeps_the_plan_at_hand(case, first):
    stopped = replace(LITTLE, stop=lambda: True)
    with pytest.raises(StoppedError):
        kept_from(case, first, stopped, futures=FUTURES)
    made = promised(case, stopped, keep=True)
    assert (made.best, made.odds.futures) == (None, HURRIED)
    assert "no plan that is kept more often was looked for" in made.remarks[0]


def test_a_search_whose_time_is_up_keeps_the_plan_at_hand(case, first):
    late = replace(LITTLE, limits=replace(LITTLE.limits, until_s=monotonic()))
    found = kept_from(case, first, late, futures=FUTURES)
    assert (found.answer, found.cut_short) == (first, True)


def test_futures_that_are_being_played_at_an_interrupt_are_few_instead(case, first):
    asked: list[bool] = []

    def over() -> bool:
        asked.append(True)
        return len(asked) > 3  # before the third task

    odds = odds_of_placed(
        case.inputs,
        first.placements,
        planned={r.kind: r.when for r in first.returns},
        over=over,
    )
    assert (odds.futures, odds.threats) == (HURRIED, ())


def test_after_an_interrupt_no_other_plan_is_played(case, first, found, monkeypatch):
    """A plan was found with more room when Ctrl-C came: playing it would take long."""
    asked: list[bool] = []
    played: list[Answer] = []
    judged = Judge.judged

    def noted(self: Judge, one: Answer, guard: Protection, futures: int) -> Judged:
        played.append(one)
        asked.append(True)
        return judged(self, one, guard, futures)

    monkeypatch.setattr(Judge, "judged", noted)
    stopped = replace(SOME, stop=lambda: len(asked) > 1)
    cut = kept_from(case, first, stopped, futures=FUTURES)
    assert len(played) == 2  # the first, and one whose playing was broken off
    assert (cut.answer, cut.cut_short) == (first, True)
    assert not found.cut_short


def _offer(first: Answer, promised_h: int, cost: float, shifts: int) -> Offer:
    start, back = first.closure
    return Offer(
        protection=UNPROTECTED,
        closed_from=start,
        planned=back,
        promised=back + timedelta(hours=promised_h),
        closed_days=5,
        expected_days=5.0,
        expected_cost=cost,
        shifts=shifts,
        idle_min=0,
    )


def test_what_another_offer_betters_in_everything_is_not_shown(first):
    early = _offer(first, 10, 900.0, 9)
    cheap = _offer(first, 30, 700.0, 9)
    worse = _offer(first, 30, 900.0, 9)
    same = _offer(first, 10, 900.0, 9)
    assert set(worth_showing([worse, cheap, early, same])) == {early, cheap}
