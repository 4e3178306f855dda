"""A command loads what it needs: whoever only looks doesn't wait for the solver.

Tests of planner/cli.py, planner/commands/drying.py, planner/commands/looking.py,
planner/commands/planning.py, planner/usecases/why.py.
"""

import json
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]
CORNER = "examples/corner/job.toml"
SOLVER = ("ortools", "planner.schedule.cp", "planner.schedule.climb")
READING = (
    "planner.files.job",
    "planner.files.ics",
    "pydantic",
    "icalendar",
    "dateutil",
)

LOADED = """
import json, sys
from typer.testing import CliRunner
from planner.cli import app

after = []
for args in json.loads(sys.argv[1]):
    ran = CliRunner().invoke(app, args)
    assert ran.exit_code == 0, (args, ran.output, ran.exception)
    after.append([args[0], sorted(sys.modules)])
print(json.dumps(after))
"""


def loaded_after(*commands: list[str]) -> list[tuple[str, set[str]]]:
    """Return the modules loaded after each of some commands, run one after the other."""
    ran = subprocess.run(
        [sys.executable, "-c", LOADED, json.dumps(commands)],
        capture_output=True, text=True, cwd=ROOT, timeout=120, check=False,
    )  # fmt: skip
    assert ran.returncode == 0, ran.stderr
    return [(name, set(modules)) for name, modules in json.loads(ran.stdout)]


WRITING = ("icalendar", "jinja2", "planner.judge", "planner.report.page")


def test_looking_never_loads_the_solver_and_the_wall_never_what_reads_jobs():
    at_the_wall, *looking = loaded_after(
        ["dry", "topping", "--temp", "68 F", "--rh", "62 %"],
        ["dry", "topping", "--job", CORNER, "--at", "2027-02-09 12:00"],
        ["hours", CORNER],
        ["air", CORNER],
        ["quantities", CORNER],
        ["opening", CORNER],
        ["check", CORNER],
    )
    assert not {*SOLVER, *READING} & at_the_wall[1]
    for command, modules in looking:
        assert not {*SOLVER, "babel"} & modules, command  # all that is told is English
    assert "planner.files.job" in looking[0][1]  # what is looked for can be seen


ANSWERED = """
import sys
from pathlib import Path
from planner.nouns.case import Case
from planner.planning.answering import answer
from planner.planning.searching import Search
from planner.schedule.problem.limits import SearchLimits
from planner.usecases.read import read_inputs

case = Case(inputs=read_inputs(Path("examples/straight/job.toml")))
found = answer(case, Search(limits=SearchLimits(work=0.05)))
print(found.closure_min, *sorted(sys.modules), sep="\\n")
"""


def test_what_a_plan_that_stands_can_tell_is_told_without_the_solver(planned):
    folder = str(planned["straight"].folder)
    job = "examples/straight/job.toml"
    why, hours, check = loaded_after(
        ["why", job, "prime-1", "--out", folder], ["hours", job], ["check", job]
    )
    assert "planner.nouns.plan" in why[1]
    for command, modules in (why, hours, check):
        assert not {*SOLVER, *WRITING, "rich"} & modules, command


def test_asking_for_an_answer_loads_neither_report_nor_judge_nor_words():
    ran = subprocess.run(
        [sys.executable, "-c", ANSWERED],
        capture_output=True, text=True, cwd=ROOT, timeout=120, check=False,
    )  # fmt: skip
    assert ran.returncode == 0, ran.stderr
    closure_min, *modules = ran.stdout.split()
    assert int(closure_min) > 0
    assert "planner.schedule.cp" in modules
    unneeded = ("planner.report", "planner.judge", "planner.planning.wording", "rich")
    assert not set(unneeded) & set(modules)
