"""A plan for a problem that has changed a little since another plan was made.

Somebody is away, or a wait is longer. Most tasks keep their teams then, and with the
teams given, little is left to search for: when each task is done, and in which order.
Where these teams lose more than the earlier plan would have lost by itself, the teams
of a quick first plan with all teams are weighed as well.
"""

from collections.abc import Callable
from dataclasses import replace

from planner.errors import ProgramFaultError
from planner.schedule.check.verify import values, verify
from planner.schedule.first.greedy import first_plan
from planner.schedule.first.naming import placements_of
from planner.schedule.problem.instance import Instance
from planner.schedule.problem.outcome import AimResult, Outcome, Placement, Planned
from planner.schedule.problem.parts import Activity
from planner.schedule.space.narrowed import ImpossibleError
from planner.schedule.space.search_space import make_space
from planner.schedule.space.windows import narrow

SAME_TEAMS = "only plans with the teams of an earlier plan were weighed"


def solve_near(
    plan: tuple[Placement, ...],
    instance: Instance,
    ask: Callable[..., Outcome],
    stop: Callable[[], bool] = lambda: False,
) -> Planned | None:
    """Return the best plan found with the teams of another plan; None if there is none.

    If it is worse in the first aim than the other plan is as it stands, with the waits
    of this instance, a first plan is made with all teams. If that one is better, the
    best plan with its teams is returned instead.

    Other teams could do better, so no bound is given: each aim's bound is 0, and
    `stopped` says why. `ask` solves an instance as `solve` does. `stop` is asked
    whether time is up.
    """
    found = _with_the_teams(plan, instance, ask)
    if found is None or not instance.aims:
        return found
    aim, reached = instance.aims[0], found.aims[0].value
    known = {t.id for t in instance.tasks}
    as_it_stands = values(instance, tuple(p for p in plan if p.task in known))[aim]
    if reached > as_it_stands:
        first = _first(instance, as_it_stands, stop)
        if first is not None and values(instance, first)[aim] < reached:
            other = _with_the_teams(first, instance, ask, plan)
            if other is not None and other.aims[0].value < reached:
                return other
    return found


def _first(
    instance: Instance, floor: int, stop: Callable[[], bool]
) -> tuple[Placement, ...] | None:
    """Return a plan with any teams, made without the solver; None if none was found."""
    try:
        windows = narrow(make_space(instance, hurry=stop))
    except ImpossibleError:
        return None
    seats = first_plan(windows, floor=floor, stop=stop)
    return None if seats is None else placements_of(windows.space, seats)


def _with_the_teams(
    plan: tuple[Placement, ...],
    instance: Instance,
    ask: Callable[..., Outcome],
    *others: tuple[Placement, ...],
) -> Planned | None:
    """Return the best plan found with the people of plans, in the order of the first."""
    kept = with_teams_of(plan, instance)
    for other in others:
        kept = _with_either(kept, with_teams_of(other, instance), instance)
    found = ask(kept, starts={p.task: p.start for p in plan})
    if not isinstance(found, Planned):
        return None
    if faults := verify(instance, found.placements):
        raise ProgramFaultError(
            "a plan with the teams of another breaks the rules", found=tuple(faults)
        )
    return Planned(
        placements=found.placements,
        aims=tuple(AimResult(aim=a.aim, value=a.value, bound=0) for a in found.aims),
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
