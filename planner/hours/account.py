"""Day by day: which hours of a person or of the stage are open, and why not."""

import difflib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from enum import StrEnum
from itertools import pairwise

from planner.errors import PlannerError
from planner.hours.grid import Grid
from planner.hours.open import daily, entry_words, person_hours
from planner.hours.spans import Spans
from planner.nouns.calendar import Busy
from planner.nouns.job import CrewMember, Job

STAGE = "stage"
REACH_DAYS = 3  # before the first day shown: shifts that reach in, and rest after them


class ClosedBecause(StrEnum):
    """What closes an hour, or limits an open one."""

    ENTRY = "entry"  # of a calendar
    HOLIDAY = "public holiday"
    OFF = "outside the shifts"  # or outside the building's hours
    QUIET = "quiet hours"  # open, but not for loud work
    REST = "rest"  # open, if the shift before ends in time


LIMITS = (
    ClosedBecause.QUIET,
    ClosedBecause.REST,
)  # what leaves an hour open, but not for everything


@dataclass(frozen=True, slots=True, kw_only=True)
class Reason:
    """Why an hour is closed or limited; `entry` is the calendar entry behind it."""

    why: ClosedBecause
    words: str
    entry: Busy | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """Ticks [start, end) of a day that are open or closed for the same reasons.

    An open stretch may have reasons too: what it can't be used for.
    """

    start: int
    end: int
    is_open: bool
    reasons: tuple[Reason, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Day:
    """A site day: its ticks, and stretches that fill it without a gap."""

    day: date
    start: int
    end: int
    stretches: tuple[Stretch, ...]

    @property
    def open_ticks(self) -> int:
        """The number of open ticks."""
        return sum(s.end - s.start for s in self.stretches if s.is_open)


@dataclass(frozen=True, slots=True, kw_only=True)
class Account:
    """The days of one owner of hours: a person, or the stage."""

    owner: str
    kind: str  # "person" or STAGE
    off: str  # what hours are called that nobody has taken and that aren't open
    grid: Grid
    days: tuple[Day, ...]

    @property
    def open_ticks(self) -> int:
        """The number of open ticks on all days."""
        return sum(d.open_ticks for d in self.days)


def person_account(
    person: CrewMember,
    *,
    grid: Grid,
    busy: Sequence[Busy],
    holidays: Sequence[tuple[date, str]],
) -> Account:
    """Return a person's days: open where the planner would have them work.

    Calendars and public holidays close hours of the whole day, shifts come after
    them and rest between two shifts last; so an entry is shown wherever it lies.
    """
    hours = person_hours(person, grid=grid, busy=busy, holidays=holidays)
    off = ClosedBecause.OFF.value
    reasons = [*_entries(grid, busy), *_days_off(grid, holidays)]
    reasons += _rests(grid, hours.shifts, person.rest_h)
    return Account(
        owner=person.name,
        kind="person",
        off=off,
        grid=grid,
        days=_days(grid, hours.open, reasons, Reason(why=ClosedBecause.OFF, words=off)),
    )


def stage_account(
    name: str,
    *,
    grid: Grid,
    hours: tuple[time, time] | None,
    bookings: Sequence[Busy],
    quiet: Sequence[Busy],
) -> Account:
    """Return the stage's days: closed by bookings, not for loud work in quiet hours."""
    booked = grid.outward([(b.start, b.end) for b in bookings])
    off = "outside the building's hours"
    reasons = [*_entries(grid, bookings), *_entries(grid, quiet, ClosedBecause.QUIET)]
    return Account(
        owner=name,
        kind=STAGE,
        off=off,
        grid=grid,
        days=_days(
            grid,
            daily(grid, hours) - booked,
            reasons,
            Reason(why=ClosedBecause.OFF, words=off),
        ),
    )


# ------------------------------------------------------------------- reasons


def _entries(
    grid: Grid, busy: Iterable[Busy], why: ClosedBecause = ClosedBecause.ENTRY
) -> list[tuple[Reason, Spans]]:
    """Return each entry with the ticks that it touches."""
    out = []
    for entry in busy:
        ticks = grid.outward([(entry.start, entry.end)])
        kind = "" if entry.kind == "busy" else f", {entry.kind}"
        head = "no loud work: " if why is ClosedBecause.QUIET else ""
        words = f"{head}{entry_words(entry)}{kind}"
        out.append((Reason(why=why, words=words, entry=entry), ticks))
    return out


def _days_off(
    grid: Grid, holidays: Iterable[tuple[date, str]]
) -> list[tuple[Reason, Spans]]:
    """Return each public holiday with the ticks of its day."""
    days = {day: Spans(((first, last),)) for day, first, last in grid.days()}
    return [
        (
            Reason(why=ClosedBecause.HOLIDAY, words=f"{title} (public holiday)"),
            days[day],
        )
        for day, title in holidays
        if day in days
    ]


def _rests(grid: Grid, shifts: Spans, rest_h: float) -> list[tuple[Reason, Spans]]:
    """Return the ticks of each shift that lie within the rest after the one before."""
    rest = grid.ticks_up(rest_h)
    out = []
    for (_, end), after in pairwise(shifts.items):
        near = Spans((after,)).clip(end, end + rest)
        if near:
            words = f"only after {rest_h:g} h of rest from the shift before"
            out.append((Reason(why=ClosedBecause.REST, words=words), near))
    return out


# ---------------------------------------------------------------------- days


def _days(
    grid: Grid, opened: Spans, found: Sequence[tuple[Reason, Spans]], off: Reason
) -> tuple[Day, ...]:
    days = grid.days()
    begins = _edges(days, opened, found)
    ticks = [*sorted(begins), grid.ticks]
    active: list[int] = []
    is_open = False
    by_day: list[list[Stretch]] = []
    for start, end in pairwise(ticks):
        edge = begins[start]
        active = sorted({*active, *edge.first} - edge.last)
        is_open = is_open if edge.opens is None else edge.opens
        reasons = _standing([found[i][0] for i in active], off, is_open=is_open)
        if edge.midnight:
            by_day.append([])
        here = by_day[-1]
        if here and (here[-1].is_open, here[-1].reasons) == (is_open, reasons):
            here[-1] = replace(here[-1], end=end)
            continue
        here.append(Stretch(start=start, end=end, is_open=is_open, reasons=reasons))
    return tuple(
        Day(day=day, start=first, end=last, stretches=tuple(stretches))
        for (day, first, last), stretches in zip(days, by_day, strict=True)
    )


@dataclass(slots=True)
class _Edge:
    """What changes at a tick: reasons that begin or end there, opening, midnight."""

    first: set[int]
    last: set[int]
    opens: bool | None = None
    midnight: bool = False


def _edges(
    days: Sequence[tuple[date, int, int]],
    opened: Spans,
    found: Sequence[tuple[Reason, Spans]],
) -> dict[int, _Edge]:
    """Return every tick at which something changes."""
    out: dict[int, _Edge] = {}
    end = days[-1][2]

    def at(tick: int) -> _Edge:
        return out.setdefault(tick, _Edge(first=set(), last=set()))

    for _, midnight, _ in days:
        at(midnight).midnight = True
    for start, stop in opened:
        at(start).opens = True
        if stop < end:
            at(stop).opens = False
    for number, (_, spans) in enumerate(found):
        for start, stop in spans:
            at(start).first.add(number)
            if stop < end:
                at(stop).last.add(number)
    return out


def _standing(
    active: Sequence[Reason], off: Reason, *, is_open: bool
) -> tuple[Reason, ...]:
    """Return the reasons that count where these hold: limits only where it is open."""
    if is_open:
        return tuple(r for r in active if r.why in LIMITS)
    return tuple(r for r in active if r.why not in LIMITS) or (off,)


def shown_days(account: Account, first: date, last: date) -> Account:
    """Return an account of the days from `first` to `last`, both included."""
    days = tuple(d for d in account.days if first <= d.day <= last)
    return replace(account, days=days)


def lasts(grid: Grid, day: Day) -> timedelta:
    """Return how long a day lasts; one with a clock change isn't 24 hours long."""
    return grid.instant(day.end) - grid.instant(day.start)


def instants(grid: Grid, stretch: Stretch) -> tuple[datetime, datetime]:
    """Return the UTC instants between which a stretch lies."""
    return grid.instant(stretch.start), grid.instant(stretch.end)


def whose(job: Job, names: Sequence[str]) -> frozenset[str]:
    """Return the ids of the crew named, and "stage" where it is; none: all.

    Raises
    ------
    PlannerError
        When a name is nobody's; names the nearest.
    """
    known = {p.name.casefold(): p.id for p in job.crew}
    known |= {p.id: p.id for p in job.crew}
    known |= {STAGE: STAGE, job.stage.name.casefold(): STAGE}
    if not names:
        return frozenset(known.values())
    for name in names:
        if name.casefold() not in known:
            near = difflib.get_close_matches(name.casefold(), known, n=1)
            everyone = ", ".join([*(p.name for p in job.crew), STAGE])
            hint = f'did you mean "{near[0]}"?' if near else f"known: {everyone}"
            raise PlannerError(f'"{name}" is none of the crew', hint=hint)
    return frozenset(known[n.casefold()] for n in names)


@dataclass(frozen=True, slots=True, kw_only=True)
class Accounts:
    """What `hours` shows: of whom, from when to when, and remarks on the calendars."""

    job: str
    first: date
    last: date  # included
    accounts: tuple[Account, ...]
    remarks: tuple[str, ...]

    @property
    def grid(self) -> Grid:
        """The grid that all the accounts are on."""
        return self.accounts[0].grid
