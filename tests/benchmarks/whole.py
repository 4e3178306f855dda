"""Whole jobs: how long an answer takes, the next one after a small change, a command.

An answer is an example's best plan as numbers, checked, with nothing worded or written.
A command runs as a process of its own, on a plan that stands; `publish` is told an
address at which nobody listens, so that what counts is all that it does before it has
spoken with a server.
"""

import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Mapping
from datetime import datetime
from functools import cache
from pathlib import Path

from planner.files.job.changes import changes_from
from planner.planning.answer import Answer
from planner.planning.answering import answer
from planner.planning.searching import Search
from planner.schedule.problem.limits import SearchLimits
from planner.usecases.read import Papers
from tests.benchmarks.measure import ENGINE, AimRow, Row, Stop, fingerprint
from tests.support.places import ROOT

COMMAND = "command"
EXAMPLES = ("straight", "corner", "corner-damp")
CHANGED = "corner"
# Small changes to the example, as a change to its job file says them.
CHANGES: Mapping[str, Mapping[str, object]] = {
    "away on Thursdays": {
        "crew.Beatriz.shifts": [
            "Mon-Wed 08:00-12:00 12:30-16:30",
            "Fri 08:00-12:00 12:30-16:30",
        ]
    },
    "fewer hours": {"crew.Hedda.shifts": ["Tue-Fri 10:00-14:00 14:30-17:00"]},
    "waits 1 % longer": {"job.drying_margin": "26 %"},
    "waits 20 % longer": {"job.drying_margin": "50 %"},
    "waits 8 % shorter": {"job.drying_margin": "15 %"},
    "crates a day later": {
        "job.delivery": datetime.fromisoformat("2027-02-09T10:00:00")
    },
}
JOB = f"examples/{CHANGED}/job.toml"
NOBODY = "http://127.0.0.1:9/ana/stage/"
COMMANDS: Mapping[str, tuple[str, ...]] = {
    "plan --earliest": ("plan", JOB, "--earliest", "--out"),
    "why": ("why", JOB, "prime-1", "--out"),
    "publish": ("publish", JOB, "--to", NOBODY, "--out"),
    "check": ("check", JOB),
    "hours": ("hours", JOB),
    "dry": ("dry", "topping", "--temp", "68F", "--rh", "62%"),
}


def measure_answer(example: str, stop: Stop, *, clock_s: float) -> Row:
    """Return the row of an example's answer, the job read within the time."""
    return _answered("answers", example, example, {}, (clock_s, stop))


def measure_near(change: str, stop: Stop, *, clock_s: float) -> Row:
    """Return the row of an answer to a changed job, near the answer to it as it is."""
    first = standing()
    terms = (clock_s, stop)
    return _answered("near", change, CHANGED, CHANGES[change], terms, near=first)


@cache
def standing() -> Answer:
    """Return the answer that the changed jobs are near to."""
    case = Papers(ROOT / "examples" / CHANGED / "job.toml").case()
    return answer(case, Search(limits=SearchLimits()))


def _answered(
    group: str,
    name: str,
    example: str,
    change: Mapping[str, object],
    terms: tuple[float, Stop],
    *,
    near: Answer | None = None,
) -> Row:
    clock_s, stop = terms
    begun, begun_cpu = time.perf_counter(), time.process_time()
    papers = Papers(ROOT / "examples" / example / "job.toml")
    case = papers.case(changes_from(dict(change))) if change else papers.case()
    found = answer(
        case,
        Search(
            limits=SearchLimits(clock_s=clock_s),
            stop=stop,
            near=near.placements if near else (),
        ),
    )
    first = found.aims[0]
    return Row(
        set=group,
        instance=name,
        size=len(found.placements),
        solver=ENGINE,
        limit_s=clock_s,
        seconds=time.perf_counter() - begun,
        cpu_s=time.process_time() - begun_cpu,
        first_s=None,
        value=first.value,
        bound=first.bound,
        proven=all(a.proven for a in found.aims),
        aims=tuple(
            AimRow(aim=a.aim.value, value=a.value, bound=a.bound) for a in found.aims
        ),
        stopped=found.stopped,
        plan=fingerprint([(p.task, p.start, p.team) for p in found.placements]),
    )


def measure_command(name: str, clock_s: float) -> Row:
    """Return the row of a command, run as a process on a plan that stands."""
    words = COMMANDS[name]
    if words[-1] == "--out":
        words = (*words, str(_folder()))
    begun = time.perf_counter()
    process = subprocess.Popen(
        [sys.executable, "-m", "planner.main", *words],
        cwd=ROOT,
        env=_surroundings(),
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    _, status, used = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode and name != "publish":
        raise AssertionError(f"{name}: exit status {process.returncode}")
    return Row(
        set="commands",
        instance=name,
        size=0,
        solver=COMMAND,
        limit_s=clock_s,
        seconds=time.perf_counter() - begun,
        cpu_s=used.ru_utime + used.ru_stime,
        first_s=None,
        value=None,
        bound=None,
        proven=False,
        stopped=f"exit status {process.returncode}",
        peak_mib=used.ru_maxrss // 1024,
    )


@cache
def _folder() -> Path:
    """Return a folder with a plan that stands; it is left to the system to remove."""
    folder = Path(tempfile.mkdtemp(prefix="benchmark-plan-"))
    words = (*COMMANDS["plan --earliest"], str(folder))
    subprocess.run(
        [sys.executable, "-m", "planner.main", *words],
        cwd=ROOT,
        env=_surroundings(),
        stdout=subprocess.DEVNULL,
        check=True,
    )
    return folder


def _surroundings() -> dict[str, str]:
    """Return the surroundings of an installed program: compiled modules are kept."""
    kept = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
    return kept | {"COVETIME_USER": "ana", "COVETIME_PASSWORD": "none"}
