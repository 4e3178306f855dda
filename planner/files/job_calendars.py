"""All calendars of a job: when its people, its stage and its neighbours are taken."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from zoneinfo import ZoneInfo

from planner.errors import CalendarError, Fault
from planner.files.ics import reading, sources
from planner.files.ics.sources import Loaded
from planner.files.web import addresses
from planner.files.web.addresses import Web
from planner.nouns.calendar import Busy, Calendar
from planner.nouns.job import Job
from planner.nouns.kept import Kept

Window = tuple[datetime, datetime]


@dataclass(frozen=True, slots=True, kw_only=True)
class JobCalendars:
    """What the calendars say, and every fault that leaves somebody's hours unknown.

    `data` are the bytes that were read, in the order of the job file.
    """

    people: Mapping[str, tuple[Busy, ...]]
    bookings: tuple[Busy, ...]
    quiet: tuple[Busy, ...]
    holidays: tuple[tuple[date, str], ...]
    remarks: tuple[str, ...]
    faults: tuple[Fault, ...]
    data: tuple[bytes, ...]


def calendars_of(job: Job) -> tuple[str, ...]:
    """Return every calendar that a job names: paths and addresses."""
    people = tuple(p.calendar for p in job.crew if p.calendar)
    return (*people, *job.bookings, *job.quiet, *job.holidays)


class Shelf:
    """Calendars that were loaded, each once, by name; of addresses also by `keep_for`."""

    def __init__(self, net: Web | None = None) -> None:
        self.net = net
        self._held: dict[tuple[str, float | None], Loaded | CalendarError] = {}

    def load(
        self, names: Sequence[str], keep_for_h: float | None
    ) -> Mapping[str, Loaded | CalendarError]:
        """Return calendars by name, as `sources.load` does."""

        def key(name: str) -> tuple[str, float | None]:
            return name, keep_for_h if addresses.is_address(name) else None

        new = [n for n in names if key(n) not in self._held]
        found = sources.load(new, keep_for_h=keep_for_h, net=self.net)
        self._held |= {key(name): one for name, one in found.items()}
        return {name: self._held[key(name)] for name in names}


def read_job_calendars(
    job: Job, *, window: Window, shelf: Shelf, kept: Kept
) -> JobCalendars:
    """Return what the calendars of a job say of a window of UTC instants.

    What isn't on the shelf is loaded; what wasn't read in that way before is read.
    """
    gathered = _Gathered(shelf.load(calendars_of(job), job.keep_for_h))

    def left_out(name: str) -> frozenset[str]:
        return frozenset(uid for file, uid in job.leave_out if file == name)

    def hours(
        owner: str, names: Sequence[str], mail: tuple[str, ...] = ()
    ) -> tuple[Busy, ...]:
        return gathered.of(
            owner,
            names,
            lambda name, calendar: _priced(
                name,
                kept.of(
                    reading.read_calendar,
                    calendar,
                    window=window,
                    zone=job.zone,
                    owner_addresses=mail,
                    tentative_is_free=job.tentative_is_free,
                    leave_out=left_out(name),
                ),
                job,
            ),
        )

    people = {p.id: hours(p.name, [p.calendar], p.mail) for p in job.crew if p.calendar}
    bookings = hours("the stage's bookings", job.bookings)
    quiet = hours("quiet hours", job.quiet)
    days_off = gathered.of(
        "public holidays",
        job.holidays,
        lambda name, calendar: kept.of(
            reading.read_days,
            calendar,
            window=window,
            zone=job.zone,
            leave_out=left_out(name),
        ),
    )
    return JobCalendars(
        people=people,
        bookings=bookings,
        quiet=quiet,
        holidays=_days(days_off, job.zone),
        remarks=tuple(dict.fromkeys(gathered.remarks)),
        faults=tuple(dict.fromkeys(gathered.faults)),
        data=tuple(gathered.data),
    )


def _priced(name: str, calendar: Calendar, job: Job) -> Calendar:
    """Return a calendar with what moving its entries costs, and what isn't in it."""
    costs = {m.uid: m.cost for m in job.movable if m.file == name}
    missing = costs.keys() - {b.uid for b in calendar.busy}
    return replace(
        calendar,
        busy=tuple(
            replace(b, moving_cost=costs[b.uid]) if b.uid in costs else b
            for b in calendar.busy
        ),
        remarks=(
            *calendar.remarks,
            *(
                f'no entry of the coming year has the UID "{uid}", which may be moved'
                for uid in sorted(missing)
            ),
        ),
    )


def _days(busy: Sequence[Busy], zone: ZoneInfo) -> tuple[tuple[date, str], ...]:
    return tuple((b.start.astimezone(zone).date(), b.title) for b in busy)


@dataclass(slots=True)
class _Gathered:
    """What was read so far, and from what."""

    loaded: Mapping[str, Loaded | CalendarError]
    remarks: list[str] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)
    data: list[bytes] = field(default_factory=list)

    def of(
        self, owner: str, names: Sequence[str], read: Callable[[str, Loaded], Calendar]
    ) -> tuple[Busy, ...]:
        """Return what an owner's calendars take, in order of time."""
        found: list[Busy] = []
        for name in names:
            shown = sources.shown(name)
            calendar = self.loaded[name]
            try:
                if isinstance(calendar, CalendarError):
                    raise calendar
                self.data.append(calendar.data)
                what = read(name, calendar)
            except CalendarError as error:
                where = f"{shown}, for {owner}"
                self.faults += (
                    replace(f, where=f"{where}: {f.where}") for f in error.faults
                )
                continue
            found += (replace(b, file=sources.shown(b.file)) for b in what.busy)
            said = (*calendar.remarks, *what.remarks)
            self.remarks += (f"{shown}: {r}" for r in said)
        return tuple(sorted(found, key=lambda b: (b.start, b.end, b.file, b.uid)))
