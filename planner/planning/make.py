"""From inputs to a checked plan: grids that grow until one holds a plan."""

from planner.errors import ProgramFaultError
from planner.judge import judged
from planner.nouns import plan as nouns
from planner.nouns.inputs import Inputs
from planner.planning.document import Origin, plan_of
from planner.planning.horizons import HORIZON_WEEKS
from planner.planning.posing import problem_of, takeoff_of
from planner.planning.problem import Problem
from planner.planning.refusals.no_plan import EXPLAINED_WEEKS, Damp, no_plan, too_damp
from planner.planning.refusals.too_few import refuse_lifts
from planner.planning.refusals.too_long import refuse
from planner.planning.refusals.unmanned import refuse_unmanned
from planner.planning.rounds import Rounds, Settled
from planner.planning.searching import Search, solved, time_up
from planner.schedule.check.verify import verify
from planner.schedule.climb.solve import SOLVER
from planner.schedule.problem.outcome import NoPlan, Planned, TimeUp


def make(inputs: Inputs, search: Search, *, program: str) -> nouns.Plan:
    """Return the best plan found; it has passed the checker in its own air.

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
    damp: tuple[Problem, Damp] | None = None
    some_teams: TimeUp | None = None
    for weeks in HORIZON_WEEKS:
        problem = problem_of(inputs, weeks=weeks)
        refuse_lifts(inputs.job, takeoff_of(inputs), problem.work.tasks)
        refuse_unmanned(problem)
        refuse(problem, lambda: problem_of(inputs, weeks=HORIZON_WEEKS[-1]))
        if inputs.job.climate is None:
            answer = _in_given_air(problem, search)
        else:
            rounds = Rounds(inputs, problem, search)
            answer = rounds.settled()
            damp = (problem, rounds.damp) if rounds.damp is not None else damp
        if isinstance(answer, Settled):
            return _checked(answer, inputs, program)
        some_teams = answer or some_teams
        if search.over():
            raise time_up()
    if some_teams is not None:
        raise time_up(some_teams)
    if damp is not None:
        raise too_damp(inputs, *damp)
    problem = problem_of(inputs, weeks=EXPLAINED_WEEKS)
    if inputs.job.climate is not None:
        problem = Rounds(inputs, problem, search).least
    raise no_plan(inputs, problem, search)


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


def _checked(answer: Settled, inputs: Inputs, program: str) -> nouns.Plan:
    """Return an answer as a plan once checker and judge have passed it.

    The checker judges the answer by the instance, the judge the plan by the job.
    """
    problem, found = answer.problem, answer.found
    broken = verify(problem.instance, found.placements)
    if broken:
        raise ProgramFaultError(
            "the plan found breaks the rules it was made by", found=tuple(broken)
        )
    origin = Origin(
        program=program,
        solver=SOLVER,
        fingerprint=inputs.fingerprint,
        readings=inputs.readings,
        remarks=(*answer.said, *inputs.remarks),
    )
    made = plan_of(problem, found, takeoff_of(inputs), origin, answer.proof)
    faults = judged(inputs, made)
    if faults:
        raise ProgramFaultError("the plan isn't what the job asks for", found=faults)
    return made
