"""A job that has no plan: which small changes would leave one, each planned to know."""

import shlex
from collections.abc import Callable
from pathlib import Path
from time import monotonic

from planner.errors import NoPlanError, PlannerError
from planner.levers.lever import Lever
from planner.levers.ways_out import WayOut, ways_out
from planner.nouns.case import Case
from planner.planning.answering import fits
from planner.planning.searching import Search
from planner.schedule.problem.limits import SearchLimits
from planner.usecases.comparing.compare import read_levers
from planner.usecases.read import Papers

MOST = 3  # changes told
LOOKED_S = 5.0  # on the clock: whoever waits for a refusal waits for no more
WORK = 0.25  # of one search, which ends with the first plan


def with_ways_out(
    job: Path, error: NoPlanError, stop: Callable[[], bool], until_s: float | None
) -> NoPlanError:
    """Return a refusal with up to three changes, with each of which a plan was found.

    They are looked for until a moment of the monotonic clock, and for a few seconds.
    """
    last = min(x for x in (until_s, monotonic() + LOOKED_S) if x is not None)
    try:
        papers = Papers(job)
        return error.with_fits(_found(papers, error, stop, last))
    except (PlannerError, KeyboardInterrupt):  # the refusal is what was asked for
        return error


def _found(
    papers: Papers, error: NoPlanError, stop: Callable[[], bool], until_s: float
) -> tuple[str, ...]:
    out: list[str] = []
    limits = SearchLimits(work=WORK, until_s=until_s)
    search = Search(limits=limits, stop=stop)
    for way in ways_out(papers.inputs().job, papers.values, error.facts):
        if len(out) == MOST or search.over():
            break
        if not way.may_ease(error.facts):
            continue
        one = _smallest(papers, way, search)
        if one is not None:
            out.append(f"{one.title} (--change {shlex.quote(one.say)})")
    return tuple(out)


def _smallest(papers: Papers, way: WayOut, search: Search) -> Lever | None:
    """Return the first change of a kind with which a plan was found, if one was."""

    def leaves_a_plan(one: Lever) -> bool:
        return any(
            fits(Case(inputs=idea.inputs), search)
            for idea in read_levers(papers, [one])
        )

    if not way.levers:
        return None
    if way.rising and not leaves_a_plan(way.levers[-1]):
        return None
    for one in way.levers[:-1] if way.rising else way.levers:
        if leaves_a_plan(one):
            return one
    return way.levers[-1] if way.rising else None
