"""A plan for a problem that has changed a little since another plan was made.

Somebody is away, or a wait is longer. Often the plan can be mended (see `repair`). If
not, or if people were told the plan, it is searched for. Most tasks keep their teams, and
with the teams given, little is left to find: when each task is done, in which order.
Where these teams lose more than the earlier plan would have lost by itself, the teams
of a quick first plan with all teams are weighed as well.
"""

from collections.abc import Callable
from dataclasses import replace
from functools import partial

from planner.schedule.check.verify import values
from planner.schedule.climb.repair import mended
from planner.schedule.first.greedy import first_plan
from planner.schedule.first.naming import placements_of
from planner.schedule.problem.instance import Instance
from planner.schedule.problem.limits import StoppedError
from planner.schedule.problem.outcome import AimResult, Outcome, Placement, Planned
from planner.schedule.problem.parts import Activity, AimKind
from planner.schedule.space.memory import Memory
from planner.schedule.space.narrowed import ImpossibleError
from planner.schedule.space.search_space import make_space
from planner.schedule.space.windows import narrow

SAME_TEAMS = (
    "only the teams of an earlier plan were weighed, and where these lose time those of "
    "a quick first plan"
)


def solve_near(
    plan: tuple[Placement, ...],
    instance: Instance,
    ask: Callable[..., Outcome],
    stop: Callable[[], bool] = lambda: False,
) -> Planned | None:
    """Return the best plan found with the teams of another plan; None if there is none.

    If the other plan can be mended well, that is the answer (see `mended`). Else a plan
    with these teams is sought that returns no later than the other plan does as it
    stands, with the waits of this instance. If there is none, a first plan is made with
    all teams, and the best plan with the people of either is returned.

    Other teams could do better, so each aim's bound is 0, and `stopped` says why; after
    a search, its `bound_of_teams` holds for the teams of the other plan. `ask` solves an
    instance as `solve` does. `stop` is asked whether time is up.
    """
    kept, memory = with_teams_of(plan, instance), Memory()
    good = mended(plan, instance, kept, memory, stop)
    if good is not None:
        return good
    last = _last_return(plan, instance)
    ask = partial(ask, memory=memory)
    found = _best(_due_by(kept, last), (plan,), ask)
    if found is not None:
        return found
    first = _first(instance, last, memory, stop)
    if first is None:
        return _best(kept, (plan,), ask)
    either = _with_either(kept, with_teams_of(first, instance), instance)
    return _best(either, (plan, first), ask)


def _last_return(plan: tuple[Placement, ...], instance: Instance) -> int:
    """Return when a plan returns in an instance, as far as it lies within it."""
    known = {t.id for t in instance.tasks}
    inside = tuple(p for p in plan if p.task in known and p.end <= instance.horizon)
    return min(values(instance, inside)[AimKind.LAST_RETURN], instance.horizon)


def _due_by(instance: Instance, last: int) -> Instance:
    """Return the instance that is due by then, if it is returns that are weighed."""
    if instance.aims[:1] != (AimKind.LAST_RETURN,):
        return instance
    closures = (
        replace(c, due=last if c.due is None else min(last, c.due))
        for c in instance.closures
    )
    return replace(instance, closures=tuple(closures))


def _first(
    instance: Instance, floor: int, memory: Memory, stop: Callable[[], bool]
) -> tuple[Placement, ...] | None:
    """Return a plan with any teams, made without the solver; None if none was found.

    Nor is there one once it is time to `stop`: a large crew has many teams to prepare.
    """

    def check() -> None:
        if stop():
            raise StoppedError

    try:
        windows = narrow(make_space(instance, memory, check))
    except (ImpossibleError, StoppedError):
        return None
    seats = first_plan(windows, floor=floor, stop=stop)
    return None if seats is None else placements_of(windows.space, seats)


def _best(
    instance: Instance,
    plans: tuple[tuple[Placement, ...], ...],
    ask: Callable[..., Outcome],
) -> Planned | None:
    """Return the best plan of an instance; first the tasks are placed as in plans."""
    found = ask(
        instance, orders=tuple({p.task: p.start for p in plan} for plan in plans)
    )
    if not isinstance(found, Planned):
        return None
    return Planned(
        placements=found.placements,
        aims=tuple(
            AimResult(aim=a.aim, value=a.value, bound=0, bound_of_teams=a.bound)
            for a in found.aims
        ),
        stopped=SAME_TEAMS,
    )


def _with_either(one: Instance, two: Instance, whole: Instance) -> Instance:
    """Return the instance whose tasks have the sizes and people of either instance."""
    tasks = []
    for a, b, task in zip(one.tasks, two.tasks, whole.tasks, strict=True):
        eligible = {*a.eligible, *b.eligible}
        leads = None
        if task.leads is not None:
            leads = tuple(p for p in task.leads if p in eligible)
        modes = tuple(m for m in task.modes if m in a.modes or m in b.modes)
        people = tuple(p for p in task.eligible if p in eligible)
        tasks.append(replace(task, modes=modes, eligible=people, leads=leads))
    return replace(whole, tasks=tuple(tasks))


def with_teams_of(plan: tuple[Placement, ...], instance: Instance) -> Instance:
    """Return the instance in which each task may only have the team of the plan.

    A task that the plan leaves out keeps all its teams. So does one whose team can't
    work when the plan has it at work, as when one of them is away.
    """
    placed = {p.task: p for p in plan}
    return replace(
        instance,
        tasks=tuple(
            _with_team(task, placed.get(task.id), instance) for task in instance.tasks
        ),
    )


def _with_team(
    task: Activity, placed: Placement | None, instance: Instance
) -> Activity:
    if placed is None:
        return task
    team = set(placed.team)
    modes = tuple(m for m in task.modes if m.size == len(team))
    there = [p for p in instance.people if p.id in team]
    known = len(there) == len(team) and team <= set(task.eligible)
    leads = None if task.leads is None else tuple(p for p in task.leads if p in team)
    led = not team or leads is None or bool(leads)
    at_work = all(not (placed.worked - p.open) for p in there)
    if not (modes and known and led and at_work):
        return task
    return replace(task, modes=modes, eligible=tuple(sorted(team)), leads=leads)
