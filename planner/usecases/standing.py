"""The plan that a folder already holds, used only if its inputs haven't changed."""

from pathlib import Path

from planner.errors import PlannerError
from planner.files.folder import outdir, planfile, revision
from planner.files.folder.revision import Revision
from planner.files.logbook.appending import log_of, read_log
from planner.living.laid_over import effective
from planner.nouns.happened import Logbook
from planner.nouns.inputs import Inputs
from planner.nouns.plan import Plan


def out_folder(job: Path, out: Path | None) -> Path:
    """Return the folder that a job's plan is written to."""
    return out if out is not None else job.resolve().parent / "plan"


def standing_plan(inputs: Inputs, folder: Path) -> Plan | None:
    """Return the plan that stands in a folder, if it was made from the same inputs.

    It may also be one that was revised by all that is logged now.
    """
    stored = outdir.read(folder, "plan.json")
    if stored is None:
        return None
    found = planfile.read_plan(stored, file=str(folder / "plan.json"))
    if found.fingerprint == inputs.fingerprint:
        return found
    last = revision_in(folder, found)
    if last is None:
        return None
    book = read_log(log_of(Path(inputs.job.file)))
    return found if knows(last, inputs, book) else None


def revision_in(folder: Path, plan: Plan) -> Revision | None:
    """Return what a plan that stands in a folder was revised by; None: it wasn't."""
    stored = outdir.read(folder, revision.FILE)
    if stored is None:
        return None
    found = revision.from_bytes(stored, file=str(folder / revision.FILE))
    return found if found.plan == plan.fingerprint else None


def knows(last: Revision, inputs: Inputs, book: Logbook) -> bool:
    """Tell whether a revision knew the job as it is read now, and all that is logged."""
    return (last.inputs, last.events) == (inputs.fingerprint, event_ids(book))


def event_ids(book: Logbook) -> tuple[str, ...]:
    """Return the ids of the events that a plan hangs on."""
    return tuple(sorted(e.id for e in effective(book)))


def refuse_begun(job: Path, instead: str) -> None:
    """Refuse to plan a job from its start when things are logged that change its plan.

    `instead` says what to do.

    Raises
    ------
    PlannerError
        Says what to do instead.
    """
    log = log_of(job)
    if effective(read_log(log)):
        raise PlannerError(
            "things are logged for this job, and a plan from its start knows nothing of "
            "them",
            where=str(log),
            hint=instead,
        )
