"""The command `covetime` as tests run it: within this process, or as one of its own.

A call prints and ends as the process does, and is spared a second of loading. Take a
process of its own only where the process is what is tested: signals, the environment
it begins in, the way it is started.
"""

import os
import subprocess
import sys
from collections.abc import Mapping
from contextlib import chdir
from dataclasses import dataclass
from pathlib import Path

from typer.testing import CliRunner

from planner import cli
from tests.support.places import ROOT


@dataclass(frozen=True)
class Ran:
    """How a command ended, and what it printed."""

    returncode: int
    stdout: str
    stderr: str


def covetime(
    *words: str,
    cwd: Path = ROOT,
    env: Mapping[str, str | None] | None = None,
    kept: bool = False,
) -> Ran:
    """Run the command in this process, from a folder; `env` is laid over ours.

    A variable whose value is None is taken out. An exception that the command lets
    through is raised here too. Plans are those that return the earliest, unless they
    are to be `kept`, which takes ten times as long.
    """
    if words[:1] == ("plan",) and not kept:
        words = (*words, "--earliest")
    with chdir(cwd):
        ran = CliRunner().invoke(cli.app, words, env=env, prog_name="covetime")
    if ran.exception is not None and not isinstance(ran.exception, SystemExit):
        raise ran.exception
    return Ran(ran.exit_code, ran.stdout, ran.stderr)


def covetime_process(
    *words: str, env: Mapping[str, str] | None = None, timeout_s: float = 600
) -> subprocess.CompletedProcess[str]:
    """Run the command as a process of its own; `env` is laid over ours."""
    return subprocess.run(
        [sys.executable, "-m", "planner.cli", *words],
        capture_output=True,
        text=True,
        check=False,
        timeout=timeout_s,
        cwd=ROOT,
        env={**os.environ, **(env or {})},
    )
