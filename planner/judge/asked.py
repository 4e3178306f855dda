"""What a case asks besides the job, in a finished plan: the window, what is settled."""

from collections.abc import Iterator

from planner.judge.case import JudgedPlan
from planner.nouns.case import ClosureWindow, SettledTask


def faults(
    case: JudgedPlan, window: ClosureWindow, settled: tuple[SettledTask, ...]
) -> Iterator[str]:
    """Yield where the closure leaves its window, and what lies not as it is settled."""
    begin, end = case.plan.stage.closure
    if window.not_before is not None and begin < window.not_before:
        yield (
            f"the stage is closed from {case.when(begin)}, and is to stay open until "
            f"{case.when(window.not_before)}"
        )
    if window.not_after is not None and end > window.not_after:
        yield (
            f"the stage is back {case.when(end)}, and is to be back by "
            f"{case.when(window.not_after)}"
        )
    for one in settled:
        task = case.tasks.get(case.own(one.task))
        if task is None:
            yield f'"{one.task}" is settled, and isn\'t in the plan'
            continue
        title = case.title(task.id)
        if one.start is not None and task.start != one.start:
            yield (
                f"{title} begins {case.when(task.start)}, and is settled to begin "
                f"{case.when(one.start)}"
            )
        if one.end is not None and task.end != one.end:
            yield (
                f"{title} ends {case.when(task.end)}, and is settled to end "
                f"{case.when(one.end)}"
            )
        if one.team is not None and set(task.team) != set(one.team):
            yield (
                f"{title} is done by {_names(case, task.team)}, and is settled to be "
                f"done by {_names(case, one.team)}"
            )


def _names(case: JudgedPlan, people: tuple[str, ...]) -> str:
    return " and ".join(case.name(p) for p in people) or "nobody"
