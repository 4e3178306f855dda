"""A job whose earliest day is over is planned from it, and said to be.

Tests of planner/commands/planning.py, planner/usecases/past.py.
"""

import json

import pytest

from tests.support.command import covetime
from tests.support.values import STRAIGHT, job_file

SAID = "the job's earliest day, Mon 8 Feb 2027, is already past on the day of planning"


def plan(job, now: str):
    ran = covetime("plan", str(job), "--work-limit", "0.02", "--now", now)
    assert ran.returncode == 0, ran.stderr
    data = (job.parent / "plan" / "plan.json").read_bytes()
    return ran.stderr, data


@pytest.mark.parametrize(
    ("now", "past"),
    [
        pytest.param(  # 23:59 of the 7th in Halifax
            *("2027-02-08T03:59:59Z", False), marks=pytest.mark.slow
        ),
        ("2027-02-09T03:59:59Z", False),  # the last minute of the day itself
        ("2027-02-09T04:00:00Z", True),
    ],
)
def test_an_earliest_day_that_is_over_is_said_aloud_and_in_the_plan(
    tmp_path, now, past
):
    said, data = plan(job_file(tmp_path, STRAIGHT), now)
    remarks = json.loads(data)["remarks"]
    assert (SAID in said) is past
    assert any(SAID in r for r in remarks) is past
    page = (tmp_path / "plan" / "plan.html").read_text("utf-8")
    assert ("is already past on the day of planning" in page) is past


@pytest.mark.slow
def test_the_bytes_are_the_same_on_every_day_after(tmp_path):
    job = job_file(tmp_path, STRAIGHT)
    _, first = plan(job, "2027-02-10T12:00:00Z")
    _, later = plan(job, "2027-06-01T12:00:00Z")
    assert first == later
    assert not (tmp_path / "plan" / "earlier").exists()
