"""The use case of `hours`: who and what is open when, without planning."""

from collections.abc import Sequence
from datetime import date, timedelta
from pathlib import Path

from planner.errors import PlannerError
from planner.files.web.addresses import Web
from planner.hours.account import (
    REACH_DAYS,
    STAGE,
    Accounts,
    person_account,
    shown_days,
    stage_account,
    whose,
)
from planner.hours.grid import Grid
from planner.planning.horizons import HORIZON_WEEKS
from planner.usecases.read import read_inputs


def open_hours(
    path: Path,
    *,
    who: Sequence[str] = (),
    first: date | None = None,
    last: date | None = None,
    net: Web | None = None,
) -> Accounts:
    """Return which hours are open, and why others aren't, without planning.

    Parameters
    ----------
    path
        The job file.
    who
        Names of the crew, or "stage"; none: everyone and the stage.
    first, last
        Days, both included; None: from the job's earliest, and two weeks.
    net
        How to fetch calendars that lie behind addresses; None: as usual.

    Raises
    ------
    PlannerError
        When a name or the days can't be, or something can't be read.
    """
    inputs = read_inputs(path, since=first, reach_days=REACH_DAYS, net=net)
    job = inputs.job
    first = first or job.earliest
    last = last or first + timedelta(days=13)
    latest = job.earliest + timedelta(weeks=HORIZON_WEEKS[-1])
    if last < first:
        raise PlannerError(f"--to {last} lies before --from {first}")
    if last > latest:
        raise PlannerError(
            f"--to {last} is too late", hint=f"calendars are read until {latest}"
        )
    chosen = whose(job, who)
    begin = first - timedelta(days=REACH_DAYS)
    grid = Grid.from_day(
        begin,
        days=(last - begin).days + 1,
        tick_minutes=job.tick_minutes,
        zone=job.zone,
    )
    hours = inputs.hours
    accounts = [
        person_account(
            p, grid=grid, busy=hours.people.get(p.id, ()), holidays=hours.holidays
        )
        for p in job.crew
        if p.id in chosen
    ]
    if STAGE in chosen:
        stage = stage_account(
            job.stage.name,
            grid=grid,
            hours=job.stage_hours,
            bookings=hours.bookings,
            quiet=hours.quiet,
        )
        accounts.append(stage)
    return Accounts(
        job=job.name,
        first=first,
        last=last,
        accounts=tuple(shown_days(a, first, last) for a in accounts),
        remarks=inputs.remarks,
    )
