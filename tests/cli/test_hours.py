"""`hours` as it is run: without planning, for whom and from when it is asked.

Tests of planner/commands/looking.py, planner/files/tables/hours_json.py,
planner/report/words/hours_text.py, planner/usecases/hours.py.
"""

import json
from pathlib import Path

import pytest

from tests.support.command import covetime
from tests.support.ics import calendar, event, put
from tests.support.values import STRAIGHT, changed, job_file

NIGHT = event(
    "DTSTART;TZID=America/Halifax:20270209T090000",
    "DTEND;TZID=America/Halifax:20270209T103000",
    "SUMMARY:Something secret",
    "CLASS:PRIVATE",
)


def job(tmp_path: Path, *pairs: tuple[str, str]) -> str:
    put(tmp_path, calendar(NIGHT), "bo.ics")
    with_bo = ('name = "Bo"', 'name = "Bo"\ncalendar = "bo.ics"')
    return str(job_file(tmp_path, changed(STRAIGHT, with_bo, *pairs)))


def test_hours_of_everyone_and_the_stage_without_planning(tmp_path):
    ran = covetime("hours", job(tmp_path))
    assert ran.returncode == 0, ran.stderr
    assert ran.stderr == ""
    heads = [x.split(":")[0] for x in ran.stdout.splitlines() if "hours not" in x]
    assert heads == ["Ana", "Bo", "the stage"]
    assert ran.stdout.count("Sun 21 Feb") == 4  # two weeks: the head and each owner
    assert "09:00-10:30 a private entry (bo.ics)" in ran.stdout
    assert "secret" not in ran.stdout
    assert max(map(len, ran.stdout.splitlines())) <= 80
    assert sorted(p.name for p in tmp_path.iterdir()) == ["bo.ics", "job.toml"]


def test_help_shows_an_example():
    ran = covetime("hours", "--help")
    assert "Example: covetime hours" in " ".join(ran.stdout.split())


def test_a_crew_that_has_no_plan_has_hours_all_the_same(tmp_path):
    path = job(tmp_path, ('"carpenter", "finisher", "painter"', '"carpenter"'))
    assert covetime("hours", path).returncode == 0


def test_hours_of_one_on_some_days_in_all_three_forms(tmp_path):
    path = job(tmp_path)
    table, drawn = tmp_path / "hours.json", tmp_path / "hours.svg"
    args = ["--who", "bo", "--from", "2027-02-09", "--to", "2027-02-10"]
    files = ["--json", str(table), "--picture", str(drawn)]
    ran = covetime("hours", path, *args, *files)
    assert ran.returncode == 0, ran.stderr
    assert "Ana" not in ran.stdout
    # Tuesday: eight hours less 9:00 to 10:30
    assert "Tue 9 Feb  6 h 30 min   open    08:00-09:00, 10:30-12:00" in ran.stdout
    (bo,) = json.loads(table.read_text("utf-8"))["owners"]
    assert [(d["day"], d["open_minutes"]) for d in bo["days"]] == [
        ("2027-02-09", 390),
        ("2027-02-10", 480),
    ]
    for file in (table, drawn):
        assert "secret" not in file.read_text("utf-8")
    again = covetime("hours", path, *args, *files)
    assert again.returncode == 2
    assert "is there already" in again.stderr


def test_days_before_the_jobs_earliest_can_be_asked_for(tmp_path):
    entry = event("DTSTART;VALUE=DATE:20261225", "SUMMARY:Feast")
    path = job(tmp_path)
    put(tmp_path, calendar(entry), "bo.ics")
    ran = covetime("hours", path, "--who", "Bo", "--from", "2026-12-25")
    assert 'Fri 25 Dec 0 h          closed  all day "Feast" (bo.ics)' in ran.stdout


@pytest.mark.parametrize(
    ("args", "said"),
    [
        (["--who", "Boo"], '"Boo" is none of the crew\n  did you mean "bo"?'),
        (["--who", "Zacharias"], "known: Ana, Bo, stage"),
        (["--from", "2027-03-02", "--to", "2027-03-01"], "lies before --from"),
        (["--to", "2029-01-01"], "calendars are read until 2028-02-14"),
        (["--from", "2.3.2027"], "2.3.2027"),
        (["--from", "9999-12-31"], "9999-12-31 is not a day of this century"),
        (["--to", "0001-01-01"], "0001-01-01 is not a day of this century"),
    ],
)
def test_what_cannot_be_shown_says_why(args, said, tmp_path):
    ran = covetime("hours", job(tmp_path), *args)
    assert ran.returncode == 2
    assert ran.stdout == ""
    assert said in ran.stderr
    assert "Traceback" not in ran.stderr


def test_a_calendar_that_cannot_be_read_leaves_its_owner_unknown(tmp_path):
    path = job(tmp_path)
    put(tmp_path, calendar(event("DURATION:PT1H", "SUMMARY:Odd")), "bo.ics")
    ran = covetime("hours", path)
    assert (ran.returncode, ran.stdout) == (2, "")
    assert ran.stderr.splitlines()[1:] == [
        '  bo.ics, for Bo: entry "Odd" (UID e@test): it has no DTSTART, so nobody'
        " can tell when it is; correct the entry, or leave it out by its UID ([[calendars.leave_out]])"
    ]


def test_an_entry_left_out_is_told(tmp_path):
    path = job(tmp_path)
    put(tmp_path, calendar(event("DTSTART:soon", "SUMMARY:Odd")), "bo.ics")
    file = Path(path)
    left_out = '[[calendars.leave_out]]\nfile = "bo.ics"\nuid = "e@test"\n'
    file.write_text(left_out + file.read_text("utf-8"), "utf-8")
    ran = covetime("hours", path)
    assert ran.returncode == 0
    assert (
        'note: bo.ics: left out, as the job file asks: entry "Odd" (UID e@test)'
        in ran.stdout
    )


@pytest.mark.slow
def test_a_plan_says_what_was_left_out(tmp_path):
    path = Path(job(tmp_path))
    put(tmp_path, calendar(NIGHT, event("DTSTART:soon", uid="odd@test")), "bo.ics")
    left_out = '[[calendars.leave_out]]\nfile = "bo.ics"\nuid = "odd@test"\n'
    path.write_text(left_out + path.read_text("utf-8"), "utf-8")
    ran = covetime("plan", str(path), "--work-limit", "0.05")
    assert ran.returncode == 0, ran.stderr
    said = "bo.ics: left out, as the job file asks: entry (UID odd@test)"
    plan = json.loads((tmp_path / "plan" / "plan.json").read_text("utf-8"))
    assert said in plan["remarks"]
    assert said in (tmp_path / "plan" / "plan.html").read_text("utf-8")
