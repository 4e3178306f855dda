"""How sure a promise is asked to be: read, checked, said, and carried into the plan.

Tests of planner/files/job/sections/schema.py, planner/nouns/purchase.py,
planner/report/words/check_text.py, planner/report/words/sure/cases.py,
planner/report/words/sure/promise.py.
"""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from planner.errors import FaultsError
from planner.nouns.case import Case
from planner.nouns.odds import Chance, HindsightBound, ReturnOdds
from planner.nouns.purchase import days_touched
from planner.nouns.work import ReturnKind
from planner.planning.searching import Search
from planner.promise.wording import NO_TIME_FOR_BOUND
from planner.report.drawing.view import View
from planner.report.page.stage import how_promised
from planner.report.words.check_text import understood_words
from planner.report.words.summary import plan_summary
from planner.report.words.sure.cases import share_words
from planner.report.words.sure.promise import (
    at_best_words,
    distance_words,
    owner_words,
)
from planner.schedule.problem.limits import SearchLimits, StoppedError
from planner.units import year_once
from planner.usecases import plan as planning
from planner.usecases.check import read_problem
from planner.usecases.plan import promised
from planner.usecases.read import read_inputs
from tests.support.ics import HALIFAX
from tests.support.plans import changed as changed_plan
from tests.support.plans import made_plan
from tests.support.values import STRAIGHT, changed, job_file

NOON = datetime(2027, 3, 1, 12, tzinfo=UTC)


def asked(folder, sure):
    return job_file(folder, changed(STRAIGHT, ("[job]", f'[job]\nsure = "{sure}"')))


@pytest.mark.parametrize(("sure", "percent"), [("50 %", 50), ("87%", 87), ("99 %", 99)])
def test_the_job_says_how_sure_a_promise_is(tmp_path, sure, percent):
    inputs, problem = read_problem(asked(tmp_path, sure))
    assert inputs.job.sure_percent == percent
    said = f"promised where {share_words(percent)} cases keep it"
    assert said in understood_words(inputs, problem)


def test_without_a_word_it_is_eight_of_ten_and_that_is_told(tmp_path):
    job = read_inputs(job_file(tmp_path, STRAIGHT)).job
    assert job.sure_percent == 80
    assert "job.sure: 80 %" in job.defaults_used


@pytest.mark.parametrize(
    ("sure", "says"),
    [
        ("49 %", '"49 %" is not between 50 % and 99 %'),
        ("100 %", '"100 %" is not between 50 % and 99 %'),
        ("80.5 %", "80.5 % is not a whole number of percent"),
        ("0.8", "0.8"),
        ("sure", "sure"),
    ],
)
def test_what_can_be_no_certainty_is_refused_with_its_place(tmp_path, sure, says):
    with pytest.raises(FaultsError) as refused:
        read_inputs(asked(tmp_path, sure))
    (fault,) = refused.value.faults
    assert fault.where.endswith("job.sure")
    assert says in fault.message


def test_a_promise_is_never_before_the_working_plan():
    by = tuple(
        Chance(percent=p, when=w)
        for p, w in ((80, NOON - timedelta(days=1)), (95, NOON + timedelta(days=2)))
    )
    back = ReturnOdds(
        kind=ReturnKind.FULL_SERVICE, planned=NOON, kept_frac=0.9, by=by, late_days=0.1
    )
    assert back.promised(80) == NOON
    assert back.promised(95) == NOON + timedelta(days=2)


def test_shares_are_said_as_people_say_them():
    said = {p: share_words(p) for p in (50, 60, 80, 85, 95, 99)}
    assert said == {
        50: "half of all", 60: "6 of 10", 80: "8 of 10", 85: "17 of 20",
        95: "19 of 20", 99: "99 of 100",
    }  # fmt: skip


def test_the_owner_is_told_in_one_sentence():
    plan = made_plan()
    assert "in 8 of 10 cases, by " in owner_words(plan, plan.stage)
    assert owner_words(plan, plan.stage).endswith("most: the pace of work.")
    assert "Keep the stage clear from" in plan_summary(plan, ())


def test_what_no_plan_could_promise_is_told_with_its_error_and_the_distance():
    """Told only where it was asked for; in words on the page as in the summary."""
    plan = made_plan()
    full = plan.stage.returning(ReturnKind.FULL_SERVICE).promise
    assert full is not None
    bound = HindsightBound(
        percent=80,
        futures=32,
        when=full - timedelta(days=1, hours=3),
        low=full - timedelta(days=3),
        high=None,
    )
    told = changed_plan(plan, sureness=replace(plan.stage.sureness, bound=bound))
    said = at_best_words(told, told.stage)
    assert said in how_promised(View(told))
    assert said.startswith(
        "No plan, and no crew that knew everything beforehand, would"
    )
    assert "in 8 of 10 cases. That is told from 32 futures" in said
    assert said.endswith(
        "and later than was looked at. The promise is 1 day 3 h later."
    )
    words = " ".join(plan_summary(told, ()).split())
    assert f"At best {year_once(said, 2027)}" in words
    soon = replace(bound, when=full + timedelta(hours=2))
    no_later = distance_words(soon, full, HALIFAX)
    assert no_later.endswith("The promise is no later.")
    assert at_best_words(plan, plan.stage) is None
    assert "At best" not in plan_summary(plan, ())


def test_of_the_earliest_plan_it_is_said_which_aims_are_not_proven(planned):
    _, plan = planned["corner"].case
    assert not plan.made_to_be_kept
    *others, calls = plan.aims
    assert calls.aim == "fewest shifts called"
    words = "not proven: 24 found, less than 18 is impossible"
    sought = replace(calls, proven=False, words=words)
    told = plan_summary(replace(plan, aims=(*others, sought)), ())
    assert f"; fewest shifts called {words}" in " ".join(told.split())
    sure = plan_summary(replace(plan, aims=(*others, replace(calls, proven=True))), ())
    assert "; fewest shifts called proven" in " ".join(sure.split())


def test_a_bound_is_worked_out_where_it_is_asked_for_and_there_is_time(
    tmp_path, monkeypatch
):
    case = Case(inputs=read_inputs(job_file(tmp_path, STRAIGHT)))
    quick = Search(limits=SearchLimits(work=0.05))
    bound = HindsightBound(percent=80, futures=1, when=NOON, low=None, high=None)
    asked: list[str] = []

    def stopped(*_, **__):
        raise StoppedError

    for found, remark in ((lambda *_, **__: bound, ""), (stopped, NO_TIME_FOR_BOUND)):
        monkeypatch.setattr(planning, "hindsight_bound", found)
        made = promised(case, quick, bound=True, step=asked.append)
        assert made.odds.bound is (None if remark else bound)
        assert (remark in made.remarks) is bool(remark)
    assert any("everything is known" in step for step in asked)
    assert promised(case, quick).odds.bound is None


def test_a_closure_pays_each_day_that_it_touches():
    midnight = datetime(2027, 3, 2, tzinfo=HALIFAX)
    day, minute = timedelta(days=1), timedelta(minutes=1)
    assert days_touched(midnight, midnight + day, HALIFAX) == 1
    assert days_touched(midnight, midnight + day + minute, HALIFAX) == 2
    # the night of Sunday 14 March 2027 has 23 hours
    start = datetime(2027, 3, 13, 23, tzinfo=HALIFAX)
    assert days_touched(start, start + 2 * day, HALIFAX) == 3
