"""Crates are opened with the carrier present: common practice, no source.

Tests of planner/planning/problem.py, planner/planning/shut.py,
planner/trade/phases/delivery.py.
"""

import pytest

from planner.errors import NoPlanError
from planner.usecases.plan import Choices, plan_job
from tests.support.values import STRAIGHT, changed, job_file


def planned(tmp_path, delivery: str):
    text = changed(STRAIGHT, ("earliest", f"delivery = {delivery}\nearliest"))
    return plan_job(job_file(tmp_path, text), Choices())


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
