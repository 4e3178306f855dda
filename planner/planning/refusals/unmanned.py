"""Work that no team of the crew can do, whatever the hours: told before the search."""

from collections import defaultdict
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

from planner import units
from planner.errors import NoPlanError
from planner.nouns.work import Task
from planner.planning.problem import PERSON, Problem
from planner.schedule.problem.parts import Activity

MOST = 3  # titles told of tasks that want for the same


@dataclass(frozen=True, slots=True, kw_only=True)
class _Wanting:
    """What some work wants for: who may lead it, the least team, who is never there."""

    lead: tuple[str, ...]
    size: int
    away: tuple[tuple[str, str], ...]  # their names, and what takes their hours


def unmanned(problem: Problem) -> tuple[str, ...]:
    """Return the tasks that must be done and that nobody who is ever there may lead.

    So is a task for a team larger than all who may join it and are ever there.
    """
    there = {p.id for p in problem.instance.people if p.open}
    return tuple(
        t.id
        for t in problem.instance.tasks
        if not t.optional and _is_unmanned(t, there)
    )


def _is_unmanned(task: Activity, there: set[str]) -> bool:
    may = there.intersection(task.eligible)
    led = task.leads is None or there.intersection(task.leads)
    return not led or len(may) < min(mode.size for mode in task.modes)


def refuse_unmanned(problem: Problem, longest: Callable[[], Problem]) -> None:
    """Refuse work that the crew has nobody for, or nobody who is ever there.

    Raises
    ------
    NoPlanError
        Naming such work by what it wants for, and who is never there.
    """
    if not unmanned(problem):
        return
    last = longest()
    if found := unmanned(last):
        raise NoPlanError(
            "the crew has nobody for some of the work",
            conflict=tuple(_words(last, found)),
            facts=("nobody", *_away(last, found)),
        )


def unled(problem: Problem, tasks: tuple[str, ...]) -> Problem:
    """Return the problem in which nobody may lead some tasks, so that these are told once.

    What else is refused of work looks only at what somebody may lead.
    """
    if not tasks:
        return problem
    found = tuple(
        replace(t, leads=()) if t.id in tasks else t for t in problem.instance.tasks
    )
    return replace(problem, instance=replace(problem.instance, tasks=found))


def _words(problem: Problem, found: tuple[str, ...]) -> Iterator[str]:
    groups: dict[_Wanting, list[Task]] = defaultdict(list)
    tasks = {t.id: t for t in problem.instance.tasks}
    for task in problem.work.tasks:
        if task.id in found:
            groups[_wanting(problem, task, tasks[task.id])].append(task)
    until = units.day_words(problem.grid.end, problem.grid.zone)
    for wants, group in groups.items():
        titles = ", ".join(f'"{t.title}"' for t in group[:MOST])
        more = f" and {len(group) - MOST} more" if len(group) > MOST else ""
        verb = "needs" if len(group) == 1 else "need"
        team = f" in a team of {wants.size}" if wants.size > 1 else ""
        away = "; ".join(
            f"{name} isn't open on any day until {until}{why}"
            for name, why in wants.away
        )
        tail = f"; {away}" if away else "; nobody of the crew is one"
        if not wants.away and any(
            set(p.trades) & set(wants.lead) for p in problem.job.crew
        ):
            tail = "; the crew has fewer for it"
        yield f"{titles}{more} {verb} a {_either(wants.lead)}{team}{tail}"


def _wanting(problem: Problem, task: Task, one: Activity) -> _Wanting:
    there = {p.id for p in problem.instance.people if p.open}
    return _Wanting(
        lead=task.lead,
        size=min(mode.size for mode in one.modes),
        away=tuple(
            (p.name, _because(problem, p.id))
            for p in problem.job.crew
            if p.id in one.eligible and p.id not in there
        ),
    )


def _because(problem: Problem, person: str) -> str:
    """Return what takes most of a person's hours, after a colon; empty if nothing does."""
    taken = problem.open[person].taken
    if not taken:
        return ""
    return f": {max(taken, key=lambda t: t[1].total)[0]}"


def _either(trades: tuple[str, ...]) -> str:
    """Return trades as a choice: "carpenter, finisher or painter"."""
    *first, last = trades
    return f"{', '.join(first)} or {last}" if first else last


def _away(problem: Problem, found: tuple[str, ...]) -> Iterator[str]:
    """Yield the facts that are the hours of those who would do the work and are away."""
    for person in problem.instance.people:
        may = any(
            person.id in t.eligible for t in problem.instance.tasks if t.id in found
        )
        if may and not person.open:
            yield f"{PERSON}{person.id}"
