"""The plan that a folder already holds, used only if its inputs haven't changed."""

from pathlib import Path

from planner.files.folder import outdir, planfile
from planner.nouns.inputs import Inputs
from planner.nouns.plan import Plan


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
