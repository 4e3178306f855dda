"""What the command says when something is wrong, and how it ends.

Tests of planner/cli.py, planner/commands/ending.py, planner/commands/options.py,
planner/commands/planning.py, planner/errors.py, planner/report/words/summary.py,
planner/usecases/why.py.
"""

import signal
import subprocess
import sys
import time

import pytest

from tests.support.command import covetime
from tests.support.places import ROOT
from tests.support.values import STRAIGHT, changed, job_file

BROKEN = {
    "no zone": ('"America/Halifax"', '"Halifax"'),
    "no unit": ('"5 m"', "5"),
    "unknown key": ("ceiling", "hight"),
    "unknown section": ("[stage]", "[people]\nx = 1\n[stage]"),
    "no day": ("2027-02-08", '"soon"'),
    "wrong trade": ('"labourer"', '"plumber"'),
    "unknown product": ("[stage]", "[methods]\nprimer = 'magic'\n[stage]"),
    "bad shift": ('name = "Bo"', 'name = "Bo"\nshifts = ["Mon 17:00-08:00 07:00-09:00"]'),
    "missing calendar": ('name = "Bo"', 'name = "Bo"\ncalendar = "bo.ics"'),
    "bad humidity": ("[stage]", "[air]\nhumidity = '140 %'\n[stage]"),
}  # fmt: skip


@pytest.mark.parametrize("fault", BROKEN)
def test_a_broken_job_file_gets_one_clear_report_and_nothing_is_written(
    tmp_path, fault
):
    job = job_file(tmp_path, changed(STRAIGHT, BROKEN[fault]))
    ran = covetime("plan", str(job))
    assert ran.returncode == 2
    assert ran.stdout == ""
    assert "Traceback" not in ran.stderr
    assert "job.toml: " in ran.stderr
    assert [p.name for p in tmp_path.iterdir()] == ["job.toml"]


def test_a_calendar_that_cannot_be_read_is_an_error_not_free_time(tmp_path):
    (tmp_path / "bo.ics").write_bytes(b"BEGIN:VCALENDAR\r\nBEGIN:VEVENT\r\n")
    text = changed(STRAIGHT, ('name = "Bo"', 'name = "Bo"\ncalendar = "bo.ics"'))
    ran = covetime("check", str(job_file(tmp_path, text)))
    assert ran.returncode == 2
    assert "bo.ics" in ran.stderr
    assert "Traceback" not in ran.stderr


def test_a_crew_without_a_finisher_has_no_plan_and_is_told_why(tmp_path):
    text = changed(STRAIGHT, ('"carpenter", "finisher", "painter"', '"carpenter"'))
    ran = covetime("plan", str(job_file(tmp_path, text)))
    assert ran.returncode == 1
    assert "need a finisher" in ran.stderr
    assert not (tmp_path / "plan").exists()


def test_a_crew_without_a_painter_has_no_plan_though_others_may_help(tmp_path):
    # carpenters and finishers may help to prime and to paint, but not lead it
    text = changed(
        STRAIGHT,
        ('"carpenter", "finisher", "painter"', '"carpenter", "finisher"'),
        ('"labourer", "painter"', '"labourer", "finisher"'),
    )
    ran = covetime("plan", str(job_file(tmp_path, text)))
    assert ran.returncode == 1
    assert '"Primer coat 1", "Primer coat 2", "Colour coat 1" and 1 more' in ran.stderr
    assert "need a painter" in " ".join(ran.stderr.split())
    assert not (tmp_path / "plan").exists()


def test_a_room_at_6_degrees_has_no_plan_and_is_told_why(tmp_path):
    text = changed(STRAIGHT, ("[stage]", "[air]\ntemperature = '6 C'\n[stage]"))
    ran = covetime("plan", str(job_file(tmp_path, text)))
    assert ran.returncode == 1
    assert "°C" in ran.stderr
    assert "would help" in ran.stderr
    assert not (tmp_path / "plan").exists()


@pytest.mark.slow
def test_bookings_that_leave_no_gap_are_named(tmp_path):
    text = changed(
        STRAIGHT,
        (
            'ceiling = "2.9 m"',
            'ceiling = "2.9 m"\n'
            f'bookings = ["{ROOT}/calendars/stage-bookings-tight.ics"]',
        ),
    )
    ran = covetime("plan", str(job_file(tmp_path, text)))
    assert ran.returncode == 1
    assert "Friday product table" in ran.stderr


def test_a_task_that_is_not_there_names_the_nearest(planned):
    folder = str(planned["straight"].folder)
    ran = covetime("why", "examples/straight/job.toml", "prime-l", "--out", folder)
    assert ran.returncode == 2
    # prime-1 and prime-2 are equally near
    assert "did you mean prime-" in ran.stderr
    assert "prime-1" in ran.stderr


def test_a_folder_that_is_a_file_is_refused_before_the_search(tmp_path):
    (tmp_path / "out").write_text("mine")
    ran = covetime("plan", "examples/corner/job.toml", "--out", str(tmp_path / "out"))
    assert ran.returncode == 2
    assert (tmp_path / "out").read_text() == "mine"


@pytest.mark.slow
def test_an_interrupt_writes_the_best_plan_found(tmp_path):
    with subprocess.Popen(
        [sys.executable, "-m", "planner.cli", "plan", "examples/corner/job.toml",
         "--out", str(tmp_path / "plan")],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, cwd=ROOT,
    ) as run:  # fmt: skip
        assert run.stderr is not None
        for line in run.stderr:
            if "best" in line:
                break
        time.sleep(0.5)
        run.send_signal(signal.SIGINT)
        out, err = run.communicate(timeout=120)
    assert run.returncode == 0, err
    assert "Traceback" not in err
    assert (tmp_path / "plan" / "plan.json").exists()
    assert "Keep the stage clear" in out


def test_help_shows_an_example_for_each_command():
    for command in ("plan", "check", "why"):
        ran = covetime(command, "--help")
        assert ran.returncode == 0
        assert "Example: covetime" in " ".join(ran.stdout.split())
