"""A plan that is kept well, moved to a job that differs a little from its own.

Its order and teams are played with the other job's facts, and changed a little where
that is kept earlier. It is found in a tenth of the time of a whole search, and both
plans come of the same order, so that what lies between them comes of the facts.
"""

from collections.abc import Mapping
from dataclasses import replace
from random import Random

from planner.nouns.case import Case
from planner.odds.tally import SEED
from planner.planning.answer import Answer, Proof
from planner.planning.posing import posed
from planner.planning.problem import Problem
from planner.planning.searching import Search
from planner.promise.improving import Improving, as_arranged
from planner.promise.judging import Judge
from planner.promise.telling import in_air_of, told, weeks_of
from planner.schedule.first.reordered import Team
from planner.schedule.problem.limits import SearchLimits, StoppedError
from planner.schedule.problem.outcome import Placement
from planner.schedule.problem.parts import LinkKind
from planner.schedule.space.narrowed import ImpossibleError

# Plans with other orders and teams that are played, with the usual limit of work: of the
# plan by the teams that it had, and of that by those with which each task ends soonest.
CHANGES = 8


def kept_near(
    case: Case,
    other: Answer,
    search: Search,
    *,
    percent: int,
    seed: int = SEED,
) -> Answer | None:
    """Return a checked answer to a case near that to another, as well kept as can be.

    The closure begins on the day on which it begins there, or later. Nothing is proven
    of it. None where the order leaves no plan, or the search was over before there was one.

    Parameters
    ----------
    case
        What is to be planned.
    other
        The answer to another case, or to this one, on the same first day.
    search
        With less than the usual work, fewer changes are tried; when it is over, the best
        that was found is returned.
    percent
        Of a hundred futures, how many keep the promise.
    seed
        Of all draws: every plan meets the same futures.
    """
    problem = posed(case, weeks=weeks_of(other))
    there = {t.id for t in problem.instance.tasks}
    like = replace(
        other,
        fingerprint=case.fingerprint,
        placements=tuple(p for p in other.placements if p.task in there),
        aims=tuple(replace(a, bound=0) for a in other.aims),
        proof=Proof(everywhere=frozenset()),
    )
    judge = Judge(case, like, percent=percent, seed=seed, over=search.interrupted)
    if like.rounds:
        problem = in_air_of(case, like, weeks_of(like))
    order, teams = _arranged(problem, like.placements)
    try:
        improving = Improving(problem, _day(problem, like), judge.rough, search.over)
        starts = [improving.arranged(order, kept) for kept in (teams, {})]
        changes = round(CHANGES * min(search.limits.work / SearchLimits().work, 1.0))
        found = [
            improving.improved(start, changes=changes, random=Random(seed))
            for start in starts
            if start is not None
        ]
    except (ImpossibleError, StoppedError):
        return None
    found.sort(key=lambda plan: plan.rough.score)
    plans = (told(case, plan.placements, like, search) for plan in found)
    return next((plan for plan in plans if plan is not None), None)


def _day(problem: Problem, like: Answer) -> int:
    """Return the first tick of the day on which a plan's closure begins."""
    closed = problem.grid.floor(like.closure[0])
    return max(begin for _, begin, _ in problem.grid.days() if begin <= closed)


def _arranged(
    problem: Problem, placements: tuple[Placement, ...]
) -> tuple[tuple[str, ...], Mapping[str, Team]]:
    """Return the order and teams of a plan that may lack tasks.

    A task that it lacks comes right after the last of those that it follows.
    """
    tasks = {t.id for t in problem.instance.tasks}
    order, teams = as_arranged(problem, placements)
    rank = {task: (place,) for place, task in enumerate(order) if task in teams}
    follows: dict[str, set[str]] = {t: set() for t in tasks}
    for link in problem.instance.links:
        if link.kind is LinkKind.FINISH_START:
            follows[link.after].add(link.before)
    return tuple(sorted(tasks, key=_Ranks(rank, follows).of)), teams


class _Ranks:
    """Where tasks stand in an order, those that it lacks with them."""

    def __init__(
        self, known: Mapping[str, tuple[int, ...]], follows: Mapping[str, set[str]]
    ) -> None:
        self._rank: dict[str, tuple[int, ...]] = dict(known)
        self._follows = follows

    def of(self, task: str) -> tuple[tuple[int, ...], str]:
        """Return a task's place, and its name where several have the same."""
        return self._place(task), task

    def _place(self, task: str) -> tuple[int, ...]:
        if task not in self._rank:
            before = [self._place(t) for t in sorted(self._follows[task])]
            self._rank[task] = (*max(before, default=()), 0)
        return self._rank[task]
