"""A written plan's tasks as the engine knows them: in ticks from the plan's first day."""

from zoneinfo import ZoneInfo

from planner.hours.grid import Grid
from planner.hours.spans import Spans
from planner.nouns.ids import bare
from planner.nouns.plan import Plan
from planner.schedule.problem.outcome import Placement


def placements_of(made: Plan) -> list[Placement]:
    """Return the tasks of a written plan in ticks from its first day."""
    grid = Grid(
        start=made.grid_start,
        tick_minutes=made.tick_minutes,
        ticks=made.grid_ticks,
        zone=ZoneInfo(made.zone),
    )
    return [
        Placement(
            task=bare(t.id),
            team=t.team,
            start=grid.floor(t.start),
            end=grid.floor(t.end),
            worked=Spans.of((grid.floor(a), grid.floor(b)) for a, b in t.spans),
        )
        for t in made.tasks
    ]
