"""What waits for what, for the page: a row for each task, with what held it."""

from dataclasses import dataclass

from planner.nouns.plan import PlannedTask
from planner.report.drawing.view import TaskRow, View

BACK = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Chained:
    """A task's row with the few tasks that lead to it and that follow it."""

    row: TaskRow
    lead: tuple[PlannedTask, ...]
    follow: tuple[PlannedTask, ...]


def chained(view: View) -> tuple[Chained, ...]:
    """Return every task, in order of start, with its own little chain.

    `lead` goes back over what was over last, `follow` names all that comes next.
    """
    before: dict[str, list[tuple[PlannedTask, float]]] = {}
    after: dict[str, list[PlannedTask]] = {}
    for link in view.plan.links:
        first, next_ = view.tasks[link.before], view.tasks[link.after]
        over = first.end
        if link.product is not None and link.stage is not None:
            over = view.waits[(first.id, link.product, link.stage)].ready
        before.setdefault(next_.id, []).append((first, over.timestamp()))
        if next_ not in after.setdefault(first.id, []):
            after[first.id].append(next_)
    out = []
    for task in view.plan.tasks:
        lead: list[PlannedTask] = []
        here = task
        while len(lead) < BACK and before.get(here.id):
            here = max(before[here.id], key=lambda b: (b[1], b[0].id))[0]
            lead.insert(0, here)
        out.append(
            Chained(
                row=view.task_row(task),
                lead=tuple(lead),
                follow=tuple(after.get(task.id, ())),
            )
        )
    return tuple(out)
