"""The use case of `opening`: what the carpenter marks, cuts and lifts in a room."""

from pathlib import Path

from planner.errors import PlannerError
from planner.files.job.jobfile import read_job
from planner.nouns.job import Job
from planner.report.opening.sheet import Prepared
from planner.trade.behind import gate_words
from planner.trade.lifting.lifting import crates, lifts
from planner.trade.takeoff import take_off


def read(path: Path) -> Prepared:
    """Return the opening of a job's walls and its lifts, from the job file alone.

    Raises
    ------
    JobFileError
        With every fault of the file.
    PlannerError
        When no wall is opened: what stands is painted again.
    """
    job = read_job(path)
    if job.repaint is not None:
        raise PlannerError(
            "no wall is opened: the job paints again what stands", where=str(path)
        )
    return opening_of(job)


def opening_if_built(job: Job) -> Prepared | None:
    """Return the opening of the walls; None where nothing is built."""
    return None if job.repaint is not None else opening_of(job)


def opening_of(job: Job) -> Prepared:
    """Return the opening of the walls and the lifts of a job that was read."""
    takeoff = take_off(job, ids=tuple(r.id for r in job.stage.runs))
    return Prepared(
        job=job.name,
        opening=takeoff.opening,
        lifts=lifts(takeoff, job.kit, job.methods.lifting),
        crates=crates(takeoff, job.kit),
        behind=tuple(gate_words(b, job.stage, job.units) for b in job.stage.behind),
        cuts=tuple(f"{b.name}: {b.cut_words}" for b in takeoff.built if b.cut_words),
    )
