"""Plans with room in them: found with longer work and waits, told with the real ones."""

from planner.nouns.case import Case
from planner.planning.answer import Answer, Proof, checked
from planner.planning.horizons import HORIZON_WEEKS
from planner.planning.posing import posed, weeks_of
from planner.planning.problem import Problem
from planner.planning.rounds import AirRounds, Settled
from planner.planning.searching import Search, solved
from planner.schedule.check.verify import values, verify
from planner.schedule.first.later import moved_on
from planner.schedule.problem.outcome import AimResult, Placement, Planned
from planner.schedule.problem.parts import AimKind

ROOM = "chosen because it is kept more often, not because it is shortest"
MORE_GRIDS = 2  # that are tried for a plan with room, from that of the plan without


def with_room(guarded: Case, search: Search, weeks: int) -> tuple[Placement, ...]:
    """Return the plan of a protected case; () where none was found.

    `weeks` is the grid that holds a plan of the case without protection.
    """
    first = HORIZON_WEEKS.index(weeks)
    for longer in HORIZON_WEEKS[first : first + MORE_GRIDS]:
        if search.over():
            return ()
        problem = posed(guarded, weeks=longer)
        if guarded.inputs.job.climate is None:
            found = solved(problem, search)
            if isinstance(found, Planned):
                return found.placements
        else:
            settled = AirRounds(guarded, problem, search).settled()
            if isinstance(settled, Settled):
                return settled.found.placements
    return ()


def told(
    case: Case, placements: tuple[Placement, ...], like: Answer, search: Search
) -> Answer | None:
    """Return a plan with room as an answer to the case that it was made for.

    Each task keeps its start and its team, and takes as long as the job says; where a
    rule forbids that, it begins later. `like` is the answer without protection, whose
    bound of the return holds for every plan. None: a latest time or a booking leaves no
    such plan, or the grid ends.
    """
    last = max(p.end for p in placements)
    for weeks in HORIZON_WEEKS[HORIZON_WEEKS.index(_weeks(like)) :]:
        problem = posed(case, weeks=weeks)
        if last <= problem.grid.ticks:
            return _on_grid(case, problem, placements, like, search)
    return None


def _weeks(answer: Answer) -> int:
    return len(answer.grid.days()) // 7


def _on_grid(
    case: Case,
    problem: Problem,
    placements: tuple[Placement, ...],
    like: Answer,
    search: Search,
) -> Answer | None:
    rounds = 0
    if case.inputs.job.climate is None:
        moved = moved_on(problem.instance, placements)
        if moved is None or verify(problem.instance, moved):
            return None
    else:
        held = AirRounds(case, problem, search).held(placements)
        if held is None:
            return None
        problem, moved, rounds = held.problem, held.placements, 1
    worth = values(problem.instance, moved)
    least = next(a.bound for a in like.aims if a.aim is AimKind.LAST_RETURN)
    if weeks_of(problem) < _weeks(like):
        raise AssertionError("a plan with room on a shorter grid than one without")
    return checked(
        problem,
        Planned(
            placements=moved,
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
