"""From a case to the best answer found: grids that grow until one holds a plan."""

from planner.errors import NoPlanError
from planner.nouns.case import Case
from planner.planning.answer import Answer, checked
from planner.planning.horizons import HORIZON_WEEKS
from planner.planning.posing import posed, takeoff_of
from planner.planning.problem import Problem
from planner.planning.refusals.no_plan import EXPLAINED_WEEKS, no_plan, not_held
from planner.planning.refusals.too_few import refuse_lifts
from planner.planning.refusals.too_long import refuse
from planner.planning.refusals.too_short import refuse_short_days
from planner.planning.refusals.unmanned import refuse_unmanned
from planner.planning.rounds import AirRounds, NotHeld, Settled
from planner.planning.searching import Search, solved, time_up
from planner.schedule.problem.outcome import NoPlan, Planned, TimeUp


def answer(case: Case, search: Search) -> Answer:
    """Return the best answer found; it has passed the checker in its own air.

    A plan that returns within a short grid returns before anything that only a
    longer one could hold, so the first grid with a plan is enough. Where the job
    describes the room, planning goes in rounds, see `rounds`.

    Raises
    ------
    NoPlanError
        When the rules leave no plan within the longest grid.
    TimeUpError
        When the limits ran out before any plan was found.
    """
    inputs = case.inputs
    unheld: tuple[Problem, NotHeld] | None = None
    some_teams: TimeUp | None = None
    for weeks in HORIZON_WEEKS:
        problem = posed(case, weeks=weeks)
        refuse_lifts(inputs.job, takeoff_of(inputs), problem.work.tasks)
        refuse_unmanned(problem)
        for refusing in (refuse, refuse_short_days):
            refusing(problem, lambda: posed(case, weeks=HORIZON_WEEKS[-1]))
        found: Settled | NotHeld | TimeUp | None
        if inputs.job.climate is None:
            found = _in_given_air(problem, search)
        else:
            found = AirRounds(case, problem, search).settled()
        if isinstance(found, Settled):
            return checked(
                found.problem,
                found.found,
                fingerprint=case.fingerprint,
                proof=found.proof,
                rounds=found.rounds,
            )
        match found:
            case TimeUp():
                some_teams = found
            case NotHeld():
                unheld = (problem, found)
            case None:
                pass
        if search.over():
            raise time_up()
        if _reaches(problem, case):
            break
    if some_teams is not None:
        raise time_up(some_teams)
    if unheld is not None:
        raise not_held(inputs, unheld[0], unheld[1].damp)
    if not search.explain:
        raise NoPlanError("no plan is possible in the time asked for", conflict=())
    problem = posed(case, weeks=EXPLAINED_WEEKS)
    if inputs.job.climate is not None:
        problem = AirRounds(case, problem, search).least
    raise no_plan(inputs, problem, search)


def _reaches(problem: Problem, case: Case) -> bool:
    """Tell whether a grid holds all that is asked, so that a longer one holds no more."""
    last = case.window.not_after
    return last is not None and last <= problem.grid.end


def _in_given_air(problem: Problem, search: Search) -> Settled | TimeUp | None:
    """Return the best plan where wet work changes nothing in the air.

    TimeUp where not all teams were weighed, so that a longer grid may have one.
    """
    match found := solved(problem, search):
        case Planned():
            return Settled(problem=problem, found=found)
        case TimeUp(some_teams=True):
            return found
        case TimeUp():
            raise time_up()
        case NoPlan():
            return None
