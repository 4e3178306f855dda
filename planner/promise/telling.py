"""Plans with room in them: found with longer work and waits, told with the real ones."""

from planner.nouns.case import Case
from planner.planning.answer import Answer, Proof, checked
from planner.planning.horizons import HORIZON_WEEKS
from planner.planning.inside import coats_of
from planner.planning.posing import posed
from planner.planning.problem import Problem
from planner.planning.rounds import AirRounds
from planner.planning.searching import Search, solved
from planner.schedule.check.verify import values, verify
from planner.schedule.first.later import moved_on
from planner.schedule.problem.outcome import AimResult, Placement, Planned
from planner.schedule.problem.parts import AimKind

ROOM = "chosen because it is kept more often, not because it is shortest"

Placements = tuple[Placement, ...]


def weeks_of(answer: Answer) -> int:
    """Return how many weeks the grid of an answer has."""
    return len(answer.grid.days()) // 7


def in_air_of(case: Case, answer: Answer, weeks: int) -> Problem:
    """Return the problem of a case on a grid, in the air that an answer's coats make."""
    problem = posed(case, weeks=weeks)
    if not answer.rounds:
        return problem
    coats = coats_of(problem.work, problem.products, answer.placements)
    return posed(case, weeks=weeks, coats=coats)


def with_room(guarded: Case, like: Answer, search: Search) -> Placements:
    """Return a plan of a protected case, near that of another answer; () for none.

    It is looked for in the air of that answer, on its grid and the one after it.
    """
    first = HORIZON_WEEKS.index(weeks_of(like))
    for weeks in HORIZON_WEEKS[first : first + 2]:
        if search.over():
            break
        found = solved(in_air_of(guarded, like, weeks), search)
        if isinstance(found, Planned):
            return found.placements
    return ()


def told(
    case: Case, placements: Placements, like: Answer, search: Search
) -> Answer | None:
    """Return a plan with room as an answer to the case that it was made for.

    Each task keeps its start and its team, and takes as long as the job says; where a
    rule or the plan's own air forbids that, it begins later. `like` is the answer
    without protection, whose bound of the return holds for every plan. None: a latest
    time or a booking leaves no such plan, or the grids end.
    """
    last = max(p.end for p in placements)
    for weeks in HORIZON_WEEKS[HORIZON_WEEKS.index(weeks_of(like)) :]:
        problem = posed(case, weeks=weeks)
        if last <= problem.grid.ticks:
            found = _on_grid(case, problem, placements, like, search)
            if found is not None:
                return found
            if last <= problem.grid.ticks // 2:
                return None  # it isn't for want of time
    return None


def _on_grid(
    case: Case, problem: Problem, placements: Placements, like: Answer, search: Search
) -> Answer | None:
    rounds = 0
    if like.rounds:
        held = AirRounds(case, problem, search).held(placements)
        if held is None:
            return None
        problem, placements, rounds = held.problem, held.placements, 1
    elif verify(problem.instance, placements):
        moved = moved_on(problem.instance, placements)
        if moved is None or verify(problem.instance, moved):
            return None
        placements = moved
    worth = values(problem.instance, placements)
    least = next(a.bound for a in like.aims if a.aim is AimKind.LAST_RETURN)
    return checked(
        problem,
        Planned(
            placements=placements,
            aims=tuple(
                AimResult(
                    aim=a,
                    value=worth[a],
                    bound=min(least, worth[a]) if a is AimKind.LAST_RETURN else 0,
                )
                for a in problem.instance.aims
            ),
            stopped=ROOM,
        ),
        fingerprint=case.fingerprint,
        proof=Proof(everywhere=like.proof.everywhere & {AimKind.LAST_RETURN}),
        rounds=rounds,
    )
