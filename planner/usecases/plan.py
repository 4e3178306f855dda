"""Plan a job: the best plan found, checked."""

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import datetime, time
from pathlib import Path
from time import monotonic

from planner.hours.grid import Grid
from planner.nouns.inputs import Inputs
from planner.nouns.job import Job
from planner.nouns.plan import Plan
from planner.planning import make
from planner.planning.make import Search
from planner.planning.problem import Problem
from planner.schedule.problem.limits import SearchLimits
from planner.schedule.problem.outcome import Placement, Progress
from planner.units import day_words
from planner.usecases.read import PROGRAM, read_inputs


@dataclass(frozen=True, slots=True, kw_only=True)
class Choices:
    """What the command line may choose for a run of the planner.

    `seconds` count from `since_s`, a moment of the monotonic clock at which the run
    began; by default from the making of the choices.
    """

    work_limit: float | None = None
    seconds: float | None = None
    since_s: float = field(default_factory=monotonic)
    on_progress: Callable[[Progress, Grid], None] | None = None
    on_found: Callable[[Problem, tuple[Placement, ...]], None] | None = None
    stop: Callable[[], bool] | None = None

    def search(self) -> Search:
        """Return the choices as a search."""
        usual = SearchLimits()
        until_s = None if self.seconds is None else self.since_s + self.seconds
        return Search(
            limits=SearchLimits(
                work=usual.work if self.work_limit is None else self.work_limit,
                clock_s=self.seconds,
                until_s=until_s,
            ),
            on_progress=self.on_progress,
            on_found=self.on_found,
            stop=self.stop,
        )


def plan_job(path: Path, choices: Choices) -> Plan:
    """Return the best plan of a job file, checked."""
    return plan_inputs(read_inputs(path), choices)


def plan_inputs(inputs: Inputs, choices: Choices) -> Plan:
    """Return the best plan of a job as it was read, checked."""
    return make.make(inputs, choices.search(), program=PROGRAM)


def past_words(job: Job, now: datetime) -> str:
    """Return that the job's earliest day is over, if at `now` it is at the site."""
    if job.earliest >= now.astimezone(job.zone).date():
        return ""
    first = datetime.combine(job.earliest, time(), tzinfo=job.zone)
    return (
        f"the job's earliest day, {day_words(first, job.zone)}, lies before the day of "
        "planning: days that are gone are planned like others; set earliest in [job] to a "
        "day to come"
    )


def as_of(inputs: Inputs, now: datetime) -> Inputs:
    """Return the inputs as they are planned at `now`, a remark more where it's needed.

    The remark hangs on `now` alone in whether it is there, not in what it says, so a job
    planned again on a later day still gives the same bytes.
    """
    past = past_words(inputs.job, now)
    return replace(inputs, remarks=(*inputs.remarks, past)) if past else inputs
