"""Shorthand for the smallest instances that show a rule."""

from typing import Any

from planner.hours.spans import Spans
from planner.schedule.check.verify import verify
from planner.schedule.climb.solve import solve
from planner.schedule.problem.instance import Instance
from planner.schedule.problem.outcome import NoPlan, Placement, Planned
from planner.schedule.problem.parts import (
    Activity,
    AimKind,
    ClosedTicks,
    Closure,
    Lookup,
    Mode,
    Person,
    Term,
)

LONG = 20
NEVER = Spans()


def spans(*items: tuple[int, int]) -> Spans:
    return Spans.of(items)


def person(name: str, *opens: tuple[int, int], **more: Any) -> Person:
    """Return somebody open in `opens`, by default always."""
    return Person(id=name, open=spans(*(opens or ((0, LONG),))), **more)


def task(name: str, ticks: int, *eligible: str, size: int = 1, **more: Any) -> Activity:
    """Return a task of `ticks` ticks for `size` people; for nobody if none may."""
    mode = Mode(size=size if eligible else 0, ticks=ticks)
    more.setdefault("modes", (mode,))
    return Activity(id=name, eligible=eligible, **more)


def wait(name: str, ticks: int, horizon: int = LONG) -> Lookup:
    """Return a wait of always the same length."""
    return Lookup(name=name, over=tuple(t + ticks for t in range(horizon + 1)))


def block(fact: str, *items: tuple[int, int]) -> ClosedTicks:
    return ClosedTicks(fact=fact, ticks=spans(*items))


def closure(*tasks: str, **more: Any) -> Closure:
    """Return a closure of these tasks that returns when the last of them ends."""
    more.setdefault("terms", tuple(Term(task=t) for t in tasks[-1:]))
    return Closure(id="stage", tasks=tasks, **more)


def instance(*tasks: Activity, due: int | None = None, **more: Any) -> Instance:
    """Return an instance with one closure of all that is always carried out."""
    sure = tuple(t.id for t in tasks if not t.optional)
    if "branches" not in more:
        more.setdefault("closures", (closure(*sure, due=due, due_fact="due"),))
    more.setdefault("horizon", LONG)
    more.setdefault("aims", (AimKind.LAST_RETURN, AimKind.EARLY))
    return Instance(tasks=tasks, **more)


def place(
    name: str, start: int, end: int, *team: str, skip: Spans = NEVER
) -> Placement:
    """Return a placement worked from start to end, apart from the ticks of `skip`."""
    worked = spans((start, end)) - skip
    return Placement(task=name, team=team, start=start, end=end, worked=worked)


def plan_of(problem: Instance) -> dict[str, Placement]:
    """Return the proven best plan by task; it has passed the checker."""
    outcome = solve(problem)
    assert isinstance(outcome, Planned), outcome
    assert verify(problem, outcome.placements) == ()
    assert all(aim.proven for aim in outcome.aims)
    return {p.task: p for p in outcome.placements}


def clash_of(problem: Instance) -> set[str]:
    """Return the facts that clash; there must be no plan."""
    outcome = solve(problem)
    assert isinstance(outcome, NoPlan), outcome
    assert outcome.minimal
    return set(outcome.facts)


def faults_of(problem: Instance, *placements: Placement) -> str:
    """Return the checker's faults as one text."""
    return "\n".join(verify(problem, placements))
