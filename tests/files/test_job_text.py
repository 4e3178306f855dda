"""Job files that only a fault or malice would write, and files that are no files.

Tests of planner/files/job/faults.py, planner/files/job/jobfile.py,
planner/files/job/text.py, planner/files/plain.py.
"""

import os
import subprocess
import sys

import pytest

from planner.errors import JobFileError
from planner.files.job.jobfile import read_job
from tests.support.command import covetime_process
from tests.support.values import STRAIGHT, changed, job_file

DEEP = 5_000


def faults(tmp_path, text: str) -> list[str]:
    with pytest.raises(JobFileError) as caught:
        read_job(job_file(tmp_path, text))
    return [str(f) for f in caught.value.faults]


@pytest.mark.parametrize(
    "text",
    [
        f"x = {'[' * DEEP}{']' * DEEP}",
        f"x = {'{a = ' * DEEP}1{'}' * DEEP}",
        f"{'.'.join(['a'] * DEEP)} = 1",
        f"[{'.'.join(['a'] * DEEP)}]\nx = 1",
        f"{STRAIGHT}\n[air.{'.'.join(['a'] * 15)}]\nx = 1",
        f"x = {'[' * 50}{']' * 50}",
    ],
)
def test_a_file_nested_too_deep_is_a_fault(tmp_path, text):
    (told,) = faults(tmp_path, text)
    assert "nested too deeply" in told


@pytest.mark.parametrize(
    ("number", "told"),
    [
        ("9" * 5_000, "a number of more than 4,300 digits"),
        (
            "9" * 4_000,
            "rates.stage_per_day: is a whole number above 64 bits, which is too large",
        ),
        ("0x" + "f" * 9_000, "is a whole number above 64 bits, which is too large"),
        (str(2**63), "is a whole number above 64 bits, which is too large"),
        ("9" * 5_000 + ".0", "rates.stage_per_day"),
        (str(2**63 - 1), "rates.stage_per_day"),
    ],
)
def test_a_number_of_too_many_digits_is_a_fault(tmp_path, number, told):
    (got,) = faults(tmp_path, f"{STRAIGHT}\n[rates]\nstage_per_day = {number}\n")
    assert told in got


@pytest.mark.parametrize(
    ("one", "place"),
    [
        (('"a wall"', r'"a\nwall"'), "job.name: the text holds a new line (U+000A)"),
        (("[stage]", '[stage]\nname = "a\\tb"'), "stage.name: the text holds a tab"),
        (('name = "wall"', r'name = "w\u001bl"'), "stage.run.1.name: the text holds a"),
        (('name = "Ana"', r'name = "An\u2028a"'), "crew.1.name: the text holds a cont"),
        (('name = "Bo"', 'name = """Bo\nB"""'), "crew.2.name: the text holds a new"),
        (('name = "Bo"', 'name = "B\\u0000o"'), "crew.2.name: the text holds a contr"),
    ],
)
def test_a_text_stays_on_its_line(tmp_path, one, place):
    (told,) = faults(tmp_path, changed(STRAIGHT, one))
    assert place in told


def test_a_text_with_a_new_line_hides_no_other_fault(tmp_path):
    text = changed(STRAIGHT, ('"a wall"', r'"a\nwall"'), ('"5 m"', "5"))
    assert len(faults(tmp_path, text)) == 2


def test_what_is_printed_holds_no_control_characters(tmp_path):
    job = job_file(tmp_path, STRAIGHT + '\n["\\u001b[2J\\n"]\nx = 1\n')
    ran = check(job)
    assert ran.returncode == 2
    assert "\x1b" not in ran.stderr
    assert r"\x1b[2J\n: unknown section" in ran.stderr


def check(job) -> subprocess.CompletedProcess[str]:
    """Run `check` in a process that is ended should it wait for anything."""
    return covetime_process("check", str(job), timeout_s=60)


READINGS = ("[stage]", '[air]\nreadings = "{}"\n[stage]')
RECORD = (
    "[stage]",
    '[air.room]\nvolume = "300 m3"\n[air.outside]\nrecord = "{}"\n[stage]',
)
CALENDAR = ('name = "Bo"', 'name = "Bo"\ncalendar = "{}"')
BOOKINGS = ('ceiling = "2.9 m"', 'ceiling = "2.9 m"\nbookings = ["{}"]')
USUAL = (("a pipe", CALENDAR), ("a device", READINGS))  # else on demand


@pytest.mark.skipif(sys.platform == "win32", reason="has no such pipes and devices")
@pytest.mark.parametrize(
    ("kind", "where"),
    [
        pytest.param(
            *(kind, where), marks=[] if (kind, where) in USUAL else [pytest.mark.slow]
        )
        for kind in ("a pipe", "a device")
        for where in (READINGS, RECORD, CALENDAR, BOOKINGS)
    ],
)
def test_a_pipe_or_a_device_is_refused_and_not_waited_for(tmp_path, where, kind):
    name = "/dev/zero"
    if kind == "a pipe":
        name = "pipe"
        os.mkfifo(tmp_path / name)
    old, new = where
    text = changed(STRAIGHT, (old, new.format(name)))
    ran = check(job_file(tmp_path, text))
    assert ran.returncode == 2
    assert f'"{name}" is {kind}, not a file' in ran.stderr


@pytest.mark.parametrize("where", [READINGS, RECORD])
def test_a_folder_of_readings_is_refused(tmp_path, where):
    (tmp_path / "logs").mkdir()
    old, new = where
    (told,) = faults(tmp_path, changed(STRAIGHT, (old, new.format("logs"))))
    assert '"logs" is a folder, not a file' in told


@pytest.mark.skipif(sys.platform == "win32", reason="has no such pipes")
def test_a_pipe_among_a_folders_calendars_is_not_waited_for(tmp_path):
    (tmp_path / "bo").mkdir()
    os.mkfifo(tmp_path / "bo" / "a.ics")
    old, new = CALENDAR
    ran = check(job_file(tmp_path, changed(STRAIGHT, (old, new.format("bo")))))
    assert ran.returncode == 2
    assert "no .ics file in this folder" in ran.stderr


@pytest.mark.skipif(sys.platform == "win32", reason="has no such pipes")
def test_a_job_file_that_is_a_pipe_or_a_folder_is_refused(tmp_path):
    os.mkfifo(tmp_path / "job.toml")
    for path, kind in ((tmp_path / "job.toml", "a pipe"), (tmp_path, "a folder")):
        ran = check(path)
        assert ran.returncode == 2
        assert f"is {kind}, not a file" in ran.stderr


def test_a_job_file_of_megabytes_is_refused(tmp_path):
    (told,) = faults(tmp_path, "#" * 1_000_001)
    assert "is larger than 1,000,000 bytes" in told
