"""From seats by index to placements by tick, with people by name."""

from collections.abc import Callable

import numpy as np

from planner.hours.spans import Spans
from planner.schedule.first.greedy import Seat, Seats
from planner.schedule.problem.outcome import Placement
from planner.schedule.space.search_space import SearchSpace


def worked_in(space: SearchSpace, t: int, seat: Seat) -> Spans:
    """Return the ticks that a seat works: the team's workable ticks without rests."""
    start, end = int(space.axis[seat.start]), int(space.axis[seat.end - 1]) + 1
    for option in space.options[t]:
        if (option.team, option.ticks) != (seat.team, seat.ticks):
            continue
        at = int(np.searchsorted(option.starts, seat.start))
        if at < len(option.starts) and option.starts[at] == seat.start:
            worked = Spans.from_mask(option.workable).clip(start, end)
            if option.rests is None:
                return worked
            return worked - Spans.of(tuple(rest) for rest in option.rests[at].tolist())
    raise AssertionError(f"no option to begin at {seat.start} with team {seat.team}")


def placements_of(
    space: SearchSpace,
    seats: Seats,
    worked: Callable[[SearchSpace, int, Seat], Spans] = worked_in,
) -> tuple[Placement, ...]:
    """Return the placements, in the order of their tasks' names.

    Among people who are alike, a task goes to the one who became free last, so that as
    few people as possible are called. `worked` returns what `worked_in` does, perhaps from
    memory.
    """
    axis = space.axis
    free_at = [dict.fromkeys(group.members, 0) for group in space.groups]
    rows: dict[int, Placement] = {}
    for t, seat in sorted(seats.items(), key=lambda row: (row[1].start, row[0])):
        names: list[str] = []
        for g, count in seat.team:
            free = [(-at, who) for who, at in free_at[g].items() if at <= seat.start]
            chosen = [who for _, who in sorted(free)[:count]]
            free_at[g].update(dict.fromkeys(chosen, seat.end))
            names += chosen
        start, end = int(axis[seat.start]), int(axis[seat.end - 1]) + 1
        rows[t] = Placement(
            task=space.tasks[t].id,
            team=tuple(sorted(names)),
            start=start,
            end=end,
            worked=worked(space, t, seat),
        )
    return tuple(rows[t] for t in sorted(rows))
