"""Crates are opened with the carrier present: common practice, no source.

Tests of planner/planning/problem.py, planner/planning/shut.py,
planner/trade/phases/delivery.py, planner/planning/begun/past.py,
planner/planning/asked.py, planner/judge/work.py.
"""

import pytest

from planner.errors import NoPlanError
from planner.planning.asked import asked_words
from planner.planning.posing import posed
from planner.usecases.living.revise import rest_of
from tests.support.finished import plan_of
from tests.support.judge import with_task
from tests.support.living import HOUR, begun
from tests.support.values import STRAIGHT, changed, job_file


def planned(tmp_path, delivery: str):
    text = changed(STRAIGHT, ("earliest", f"delivery = {delivery}\nearliest"))
    return plan_of(job_file(tmp_path, text))


def test_crates_are_opened_on_the_day_they_come(tmp_path):
    plan = planned(tmp_path, "2027-02-10T09:30:00")
    intake = plan.task("intake")
    start = f"{intake.start:%Y-%m-%d %H:%M}"
    assert "2027-02-10 13:30" <= start < "2027-02-11 04:00"  # UTC, 09:30 in Halifax


@pytest.mark.slow
def test_other_work_may_wait_for_days_after_that(tmp_path):
    early = planned(tmp_path, "2027-02-08T09:00:00")
    assert f"{early.task('intake').start:%Y-%m-%d}" == "2027-02-08"
    assert early.stage.closure[0] >= early.task("intake").end


def test_crates_that_come_when_nobody_is_there_are_named(tmp_path):
    with pytest.raises(NoPlanError) as caught:
        planned(tmp_path, "2027-02-13T10:00:00")  # a Saturday; the crew works Mon-Fri
    said = " ".join(caught.value.lines())
    assert "the crates come Sat 13 Feb 2027, 10:00" in said
    assert "carrier" in said


def test_crates_that_nobody_opened_on_their_day_are_opened_late(tmp_path):
    """Both were away on the day: without that, no plan would be left at all."""
    job = begun(
        tmp_path,
        changed(STRAIGHT, ("earliest", "delivery = 2027-02-09T10:00:00\nearliest")),
    )
    come = job.plan.task("intake").start
    morning = come.replace(hour=4)

    def left(now):
        waiting = job.event("waiting", "intake", now, logged=now)
        case = rest_of(job.facts(waiting), now).case
        problem = posed(case, weeks=6)
        intake = next(t for t in problem.instance.tasks if t.id == "intake")
        facts = [b.fact for b in intake.no_start]
        return facts, " ".join(asked_words(problem, case))

    facts, words = left(morning)
    assert "delivery" in facts
    assert "the crates" not in words
    facts, words = left(come + HOUR)  # there is time for it today
    assert "delivery" in facts
    facts, words = left(come + 9 * HOUR)
    assert "delivery" not in facts
    assert "aren't logged as opened" in words
    assert "note damage before anything is moved" in words


@pytest.mark.slow
def test_the_judge_passes_crates_that_are_opened_late(tmp_path):
    job = begun(
        tmp_path,
        changed(STRAIGHT, ("earliest", "delivery = 2027-02-09T10:00:00\nearliest")),
    )
    evening = job.plan.task("intake").start + 9 * HOUR
    waiting = job.event("waiting", "intake", evening, logged=evening)
    after = job.revised(evening, waiting).after
    assert after.task("intake").start > evening
    past = job.went(evening, waiting).past
    assert job.faults(after, past, waiting) == ()
    early = with_task(after, "intake", start=evening - 40 * HOUR)
    assert any("before the crates come" in f for f in job.faults(early, past, waiting))
