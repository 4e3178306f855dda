"""People who are alike are counted; the best plan must not be lost by it.

Tests of planner/schedule/check/verify.py, planner/schedule/climb/solve.py,
planner/schedule/space/teams.py.
"""

from dataclasses import replace
from random import Random

import pytest

from planner.schedule.check.verify import values, verify
from planner.schedule.climb.solve import solve
from planner.schedule.problem.instance import Instance
from planner.schedule.problem.outcome import NoPlan, Planned
from planner.schedule.problem.parts import Activity, AimKind, Before, Mode, Pin
from planner.schedule.space.teams import find_groups
from tests.support.small import best_by_trial, seats_to_try, small_instance

HANGS_ON_PEOPLE = (AimKind.CALLS, AimKind.COST, AimKind.CHANGE)


MOST_SEATS = 40_000  # to try, so that trying all of them stays quick


def with_doubles(seed: int) -> Instance:
    """Return a small instance in which somebody has a double, or two.

    The aims begin with one that hangs on who is taken; sometimes a pin or an agreed
    team names one of them, or both.
    """
    r = Random(seed)
    while True:
        made = _with_doubles(r, small_instance(r.randrange(10**6)))
        alike = any(len(g.members) > 1 for g in find_groups(made))
        if alike and seats_to_try(made) <= MOST_SEATS:
            return made


def _with_doubles(r: Random, made: Instance) -> Instance:
    one = r.choice(made.people)
    names = (one.id, *("yan", "zed")[: r.choice((1, 2)) if len(made.people) < 3 else 1])
    doubles = tuple(replace(one, id=name) for name in names[1:])
    pairs = r.random() < 0.5
    tasks = tuple(_open_to(t, one.id, names, pairs=pairs) for t in made.tasks)
    named = [names[:1], names[:2], names[1:2], (r.choice(made.people).id,)]
    open_tasks = [t.id for t in tasks if one.id in t.eligible]
    pins = made.pins
    if open_tasks and r.random() < 0.2:
        pins = (Pin(task=r.choice(open_tasks), team=r.choice(named[:3])),)
    first = r.choice(HANGS_ON_PEOPLE)
    return replace(
        made,
        people=(*made.people, *doubles),
        tasks=tasks,
        pins=pins,
        agreed=tuple(
            Before(task=b.task, start=b.start, team=r.choice(named))
            for b in made.agreed
            if first is AimKind.CHANGE or r.random() < 0.3
        ),
        aims=(first, *(a for a in made.aims if a is not first)),
    )


def _open_to(
    task: Activity, one: str, names: tuple[str, ...], *, pairs: bool
) -> Activity:
    """Return the task with the doubles wherever the one stands."""

    def more(people: tuple[str, ...]) -> tuple[str, ...]:
        return (*people, *names[1:]) if one in people else people

    modes = task.modes
    if pairs and all(m.size == 1 for m in modes):
        modes = (*modes, Mode(size=2, ticks=max(1, modes[0].ticks - 1)))
    leads = None if task.leads is None else more(task.leads)
    return replace(task, eligible=more(task.eligible), leads=leads, modes=modes)


def check_against_trial(seed: int) -> None:
    problem = with_doubles(seed)
    outcome, best = solve(problem, explain=False), best_by_trial(problem)
    if isinstance(outcome, NoPlan):
        assert best is None
        return
    assert isinstance(outcome, Planned)
    assert all(aim.proven for aim in outcome.aims)
    assert verify(problem, outcome.placements) == ()
    found = values(problem, outcome.placements)
    assert tuple(found[aim] for aim in problem.aims) == best


@pytest.mark.parametrize("seed", range(3005, 3010))
def test_counting_people_who_are_alike_loses_no_plan(seed):
    check_against_trial(seed)


@pytest.mark.slow
@pytest.mark.parametrize("seed", [*range(3000, 3005), *range(3010, 3420)])
def test_counting_people_who_are_alike_loses_no_plan_many_times(seed):
    check_against_trial(seed)
