"""How much is needed and how much there is, for what clashes: time, people, hours."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from planner.hours.open import entry_words
from planner.hours.spans import Spans
from planner.nouns.calendar import Busy
from planner.nouns.inputs import Inputs
from planner.planning.least_return import least_return
from planner.planning.problem import PERSON, Problem
from planner.planning.shut import BOOKING, DELIVERY
from planner.schedule.problem.parts import Activity
from planner.units import days_and_hours, duration_words, moment_words, people_words


def needed(inputs: Inputs, problem: Problem, facts: tuple[str, ...]) -> tuple[str, ...]:
    """Return what the facts that clash leave, beside what the work needs, in words.

    Each is shown without a search and holds whatever the plan.
    """
    out: list[str] = []
    if any(f.startswith(BOOKING) for f in facts):
        out += _stage(inputs, problem)
    if DELIVERY in facts:
        out += _crates(problem)
    for fact in facts:
        if fact.startswith(PERSON):
            out += _hours_of(problem, fact.removeprefix(PERSON))
    return tuple(out)


# ---------------------------------------------------------------- the stage's time


ASKED = 2  # of the longest free times, besides the last of them


@dataclass(frozen=True, slots=True, kw_only=True)
class FreeTime:
    """A time in which nothing is booked on the stage, and the bookings around it."""

    start: datetime
    before: Busy | None
    after: Busy

    @property
    def length(self) -> timedelta:
        """How long it is."""
        return self.after.start - self.start


def _stage(inputs: Inputs, problem: Problem) -> Iterator[str]:
    """Yield how long the stage is needed, where the longest free times are shorter.

    Of these a few are asked about; the one is told that comes closest.
    """
    free_times = sorted(free_between(problem), key=lambda f: (-f.length, f.start))
    longest = [f for f in free_times if f.length == free_times[0].length]
    asked = [
        (least_return(without_bookings(inputs, f.start), f.start), f)
        for f in dict.fromkeys((*free_times[:ASKED], *longest[-1:]))
    ]
    short = [(back - f.start, f) for back, f in asked if back and back > f.after.start]
    if not short or len(short) < len(asked):
        return
    needs, free = min(short, key=lambda x: (x[0] - x[1].length, x[1].start))
    zone = problem.grid.zone
    back, length, most = (
        days_and_hours(x.total_seconds() / 60)
        for x in (needs, free.length, longest[0].length)
    )
    yield (
        f"the stage for {back} at least, if it is closed from "
        f"{moment_words(free.start, zone)} on; it is free for {length} then, until "
        f"{entry_words(free.after)} on {moment_words(free.after.start, zone)}; it is never "
        f"free for more than {most} between bookings"
    )


def free_between(problem: Problem) -> tuple[FreeTime, ...]:
    """Return the times without a booking that end with one, in their order."""
    free_from, before = problem.grid.start, None
    found: list[FreeTime] = []
    for busy in sorted((b for b, _ in problem.booked), key=lambda b: (b.start, b.end)):
        if busy.start > free_from:
            found.append(FreeTime(start=free_from, before=before, after=busy))
        if busy.end > free_from:
            free_from, before = busy.end, busy
    return tuple(found)


def without_bookings(inputs: Inputs, start: datetime) -> Inputs:
    """Return the inputs as if nothing were booked from a moment on."""
    kept = tuple(b for b in inputs.hours.bookings if b.end <= start)
    return replace(inputs, hours=replace(inputs.hours, bookings=kept))


# --------------------------------------------------------------- people's hours


def _crates(problem: Problem) -> Iterator[str]:
    """Yield what opening the crates takes, and who is there when they come."""
    grid, names = problem.grid, {p.id: p.name for p in problem.job.crew}
    for task in problem.instance.tasks:
        shut = [b.ticks for b in task.no_start if b.fact == DELIVERY]
        if not shut:
            continue
        mode = min(task.modes, key=lambda m: (m.size, m.ticks))
        takes = duration_words((mode.ticks + task.set_up) * grid.tick_minutes)
        when = Spans(((0, grid.ticks),)) - shut[0]
        there = "; ".join(
            f"{names[p.id]} {duration_words((p.open & when).total * grid.tick_minutes)}"
            f"{_taken(problem, p.id, when)}"
            for p in problem.instance.people
            if p.id in task.eligible
        )
        title = next(t.title for t in problem.work.tasks if t.id == task.id)
        yield (
            f'{takes} by {people_words(mode.size)} for "{title}", on the day that they '
            f"come; open are then: {there}"
        )


def _taken(problem: Problem, person: str, when: Spans) -> str:
    """Return what takes a person's shifts at a time, after a comma; empty if nothing."""
    hours = problem.open[person]
    if not hours.shifts & when and not any(t & when for _, t in hours.taken):
        return ", no shift"
    reasons = dict.fromkeys(why for why, ticks in hours.taken if ticks & when)
    return f", {', '.join(reasons)}" if reasons else ""


def _hours_of(problem: Problem, person: str) -> Iterator[str]:
    """Yield the work that only one person may lead, where it is more than her hours."""
    there = next(p for p in problem.instance.people if p.id == person).open.total
    alone = [t for t in problem.instance.tasks if _leads(t) == {person}]
    work = sum(
        min(m.ticks for m in t.modes) + t.set_up for t in alone if not t.optional
    )
    if work <= there:
        return
    grid, minutes = problem.grid, problem.grid.tick_minutes
    name = next(p.name for p in problem.job.crew if p.id == person)
    yield (
        f"{duration_words(work * minutes)} of {name}, for work that nobody else may lead; "
        f"open are {duration_words(there * minutes)} until "
        f"{moment_words(grid.end, grid.zone)}"
    )


def _leads(task: Activity) -> set[str]:
    return set(task.eligible if task.leads is None else task.leads)
