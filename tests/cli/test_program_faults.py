"""A fault of the program ends with a status of its own, and is never "no plan".

Tests of planner/commands/searching.py, planner/commands/aside.py, planner/commands/ending.py, planner/errors.py,
planner/report/words/as_found.py.
"""

import re
import subprocess
import sys
from typing import Any

import pytest

from planner.errors import ProgramFaultError
from planner.planning import answering, make
from planner.schedule.climb import ladder as engine
from planner.usecases import opening
from tests.support.command import Ran, covetime
from tests.support.values import STRAIGHT, job_file


def fail_with(error: BaseException) -> Any:
    def fail(*_: object, **__: object) -> None:
        raise error

    return fail


@pytest.mark.parametrize(
    "error",
    [
        KeyError("prime-2"),
        AssertionError("not so"),
        OSError(5, "Input/output error"),
        RecursionError("too deep"),
        ProgramFaultError("a rule is broken", found=("Ana is in two places",)),
    ],
)
def test_a_fault_of_the_program_has_a_status_of_its_own(tmp_path, monkeypatch, error):
    monkeypatch.setattr(opening, "read", fail_with(error))
    ran = covetime("opening", str(job_file(tmp_path, STRAIGHT)))
    assert ran.returncode == 70  # EX_SOFTWARE of sysexits.h
    assert ran.stdout == ""
    assert "Traceback" in ran.stderr
    said = ran.stderr[ran.stderr.index("\n\n") :]
    assert "a fault of the program, not of your files" in said
    assert "send the lines above to the maintainers" in said
    assert "no plan is possible" not in ran.stderr
    for words in getattr(error, "found", ()):
        assert words in said


IN_A_PROCESS = """
import sys
from planner.main import main
from planner.usecases import opening
def fail(*_):
    raise KeyError("prime-2")
opening.read = fail
sys.argv = ["covetime", "opening", {job!r}]
main()
"""


def test_the_process_ends_with_that_status_too(tmp_path):
    code = IN_A_PROCESS.format(job=str(job_file(tmp_path, STRAIGHT)))
    ran = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=False
    )
    assert (ran.returncode, ran.stdout) == (70, "")
    assert "a fault of the program, not of your files" in ran.stderr


def test_a_reader_who_leaves_is_neither_a_fault_nor_a_plan_that_is_not(
    tmp_path, monkeypatch
):
    monkeypatch.setattr(opening, "read", fail_with(BrokenPipeError()))
    ran = covetime("opening", str(job_file(tmp_path, STRAIGHT)))
    assert ran.returncode == 141
    assert ran.stderr == ""


def plan(folder, *args: str) -> Ran:
    job = job_file(folder, STRAIGHT)
    return covetime("plan", str(job), "--work-limit", "0.05", *args)


def kept_by(folder):
    return sorted(p.name for p in folder.iterdir() if p.suffix == ".txt")


def test_the_plan_found_before_a_fault_is_kept_aside_and_not_as_the_plan(
    tmp_path, monkeypatch
):
    monkeypatch.setattr(make, "plan_of", fail_with(KeyError("recoat")))
    for number in (1, 2):
        ran = plan(tmp_path)
        assert ran.returncode == 70
        names = [f"plan-not-checked-{n:03}.txt" for n in range(1, number + 1)]
        assert kept_by(tmp_path) == names
        assert f"not checked, is kept in {tmp_path}/{names[-1]}" in ran.stderr
    assert not (tmp_path / "plan").exists()
    text = (tmp_path / "plan-not-checked-001.txt").read_text("utf-8")
    assert "NOT CHECKED" in text
    # by name and day, for the one who has to go on without the program
    line = r"^\w{3} \d+ Feb 2027, 08:00 to .* 2027, [\d:]{5}  Open the crates: Ana, Bo$"
    assert re.search(line, text, re.MULTILINE)


def test_a_fault_in_the_search_keeps_the_plan_of_the_aim_before(tmp_path, monkeypatch):
    asked = []
    bring_down = engine.Ladder.bring_down

    def second_fails(self, *args):
        asked.append(args)
        if len(asked) == 2:
            raise IndexError("out of bounds")
        return bring_down(self, *args)

    monkeypatch.setattr(engine.Ladder, "bring_down", second_fails)
    ran = plan(tmp_path)
    assert ran.returncode == 70
    assert kept_by(tmp_path) == ["plan-not-checked-001.txt"]


def test_a_fault_before_any_plan_says_that_none_was_found(tmp_path, monkeypatch):
    monkeypatch.setattr(answering, "posed", fail_with(IndexError("no")))
    ran = plan(tmp_path)
    assert ran.returncode == 70
    assert "no plan had been found by then" in ran.stderr
    assert "it doesn't mean that there is no plan" in ran.stderr
    assert kept_by(tmp_path) == []


@pytest.mark.slow
def test_a_plan_that_stood_before_a_fault_is_left_as_it_was(tmp_path, monkeypatch):
    assert plan(tmp_path).returncode == 0
    before = {
        p.name: p.read_bytes() for p in (tmp_path / "plan").iterdir() if p.is_file()
    }
    broken = ProgramFaultError("breaks a rule", found=("Ana is in two places",))
    monkeypatch.setattr(make, "plan_of", fail_with(broken))
    ran = plan(tmp_path)
    assert ran.returncode == 70
    assert f"the plan that stands in {tmp_path}/plan/ is as it was" in ran.stderr
    assert "Ana is in two places" in ran.stderr
    after = {
        p.name: p.read_bytes() for p in (tmp_path / "plan").iterdir() if p.is_file()
    }
    assert after == before
    assert not (tmp_path / "plan" / "earlier").exists()
