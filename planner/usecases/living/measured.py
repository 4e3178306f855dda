"""The use case of `log` for a data logger: the readings of its file become events.

Each reading is an event of its own, the mean of its minute, so that the log stays one
text that can be read, merged and taken back line by line. What the log has already isn't
logged twice: a file may be given again once it has grown.
"""

import math
from collections.abc import Iterator
from datetime import datetime, timedelta
from itertools import groupby
from pathlib import Path

from planner.errors import Fault, PlannerError, ReadingsError
from planner.files.logbook.appending import append, log_of, read_log
from planner.files.logbook.lines import line_of, with_id
from planner.files.tables import readings
from planner.living.doubts import doubts
from planner.living.known import Known
from planner.nouns.air import AirReading
from planner.nouns.happened import READ_FROM, Happening, Logbook, What
from planner.usecases.living.log import ANYWAY, ShownLog, known_job, people_meant

MINUTE = timedelta(minutes=1)


def log_readings(
    path: Path,
    file: Path,
    *,
    by: tuple[str, ...],
    insisted: bool,
    now: datetime,
) -> ShownLog:
    """Add the readings of a logger's file to a job's log; return those added.

    Raises
    ------
    ReadingsError
        With every fault of the file; nothing is logged then.
    PlannerError
        When a reading is questioned, such as one of the future, and wasn't insisted on.
    """
    known, place = known_job(path), log_of(path)
    book = read_log(place)
    # A logger may have been off for days: between two readings that lie far apart
    # the room is taken as the job file has it.
    read = readings.read_air(readings.load(file), file, zone=known.zone, gap_h=math.inf)
    people = people_meant(by, known)
    here = now.astimezone(known.zone).replace(microsecond=0)
    had = {_said(e) for e in book.counting if e.what is What.AIR}
    events = tuple(
        event
        for event in _events(read, known, file, people, here, insisted=insisted)
        if _said(event) not in had
    )
    before = [e for e in book.counting if e.what is not What.AIR]
    found = {e.id: why for e in events if (why := doubts(e, before, known))}
    if found and not insisted:
        faults = [
            Fault(where=file.name, message=words, hint=ANYWAY)
            for why in found.values()
            for words in why
        ]
        raise ReadingsError(readings.shown(faults, file), file=str(file))
    if events:
        append(place, *map(line_of, events))
    return ShownLog(
        path=place,
        book=Logbook(events=(*book.events, *events), broken=book.broken),
        known=known,
        doubts=found,
        events=events,
    )


def check_alone(what: str, *others: object) -> None:
    """Refuse a logger's file beside what says another thing than air, or says it twice.

    Raises
    ------
    PlannerError
        Says how it is given.
    """
    if what != What.AIR or any(others):
        raise PlannerError(
            "goes with air alone, and holds times and values itself",
            where="--file",
            hint="such as: covetime log job.toml air --file readings.csv",
        )


def _events(
    read: tuple[AirReading, ...],
    known: Known,
    file: Path,
    by: tuple[str, ...],
    logged: datetime,
    *,
    insisted: bool,
) -> Iterator[Happening]:
    """Yield an event for each minute that was read, as it will be read back."""

    def minute(reading: AirReading) -> datetime:
        return reading.when.replace(second=0, microsecond=0)

    for when, same in groupby(read, key=minute):
        found = tuple(same)
        yield with_id(
            Happening(
                id="",
                what=What.AIR,
                at=when.astimezone(known.zone),
                logged=logged,
                by=by,
                air_c=math.fsum(r.air_c for r in found) / len(found),
                humidity_pct=math.fsum(r.humidity_pct for r in found) / len(found),
                words=f"{READ_FROM}{' '.join(file.name.split())}",
                insisted=insisted,
            )
        )


def _said(event: Happening) -> tuple[datetime, float | None, float | None]:
    return event.at, event.air_c, event.humidity_pct
