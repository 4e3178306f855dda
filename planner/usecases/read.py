"""Read everything that planning needs, once: job, calendars, readings, products."""

import hashlib
from collections.abc import Mapping, Sequence
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path
from typing import Any

from planner import __version__
from planner.errors import FaultsError, ReadingsError
from planner.files.job import jobfile
from planner.files.job.changes import Changes
from planner.files.job.jobfile import JobValues
from planner.files.job_calendars import Shelf, read_job_calendars
from planner.files.tables import readings
from planner.files.web.addresses import Web
from planner.nouns.air import AirReading
from planner.nouns.case import ANY_TIME, AgreedTask, Case, ClosureWindow, SettledTask
from planner.nouns.inputs import Hours, Inputs
from planner.nouns.job import Job
from planner.nouns.kept import Kept
from planner.planning.horizons import HORIZON_WEEKS
from planner.trade.data import materials
from planner.trade.data.in_room import in_room, surveyed

PROGRAM = f"covetime {__version__}"


class Papers:
    """The papers of a job: its file, its calendars, its readings, each read once.

    Any number of cases come of them: the job as its file says it, or with changes
    laid over that. What a change names anew is read then; nothing is read twice, and
    what isn't changed isn't worked out again either.
    """

    def __init__(self, path: Path, *, net: Web | None = None) -> None:
        """Read the job file; calendars and readings once a case needs them.

        Parameters
        ----------
        path
            The job file.
        net
            How to fetch calendars that lie behind addresses; None: as usual.

        Raises
        ------
        JobFileError
            When the file can't be read, or isn't TOML.
        """
        self.path = path
        self._text = jobfile.load(path)
        self._values = JobValues.of(self._text, path)
        self._shelf = Shelf(net)
        self._tables: dict[str, bytes] = {}
        self._kept = Kept()

    def case(
        self,
        *changes: Changes,
        window: ClosureWindow = ANY_TIME,
        settled: tuple[SettledTask, ...] = (),
        agreed: tuple[AgreedTask, ...] = (),
    ) -> Case:
        """Return the case of the job with changes laid over its file.

        Raises
        ------
        PlannerError
            As `inputs` does.
        """
        inputs = self.inputs(*changes)
        return Case(inputs=inputs, window=window, settled=settled, agreed=agreed)

    def job(self, *changes: Changes) -> Job:
        """Return the job with changes laid over its file; no calendar is read.

        Raises
        ------
        JobFileError
            With every fault of the file and the changes.
        """
        return jobfile.job_from(self._values, changes)

    def inputs(
        self, *changes: Changes, since: date | None = None, reach_days: int = 1
    ) -> Inputs:
        """Return everything that planning needs, changes laid over the job file.

        Parameters
        ----------
        changes
            What is said anew, the later over the earlier.
        since, reach_days
            Calendars are read from so many days before this day or the job's earliest,
            whichever comes first: what began the day before may reach in, and a night
            shift that would have begun on a public holiday doesn't.

        Raises
        ------
        PlannerError
            With every fault of the job file and the changes, or of all calendars and
            readings together.
        """
        job = self.job(*changes)
        day = min(job.earliest, since or job.earliest) - timedelta(days=reach_days)
        first = datetime.combine(day, time(), tzinfo=job.zone).astimezone(UTC)
        days = 7 * HORIZON_WEEKS[-1] + (job.earliest - day).days
        window = (first, first + timedelta(days=days + 2))
        found = read_job_calendars(
            job, window=window, shelf=self._shelf, kept=self._kept
        )
        faults = list(found.faults)
        raw = hashlib.sha256(PROGRAM.encode())
        for data in (self._text, *found.data):
            raw.update(data)

        def air(name: str | None) -> tuple[AirReading, ...]:
            if name is None:
                return ()
            try:
                held = self._table(name)
                raw.update(held)
                return self._kept.of(readings.read_air, held, Path(name), zone=job.zone)
            except ReadingsError as error:
                faults.extend(error.faults)
                return ()

        inside, outside = air(job.air_file), air(job.outside_file)
        if faults:
            raise FaultsError(tuple(faults), file=str(self.path))
        for one in changes:
            raw.update(repr(_in_order(one.values)).encode())
        return Inputs(
            job=job,
            hours=Hours(
                people=found.people,
                bookings=found.bookings,
                quiet=found.quiet,
                holidays=found.holidays,
            ),
            products=surveyed(
                in_room(
                    materials.merged(job.products),
                    on_modules=job.kit.drying_times,
                    air_m_s=job.air_m_s,
                ),
                results_h=job.survey.results_h,
                isolated_h=job.survey.isolated_h,
            ),
            readings=inside,
            outside=outside,
            remarks=(*found.remarks, *_said(changes)),
            fingerprint=raw.hexdigest(),
            kept=self._kept,
        )

    @property
    def values(self) -> Mapping[str, Any]:
        """The values of the job file, as TOML has them."""
        return self._values.raw

    def with_changes(self, *changes: Changes) -> bytes:
        """Return the bytes of the job file with changes kept in it.

        They have been read with `inputs` before, so that none of them is at fault.
        """
        from planner.files.job.edits.keeping import job_with  # loads what few need

        return job_with(self._text, changes)

    def _table(self, name: str) -> bytes:
        """Return the bytes of a file of readings."""
        if name not in self._tables:
            self._tables[name] = readings.load(Path(name))
        return self._tables[name]


def _said(changes: Sequence[Changes]) -> tuple[str, ...]:
    """Return in words what a plan of a changed job must own to."""
    return tuple(
        f"planned with a change to the job file: {words}"
        for one in changes
        for words in one.words()
    )


def _in_order(value: object) -> object:
    """Return a value of TOML with the keys of its tables in one and the same order."""
    if isinstance(value, dict):
        return [(key, _in_order(value[key])) for key in sorted(value)]
    return [_in_order(v) for v in value] if isinstance(value, list) else value


def read_inputs(
    path: Path,
    *,
    since: date | None = None,
    reach_days: int = 1,
    net: Web | None = None,
) -> Inputs:
    """Return everything that planning needs of a job as its file says it.

    See `Papers.inputs`.
    """
    return Papers(path, net=net).inputs(since=since, reach_days=reach_days)
