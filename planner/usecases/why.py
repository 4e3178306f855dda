"""The use case of `why`: find the plan, and the task that the user asks about."""

import difflib
from collections.abc import Callable, Sequence
from pathlib import Path

from planner.errors import PlannerError
from planner.nouns.ids import find_id, id_on, short_id
from planner.nouns.inputs import Inputs
from planner.nouns.plan import Plan
from planner.planning.horizons import HORIZON_WEEKS
from planner.usecases.standing import standing_plan


def plan_for_why(
    inputs: Inputs, folder: Path, task: str, anew: Callable[[Inputs], Plan]
) -> Plan:
    """Return the plan that stands in `folder` if it was made from the same inputs.

    Otherwise the job is planned `anew`; nothing is written.

    Raises
    ------
    PlannerError
        When the job has no such task, before anything is planned.
    """
    found = standing_plan(inputs, folder)
    if found is None:
        check_task(_tasks_of(inputs), task)
        found = anew(inputs)
    check_task([t.id for t in found.tasks], task)
    return found


def _tasks_of(inputs: Inputs) -> list[str]:
    """Return the ids of the tasks that a job's plan will have."""
    from planner.planning.posing import problem_of  # not needed where a plan stands

    work = problem_of(inputs, weeks=HORIZON_WEEKS[0]).work
    return [id_on(inputs.job.stage.id, t.id) for t in work.tasks]


def check_task(ids: Sequence[str], task: str) -> None:
    """Refuse a task that isn't among those of a job or a plan.

    Its stage may be left out where only one has such a task.

    Raises
    ------
    PlannerError
        Names the nearest.
    """
    if find_id(task, ids) is not None:
        return
    said = [short_id(id_, ids) for id_ in ids]
    near = difflib.get_close_matches(task, [*said, *ids], n=3)
    hint = f"did you mean {' or '.join(near)}?" if near else f"tasks: {', '.join(said)}"
    raise PlannerError(f'there is no task "{task}"', hint=hint)
