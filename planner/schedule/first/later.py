"""The same plan a little later: teams and order kept, each task moved on as it must be."""

from collections.abc import Mapping
from dataclasses import replace

from planner.hours.spans import Spans
from planner.schedule.first.greedy import one_pass
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
    """Return a plan for `instance` made of one that was made for another.

    Each task keeps its team and begins no earlier than it did, nor before the tick
    that `not_before` gives it; it lies as early after that as every rule lets it, the
    tasks taken in the order of their starts; what is settled stays. None where the
    horizon, a latest time, a booking or what is settled leaves no such plan. A task that was left out may come in, where it makes
    good a latest time.
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
    order = [
        float(floors.get(t.id, windows.start_hi[k])) for k, t in enumerate(space.tasks)
    ]
    seats = one_pass(windows, order)
    return None if seats is None else placements_of(space, seats)
