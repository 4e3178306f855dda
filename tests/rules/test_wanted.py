"""From when the stage may be closed, and by when it is wanted back: a limit and a wish.

Tests of planner/planning/shut.py, planner/judge/stage.py, planner/judge/promise.py,
planner/report/words/sure/promise.py, planner/odds/tally.py,
planner/nouns/calendar.py.
"""

from collections.abc import Callable
from dataclasses import replace
from datetime import date, datetime, timedelta
from pathlib import Path

import pytest

from planner.errors import FaultsError, JobFileError
from planner.files.job.changes import changes_from
from planner.files.job.jobfile import read_job
from planner.judge import judged
from planner.nouns.inputs import Inputs
from planner.nouns.plan import Plan
from planner.report.drawing.view import View
from planner.report.page.stage import how_promised
from planner.report.words.check_text import understood_words
from planner.report.words.summary import plan_summary
from planner.report.words.sure.promise import (
    wanted_words,
)
from planner.units import year_once
from planner.usecases.check import read_problem
from planner.usecases.plan import Choices, plan_inputs
from planner.usecases.read import Papers
from tests.support.plans import changed as with_stage
from tests.support.side_by_side import SMALL
from tests.support.values import changed, job_file

DAY = timedelta(days=1)
FROM = date(2027, 2, 17)


def papers(folder: Path, wishes: str) -> Papers:
    said = changed(SMALL, ("earliest =", f"{wishes}\nearliest ="))
    return Papers(job_file(folder, said))


@pytest.fixture(scope="module")
def wished(tmp_path_factory) -> tuple[Inputs, Plan]:
    """A small job that is closed from a day on, and wanted back by another."""
    said = f"close_from = {FROM}\nback_by = 2027-03-31"
    inputs = papers(tmp_path_factory.mktemp("wished"), said).inputs()
    return inputs, plan_inputs(inputs, Choices(work_limit=0.05))


def closed_from(plan: Plan, inputs: Inputs) -> date:
    return plan.stage.closure[0].astimezone(inputs.job.zone).date()


def test_the_stage_is_not_closed_before_the_day_said(wished):
    inputs, plan = wished
    assert closed_from(plan, inputs) >= FROM
    assert any(  # work elsewhere isn't held back by it
        t.start.astimezone(inputs.job.zone).date() < FROM for t in plan.tasks
    )


def test_a_closure_before_the_day_said_is_judged_as_a_fault(wished):
    inputs, plan = wished
    assert judged(inputs, plan) == ()
    later = replace(inputs, job=replace(inputs.job, close_from=FROM + 30 * DAY))
    assert any("the stage is closed from" in f for f in judged(later, plan))


def told(plan: Plan, **changes: object) -> Plan:
    sure = plan.stage.sureness
    wanted = sure.wanted and replace(sure.wanted, **changes)  # type: ignore[arg-type]
    return with_stage(plan, sureness=replace(sure, wanted=wanted))


SPOILT: dict[str, Callable[[Plan], Plan]] = {
    "another day": lambda p: told(p, by=p.stage.closure[1] + 40 * DAY),
    "too seldom": lambda p: told(p, frac=0.3),
    "not told": lambda p: with_stage(
        p, sureness=replace(p.stage.sureness, wanted=None)
    ),
}


@pytest.mark.parametrize("name", SPOILT)
def test_a_wish_that_is_told_wrong_is_judged_as_a_fault(wished, name):
    inputs, plan = wished
    assert any("wanted" in fault for fault in judged(inputs, SPOILT[name](plan)))


def test_a_wish_before_the_working_plan_is_not_told_as_kept(wished):
    inputs, plan = wished
    by = plan.stage.closure[1] - DAY
    asked = replace(inputs, job=replace(inputs.job, back_by=by))
    kept = told(plan, by=by, frac=0.9)
    assert any("told too often" in fault for fault in judged(asked, kept))
    assert judged(asked, told(plan, by=by, frac=0.0)) == ()


def test_a_wish_is_told_as_kept_or_plainly_as_not_kept(wished):
    _, plan = wished
    full = plan.stage.returns[1]
    assert full.promise is not None
    kept = wanted_words(plan, plan.stage)
    assert kept is not None
    assert kept.startswith(
        "by the end of Wed 31 Mar 2027: promised. It is back by then"
    )
    late = told(plan, by=full.promise - 2 * DAY, frac=0.41)
    words = wanted_words(late, late.stage)
    assert words is not None
    assert "not promised. It is back by then in 41 of 100 cases" in words
    assert "8 of 10 cases are asked for; the promise is 2 days later" in words
    summary = " ".join(plan_summary(late, ()).split())
    assert "Wanted back" in summary
    assert year_once(words, 2027) in summary  # said with the first date
    assert any(words in line for line in how_promised(View(late)))


def test_a_job_without_a_wish_says_nothing_of_it(wished):
    _, plan = wished
    silent = SPOILT["not told"](plan)
    assert wanted_words(silent, silent.stage) is None
    assert "Wanted back" not in plan_summary(silent, ())


def test_a_day_lasts_until_its_end_and_a_moment_is_the_site_s(tmp_path):
    job = papers(tmp_path, "back_by = 2027-03-31").inputs().job
    assert job.back_by == datetime(2027, 4, 1, tzinfo=job.zone)
    job = papers(tmp_path, "back_by = 2027-03-31T08:00:00").inputs().job
    assert job.back_by == datetime(2027, 3, 31, 8, tzinfo=job.zone)


@pytest.mark.parametrize(
    ("wishes", "fault"),
    [
        ('back_by = "Friday"', "'Friday' is neither a day such as 2027-03-05"),
        ("back_by = 2027-02-01", "2027-02-01 is before job.earliest, 2027-02-08"),
        (
            "close_from = 2027-03-09\nback_by = 2027-03-08T09:00:00",
            "is before job.close_from, 2027-03-09",
        ),
        (
            "close_from = 2028-02-09",
            "is more than a year after job.earliest, 2027-02-08",
        ),
        ("close_from = 2027-03-09T10:00:00", "is not a day such as 2027-02-08"),
    ],
)
def test_wishes_that_cannot_be_are_faults_of_the_file(tmp_path, wishes, fault):
    with pytest.raises(FaultsError) as caught:
        papers(tmp_path, wishes).inputs()
    assert any(fault in str(f) for f in caught.value.faults), caught.value.faults


MOVABLE = """
[[calendars.movable]]
file = "{file}"
uid = "first@demo.example"
costs = {costs}
"""


def booked(folder: Path, *movable: str) -> Path:
    text = (
        "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//test//EN\r\nBEGIN:VEVENT\r\n"
        "UID:first@demo.example\r\nDTSTAMP:20270101T000000Z\r\nSUMMARY:First\r\n"
        "DTSTART;VALUE=DATE:20270210\r\nDTEND;VALUE=DATE:20270212\r\n"
        "END:VEVENT\r\nEND:VCALENDAR\r\n"
    )
    (folder / "stage.ics").write_bytes(text.encode())
    said = changed(SMALL, ('apron = "0 m"', 'apron = "0 m"\nbookings = ["stage.ics"]'))
    return job_file(folder, said + "".join(movable))


def test_what_moving_a_booking_costs_is_read_and_shown(tmp_path):
    path = booked(tmp_path, MOVABLE.format(file="stage.ics", costs=1500))
    (one,) = Papers(path).inputs().hours.bookings
    assert one.moving_cost == 1500
    assert one.movable
    words = " ".join(understood_words(*read_problem(path)).split())
    assert "may be moved for 1,500" in words


def test_a_movable_booking_that_is_not_there_is_a_fault_or_a_remark(tmp_path):
    for said, fault in (
        (MOVABLE.format(file="other.ics", costs=1), "none of the stage's bookings"),
        (MOVABLE.format(file="stage.ics", costs=-1), "calendars.movable.1.costs"),
        (2 * MOVABLE.format(file="stage.ics", costs=1), "is named twice"),
    ):
        with pytest.raises(JobFileError) as caught:
            read_job(booked(tmp_path, said))
        assert any(fault in str(f) for f in caught.value.faults), caught.value.faults
    gone = MOVABLE.format(file="stage.ics", costs=1).replace("first@", "gone@")
    inputs = Papers(booked(tmp_path, gone)).inputs()
    assert any('has the UID "gone@demo.example"' in r for r in inputs.remarks)


def test_a_change_can_say_a_wish(tmp_path):
    read = Papers(job_file(tmp_path, SMALL))
    job = read.inputs(changes_from({"job.back_by": date(2027, 4, 1)})).job
    assert job.back_by is not None
    assert job.back_by.date() == date(2027, 4, 2)
