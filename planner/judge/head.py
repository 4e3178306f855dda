"""What a plan says of itself: its job, grid, products and the stage's calendars."""

from collections.abc import Iterator

from planner.judge.case import JudgedPlan


def faults(case: JudgedPlan) -> Iterator[str]:
    """Yield where a plan isn't this job's plan at all."""
    plan, job = case.plan, case.job
    right_stage = [(job.stage.id, job.plan_id, job.stage.name)]
    if [(s.id, s.job_id, s.name) for s in plan.stages] != right_stage:
        yield f"the plan isn't of the job's one stage, {job.stage.name}"
    for what, said, right in (
        ("job", plan.job, job.name),
        ("identity", plan.plan_id, job.plan_id),
        ("time zone", plan.zone, job.zone.key),
        ("first moment", plan.grid_start, case.start),
        ("step", plan.tick_minutes, job.tick_minutes),
        ("margin", plan.margin_frac, job.margin_frac),
        ("fingerprint", plan.fingerprint, case.inputs.fingerprint),
    ):
        if said != right:
            yield f"the plan's {what} is {said}, the job's {right}"
    if not plan.tasks:
        yield "the plan has no tasks"
