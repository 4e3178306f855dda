"""The air that a plan holds: as much as what it tells of waits hangs on."""

from collections.abc import Iterable
from datetime import UTC, datetime

import numpy as np

from planner.nouns import plan as nouns
from planner.nouns import product as matter
from planner.nouns.air import AirReading
from planner.nouns.odds import PlannedReturn
from planner.planning.problem import Problem


def air_told(
    problem: Problem,
    waits: Iterable[nouns.PlannedWait],
    returns: Iterable[PlannedReturn],
    windows: Iterable[nouns.PlannedWindow],
    readings: Iterable[AirReading],
) -> nouns.AirSeries:
    """Return the air until the last moment told of a wait, working return or window."""
    grid, air = problem.grid, problem.air
    ticks = min(grid.floor(_told_until(waits, returns, windows)) + 1, grid.ticks)

    def rounded(values: Iterable[float]) -> tuple[float, ...]:
        return tuple(round(float(x), 3) for x in values)

    known = air.changes_per_h
    changes = np.full(len(air), matter.SHUT_ROOM_PER_H) if known is None else known
    return nouns.AirSeries(
        start=grid.start,
        tick_minutes=grid.tick_minutes,
        air_c=rounded(air.air_c[:ticks]),
        humidity_pct=rounded(air.humidity_pct[:ticks]),
        changes_per_h=rounded(changes[:ticks]),
        wall_colder_delta_k=air.wall_colder_delta_k,
        readings=tuple(
            nouns.Reading(
                when=r.when.astimezone(UTC),
                air_c=round(r.air_c, 3),
                humidity_pct=round(r.humidity_pct, 3),
            )
            for r in readings
            if grid.start <= r.when < grid.instant(ticks)
        ),
        origin=air.origin,
    )


def _told_until(
    waits: Iterable[nouns.PlannedWait],
    returns: Iterable[PlannedReturn],
    windows: Iterable[nouns.PlannedWindow],
) -> datetime:
    """Return the last of the moments that hang on the air."""
    return max(
        (
            *(max(w.ready, w.likely) for w in waits),
            *(r.when for r in returns),
            *(w.closes for w in windows if w.closes is not None),
        )
    )
