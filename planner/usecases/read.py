"""Read everything that planning needs: job, calendars, readings, products."""

import hashlib
from datetime import UTC, date, datetime, time, timedelta
from importlib.metadata import version
from pathlib import Path

from planner.errors import FaultsError, ReadingsError
from planner.files.job import jobfile
from planner.files.job.checks import slug
from planner.files.job_calendars import read_job_calendars
from planner.files.tables import readings
from planner.files.web.addresses import Web
from planner.nouns.air import AirReading
from planner.nouns.inputs import Hours, Inputs
from planner.planning.horizons import HORIZON_WEEKS
from planner.trade.data import materials

PROGRAM = f"covetime {version('covetime')}"


def read_inputs(
    path: Path,
    *,
    since: date | None = None,
    reach_days: int = 1,
    net: Web | None = None,
) -> Inputs:
    """Return everything that planning needs: job, calendars, readings, products.

    Each file is read once, so that what is planned is what is fingerprinted.

    Parameters
    ----------
    path
        The job file.
    since, reach_days
        Calendars are read from so many days before this day or the job's earliest,
        whichever comes first: what began the day before may reach in, and a night
        shift that would have begun on a public holiday doesn't.
    net
        How to fetch calendars that lie behind addresses; None: as usual.

    Raises
    ------
    PlannerError
        With every fault of the job file, or of all calendars together.
    """
    text = jobfile.load(path)
    job = jobfile.job_of(text, path)
    day = min(job.earliest, since or job.earliest) - timedelta(days=reach_days)
    first = datetime.combine(day, time(), tzinfo=job.zone).astimezone(UTC)
    days = 7 * HORIZON_WEEKS[-1] + (job.earliest - day).days
    window = (first, first + timedelta(days=days + 2))
    found = read_job_calendars(job, window=window, net=net)
    faults = list(found.faults)
    raw = hashlib.sha256(PROGRAM.encode())
    for data in (text, *found.data):
        raw.update(data)

    def air(name: str | None) -> tuple[AirReading, ...]:
        if name is None:
            return ()
        try:
            held = readings.load(Path(name))
            raw.update(held)
            return readings.read_air(held, Path(name), zone=job.zone)
        except ReadingsError as error:
            faults.extend(error.faults)
            return ()

    inside, outside = air(job.air_file), air(job.outside_file)
    if faults:
        raise FaultsError(tuple(faults), file=str(path))
    return Inputs(
        job=job,
        run_ids=tuple(slug(r.name) for r in job.stage.runs),
        hours=Hours(
            people=found.people,
            bookings=found.bookings,
            quiet=found.quiet,
            holidays=found.holidays,
        ),
        products=materials.merged(job.products),
        readings=inside,
        outside=outside,
        remarks=found.remarks,
        fingerprint=raw.hexdigest(),
    )
