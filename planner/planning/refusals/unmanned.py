"""Work that no team of the crew can do, whatever the hours: told before the search."""

from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass, replace

from planner import units
from planner.errors import NoPlanError
from planner.hours.spans import Spans
from planner.nouns.work import Task
from planner.planning.problem import PERSON, Problem
from planner.schedule.problem.parts import Activity, ClosedTicks, Person

MOST = 3  # titles told of tasks that want for the same


@dataclass(frozen=True, slots=True, kw_only=True)
class _Wanting:
    """What some work wants for: who may lead it, the least team, what takes whose hours."""

    lead: tuple[str, ...]
    size: int
    away: tuple[str, ...]  # in words
    facts: tuple[str, ...]


class _Free:
    """Who is ever free for work that is shut alike, worked out once."""

    def __init__(self, problem: Problem) -> None:
        self.people = problem.instance.people
        self.seen: dict[tuple[ClosedTicks, ...], frozenset[str]] = {}

    def of(self, task: Activity) -> frozenset[str]:
        """Return the people who are open at some time that isn't shut to a task."""
        if task.no_work not in self.seen:
            self.seen[task.no_work] = frozenset(
                p.id for p in self.people if _left(p, task.no_work)
            )
        return self.seen[task.no_work]


def _left(person: Person, shut: tuple[ClosedTicks, ...]) -> Spans:
    free = person.open
    for block in shut:
        free = free - block.ticks
    return free


def unmanned(problem: Problem) -> tuple[str, ...]:
    """Return the tasks that must be done and that nobody who is ever free may lead.

    So is a task for a team larger than all who may join it and are ever free for it.
    """
    free = _Free(problem)
    return tuple(
        t.id for t in problem.instance.tasks if not t.optional and _is_unmanned(t, free)
    )


def unmanned_words(problem: Problem) -> tuple[str, ...]:
    """Return the same in words, together what wants for the same."""
    groups = _groups(problem, unmanned(problem))
    return tuple(_words(problem, wants, group) for wants, group in groups.items())


def _is_unmanned(task: Activity, free: _Free) -> bool:
    may = free.of(task).intersection(task.eligible)
    led = task.leads is None or may.intersection(task.leads)
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
        groups = _groups(last, found)
        raise NoPlanError(
            "the crew has nobody for some of the work",
            conflict=unmanned_words(last),
            facts=(
                "nobody",
                *dict.fromkeys(f for wants in groups for f in wants.facts),
            ),
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


def _groups(problem: Problem, found: tuple[str, ...]) -> dict[_Wanting, list[Task]]:
    """Return the work by what it wants for, in its order."""
    groups: dict[_Wanting, list[Task]] = defaultdict(list)
    tasks = {t.id: t for t in problem.instance.tasks}
    for task in problem.work.tasks:
        if task.id in found:
            groups[_wanting(problem, task, tasks[task.id])].append(task)
    return groups


def _words(problem: Problem, wants: _Wanting, group: list[Task]) -> str:
    titles = ", ".join(f'"{t.title}"' for t in group[:MOST])
    more = f" and {len(group) - MOST} more" if len(group) > MOST else ""
    verb = "needs" if len(group) == 1 else "need"
    team = f" in a team of {wants.size}" if wants.size > 1 else ""
    there = any(set(p.trades) & set(wants.lead) for p in problem.job.crew)
    short = "the crew has fewer for it" if there else "nobody of the crew is one"
    tail = "; ".join(wants.away) or short
    return f"{titles}{more} {verb} a {_either(wants.lead)}{team}; {tail}"


def _wanting(problem: Problem, task: Task, one: Activity) -> _Wanting:
    may = [p for p in problem.instance.people if p.id in one.eligible]
    taken = [p for p in may if not _left(p, one.no_work)]
    shut = [b for b in one.no_work if any(b.ticks & p.open for p in taken)]
    return _Wanting(
        lead=task.lead,
        size=min(mode.size for mode in one.modes),
        away=_away(problem, taken, one.no_work),
        facts=(*(b.fact for b in shut), *(f"{PERSON}{p.id}" for p in taken)),
    )


def _away(
    problem: Problem, taken: list[Person], shut: tuple[ClosedTicks, ...]
) -> tuple[str, ...]:
    """Return who is never open and why, and what takes all hours of the others."""
    names = {p.id: p.name for p in problem.job.crew}
    until = units.day_words(problem.grid.end, problem.grid.zone)
    out = [
        f"{names[p.id]} isn't open on any day until {until}{_because(problem, p.id)}"
        for p in taken
        if not p.open
    ]
    if there := [p for p in taken if p.open]:
        facts = [
            problem.facts[b.fact] for b in shut if any(b.ticks & p.open for p in there)
        ]
        who = " and ".join(names[p.id] for p in there)
        out.append(f"no hour of {who} until {until} is left by: {' and '.join(facts)}")
    return tuple(out)


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
