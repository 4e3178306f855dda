"""Days that setting up alone would fill: work that no day gets on with, told at once."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from planner import units
from planner.hours.spans import Spans
from planner.nouns.work import Task
from planner.planning.problem import Problem
from planner.planning.refusals.even_longest import refuse_even_longest
from planner.schedule.problem.parts import Activity, ClosedTicks, Person
from planner.schedule.space.days import day_numbers


@dataclass(frozen=True, slots=True, kw_only=True)
class LongestDay:
    """Somebody's longest day for a task: its open ticks, and the first of them."""

    person: str
    ticks: int
    first: int


@dataclass(frozen=True, slots=True, kw_only=True)
class TooShort:
    """Work for which too few people have a day longer than its set-up, one of a kind."""

    task: Task
    alike: int  # tasks of this kind that are no better off
    set_up: int
    people: int  # how many are needed at a time, at least
    days: tuple[LongestDay, ...]  # of all who may do it, the longest first


def refuse_short_days(problem: Problem, longest: Callable[[], Problem]) -> None:
    """Refuse work that is set up anew each day and finds no day longer than that.

    Nobody's day with a team is longer than alone, so only people are looked at.

    Raises
    ------
    NoPlanError
        Naming each such kind of work, its set-up, and the longest day for it.
    """
    refuse_even_longest(
        "no day of the crew is longer than setting up takes for some of the work",
        problem,
        longest,
        find=_found,
        words=_words,
        helps=_helps,
    )


def _found(problem: Problem) -> list[TooShort]:
    """Return the first task of each kind that no day gets on with."""
    named = {t.id: t for t in problem.work.tasks}
    days = _Days(problem)
    out: dict[str, TooShort] = {}
    for task in problem.instance.tasks:
        if task.one_go or task.optional or not task.set_up or task.leads == ():
            continue
        found = days.of(task)
        long = {d.person for d in found if d.ticks > task.set_up}
        led = long if task.leads is None else long.intersection(task.leads)
        size = min(mode.size for mode in task.modes)
        if led and len(long) >= size:
            continue
        kind = named[task.id].phase
        before = out.get(kind)
        out[kind] = TooShort(
            task=before.task if before else named[task.id],
            alike=before.alike + 1 if before else 0,
            set_up=before.set_up if before else task.set_up,
            people=before.people if before else size,
            days=before.days if before else found,
        )
    return list(out.values())


class _Days:
    """The longest days of all people, worked out once for work that is shut alike."""

    def __init__(self, problem: Problem) -> None:
        self.people = problem.instance.people
        self.horizon = problem.instance.horizon
        self.closure = problem.instance.closures[0]
        self.seen: dict[tuple[str, bool, tuple[ClosedTicks, ...]], LongestDay] = {}

    def of(self, task: Activity) -> tuple[LongestDay, ...]:
        """Return the longest day for a task of each who may do it, the longest first."""
        found = [self._longest(p, task) for p in self.people if p.id in task.eligible]
        return tuple(sorted(found, key=lambda day: (-day.ticks, day.person)))

    def _longest(self, person: Person, task: Activity) -> LongestDay:
        on_stage = task.id in self.closure.tasks
        key = (person.id, on_stage, task.no_work)
        if key not in self.seen:
            free = person.open
            for block in (*task.no_work, *(self.closure.booked if on_stage else ())):
                free = free - block.ticks
            self.seen[key] = _longest_of(person, free, self.horizon)
        return self.seen[key]


def _longest_of(person: Person, free: Spans, horizon: int) -> LongestDay:
    """Return a person's longest day, of the ticks in which he or she is free."""
    at = np.flatnonzero(free.mask(horizon)[:horizon])
    if not len(at):
        return LongestDay(person=person.id, ticks=0, first=0)
    days = day_numbers(at, (person,))
    longest = int(np.argmax(np.bincount(days)))
    here = at[days == longest]
    return LongestDay(person=person.id, ticks=len(here), first=int(here[0]))


def _hours(problem: Problem, ticks: int) -> str:
    return units.duration_words(ticks * problem.grid.tick_minutes)


def _words(problem: Problem, found: TooShort) -> str:
    """Return the work, its set-up, and the longest days that there are for it."""
    names = {p.id: p.name for p in problem.job.crew}
    grid = problem.grid
    more = f" and {found.alike} more like it" if found.alike else ""
    best = found.days[: found.people]
    days = "; ".join(
        f"{_hours(problem, day.ticks)} open ({names[day.person]}, "
        f"{units.moment_words(grid.instant(day.first), grid.zone)})"
        for day in best
        if day.ticks
    )
    who = f" for {found.people} at a time" if found.people > 1 else ""
    return (
        f'"{found.task.title}"{more} is set up anew each day, which takes '
        f"{_hours(problem, found.set_up)}; the longest day{who}: {days or 'none'}"
    )


def _helps(problem: Problem, found: TooShort) -> tuple[str, ...]:
    """Return what would let the work get on: a longer day, or a quicker set-up."""
    title, set_up = f'"{found.task.title}"', _hours(problem, found.set_up)
    return (
        f"for {title}, a longer shift: more than {set_up} in a day",
        f"for {title}, a quicker set-up, if the crew has one: set_up in a [[labour]] "
        f'section with work = "{found.task.phase}"',
    )
