"""Work that no team of the crew can do, whatever the hours: told before the search."""

from planner.errors import NoPlanError
from planner.planning.problem import Problem


def unmanned(problem: Problem) -> tuple[str, ...]:
    """Return, in words, each task that must be done and that nobody may lead.

    So is a task for a team larger than all who may join it.
    """
    return tuple(
        problem.facts[f"nobody:{task.id}"]
        for task in problem.instance.tasks
        if not task.optional
        and (
            task.leads == ()
            or len(task.eligible) < min(mode.size for mode in task.modes)
        )
    )


def refuse_unmanned(problem: Problem) -> None:
    """Refuse work that the crew has nobody for.

    Raises
    ------
    NoPlanError
        Naming every such task by its title, and the trade that is missing.
    """
    found = unmanned(problem)
    if found:
        raise NoPlanError(
            "the crew has nobody for some of the work",
            conflict=found,
            facts=("nobody",),
        )
