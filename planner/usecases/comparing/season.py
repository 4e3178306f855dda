"""The air of each month, by which closures of another season differ."""

from datetime import datetime, timedelta

from planner.air.room import assumed
from planner.hours.grid import Grid
from planner.nouns.choices.closures import Season, SeasonMonth
from planner.nouns.inputs import Inputs
from planner.planning.inside import outside_of


def season_of(inputs: Inputs, until: datetime) -> Season:
    """Return the mean air of each month from the job's earliest day on, to a moment.

    It is the air outside, where the job file has any; else that assumed in the room.
    """
    job = inputs.job
    days = (until.astimezone(job.zone).date() - job.earliest).days + 1
    grid = Grid.from_day(
        job.earliest, days=days, tick_minutes=job.tick_minutes, zone=job.zone
    )
    outside = job.outside is not None or job.outside_file is not None
    if outside:
        air, _ = outside_of(inputs, grid)
    else:
        air = assumed(job.air, grid, dict(job.air_months))
    by_month: dict[tuple[int, int], list[tuple[int, int]]] = {}
    for day, first, end in grid.days():
        by_month.setdefault((day.year, day.month), []).append((first, end))
    return Season(
        outside=outside,
        months=tuple(
            SeasonMonth(
                start=grid.instant(spans[0][0]),
                end=grid.start + timedelta(minutes=spans[-1][1] * job.tick_minutes),
                air_c=float(air.air_c[spans[0][0] : spans[-1][1]].mean()),
                humidity_pct=float(air.humidity_pct[spans[0][0] : spans[-1][1]].mean()),
            )
            for spans in by_month.values()
        ),
        units=job.units,
    )
