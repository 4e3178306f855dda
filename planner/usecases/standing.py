"""The plan that a folder already holds, used only if its inputs haven't changed."""

from pathlib import Path

from planner.files.folder import outdir, planfile
from planner.hours.spans import Spans
from planner.nouns.ids import bare
from planner.nouns.inputs import Inputs
from planner.nouns.plan import Plan
from planner.planning.problem import Problem
from planner.schedule.problem.outcome import Placement


def out_folder(job: Path, out: Path | None) -> Path:
    """Return the folder that a job's plan is written to."""
    return out if out is not None else job.resolve().parent / "plan"


def standing_plan(inputs: Inputs, folder: Path) -> Plan | None:
    """Return the plan that stands in a folder, if it was made from the same inputs."""
    stored = outdir.read(folder, "plan.json")
    if stored is None:
        return None
    found = planfile.read_plan(stored, file=str(folder / "plan.json"))
    return found if found.fingerprint == inputs.fingerprint else None


def placements_of(made: Plan, problem: Problem) -> list[Placement]:
    """Return the tasks of a written plan on a problem's grid."""
    grid = problem.grid
    return [
        Placement(
            task=bare(t.id),
            team=t.team,
            start=grid.floor(t.start),
            end=grid.floor(t.end),
            worked=Spans.of((grid.floor(a), grid.floor(b)) for a, b in t.spans),
        )
        for t in made.tasks
    ]
