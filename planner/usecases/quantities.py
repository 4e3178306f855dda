"""What to buy for a job, by which day if the job is already planned."""

from pathlib import Path

from planner.planning.horizons import HORIZON_WEEKS
from planner.planning.posing import problem_of, takeoff_of
from planner.planning.wording.supplies import unplanned
from planner.report.words.quantities_rows import Buying, buying_of
from planner.usecases.read import read_inputs
from planner.usecases.standing import standing_plan


def buying_for(path: Path, folder: Path) -> Buying:
    """Return what is bought for a job, by the days of the plan that was written.

    A plan counts if it stands in `folder` and was made from the same inputs;
    without one nothing has a day.
    """
    inputs = read_inputs(path)
    made = standing_plan(inputs, folder)
    if made is not None:
        return buying_of(made)
    tasks = problem_of(inputs, weeks=HORIZON_WEEKS[0]).work.tasks
    bought, tools = unplanned(inputs.job, takeoff_of(inputs), inputs.products, tasks)
    return Buying(
        job=inputs.job.name,
        units=inputs.job.units,
        zone=inputs.job.zone.key,
        plan="",
        mark="",
        supplies=bought,
        tools=tools,
        titles={t.id: t.title for t in tasks},
    )
