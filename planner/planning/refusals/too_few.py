"""Lifts for which the crew has too few people, found before the search."""

from collections.abc import Callable, Iterator

from planner.errors import NoPlanError
from planner.nouns.job import Job
from planner.nouns.work import Task
from planner.trade.lifting.lifters import least_team, lifts_of
from planner.trade.lifting.lifting import HOIST, SINGLY, Lift, lifts
from planner.trade.takeoff import TakeOff

Lifts = Callable[[str], tuple[Lift, ...]]  # of a build, by how the crew lifts

WAYS = {
    SINGLY: "the uprights go up one by one from a working platform and are bolted on "
    "the wall",
    HOIST: "a hoist or material lift takes what two people can't",
}


def refuse_lifts(job: Job, takeoff: TakeOff, tasks: tuple[Task, ...]) -> None:
    """Refuse a job whose lifts need more people than the crew has for them.

    Raises
    ------
    NoPlanError
        As `too_few_for_lifts` tells it.
    """
    if found := too_few_for_lifts(job, takeoff, tasks):
        raise found


def too_few_for_lifts(
    job: Job, takeoff: TakeOff, tasks: tuple[Task, ...]
) -> NoPlanError | None:
    """Return why the crew has too few people for what is lifted; None: it has enough.

    It names each such task, what it lifts, how many may do it, and what would help.
    """

    def by(lifting: str) -> tuple[Lift, ...]:
        return lifts(takeoff, job.kit, lifting)

    own = by(job.methods.lifting)
    short = [t for t in tasks if _short(job, t, lifts_of(t, own))]
    if not short:
        return None
    return NoPlanError(
        "the crew has too few people for what is lifted",
        conflict=tuple(_words(job, t, lifts_of(t, own)) for t in short),
        helps=tuple(_helps(job, short, by)),
        facts=("lifts",),
    )


def _may(job: Job, task: Task) -> list[str]:
    """Return the names of those who may be in a task's team."""
    trades = {*task.lead, *task.help}
    return [p.name for p in job.crew if trades & set(p.trades)]


def _short(job: Job, task: Task, found: tuple[Lift, ...]) -> bool:
    """Tell whether a task's lifts can't be done by those who may do the task.

    Work that nobody may lead is refused for that, whatever it lifts.
    """
    if not any(set(task.lead) & set(p.trades) for p in job.crew):
        return False
    by_hand = all(x.people is not None for x in found)
    return not by_hand or least_team(found) > len(_may(job, task))


def _words(job: Job, task: Task, found: tuple[Lift, ...]) -> str:
    who = _may(job, task)
    worst = max(found, key=lambda x: (x.people is None, x.people or 0))
    said = f"{len(who)} of the crew may do it" + (f" ({', '.join(who)})" if who else "")
    return f'"{task.title}" lifts {worst.words(job.units)}; {said}'


def _helps(job: Job, short: list[Task], by: Lifts) -> Iterator[str]:
    """Yield what would help: other ways of lifting, if they do, and more people."""
    for lifting, words in WAYS.items():
        other = by(lifting)
        if lifting != job.methods.lifting and not any(
            _short(job, t, lifts_of(t, other)) for t in short
        ):
            yield f'[methods] lifting = "{lifting}": {words}'
    own = by(job.methods.lifting)
    if all(x.people is not None for t in short for x in lifts_of(t, own)):
        trades = dict.fromkeys(x for t in short for x in (*t.lead, *t.help))
        most = max(least_team(lifts_of(t, own)) for t in short)
        yield f"{most} people with one of these trades: {', '.join(trades)}"
