"""A fault of the program ends with a status of its own, and is never "no plan"."""

from typing import Any

import pytest
from typer.testing import CliRunner

from planner import cli, marking
from planner.errors import ProgramFaultError
from tests.support import STRAIGHT, job_file


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
    monkeypatch.setattr(marking, "prepared", fail_with(error))
    ran = CliRunner().invoke(cli.app, ["opening", str(job_file(tmp_path, STRAIGHT))])
    assert ran.exit_code == 70  # EX_SOFTWARE of sysexits.h
    assert ran.stdout == ""
    assert "Traceback" in ran.stderr
    said = ran.stderr[ran.stderr.index("\n\n") :]
    assert "a fault of the program, not of your files" in said
    assert "send the lines above to the maintainers" in said
    assert "no plan is possible" not in ran.stderr
    for words in getattr(error, "found", ()):
        assert words in said


def test_a_reader_who_leaves_is_neither_a_fault_nor_a_plan_that_is_not(
    tmp_path, monkeypatch
):
    monkeypatch.setattr(marking, "prepared", fail_with(BrokenPipeError()))
    ran = CliRunner().invoke(cli.app, ["opening", str(job_file(tmp_path, STRAIGHT))])
    assert ran.exit_code == 141
    assert ran.stderr == ""
