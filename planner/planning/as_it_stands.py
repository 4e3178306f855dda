"""A plan of one case laid over another: whether it holds there, as it stands."""

from planner.nouns.case import Case
from planner.planning.answer import Answer, checked
from planner.planning.inside import coats_of
from planner.planning.posing import posed
from planner.planning.problem import Problem
from planner.schedule.check.verify import values, verify
from planner.schedule.problem.outcome import AimResult, Planned

AS_IT_STANDS = "only the plan at hand was weighed"


def as_it_stands(case: Case, other: Answer) -> Answer | None:
    """Return another case's answer as one to this case; None where it breaks a rule.

    Each task has the team and the ticks that it has there, and the waits after it are
    those of this case. Nothing is proven of it: each aim's bound is 0.
    """
    problem = _problem(case, other)
    if problem is None or verify(problem.instance, other.placements):
        return None
    reached = values(problem.instance, other.placements)
    found = Planned(
        placements=other.placements,
        aims=tuple(
            AimResult(aim=aim, value=reached[aim], bound=0)
            for aim in problem.instance.aims
        ),
        stopped=AS_IT_STANDS,
    )
    rounds = 0 if case.inputs.job.climate is None else max(other.rounds, 1)
    return checked(problem, found, fingerprint=case.fingerprint, rounds=rounds)


def _problem(case: Case, other: Answer) -> Problem | None:
    """Return the problem in the air that the plan's coats make in it; None: other tasks."""
    weeks = len(other.grid.days()) // 7
    problem = posed(case, weeks=weeks)
    if problem.grid != other.grid:
        return None
    if not {p.task for p in other.placements} <= {t.id for t in problem.work.tasks}:
        return None
    if case.inputs.job.climate is None:
        return problem
    coats = coats_of(problem.work, problem.products, other.placements)
    return posed(case, weeks=weeks, coats=coats)
