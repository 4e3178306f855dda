"""The remark that a plan carries if the job's earliest day is already past."""

from dataclasses import replace
from datetime import datetime, time

from planner.nouns.inputs import Inputs
from planner.nouns.job import Job
from planner.units import day_words


def past_words(job: Job, now: datetime) -> str:
    """Return that the job's earliest day is over, if at `now` it is at the site."""
    if job.earliest >= now.astimezone(job.zone).date():
        return ""
    first = datetime.combine(job.earliest, time(), tzinfo=job.zone)
    return (
        f"the job's earliest day, {day_words(first, job.zone)}, is already past on the "
        "day of planning, and the plan may use days that are gone; set earliest in [job] "
        "to a later day"
    )


def as_of(inputs: Inputs, now: datetime) -> Inputs:
    """Return the inputs as they are planned at `now`, a remark more where it's needed.

    The remark hangs on `now` alone in whether it is there, not in what it says, so a job
    planned again on a later day still gives the same bytes.
    """
    past = past_words(inputs.job, now)
    return replace(inputs, remarks=(*inputs.remarks, past)) if past else inputs
