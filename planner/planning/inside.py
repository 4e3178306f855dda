"""The air inside the room over a grid, and the water that a plan's coats give it.

Layers, the later over the earlier: the air that the job assumes; or, where the job
describes the room, what leaks, heating, ventilation and dehumidifiers make of the
air outside and of the wet work; then what was read in the room.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import timedelta
from math import ceil, floor

import numpy as np

from planner.air import balance, room, waits
from planner.air.moist_air import (
    FloatArray,
    humidity_ratio,
    vapour_pa,
    weather_vapour_pa,
)
from planner.air.wet_work import Laid, WetWork, coat_water_kg, drying_stage
from planner.hours.grid import Grid
from planner.measures import Units
from planner.nouns.air import AirReading, Climate, DayNight, RoomAir
from planner.nouns.inputs import Inputs
from planner.nouns.product import Air, Product
from planner.nouns.work import Work
from planner.schedule.problem.outcome import Placement

RUNS_OUT = ("working time", "open time")
YEAR = timedelta(days=365)  # and a day more in every fourth
LEAST_YEARS = 3  # of a record, to stand for what weather may come
COVERED_FRAC = 0.9


def gives_water(work: Work, products: Mapping[str, Product]) -> frozenset[str]:
    """Return the ids of the tasks whose coats give off water."""
    return frozenset(
        t.id
        for t in work.tasks
        if t.product is not None
        and t.wet_m2 > 0.0
        and drying_stage(products[t.product]) is not None
        and coat_water_kg(products[t.product], t.wet_m2) > 0.0
    )


def coats_of(
    work: Work, products: Mapping[str, Product], placements: Iterable[Placement]
) -> tuple[Laid, ...]:
    """Return the wet coats of a plan with the ticks in which they are laid."""
    tasks = {t.id: t for t in work.tasks}
    places: dict[str, int] = {}
    out: list[Laid] = []
    for placed in sorted(placements, key=lambda p: (p.end, p.task)):
        task = tasks[placed.task]
        product = products[task.product] if task.product is not None else None
        stage = drying_stage(product) if product is not None else None
        if product is None or stage is None or task.wet_m2 == 0.0:
            continue
        places[task.id] = len(out)
        out.append(
            Laid(
                stage=stage,
                water_kg=coat_water_kg(product, task.wet_m2),
                spans=placed.worked.items,
                thickness_mm=product.thickness_mm,
                under=None if task.over is None else places.get(task.over),
            )
        )
    return tuple(out)


def inside(inputs: Inputs, grid: Grid, coats: tuple[Laid, ...] = ()) -> RoomAir:
    """Return the room's air on a grid and where its water came from and went.

    Without a description of the room the assumed air stands, and wet work changes
    nothing in it. In equal rooms with equal coats it is worked out once.
    """
    spot = _room_of(inputs)
    wet = () if spot.climate is None else coats
    return inputs.kept.of(room_air, spot, grid, wet)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Room:
    """All that the air of a job's room hangs on, but for the coats in it."""

    usual: DayNight
    months: tuple[tuple[int, DayNight], ...]
    outside: DayNight | None
    climate: Climate | None
    wall_colder_delta_k: float
    units: Units
    readings: tuple[AirReading, ...]
    read_outside: tuple[AirReading, ...]

    def outer(self, grid: Grid) -> tuple[Air, bool]:
        """Return the air that is let in, and whether it is weather."""
        spec = self.outside or self.usual
        outer = room.overlaid(
            room.assumed(spec, grid, units=self.units), self.read_outside, grid
        )
        return outer, self.outside is not None or bool(self.read_outside)


def _room_of(inputs: Inputs) -> _Room:
    job = inputs.job
    return _Room(
        usual=job.air,
        months=job.air_months,
        outside=job.outside,
        climate=job.climate,
        wall_colder_delta_k=job.wall_colder_delta_k,
        units=job.units,
        readings=inputs.readings,
        read_outside=inputs.outside,
    )


def room_air(spot: _Room, grid: Grid, coats: tuple[Laid, ...]) -> RoomAir:
    """Return the air of a room as `inside` does, from what it hangs on alone."""
    none, colder_k = np.zeros(grid.ticks), spot.wall_colder_delta_k
    assumed = replace(
        room.assumed(spot.usual, grid, dict(spot.months), spot.units),
        wall_colder_delta_k=colder_k,
    )
    if spot.climate is None:
        return RoomAir(
            air=room.with_readings(assumed, spot.readings, grid),
            given_off_kg=none,
            let_in_kg=none,
            dried_kg=none,
            condensed_kg=none,
        )
    outer, weather = spot.outer(grid)
    outer = replace(outer, wall_colder_delta_k=colder_k)
    found = balance.room_air(outer, spot.climate, grid, weather=weather)
    air = room.with_readings(found.air, spot.readings, grid)
    read = room.read_ticks(spot.readings, grid)
    # Of what the readings change, the hours after the last hang on the water before it.
    for _ in range((2 if read.any() else 1) if coats else 0):
        found = balance.room_air(
            outer,
            spot.climate,
            grid,
            weather=weather,
            wet_work=WetWork(coats, air, found.air, read.tolist()),
        )
        air = room.with_readings(found.air, spot.readings, grid)
    return RoomAir(
        air=air,
        given_off_kg=found.given_off_kg,
        let_in_kg=found.let_in_kg,
        dried_kg=found.dried_kg,
        condensed_kg=found.condensed_kg,
    )


def years_inside(
    inputs: Inputs, grid: Grid, coats: tuple[Laid, ...] = ()
) -> tuple[Air, ...]:
    """Return the room's air on a grid as it would be in each year of the outside record.

    A year stands for the grid's weeks as one block: the same weeks of that year, moved
    by whole days. It counts if it covers nine tenths of them. Empty where fewer than
    `LEAST_YEARS` do, or where the job doesn't describe the room.
    """
    spot = _room_of(inputs)
    if spot.climate is None or not spot.read_outside:
        return ()
    around = timedelta(days=1)
    since, until = grid.start - around, grid.end + around
    whens = [r.when for r in spot.read_outside]
    first = floor((grid.start - max(whens)) / YEAR)
    last = ceil((grid.end - min(whens)) / YEAR)
    years = []
    for number in range(max(first, 1), last + 1):
        by = timedelta(days=round(number * YEAR.days + number / 4))
        moved = tuple(
            replace(r, when=r.when + by)
            for r in spot.read_outside
            if since <= r.when + by <= until
        )
        if moved and room.read_ticks(moved, grid).mean() >= COVERED_FRAC:
            year = replace(spot, read_outside=moved)
            years.append(inputs.kept.of(room_air, year, grid, coats).air)
    return tuple(years) if len(years) >= LEAST_YEARS else ()


def dry_air_kg(inputs: Inputs, grid: Grid) -> FloatArray:
    """Return the room's dry air in each tick. [kg]."""
    climate = inputs.job.climate
    if climate is None:
        raise ValueError("air.room: the job doesn't describe the room")
    outer, weather = outside_of(inputs, grid)
    to_vapour = weather_vapour_pa if weather else vapour_pa
    clocks = [t.time() for t in room.local_starts(grid)]
    return balance.room_air_kg(
        climate,
        balance.room_warmth_c(outer, climate, clocks, start_c=None),
        humidity_ratio(to_vapour(outer.air_c, outer.humidity_pct)),
    )


def outside_of(inputs: Inputs, grid: Grid) -> tuple[Air, bool]:
    """Return the air that is let in, and whether it is weather (over water in frost)."""
    return _room_of(inputs).outer(grid)


def usable_h(products: Mapping[str, Product], air: Air) -> dict[str, float]:
    """Return how long a batch or a bead of each product that runs out can be worked.

    In the air of the grid that makes it shortest: the crew must be able to trust it.
    """
    return {
        p.id: min(waits.shortest_h(x, air) for x in short)
        for p in products.values()
        if (short := [x for x in p.latest if x.name in RUNS_OUT])
    }
