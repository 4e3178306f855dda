"""What a case asks of its plan besides the job: window, settled and agreed tasks."""

import difflib
from collections.abc import Collection, Iterator
from dataclasses import replace
from datetime import datetime

from planner import units
from planner.errors import PlannerError
from planner.hours.grid import Grid
from planner.hours.spans import Spans
from planner.nouns.case import ANY_TIME, Case, SettledTask
from planner.planning.begun.past import with_past
from planner.planning.problem import Problem
from planner.schedule.problem.parts import AimKind, Before, ClosedTicks, Closure, Pin

NOT_BEFORE, NOT_AFTER = "window:not-before", "window:not-after"


def with_asked(problem: Problem, case: Case) -> Problem:
    """Return the problem of a job with what its case asks besides.

    Raises
    ------
    PlannerError
        When a settled task isn't among the job's, its team isn't of the crew, or its
        moments aren't on the job's step.
    """
    nothing = (case.window, case.settled, case.agreed) == (ANY_TIME, (), ())
    if nothing:
        return problem if case.past is None else with_past(problem, case.past)
    facts = dict(problem.facts)
    pins = tuple(_pin(problem, s, facts) for s in case.settled)
    agreed = tuple(_agreed(problem, case))
    first, *others = problem.instance.closures
    closures = (_within(problem.grid, first, case, facts), *others)
    aims = problem.instance.aims
    if agreed:
        after = aims.index(AimKind.CLOSED) + 1
        aims = (*aims[:after], AimKind.CHANGE, *aims[after:])
    instance = replace(
        problem.instance, pins=pins, agreed=agreed, closures=closures, aims=aims
    )
    asked = replace(problem, instance=instance, facts=facts)
    return asked if case.past is None else with_past(asked, case.past)


def _within(grid: Grid, closure: Closure, case: Case, facts: dict[str, str]) -> Closure:
    """Return a closure that keeps to the window of its case."""
    first, last = case.window.not_before, case.window.not_after
    if first is not None and (until := min(grid.ceil(first), grid.ticks)) > 0:
        facts[NOT_BEFORE] = f"the stage stays open until {_moment(grid, first)}"
        shut = ClosedTicks(fact=NOT_BEFORE, ticks=Spans(((0, until),)))
        closure = replace(closure, booked=(*closure.booked, shut))
    if last is not None:
        facts[NOT_AFTER] = f"the stage is back by {_moment(grid, last)}"
        due = min(max(grid.floor(last), 0), grid.ticks)
        closure = replace(closure, due=due, due_fact=NOT_AFTER)
    return closure


def _pin(problem: Problem, settled: SettledTask, facts: dict[str, str]) -> Pin:
    """Return what is settled of a task in ticks, its fact in words."""
    grid = problem.grid
    tasks = {t.id: t.title for t in problem.work.tasks}
    where = f"settled: {settled.task}"
    _known("task", settled.task, tasks, where)
    for person in settled.team or ():
        _known("person", person, problem.open, where)
    fact = f"settled:{settled.task}"
    facts[fact] = settled_words(problem, settled)
    return Pin(
        task=settled.task,
        start=_tick(grid, settled.start, where),
        end=_tick(grid, settled.end, where),
        team=None if settled.team is None else tuple(sorted(settled.team)),
        fact=fact,
    )


def _known(kind: str, name: str, known: Collection[str], where: str) -> None:
    if name not in known:
        near = difflib.get_close_matches(name, known, n=1)
        hint = f'did you mean "{near[0]}"?' if near else f"there: {', '.join(known)}"
        raise PlannerError(f'there is no {kind} "{name}"', where=where, hint=hint)


def _tick(grid: Grid, moment: datetime | None, where: str) -> int | None:
    if moment is None:
        return None
    if grid.floor(moment) != grid.ceil(moment):
        raise PlannerError(
            f"{_moment(grid, moment)} is not on a step of {grid.tick_minutes} minutes",
            where=where,
        )
    return grid.floor(moment)


def _agreed(problem: Problem, case: Case) -> Iterator[Before]:
    """Yield what was agreed of the tasks and people that there still are."""
    tasks = {t.id for t in problem.work.tasks}
    for one in case.agreed:
        if one.task in tasks:
            team = tuple(p for p in one.team if p in problem.open)
            start = problem.grid.floor(one.start)
            yield Before(task=one.task, start=start, team=team)


def settled_words(problem: Problem, settled: SettledTask) -> str:
    """Return what is settled of a task, in words."""
    title = next(t.title for t in problem.work.tasks if t.id == settled.task)
    names = {p.id: p.name for p in problem.job.crew}
    parts = []
    if settled.start is not None:
        parts.append(f"begins {_moment(problem.grid, settled.start)}")
    if settled.end is not None:
        parts.append(f"ends {_moment(problem.grid, settled.end)}")
    if settled.team is not None:
        parts.append(f"is done by {' and '.join(names[p] for p in settled.team)}")
    return f'it is settled that "{title}" {" and ".join(parts) or "is done"}'


def asked_words(problem: Problem, case: Case) -> tuple[str, ...]:
    """Return in words what was asked besides the job, for the plan to say."""
    facts = problem.facts
    window = (facts[f] for f in (NOT_BEFORE, NOT_AFTER) if f in facts)
    agreed = (
        f"{len(case.agreed)} tasks were agreed before and move as little as they can"
    )
    settled: tuple[str, ...] = tuple(settled_words(problem, s) for s in case.settled)
    if case.past is not None and settled:
        settled = (f"{len(settled)} tasks soon to begin stay as they were agreed",)
    return (
        *(f"asked: {words}" for words in window),
        *settled,
        *([agreed] if case.agreed else []),
        *_unopened(problem, case),
    )


def _unopened(problem: Problem, case: Case) -> Iterator[str]:
    """Yield what to do about crates that weren't opened on the day they came."""
    come, grid = problem.job.delivery, problem.grid
    if case.past is None or come is None or case.past.now < come:
        return
    begun = {p.task for p in case.past.tasks}
    waits = [t for t in problem.work.tasks if t.on_delivery_day and t.id not in begun]
    if waits and problem.job.repaint is None:
        yield (
            f"the crates were to come {_moment(grid, come)}, and aren't logged as "
            "opened: if they came, note damage before anything is moved and tell the "
            "carrier at once; if not, log when they come (late)"
        )


def _moment(grid: Grid, moment: datetime) -> str:
    return units.moment_words(moment, grid.zone)
