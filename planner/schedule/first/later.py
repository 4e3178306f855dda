"""The same plan a little later: teams and order stay, tasks move on as needed."""

from collections.abc import Mapping
from dataclasses import replace

from planner.hours.spans import Spans
from planner.schedule.first.greedy import best_in_order
from planner.schedule.first.naming import placements_of
from planner.schedule.problem.instance import Instance
from planner.schedule.problem.outcome import Placement
from planner.schedule.problem.parts import ClosedTicks, Pin
from planner.schedule.space.narrowed import ImpossibleError
from planner.schedule.space.search_space import make_space
from planner.schedule.space.windows import narrow


def moved_on(
    instance: Instance,
    placements: tuple[Placement, ...],
    not_before: Mapping[str, int] | None = None,
) -> tuple[Placement, ...] | None:
    """Return a plan for `instance`, made from a plan for another instance.

    Each task keeps its team. It begins no earlier than before, nor before the tick that
    `not_before` gives it, and as early after that as every rule allows. Tasks are taken
    in the order of their starts. Settled tasks stay where they are. A task that was
    left out may be added if it makes up for a latest time that is missed. The answer is
    None if the horizon, a latest time, a booking or a settled task leaves no such plan.
    """
    settled = {p.task: p for p in instance.pins}
    floors = {p.task: p.start for p in placements}
    for task, tick in (not_before or {}).items():
        floors[task] = max(floors[task], tick)
    bound = replace(
        instance,
        tasks=tuple(
            replace(
                t,
                no_start=(
                    *t.no_start,
                    ClosedTicks(fact="", ticks=Spans.of([(0, floors.get(t.id, 0))])),
                ),
            )
            for t in instance.tasks
        ),
        pins=tuple(
            replace(settled.get(p.task, Pin(task=p.task)), team=p.team)
            for p in placements
        ),
    )
    space = make_space(bound)
    try:
        windows = narrow(space)
    except ImpossibleError:
        return None
    seats = best_in_order(windows, (floors,))
    return None if seats is None else placements_of(space, seats)
