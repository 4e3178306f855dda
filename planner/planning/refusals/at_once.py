"""Everything that no plan can do, told together and before the search."""

from collections.abc import Callable
from functools import cache, partial

from planner.errors import NoPlanError
from planner.planning.problem import Problem
from planner.planning.refusals.air_limits import never_kept, never_words
from planner.planning.refusals.no_plan import ROOM_HELPS
from planner.planning.refusals.too_few import refuse_lifts
from planner.planning.refusals.too_long import refuse
from planner.planning.refusals.too_short import refuse_short_days
from planner.planning.refusals.unmanned import (
    refuse_unmanned,
    unled,
    unmanned,
)
from planner.trade.takeoff import TakeOff


def refuse_at_once(
    problem: Problem, takeoff: TakeOff, longest: Callable[[], Problem]
) -> None:
    """Refuse a job for each reason that needs no search, all of them together.

    Too few people for a lift, nobody for a task, no span for work in one go, no day
    longer than it takes to set up; where there is one of these, also the limits on the air that no hour keeps.

    Raises
    ------
    NoPlanError
        Naming all of it.
    """
    longest = cache(longest)
    found: list[NoPlanError] = []
    nobody = unmanned(longest()) if unmanned(problem) else ()
    rest = unled(problem, nobody)

    def longest_rest() -> Problem:
        return unled(longest(), nobody)

    for ask in (
        partial(refuse_lifts, problem.job, takeoff, problem.work.tasks),
        partial(refuse_unmanned, problem, longest),
        partial(refuse, rest, longest_rest),
        partial(refuse_short_days, rest, longest_rest),
    ):
        try:
            ask()
        except NoPlanError as error:
            found.append(error)
    if not found:
        return
    last = longest()
    if never := never_kept(last):
        words = never_words(last, never)
        air = NoPlanError(
            "no hour keeps what some of the coats need of the air",
            conflict=words,
            helps=(ROOM_HELPS,),
            facts=never,
        )
        found.append(air)
    raise NoPlanError(
        "; ".join(e.message for e in found),
        conflict=tuple(c for e in found for c in e.conflict),
        helps=tuple(h for e in found for h in e.helps),
        facts=tuple(f for e in found for f in e.facts),
    )
