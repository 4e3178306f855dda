"""A plan for a problem that has changed a little since another plan was made.

Somebody is away, or a wait is longer. Most tasks keep their teams then, and with the
teams given, little is left to search for: when each task is done, and in which order.
"""

from collections.abc import Callable
from dataclasses import replace

from planner.errors import ProgramFaultError
from planner.schedule.check.verify import verify
from planner.schedule.problem.instance import Instance
from planner.schedule.problem.outcome import AimResult, Outcome, Placement, Planned
from planner.schedule.problem.parts import Activity

SAME_TEAMS = "only plans with the teams of an earlier plan were weighed"


def solve_near(
    plan: tuple[Placement, ...],
    instance: Instance,
    ask: Callable[..., Outcome],
) -> Planned | None:
    """Return the best plan found with the teams of another plan; None if there is none.

    Other teams could do better, so no bound is given: each aim's bound is 0, and
    `stopped` says why. `ask` solves an instance as `solve` does.
    """
    found = ask(with_teams_of(plan, instance), starts={p.task: p.start for p in plan})
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
