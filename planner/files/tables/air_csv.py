"""The room's air as a CSV file, a row for each tick."""

import csv
import io

from planner.air.moist_air import dew_point_c
from planner.hours.grid import Grid
from planner.nouns.air import RoomAir

COLUMNS = (
    "time_utc",
    "time_site",
    "temp_C",
    "rh_pct",
    "dew_point_C",
    "given_off_kg",
    "let_in_kg",
    "dried_kg",
    "condensed_kg",
)


def air_csv(room: RoomAir, grid: Grid) -> bytes:
    """Return the series as CSV: instants, air, and the water of each tick [kg]."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(COLUMNS)
    dew = dew_point_c(room.air.air_c, room.air.humidity_pct)
    for i in range(grid.ticks):
        when = grid.instant(i)
        air = (room.air.air_c[i], room.air.humidity_pct[i], dew[i])
        water = (
            room.given_off_kg[i],
            room.let_in_kg[i],
            room.dried_kg[i],
            room.condensed_kg[i],
        )
        writer.writerow(
            [
                f"{when:%Y-%m-%dT%H:%M:%SZ}",
                f"{when.astimezone(grid.zone):%Y-%m-%d %H:%M}",
                *(f"{v:.2f}" for v in air),
                *(f"{v:.4f}" for v in water),
            ]
        )
    return out.getvalue().encode()
