"""From a case to the best answer found: grids that grow until one holds a plan."""

from collections.abc import Callable
from dataclasses import replace
from functools import partial

from planner.errors import NoPlanError, TimeUpError
from planner.nouns.case import Case
from planner.planning.answer import Answer, checked
from planner.planning.horizons import HORIZON_WEEKS
from planner.planning.posing import posed, takeoff_of
from planner.planning.problem import Problem
from planner.planning.refusals.air_limits import never_kept
from planner.planning.refusals.at_once import refuse_at_once
from planner.planning.refusals.no_plan import EXPLAINED_WEEKS, no_plan, not_held
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
        refuse_at_once(problem, takeoff_of(inputs), partial(_longest, case))
        found = _on_grid(case, problem, search)
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


def fits(case: Case, search: Search) -> bool:
    """Tell whether some plan was found; False proves nothing."""
    return first_fit(case, search) is not None


def first_fit(
    case: Case, search: Search, pose: Callable[..., Problem] = posed
) -> Answer | None:
    """Return a plan, the first that came, checked; not the best one.

    `pose` makes the problem of a case on a grid of some `weeks`. None proves nothing:
    only the shorter grids are looked at, and the search ends with its limits.
    """
    found: list[Problem] = []

    def over() -> bool:
        return bool(found) or (search.stop is not None and search.stop())

    first = replace(
        search, on_found=lambda problem, _: found.append(problem), stop=over
    )
    try:
        for weeks in HORIZON_WEEKS[:2]:
            problem = pose(case, weeks=weeks)
            refuse_at_once(problem, takeoff_of(case.inputs), partial(_same, problem))
            if never_kept(problem):
                continue
            one = _on_grid(case, problem, first)
            if isinstance(one, Settled):
                return checked(one.problem, one.found, fingerprint=case.fingerprint)
            if first.over():
                return None
    except (NoPlanError, TimeUpError):
        return None
    return None


def _same(problem: Problem) -> Problem:
    return problem


def _longest(case: Case) -> Problem:
    return posed(case, weeks=HORIZON_WEEKS[-1])


def _on_grid(
    case: Case, problem: Problem, search: Search
) -> Settled | NotHeld | TimeUp | None:
    """Return the best plan of one grid; None where it has none."""
    if case.inputs.job.climate is None:
        return _in_given_air(problem, search)
    return AirRounds(case, problem, search).settled()


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
