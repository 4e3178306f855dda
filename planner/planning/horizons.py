"""How far ahead to plan: the grids that are tried, one after the other.

Apart from what poses and solves problems, so that whoever only needs to know how far
calendars are read, or which ticks a job has, doesn't wait for the solver to load.
"""

from planner.hours.grid import Grid
from planner.nouns.job import Job

HORIZON_WEEKS = (6, 13, 26, 53)


def grid_of(job: Job, *, weeks: int) -> Grid:
    """Return the grid of so many weeks from a job's earliest day."""
    return Grid.from_day(
        job.earliest, days=7 * weeks, tick_minutes=job.tick_minutes, zone=job.zone
    )
