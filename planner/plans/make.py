"""From inputs to a checked plan: grids that grow until one holds a plan."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from planner import plan as nouns
from planner.air import room
from planner.errors import NoPlanError, TimeUpError
from planner.hours.grid import Grid
from planner.plans.problem import Hours, Problem, build
from planner.plans.result import Origin, plan_of
from planner.records import AirReading, Job, Product
from planner.schedule import explain
from planner.schedule.limits import Limits
from planner.schedule.outcome import NoPlan, Planned, Progress, TimeUp
from planner.schedule.solve import SOLVER, solve
from planner.schedule.verify import verify
from planner.trade.takeoff import TakeOff, take_off
from planner.trade.work import work

HORIZON_WEEKS = (6, 13, 26, 53)
EXPLAINED_WEEKS = 13  # a clash is looked for within these


@dataclass(frozen=True, slots=True, kw_only=True)
class Inputs:
    """Everything that was read: the job, its calendars, products and readings."""

    job: Job
    run_ids: tuple[str, ...]
    hours: Hours
    products: Mapping[str, Product]
    readings: tuple[AirReading, ...]
    remarks: tuple[str, ...]
    fingerprint: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Search:
    """How to search: limits, whom to tell of progress, whether to stop now."""

    limits: Limits
    on_progress: Callable[[Progress, Grid], None] | None = None
    stop: Callable[[], bool] | None = None


def takeoff_of(inputs: Inputs) -> TakeOff:
    """Return the bays of the job's room."""
    return take_off(inputs.job, ids=inputs.run_ids)


def problem_of(inputs: Inputs, *, weeks: int) -> Problem:
    """Return the problem on a grid of `weeks` from the job's earliest day."""
    job = inputs.job
    grid = Grid.from_day(
        job.earliest, days=7 * weeks, tick_minutes=job.tick_minutes, zone=job.zone
    )
    air = room.series(job.air, inputs.readings, grid)
    return build(
        job,
        work(job, takeoff_of(inputs), inputs.products),
        grid=grid,
        air=air,
        products=inputs.products,
        hours=inputs.hours,
    )


def make(inputs: Inputs, search: Search, *, program: str) -> nouns.Plan:
    """Return the best plan found; it has passed the checker.

    A plan that returns within a short grid returns before anything that only a
    longer one could hold, so the first grid with a plan is enough.

    Raises
    ------
    NoPlanError
        When the rules leave no plan within the longest grid.
    TimeUpError
        When the limits ran out before any plan was found.
    """
    for weeks in HORIZON_WEEKS:
        problem = problem_of(inputs, weeks=weeks)
        found = solve(
            problem.instance,
            limits=search.limits,
            on_progress=_told(search, problem.grid),
            stop=search.stop,
            explain=False,
        )
        match found:
            case Planned():
                return _checked(problem, found, inputs, program)
            case TimeUp():
                raise TimeUpError(
                    "time is up and no plan was found; there may be one",
                    hint="give more time with --seconds or --work-limit",
                )
            case NoPlan():
                continue
    raise no_plan(problem_of(inputs, weeks=EXPLAINED_WEEKS), search)


def _told(search: Search, grid: Grid) -> Callable[[Progress], None] | None:
    tell = search.on_progress
    return None if tell is None else lambda progress: tell(progress, grid)


def _checked(
    problem: Problem, found: Planned, inputs: Inputs, program: str
) -> nouns.Plan:
    broken = verify(problem.instance, found.placements)
    if broken:
        raise AssertionError(f"the plan breaks its rules: {'; '.join(broken)}")
    bays = [nouns.Bay(id=b.id, name=b.name) for b in takeoff_of(inputs).bays]
    origin = Origin(
        program=program,
        solver=SOLVER,
        fingerprint=inputs.fingerprint,
        remarks=inputs.remarks,
    )
    return plan_of(problem, found, bays, origin)


def no_plan(problem: Problem, search: Search) -> NoPlanError:
    """Return the error that names the rules in conflict in the user's words.

    There is no plan within the longest grid, so none within that of `problem`,
    where the clash is looked for.
    """
    clash = explain.conflict(
        problem.instance, limits=search.limits, stop=search.stop, certain=True
    )
    words = problem.facts
    head = (
        f"no plan is possible within {HORIZON_WEEKS[-1]} weeks of "
        f"{problem.job.earliest}"
    )
    if clash is None or clash.facts in ((), ("horizon",)):
        return NoPlanError(head, conflict=("the work as a whole does not fit",))
    named = dict.fromkeys(words.get(f, f) for f in clash.facts)
    helps = dict.fromkeys(
        " and ".join(_lift(words.get(f, f)) for f in facts) for facts in clash.enough
    )
    return NoPlanError(head, conflict=tuple(named), helps=tuple(helps))


def _lift(words: str) -> str:
    return f"giving way on: {words}"
