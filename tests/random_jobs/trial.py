"""One random job through everything: planned, checked, judged, its calendars read back."""

import json
import re
import time
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from typer.testing import CliRunner

from planner.cli import app
from planner.files.folder.planfile import read_plan
from planner.judge import judged
from planner.usecases.read import read_inputs
from tests.random_jobs import readback, refusals, truth
from tests.random_jobs.jobs import RandomJob, made_job
from tests.support import outsider

PLANNED, REFUSED, FAULT, TIME_UP = "planned", "refused", "input fault", "time up"
BROKE, SLOW = "program fault", "too slow"
BY_STATUS = {0: PLANNED, 1: REFUSED, 2: FAULT, 3: TIME_UP}
CLASH = "no plan is possible within"
NOW = "2026-11-01T09:00:00Z"


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """What became of a job: the outcome, and everything about it that is wrong."""

    seed: int
    outcome: str
    cpu_s: float
    crew: int
    tasks: int = 0
    proven: bool = False
    said: str = ""  # the first lines of a refusal or a fault
    named: bool = False  # a refusal names what clashes
    dropped: bool | None = None  # a plan stood once the owner gave way
    faults: tuple[str, ...] = ()

    def line(self) -> str:
        """Return the row as a line of JSON."""
        return json.dumps(asdict(self), ensure_ascii=False)


def trial(seed: int, folder: Path, *, work: float, deep: bool = True) -> Row:
    """Return what becomes of a seed's job.

    `work` is the limit of work for the search; `deep` looks into refusals too.
    """
    job = made_job(seed)
    path = job.write(folder)
    begin = time.process_time()
    ran = CliRunner().invoke(app, _words(path, work), catch_exceptions=True)
    cpu_s = time.process_time() - begin
    outcome = BY_STATUS.get(ran.exit_code, BROKE)
    if ran.exception is not None and not isinstance(ran.exception, SystemExit):
        outcome = BROKE
    said = "\n".join(x for x in ran.stderr.splitlines() if not _is_progress(x))
    row = Row(
        seed=seed,
        outcome=outcome,
        cpu_s=round(cpu_s, 2),
        crew=len(job.mates),
        said=said[:1500] if outcome != PLANNED else "",
        named="in conflict:" in said,
    )
    if outcome == BROKE:
        words = f"{type(ran.exception).__name__}: {ran.exception}; {said[-300:]}"
        return _with(row, faults=(f"status {ran.exit_code}, {words}"[:900],))
    if "Traceback" in said + ran.stdout:
        return _with(row, faults=("a traceback is printed",))
    if outcome == FAULT or job.fault:
        return _with(row, faults=_of_faults(job, row, path.parent / "plan"))
    if looked := _looked(job, path):
        return _with(row, faults=looked)
    if outcome == REFUSED:
        return _refused(job, row, path, work=work) if deep else row
    if outcome == TIME_UP:
        return row
    return _planned(job, row, path.parent / "plan")


def _words(path: Path, work: float) -> list[str]:
    return ["plan", str(path), "--work-limit", str(work), "--now", NOW]


def _looked(job: RandomJob, path: Path) -> tuple[str, ...]:
    """Return which of the commands that need no plan don't do what they are asked."""
    who = job.mates[-1].table["name"]
    out: list[str] = []
    for words in (
        ["check", str(path)],
        ["hours", str(path), "--who", who],
        ["quantities", str(path)],
        ["opening", str(path)],
        ["air", str(path), "--days", "20"],
    ):
        ran = CliRunner().invoke(app, words)
        if ran.exit_code:
            out.append(f"{words[0]}: status {ran.exit_code}, {ran.stderr[-300:]}")
    return tuple(out)


def _is_progress(line: str) -> bool:
    return re.match(r"\s*[\d.]+ s  ", line) is not None


def _with(row: Row, **more: Any) -> Row:
    return Row(**(asdict(row) | more))


def _of_faults(job: RandomJob, row: Row, out: Path) -> tuple[str, ...]:
    """Return what is wrong: a fault that wasn't seen, or one that isn't there."""
    if row.outcome != FAULT:
        return (f"{job.fault} is broken on purpose, and nobody says so",)
    if not job.fault:
        return (f"nothing is broken: {row.said}",)
    if job.fault not in row.said:
        return (f"{job.fault} is broken on purpose, and isn't named: {row.said}",)
    return ("something is written all the same",) if out.exists() else ()


def _refused(job: RandomJob, row: Row, path: Path, *, work: float) -> Row:
    faults: list[str] = []
    enough: tuple[tuple[str, ...], ...] = ()
    if CLASH in row.said:  # else there is no clash of facts: nobody may lift it, say
        faults, enough = refusals.faults_of(path)
    if not row.named:
        faults.append(f"a refusal that names nothing: {row.said}")
    for facts in enough:
        other = refusals.given_way(job, facts)
        if other is None:
            continue
        (path.parent / "other").mkdir(exist_ok=True)
        again = other.write(path.parent / "other")
        ran = CliRunner().invoke(app, _words(again, work))
        if ran.exit_code not in (0, 3):
            faults.append(
                f"status {ran.exit_code} after giving way on {facts}: "
                f"{ran.exception!r} {ran.stderr[-200:]}"
            )
        return _with(row, faults=tuple(faults), dropped=ran.exit_code == 0)
    return _with(row, faults=tuple(faults))


def _planned(job: RandomJob, row: Row, folder: Path) -> Row:
    stored = (folder / "plan.json").read_bytes()
    plan = json.loads(stored)
    inputs = read_inputs(folder.parent / "job.toml")
    faults = (
        *(f"judge: {f}" for f in judged(inputs, read_plan(stored, file="plan.json"))),
        *(f"outsider: {f}" for f in outsider.faults_of(plan)),
        *(f"job: {f}" for f in truth.faults_of(job, plan)),
        *(f"calendars: {f}" for f in readback.faults_of(folder, plan)),
    )
    return _with(
        row,
        faults=faults[:12],
        tasks=len(plan["tasks"]),
        proven=plan["aims"][0]["proven"],
    )
