"""Everything that was read for a job, before anything is worked out."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

from planner.nouns.air import AirReading
from planner.nouns.calendar import Busy
from planner.nouns.job import Job
from planner.nouns.kept import Kept
from planner.nouns.product import Product


@dataclass(frozen=True, slots=True, kw_only=True)
class Hours:
    """What the calendars say: per person, of the stage, of the neighbours."""

    people: Mapping[str, tuple[Busy, ...]]
    bookings: tuple[Busy, ...]
    quiet: tuple[Busy, ...]
    holidays: tuple[tuple[date, str], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Inputs:
    """The job, its calendars, products, and what is known of the air.

    `readings` were taken in the room, `outside` outside it; `fingerprint` is of all
    files and of the program's version, and of what was changed in the job. `kept` is
    what was worked out of such values before; it says nothing of its own.
    """

    job: Job
    hours: Hours
    products: Mapping[str, Product]
    readings: tuple[AirReading, ...]
    outside: tuple[AirReading, ...]
    remarks: tuple[str, ...]
    fingerprint: str
    kept: Kept = field(default_factory=Kept, compare=False, repr=False)
