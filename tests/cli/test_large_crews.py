"""How much memory a plan for a large crew takes: people alike, or no two of them.

Quicker tests of what keeps it small are in tests/rules/test_team_bounds.py.

Tests of planner/schedule/space/teams.py, planner/schedule/cp/model.py,
planner/odds/script.py.
"""

import subprocess
import sys
from pathlib import Path

import pytest

from tests.support.crews import corner_with_crew
from tests.support.places import ROOT
from tests.support.values import job_file

MOST_MB = 1000

MEASURED = """
import atexit, resource, sys
def note():
    most_kb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    open({note!r}, "w").write(str(most_kb / 1024))
atexit.register(note)
from planner.main import main
sys.argv = ["covetime", *{args!r}]
main()
"""


@pytest.mark.slow
@pytest.mark.parametrize("each", ["all", "one"])
@pytest.mark.parametrize("unlike", [False, True])
@pytest.mark.parametrize("kept", [False, True])
def test_a_plan_for_forty_people_takes_less_than_a_gigabyte(
    each: str, unlike: bool, kept: bool, tmp_path: Path
) -> None:
    job = job_file(tmp_path, corner_with_crew(40, each=each, unlike=unlike))
    args = ["plan", str(job), "--work-limit", "0.5", *["--earliest"][kept:]]
    note = tmp_path / "most.txt"
    code = MEASURED.format(note=str(note), args=args)
    ran = subprocess.run(
        [sys.executable, "-c", code],
        capture_output=True, text=True, cwd=ROOT, timeout=600, check=False,
    )  # fmt: skip
    assert ran.returncode == 0, ran.stderr
    assert "Keep the stage clear" in ran.stdout
    assert float(note.read_text()) < MOST_MB
