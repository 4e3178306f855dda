"""Commands that solve nothing don't wait for the solver to load.

Tests of planner/cli.py.
"""

import subprocess
import sys


def test_the_command_line_loads_without_the_solver() -> None:
    rooms = "planner.cli, planner.usecases.plan, planner.usecases.why"
    code = f"import sys, {rooms}; print('ortools' in sys.modules)"
    told = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True
    )
    assert told.stdout.strip() == "False"
