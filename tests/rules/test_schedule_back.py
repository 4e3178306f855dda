"""A plan goes back to what was agreed, as far as every rule and the aims leave it.

Tests of planner/schedule/first/back.py, planner/schedule/first/kept.py,
planner/schedule/climb/ladder.py.
"""

from dataclasses import replace

import pytest

from planner.schedule.check.verify import values, verify
from planner.schedule.climb.solve import solve
from planner.schedule.first.back import moved_back
from planner.schedule.first.greedy import Seats, first_plan
from planner.schedule.first.kept import as_agreed
from planner.schedule.first.naming import placements_of
from planner.schedule.problem.instance import Instance
from planner.schedule.problem.limits import SearchLimits
from planner.schedule.problem.outcome import Planned
from planner.schedule.problem.parts import (
    AimKind,
    Before,
    Demand,
    Link,
    LinkKind,
    Mode,
    Pool,
)
from planner.schedule.space.narrowed import NarrowedWindows
from planner.schedule.space.search_space import make_space
from planner.schedule.space.windows import narrow
from tests.support.schedule import closure, instance, person, task, wait
from tests.support.small import small_instance

KEPT = (AimKind.LAST_RETURN, AimKind.RETURNS, AimKind.CLOSED)
PAIR = instance(
    task("saw", 3, "ana", "bo"),
    task("paint", 4, "cy"),
    people=(person("ana"), person("bo"), person("cy")),
    lookups=(wait("dry", 2),),
    links=(Link(before="saw", after="paint", wait="dry"),),
    closures=(closure("paint"),),
)


def windows_of(problem: Instance) -> NarrowedWindows:
    return narrow(make_space(problem))


def agreed(*rows: tuple[str, int, str]) -> tuple[Before, ...]:
    return tuple(Before(task=t, start=at, team=(who,)) for t, at, who in rows)


def lies(
    windows: NarrowedWindows, seats: Seats | None
) -> dict[str, tuple[int | str, ...]]:
    """Return start and people of each task in a plan that keeps every rule."""
    assert seats is not None
    placed = placements_of(windows.space, seats)
    assert verify(windows.space.instance, placed) == ()
    return {p.task: (p.start, *p.team) for p in placed}


def back(
    problem: Instance, keeps=lambda _: True, stop=lambda: False
) -> dict[str, tuple[int | str, ...]]:
    """Return where tasks lie after the first plan of a problem has gone back."""
    windows = windows_of(problem)
    seats = first_plan(windows)
    assert seats is not None
    return lies(windows, moved_back(windows, seats, keeps, stop))


def test_tasks_go_back_to_their_places_and_people():
    asked = replace(PAIR, agreed=agreed(("saw", 0, "bo"), ("paint", 6, "cy")))
    # paint goes to 5: at 6 the closure would return later than the plan has it
    assert back(asked) == {"saw": (0, "bo"), "paint": (5, "cy")}


@pytest.mark.parametrize(
    ("at", "lies_at"),
    [(0, 0), (1, 1), (6, 3)],  # whoever saws must have dried by the 5th
)
def test_what_follows_bounds_how_late_a_task_goes(at, lies_at):
    later = replace(PAIR, lookups=(wait("dry", 2),), links=PAIR.links)
    people = (person("ana"), person("bo"), person("cy", (8, 20)))
    asked = replace(later, people=people, agreed=agreed(("saw", at, "bo")))
    assert back(asked)["saw"] == (lies_at, "bo")


def test_what_starts_with_another_task_bounds_it_too():
    link = Link(before="saw", after="paint", kind=LinkKind.START_START)
    people = (person("ana"), person("bo"), person("cy", (8, 20)))
    asked = replace(PAIR, people=people, links=(link,))
    for at, lies_at in ((7, 7), (8, 8), (9, 8)):
        one = replace(asked, agreed=agreed(("saw", at, "bo")))
        assert back(one)["saw"] == (lies_at, "bo")


def test_a_coat_that_must_be_covered_in_time_stays_near_its_cover():
    people = (person("ana"), person("bo"), person("cy", (8, 20)))
    latest = Link(before="saw", after="paint", wait="cover", kind=LinkKind.LATEST)
    asked = replace(
        PAIR,
        people=people,
        lookups=(wait("dry", 2), wait("cover", 4)),
        links=(*PAIR.links, latest),
        agreed=agreed(("saw", 0, "bo")),
    )
    # it ends at 4 at the soonest, four ticks before paint begins
    assert back(asked)["saw"] == (1, "bo")


def test_a_place_that_another_task_has_is_left_to_it():
    asked = instance(
        task("saw", 3, "ana"),
        task("cut", 3, "ana"),
        people=(person("ana"),),
        closures=(),
        agreed=agreed(("saw", 1, "ana"), ("cut", 1, "ana")),
    )
    starts = sorted(at for at, _ in back(asked).values())
    assert starts in ([0, 3], [1, 4])
    held = replace(
        asked,
        tasks=tuple(
            replace(t, eligible=(who,), demands=(Demand(pool="bay"),))
            for t, who in zip(asked.tasks, ("ana", "bo"), strict=True)
        ),
        people=(person("ana"), person("bo")),
        pools=(Pool(id="bay"),),
        agreed=agreed(("saw", 1, "ana"), ("cut", 1, "bo")),
    )
    starts = sorted(at for at, _ in back(held).values())
    assert starts in ([0, 3], [1, 4])


def test_nothing_moves_for_which_an_aim_gets_worse_or_once_time_is_up():
    asked = replace(PAIR, agreed=agreed(("saw", 0, "bo"), ("paint", 6, "cy")))
    assert back(asked, keeps=lambda _: False)["saw"] == (0, "ana")
    assert back(asked, stop=lambda: True)["saw"] == (0, "ana")


def test_what_was_agreed_is_moved_on_as_far_as_a_longer_wait_asks():
    asked = replace(
        PAIR,
        lookups=(wait("dry", 5),),
        agreed=agreed(("saw", 1, "bo"), ("paint", 6, "cy")),
    )
    windows = windows_of(asked)
    assert lies(windows, as_agreed(windows)) == {"saw": (1, "bo"), "paint": (9, "cy")}


def test_who_is_away_is_stood_in_for():
    people = (person("ana"), person("bo", (0, 1)), person("cy"))
    asked = replace(PAIR, people=people, agreed=agreed(("saw", 2, "bo")))
    windows = windows_of(asked)
    assert lies(windows, as_agreed(windows))["saw"] == (2, "ana")


def test_a_due_date_may_leave_no_plan_from_the_agreed_starts_on():
    asked = replace(
        PAIR,
        closures=(closure("paint", due=9, due_fact="due"),),
        agreed=agreed(("saw", 0, "bo"), ("paint", 12, "cy")),
    )
    windows = windows_of(asked)
    assert lies(windows, as_agreed(windows))["paint"] == (5, "cy")  # its only start


@pytest.mark.parametrize("seed", range(3000, 3040))
def test_small_problems_go_back_within_every_rule_and_no_aim_gets_worse(seed):
    made = small_instance(seed)
    windows = windows_of_or_none(made)
    seats = None if windows is None else first_plan(windows)
    if windows is None or seats is None:
        return
    before = values(made, placements_of(windows.space, seats))

    def keeps(moved: Seats) -> bool:
        now = values(made, placements_of(windows.space, moved))
        return now[AimKind.CHANGE] <= before[AimKind.CHANGE]

    placed = placements_of(windows.space, moved_back(windows, seats, keeps))
    assert verify(made, placed) == ()
    after = values(made, placed)
    assert after[AimKind.CHANGE] <= before[AimKind.CHANGE]
    for aim in KEPT:
        assert after[aim] <= before[aim]


def windows_of_or_none(made: Instance) -> NarrowedWindows | None:
    found = solve(made, limits=SearchLimits(work=0.01), explain=False)
    return windows_of(made) if isinstance(found, Planned) else None


def test_some_of_the_small_problems_did_go_back():
    """The test above would pass if nothing ever moved."""
    gains = 0
    for seed in range(3000, 3040):
        made = small_instance(seed)
        windows = windows_of_or_none(made)
        seats = None if windows is None else first_plan(windows)
        if windows is not None and seats is not None:
            moved = moved_back(windows, seats, lambda _: True)
            gains += placements_of(windows.space, moved) != placements_of(
                windows.space, seats
            )
    assert gains >= 5


def test_without_work_left_a_plan_that_stands_changes_nothing():
    tasks = tuple(task(f"t{k}", 3, "ana", "bo") for k in range(5))
    people = (person("ana", (0, 60)), person("bo", (0, 60)))
    asked = instance(
        *tasks,
        people=people,
        horizon=60,
        aims=(AimKind.LAST_RETURN, AimKind.CHANGE),
        agreed=agreed(
            ("t0", 6, "ana"), ("t1", 0, "bo"), ("t2", 3, "bo"), ("t3", 0, "ana")
        ),
    )
    found = solve(asked, limits=SearchLimits(work=1e-9))
    assert isinstance(found, Planned)
    value = {a.aim: a.value for a in found.aims}
    assert value[AimKind.LAST_RETURN] == 9
    assert value[AimKind.CHANGE] == 0


def test_modes_of_the_agreed_size_are_kept():
    sizes = (Mode(size=1, ticks=4), Mode(size=2, ticks=2))
    asked = replace(
        PAIR,
        tasks=(replace(PAIR.tasks[0], modes=sizes), PAIR.tasks[1]),
        agreed=(Before(task="saw", start=0, team=("ana", "bo")),),
    )
    windows = windows_of(asked)
    assert lies(windows, as_agreed(windows))["saw"] == (0, "ana", "bo")
