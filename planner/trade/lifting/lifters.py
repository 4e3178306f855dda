"""Lifts set the smallest team: whoever lifts in a task stays in its team throughout."""

from collections.abc import Sequence
from dataclasses import replace

from planner.measures import Units
from planner.nouns.told.saying import marked
from planner.nouns.work import Task, Team
from planner.trade.lifting.lifting import HOIST, MOST, SINGLY, Lift

MORE_CAUTIONS = {
    SINGLY: (
        marked(
            "Uprights are lifted from the floor or from a guarded working platform; "
            "nobody climbs with a module in hand (US 29 CFR 1926.451, 1926.1053)"
        ),
        marked(
            "Each upright is bolted and held at the wall before the next is set on it"
        ),
    ),
    HOIST: (
        marked(
            "A hoist or material lift rated above the piece's mass, looked over each "
            "day, used as its maker says; rigging by those trained to"
        ),
        marked("Nobody stands beneath a load or between it and the wall"),
    ),
}


def lifts_of(task: Task, lifts: Sequence[Lift]) -> tuple[Lift, ...]:
    """Return the lifts that a task does: those of its bays, or of all if it has none."""
    return tuple(
        x
        for x in lifts
        if task.phase in x.phases and (not task.bays or set(task.bays) & set(x.bays))
    )


def least_team(found: Sequence[Lift]) -> int:
    """Return the least team for lifts; 0 for none.

    What can't be lifted by hand counts as the largest team here; such a job is refused
    before it is planned.
    """
    return max((MOST if x.people is None else x.people for x in found), default=0)


def with_lifters(task: Task, lifts: Sequence[Lift], lifting: str, units: Units) -> Task:
    """Return a task whose teams are all large enough for what it lifts, in words too.

    Where none of the rate's teams is, those who only lift bring no more work than the
    largest of them: the task takes no less time.
    """
    found = lifts_of(task, lifts)
    least = least_team(found)
    if not least:
        return task
    teams = tuple(t for t in task.teams if t.size >= least)
    if not teams:
        largest = max(task.teams, key=lambda t: t.size)
        share = largest.yield_frac * largest.size / least
        teams = (Team(size=least, yield_frac=share),)
    above = any(x.hoisted for x in found) if lifting == HOIST else lifting == SINGLY
    more = (
        MORE_CAUTIONS.get(lifting, ()) if above and task.phase == "set-corner" else ()
    )
    return replace(
        task,
        teams=teams,
        lifters=least,
        lifts=tuple(x.words(units) for x in found),
        sayings=(*task.sayings, *(s for x in found for s in x.sayings(units))),
        cautions=(*task.cautions, *more),
    )
