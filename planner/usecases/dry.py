"""The use case of `dry`: when a coat is ready, in given air or in a job's air.

The answer at the wall waits for nothing that it doesn't need: the solver is never
loaded, and what reads a job file only where a job is named.
"""

from datetime import datetime
from pathlib import Path

from planner.air import calculator
from planner.air.calculator import CoatTimes
from planner.errors import PlannerError
from planner.measures import Units
from planner.report.words.dry_text import dry_words, table_words
from planner.trade.data import materials

TABLE_C = (10.0, 15.0, 20.0, 25.0, 30.0)
TABLE_RH_PCT = (30.0, 40.0, 50.0, 60.0, 70.0, 80.0, 85.0, 90.0)


def now_dry(
    product: str,
    *,
    temp_c: float,
    rh_pct: float,
    thickness_mm: float | None,
    units: Units = Units.US,
) -> str:
    """Return when a coat in air that stays as it is reaches its stages, in words."""
    answer = calculator.in_constant_air(
        materials.product(product),
        temp_c=temp_c,
        rh_pct=rh_pct,
        thickness_mm=thickness_mm,
        units=units,
    )
    return dry_words(answer)


def dry_in_job(
    product: str, job: Path, *, at: datetime, thickness_mm: float | None
) -> str:
    """Return when a coat finished at a moment reaches its stages in a job's air.

    `at` without a zone is the site's time.
    """
    from planner.planning.horizons import grid_of
    from planner.planning.inside import inside
    from planner.usecases.read import read_inputs

    inputs = read_inputs(job)
    zone = inputs.job.zone
    when = at if at.tzinfo else at.replace(tzinfo=zone)
    grid = grid_of(inputs.job, weeks=13)
    tick = grid.ceil(when)
    if not 0 <= tick < grid.ticks:
        raise PlannerError(
            f"{at:%Y-%m-%d %H:%M} is not within 13 weeks of {inputs.job.earliest}",
            where="--at",
        )
    found: CoatTimes = calculator.in_room_air(
        materials.product(product, inputs.products.values()),
        inside(inputs, grid).air,
        tick=tick,
        thickness_mm=thickness_mm,
        margin_frac=inputs.job.margin_frac,
    )
    return dry_words(found, since=grid.instant(tick), zone=zone)


def table(product: str, *, thickness_mm: float | None, units: Units = Units.US) -> str:
    """Return the hours of each stage of a product over temperature and humidity."""
    found = materials.product(product)
    tables = {
        s.stage: calculator.hours_table(
            s, temps_c=TABLE_C, rhs_pct=TABLE_RH_PCT, thickness_mm=thickness_mm
        )
        for s in found.stages
    }
    return table_words(
        found, tables, temps_c=TABLE_C, rhs_pct=TABLE_RH_PCT, units=units
    )
