"""What the program says of itself: each command in one line, and ids for the shell.

Tests of planner/cli.py, planner/commands/about.py, planner/commands/options.py.
"""

import json
import subprocess
import sys
from importlib.metadata import version
from pathlib import Path

import pytest
import typer
from typer.testing import CliRunner

from planner.cli import app
from planner.commands.options import planned_tasks

RUNNER = CliRunner(env={"COLUMNS": "80", "TERMINAL_WIDTH": "80"})


def said(*args: str) -> str:
    """Return what a command prints of itself on a terminal of 80 columns."""
    ran = RUNNER.invoke(app, args)
    assert ran.exit_code == 0, ran.output
    return ran.output


COMMANDS = [c.callback.__name__ for c in app.registered_commands if c.callback]


def test_each_command_stands_in_one_line_that_is_not_cut_short():
    lines = said("-h").splitlines()
    listed = lines[lines.index("Commands:") + 1 :]
    assert [line.split()[0] for line in listed if line] == COMMANDS
    assert not [line for line in listed if "..." in line]


@pytest.mark.parametrize("command", COMMANDS)
def test_help_is_plain_and_fits_eighty_columns(command):
    words = said(command, "-h")
    assert words == said(command, "--help")
    assert words.isascii()  # no boxes
    assert max(map(len, words.splitlines())) <= 80
    assert " <" not in words  # what a value is like is said in words, not as a type


def test_the_version_is_that_of_the_package():
    assert said("--version") == f"covetime {version('covetime')}\n"


def test_the_shell_completes_the_tasks_of_the_plan_that_stands(tmp_path: Path):
    ids = ["tern:prime-1", "tern:prime-2", "tern:wipe"]
    (tmp_path / "plan").mkdir()
    tasks = {"tasks": [{"id": i} for i in ids]}
    (tmp_path / "plan" / "plan.json").write_text(json.dumps(tasks))
    asked = context(tmp_path / "job.toml")
    assert planned_tasks(asked, "pri") == ["prime-1", "prime-2"]
    assert planned_tasks(asked, "tern:w") == ["tern:wipe"]


@pytest.mark.parametrize("held", [None, "", "[]", '{"tasks": 3}', '{"tasks": [{}]}'])
def test_without_a_plan_that_can_be_read_nothing_is_completed(tmp_path: Path, held):
    if held is not None:
        (tmp_path / "plan").mkdir()
        (tmp_path / "plan" / "plan.json").write_text(held)
    assert planned_tasks(context(tmp_path / "job.toml"), "") == []


def test_nothing_is_completed_before_the_job_is_named():
    assert planned_tasks(context(None), "") == []


def context(job: Path | None) -> typer.Context:
    """Return what the shell has been given so far."""
    found = typer.Context(typer.main.get_command(app))
    found.params = {} if job is None else {"job": str(job)}
    return found


def test_a_shell_can_ask_for_completion():
    ran = subprocess.run(
        [str(Path(sys.executable).parent / "covetime")],
        env={"_COVETIME_COMPLETE": "complete_bash", "COMP_WORDS": "covetime w",
             "COMP_CWORD": "1"},
        capture_output=True, text=True, timeout=60, check=False,
    )  # fmt: skip
    assert "why" in ran.stdout.split(), ran.stderr
