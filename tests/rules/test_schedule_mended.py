"""A plan is mended for a problem that changed a little: what holds stays, the rest is new.

Tests of planner/schedule/climb/repair.py, planner/schedule/first/kept.py,
planner/schedule/climb/near.py, planner/schedule/space/narrowed.py.
"""

from dataclasses import replace
from functools import partial

import pytest

from planner.schedule.check.verify import values, verify
from planner.schedule.climb.near import SAME_TEAMS, solve_near, with_teams_of
from planner.schedule.climb.repair import MENDED, mended
from planner.schedule.climb.solve import solve
from planner.schedule.first.kept import kept_until, moved_on_in
from planner.schedule.first.naming import placements_of
from planner.schedule.problem.instance import Instance
from planner.schedule.problem.outcome import Placement, Planned
from planner.schedule.problem.parts import AimKind, Before, Link
from planner.schedule.space.memory import Memory
from planner.schedule.space.narrowed import cuts_of
from planner.schedule.space.search_space import make_space
from planner.schedule.space.windows import narrow
from tests.support.schedule import closure, instance, person, place, task, wait

AIMS = (AimKind.LAST_RETURN, AimKind.CLOSED, AimKind.CALLS)
DAYS = ((0, 8), (10, 18), (20, 28), (30, 38))
NAMES = ("saw", "fix", "paint")


def chain(*, dry: int = 2, ana=DAYS, bo=DAYS, cy=DAYS, **more) -> Instance:
    """Return saw, fix and paint, one after the other, each in one go by one of two."""
    return instance(
        task("saw", 4, "ana", "bo", one_go=True),
        task("fix", 6, "bo", "cy", one_go=True),
        task("paint", 4, "ana", "cy", one_go=True),
        people=(person("ana", *ana), person("bo", *bo), person("cy", *cy)),
        horizon=40,
        lookups=(wait("dry", dry, 40),),
        links=(
            Link(before="saw", after="fix"),
            Link(before="fix", after="paint", wait="dry"),
        ),
        closures=(closure(*NAMES),),
        aims=AIMS,
        **more,
    )


PLAN = (
    place("fix", 10, 16, "bo"),
    place("paint", 20, 24, "ana"),
    place("saw", 4, 8, "ana"),
)


def mend(changed: Instance, plan=PLAN, stop=lambda: False) -> Planned | None:
    return mended(plan, changed, with_teams_of(plan, changed), Memory(), stop)


def lies(placements: tuple[Placement, ...]) -> dict[str, tuple[int | str, ...]]:
    return {p.task: (p.start, *p.team) for p in placements}


def test_the_plan_of_these_tests_keeps_every_rule():
    assert verify(chain(), PLAN) == ()


# --------------------------------------------------------------- passes


def test_tasks_begin_no_earlier_than_before_and_then_as_soon_as_they_can():
    changed = with_teams_of(PLAN, chain(dry=6))
    windows = narrow(make_space(changed))
    on, soon = (
        lies(placements_of(windows.space, s)) for s in moved_on_in(windows, PLAN)
    )
    # fix ends at 16, so that paint waits until 22
    assert on == {"saw": (4, "ana"), "fix": (10, "bo"), "paint": (22, "ana")}
    assert soon == {"saw": (0, "ana"), "fix": (10, "bo"), "paint": (22, "ana")}


def test_a_plan_that_cannot_begin_later_may_begin_earlier():
    changed = with_teams_of(PLAN, chain(ana=((0, 8),), cy=((0, 8), (30, 38))))
    windows = narrow(make_space(changed))
    on, *_ = moved_on_in(windows, PLAN)
    assert lies(placements_of(windows.space, on))["paint"] == (30, "cy")


def test_less_and_less_of_a_plan_stays_and_the_rest_is_by_whoever_ends_it_soonest():
    changed = chain(ana=((0, 8), (22, 28), (30, 38)))
    windows = narrow(make_space(changed))
    plans = [lies(placements_of(windows.space, s)) for s in kept_until(windows, PLAN)]
    # with nothing kept, saw is done at once; with all, paint alone has no place left
    assert plans[-1]["saw"][0] == 0
    assert plans[0]["saw"] == (4, "ana")
    assert plans[0]["fix"] == (10, "bo")
    assert plans[0]["paint"] == (20, "cy")
    assert all(
        verify(changed, placements_of(windows.space, s)) == ()
        for s in kept_until(windows, PLAN)
    )


# --------------------------------------------------------------- mended


@pytest.mark.parametrize(
    ("changed", "expected"),
    [
        (chain(), PLAN),
        (chain(dry=3), PLAN),  # the wait ends before paint begins all the same
        (chain(cy=DAYS[:1]), PLAN),  # who is away isn't needed
    ],
)
def test_what_a_change_does_not_touch_stays(changed, expected):
    found = mend(changed)
    assert found is not None
    assert found.placements[1:] == expected[1:]  # paint and saw
    assert found.placements[0].end <= expected[0].end
    assert found.stopped == MENDED


def test_who_is_away_is_stood_in_for_and_nothing_returns_later():
    changed = chain(ana=((0, 8),))
    found = mend(changed)
    assert found is not None
    assert lies(found.placements)["paint"] == (20, "cy")
    assert verify(changed, found.placements) == ()
    counted = values(changed, found.placements)
    assert [(a.aim, a.value) for a in found.aims] == [(a, counted[a]) for a in AIMS]
    assert not any(a.proven for a in found.aims)


def test_a_longer_wait_brings_no_later_a_return_than_a_whole_search():
    for dry in range(2, 16):
        changed = chain(dry=dry)
        found, best = mend(changed), solve(changed)
        assert isinstance(best, Planned)
        assert found is not None
        assert verify(changed, found.placements) == ()
        assert found.aims[0].value == best.aims[0].value


def test_a_task_that_is_new_is_placed_and_where_one_is_gone_nothing_is_mended():
    changed = chain()
    more = replace(
        changed,
        tasks=(*changed.tasks, task("clean", 2, "bo")),
        links=(*changed.links, Link(before="paint", after="clean")),
        closures=(closure(*NAMES, "clean"),),
    )
    found = mend(more)
    assert found is not None
    assert lies(found.placements)["clean"][0] == 24
    fewer = replace(
        changed,
        tasks=changed.tasks[1:],
        links=changed.links[1:],
        closures=(closure(*NAMES[1:]),),
    )
    assert mend(fewer) is None


def test_a_return_that_can_be_earlier_than_it_was_is_found():
    # paint may begin at 16 now, as soon as fix is done
    found = mend(chain(dry=0, ana=(*DAYS[:1], (10, 20), *DAYS[2:])))
    assert found is not None
    assert found.aims[0].value == 20


def test_a_plan_whose_closure_begins_earlier_is_no_good_one():
    # saw must be done by 4 now, and the closure is a fifth longer
    changed = chain(ana=((0, 4), *DAYS[1:]), bo=((0, 4), *DAYS[1:]))
    assert mend(changed) is None
    best = solve_near(PLAN, changed, partial(solve, explain=False))
    assert best is not None
    assert best.stopped == SAME_TEAMS
    assert [a.value for a in best.aims[:2]] == [24, 24]
    # where it returns as much later as it is longer, it begins when it did
    assert mend(chain(dry=6)) is not None


def test_a_plan_that_calls_many_more_shifts_is_no_good_one():
    work = tuple(task(f"t{k}", 2, "ana", f"p{k}") for k in range(8))
    short = tuple((at, at + 2) for at in range(0, 40, 10))
    alone = instance(
        *work,
        people=(
            person("ana", (0, 16)),
            *(person(f"p{k}", *short) for k in range(8)),
        ),
        horizon=40,
        closures=(closure(*(f"t{k}" for k in range(8)), terms=TERMS),),
        aims=AIMS,
    )
    plan = tuple(place(f"t{k}", 2 * k, 2 * k + 2, "ana") for k in range(8))
    assert verify(alone, plan) == ()
    kept = mend(alone, plan)
    assert kept is not None
    assert kept.aims[2].value == 1
    away = replace(alone, people=(person("ana", (0, 2)), *alone.people[1:]))
    assert mend(away, plan) is None  # eight shifts instead of one


TERMS = closure(*(f"t{k}" for k in range(8))).terms


def test_nothing_is_mended_once_time_is_up_or_for_other_aims():
    assert mend(chain(), stop=lambda: True) is None
    other = replace(chain(), aims=(AimKind.LAST_RETURN, AimKind.EARLY))
    assert mend(other) is None
    told = replace(chain(), agreed=(Before(task="saw", start=4, team=("ana",)),))
    asked = replace(told, aims=(*AIMS[:2], AimKind.CHANGE, AIMS[2]))
    assert mend(asked) is None  # people were told it: that is searched for


def test_where_no_plan_is_left_nothing_is_mended():
    assert mend(chain(ana=DAYS[:1], cy=DAYS[:1])) is None


def test_a_near_plan_is_the_mended_one_if_it_is_good():
    def never(*_, **__):
        raise AssertionError("a search, though the plan could be mended")

    found = solve_near(PLAN, chain(dry=3), never)
    assert found is not None
    assert found.stopped == MENDED


def test_aims_that_are_kept_cut_returns_and_lengths():
    cuts = cuts_of(
        chain(),
        (
            (AimKind.LAST_RETURN, 30),
            (AimKind.RETURNS, 28),
            (AimKind.CLOSED, 20),
            (AimKind.CALLS, 2),
        ),
    )
    assert (cuts.returns, cuts.lengths) == ({"stage": 28}, {"stage": 20})
