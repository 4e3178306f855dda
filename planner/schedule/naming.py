"""Seats by index become placements by tick, with people by name."""

from planner.hours.spans import Spans
from planner.schedule.greedy import Seats
from planner.schedule.ground import Ground
from planner.schedule.outcome import Placement
from planner.schedule.starts import workable_mask


def placements_of(ground: Ground, seats: Seats) -> tuple[Placement, ...]:
    """Return the placements, in the order of their tasks' names.

    Of people who are alike, the one who has been free the shortest takes the task, so
    that as few as possible are called.
    """
    axis, horizon = ground.axis, ground.instance.horizon
    free_at = [dict.fromkeys(group.members, 0) for group in ground.groups]
    rows: dict[int, Placement] = {}
    for t, seat in sorted(seats.items(), key=lambda row: (row[1].start, row[0])):
        names: list[str] = []
        for g, count in seat.team:
            free = [(-at, who) for who, at in free_at[g].items() if at <= seat.start]
            chosen = [who for _, who in sorted(free)[:count]]
            free_at[g].update(dict.fromkeys(chosen, seat.end))
            names += chosen
        start, end = int(axis[seat.start]), int(axis[seat.end - 1]) + 1
        opens = (ground.groups[g].open for g, _ in seat.team)
        mask = workable_mask(ground.tasks[t], opens, horizon)
        rows[t] = Placement(
            task=ground.tasks[t].id,
            team=tuple(sorted(names)),
            start=start,
            end=end,
            worked=Spans.from_mask(mask).clip(start, end),
        )
    return tuple(rows[t] for t in sorted(rows))
