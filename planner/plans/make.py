"""From inputs to a checked plan: grids that grow until one holds a plan."""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from planner import plan as nouns
from planner.air import balance
from planner.air.wet_work import Laid
from planner.errors import NoPlanError, ProgramFaultError, TimeUpError
from planner.hours.grid import Grid
from planner.inputs import Inputs
from planner.judge import judged
from planner.matter import Air
from planner.plans.inside import coats_of, inside, usable_h
from planner.plans.problem import Problem, build, wait_name
from planner.plans.result import Origin, plan_of
from planner.plans.too_few import refuse_lifts
from planner.plans.too_long import refuse
from planner.plans.unmanned import refuse_unmanned
from planner.schedule import explain
from planner.schedule.limits import Limits, Watch
from planner.schedule.outcome import (
    NoPlan,
    Outcome,
    Placement,
    Planned,
    Progress,
    TimeUp,
)
from planner.schedule.solve import SOLVER, solve
from planner.schedule.verify import verify
from planner.trade.takeoff import TakeOff, take_off
from planner.trade.work import work

HORIZON_WEEKS = (6, 13, 26, 53)
ROUND_SHARE = 0.25  # of the work, for a round; its tidying isn't needed yet
LAST_SHARE = 1.0  # of the work, for the plan in the air that was settled on
PARTS = ROUND_SHARE * 5 + LAST_SHARE  # so that all rounds keep the clock's limit
ROUNDS = 4  # of planning and working out the air, before it is called unsettled
NOT_SHOWN = (
    "that there is no plan is certain; that each of these has a part in it was not shown "
    "before time or work ran out: some may be innocent, more of --seconds or "
    "--work-limit can tell"
)
EXPLAINED_WEEKS = 13  # a clash is looked for within these


@dataclass(frozen=True, slots=True, kw_only=True)
class Search:
    """How to search: limits, whom to tell of progress and plans, whether to stop now.

    `on_found` is given each plan that is better than the ones before, as the engine
    found it and before it is checked as a whole.
    """

    limits: Limits
    on_progress: Callable[[Progress, Grid], None] | None = None
    on_found: Callable[[Problem, tuple[Placement, ...]], None] | None = None
    stop: Callable[[], bool] | None = None

    def over(self) -> bool:
        """Tell whether to stop: the clock ran out, or the user asked."""
        return Watch(self.limits, self.stop).over()


def takeoff_of(inputs: Inputs) -> TakeOff:
    """Return the bays of the job's room."""
    return take_off(inputs.job, ids=inputs.run_ids)


def problem_of(
    inputs: Inputs, *, weeks: int, coats: tuple[Laid, ...] = (), air: Air | None = None
) -> Problem:
    """Return the problem on a grid of `weeks` from the job's earliest day.

    `coats` give their water to the room; `air` stands in for the room's air.
    """
    job = inputs.job
    grid = Grid.from_day(
        job.earliest, days=7 * weeks, tick_minutes=job.tick_minutes, zone=job.zone
    )
    own = inside(inputs, grid, coats).air if air is None else air
    return build(
        job,
        work(job, takeoff_of(inputs), inputs.products, usable_h(inputs.products, own)),
        grid=grid,
        air=own,
        products=inputs.products,
        hours=inputs.hours,
    )


def make(inputs: Inputs, search: Search, *, program: str) -> nouns.Plan:
    """Return the best plan found; it has passed the checker in its own air.

    Where the job describes the room, planning goes round: the plan's wet work
    changes the air, and the air the plan, until no wait changes by more than a tick.

    Raises
    ------
    NoPlanError
        When the rules leave no plan within the longest grid.
    TimeUpError
        When the limits ran out before any plan was found.
    """
    if inputs.job.climate is None:
        problem, found = _first(inputs, search)
        return _checked(problem, found, inputs, program)
    quick = replace(search, limits=_part(search.limits, ROUND_SHARE))
    last = replace(search, limits=_part(search.limits, LAST_SHARE))
    problem, found = _first(inputs, quick)
    for number in range(1, ROUNDS + 1):
        own = _in_own_air(inputs, problem, found)
        if _settled(problem, own, found):
            own, found = _best_settled(inputs, own, found, last)
            said = f"the air holds the plan's own wet work, after {number} rounds"
            return _checked(own, found, inputs, program, said)
        if search.over():
            return _stopped(inputs, problem, found, last, program)
        problem, found = _first(
            inputs, quick, coats_of(problem.work, problem.products, found.placements)
        )
    own = _in_own_air(inputs, problem, found)
    problem, found = _first(inputs, last, damped=(problem.air, own.air))
    said = (
        f"plan and air did not settle in {ROUNDS} rounds: the damper air of the "
        "last two is used"
    )
    return _checked(problem, found, inputs, program, said, in_own_air=False)


def _stopped(
    inputs: Inputs, problem: Problem, found: Planned, search: Search, program: str
) -> nouns.Plan:
    """Return the plan at hand if it stands in its own air; else one in the damper air."""
    own = _in_own_air(inputs, problem, found)
    said = "the search was stopped before plan and air had settled: "
    if verify(own.instance, found.placements):
        problem, found = _first(inputs, search, damped=(problem.air, own.air))
        said += "the damper air of the last two is used"
    else:
        problem = own
        said += "the air holds the plan's own wet work"
    return _checked(problem, found, inputs, program, said)


def _part(limits: Limits, share: float) -> Limits:
    """Return a share of the limits; of the clock what a round may take of it."""
    clock_s = None if limits.clock_s is None else limits.clock_s * share / PARTS
    return replace(limits, work=limits.work * share, clock_s=clock_s)


def _in_own_air(inputs: Inputs, problem: Problem, found: Planned) -> Problem:
    """Return the problem in the air that a plan's own coats make."""
    coats = coats_of(problem.work, problem.products, found.placements)
    return problem_of(inputs, weeks=_weeks(problem), coats=coats)


def _best_settled(
    inputs: Inputs, own: Problem, found: Planned, search: Search
) -> tuple[Problem, Planned]:
    """Return the best plan of the settled air if it stands in its own; else `found`."""
    better = _solved(own, search)
    if not isinstance(better, Planned):
        return own, found
    again = _in_own_air(inputs, own, better)
    return (again, better) if _settled(own, again, better) else (own, found)


def _settled(before: Problem, own: Problem, found: Planned) -> bool:
    """Tell whether a plan stands in its own air, no wait a tick off what it assumed."""
    if verify(own.instance, found.placements):
        return False
    ends = {p.task: p.end for p in found.placements}
    waits = {
        (x.before, wait_name(x.wait))
        for x in own.work.links
        if x.wait and x.before in ends
    }
    waits |= {(t, wait_name(w)) for r in own.work.returns for t, w in r.after if w}
    return all(
        abs(own.lookups[n].over[ends[t]] - before.lookups[n].over[ends[t]]) <= 1
        for t, n in waits
    )


def _weeks(problem: Problem) -> int:
    days = len(problem.grid.days())
    return days // 7


def _first(
    inputs: Inputs,
    search: Search,
    coats: tuple[Laid, ...] = (),
    damped: tuple[Air, Air] | None = None,
) -> tuple[Problem, Planned]:
    """Return the first grid that holds a plan, with the plan.

    A plan that returns within a short grid returns before anything that only a
    longer one could hold, so the first grid with a plan is enough.
    """
    some_teams = False
    for weeks in HORIZON_WEEKS:
        problem = problem_of(inputs, weeks=weeks, coats=coats)
        refuse_lifts(inputs.job, takeoff_of(inputs), problem.work.tasks)
        refuse_unmanned(problem)
        refuse(problem, lambda: problem_of(inputs, weeks=HORIZON_WEEKS[-1]))
        if damped is not None and len(damped[0]) == len(damped[1]) == len(problem.air):
            air = balance.damper(*damped)
            problem = problem_of(inputs, weeks=weeks, air=air)
        match found := _solved(problem, search):
            case Planned():
                return problem, found
            case TimeUp(some_teams=True):
                some_teams = True
            case TimeUp():
                raise TimeUpError(
                    "time is up and no plan was found; there may be one",
                    hint="give more time with --seconds or --work-limit",
                )
            case NoPlan():
                continue
    if some_teams:
        raise TimeUpError(
            "the crew makes too many teams to weigh them all, and those that were "
            "weighed give no plan; there may be one",
            hint="people with the same trades, hours, rest and rate count as one: give "
            "more of the crew the same hours, or leave some of them out",
        )
    raise no_plan(problem_of(inputs, weeks=EXPLAINED_WEEKS), search)


def _solved(problem: Problem, search: Search) -> Outcome:
    """Return what the engine makes of a problem; a clash is not looked for."""
    tell, grid, note = search.on_progress, problem.grid, search.on_found
    return solve(
        problem.instance,
        limits=search.limits,
        on_progress=None if tell is None else lambda progress: tell(progress, grid),
        on_found=None if note is None else lambda placed: note(problem, placed),
        stop=search.stop,
        explain=False,
    )


def _checked(
    problem: Problem,
    found: Planned,
    inputs: Inputs,
    program: str,
    *said: str,
    in_own_air: bool = True,
) -> nouns.Plan:
    """Return an answer as a plan once checker and judge have passed it.

    The checker judges the answer by the instance, the judge the plan by the job. The
    air of two rounds is no plan's own, so the judge isn't asked of it.
    """
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
        remarks=(*inputs.remarks, *said),
    )
    made = plan_of(problem, found, takeoff_of(inputs), origin)
    faults = judged(inputs, made) if in_own_air else ()
    if faults:
        raise ProgramFaultError("the plan isn't what the job asks for", found=faults)
    return made


def no_plan(problem: Problem, search: Search) -> NoPlanError:
    """Return the error that names the rules in conflict in the user's words.

    There is no plan within the longest grid, so none within that of `problem`,
    where the clash is looked for.
    """
    words = problem.facts
    head = (
        f"no plan is possible within {HORIZON_WEEKS[-1]} weeks of "
        f"{problem.job.earliest}"
    )
    never = never_kept(problem)
    if never:
        return NoPlanError(
            head,
            conflict=tuple(f"no hour keeps {w}" for w in never),
            helps=(
                "heating, ventilation or a dehumidifier in [air.room]; see the room "
                "with: covetime air JOB",
            ),
        )
    try:
        clash = explain.conflict(
            problem.instance, limits=search.limits, stop=search.stop, certain=True
        )
    except KeyboardInterrupt:
        unknown = "stopped before it was found out which rules"
        raise NoPlanError(head, conflict=(unknown,)) from None
    if clash is None or clash.facts in ((), ("horizon",)):
        return NoPlanError(head, conflict=("the work as a whole does not fit",))
    named = dict.fromkeys(words.get(f, f) for f in clash.facts)
    helps = dict.fromkeys(
        " and ".join(_lift(words.get(f, f)) for f in facts) for facts in clash.enough
    )
    return NoPlanError(
        head,
        conflict=tuple(named),
        helps=tuple(helps),
        not_shown="" if clash.minimal else NOT_SHOWN,
    )


def never_kept(problem: Problem) -> tuple[str, ...]:
    """Return, in words, the limits on the air that no start of any task could keep."""
    ends = np.arange(problem.grid.ticks + 1)
    over = {x.name: np.array(x.over) for x in problem.instance.lookups}
    out: dict[str, None] = {}
    for task in problem.instance.tasks:
        if task.optional:
            continue
        least = min(m.ticks for m in task.modes)
        for hold in task.holds:
            until = over.get(hold.until, ends)[least:]
            bad = np.concatenate(([0], np.cumsum(hold.bad.mask(problem.grid.ticks))))
            starts = ends[: len(until)]
            within = until <= problem.grid.ticks
            kept = bad[np.where(within, until, starts)] == bad[starts]
            if not (within & kept).any():
                out[problem.facts[hold.fact]] = None
    return tuple(out)


def _lift(words: str) -> str:
    return f"giving way on: {words}"
