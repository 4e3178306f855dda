"""Starts of a team that some of its people can do as well by themselves are left out.

That nothing is lost by it is held by `tests/laws/test_schedule_laws.py`, which tries
every team and every start.

Tests of planner/schedule/space/needless.py, planner/schedule/space/option.py.
"""

from typing import Any

import pytest

from planner.schedule.problem.instance import Instance
from planner.schedule.problem.parts import AimKind, Before, Link, LinkKind, Mode
from planner.schedule.space.search_space import make_space
from tests.support.schedule import instance, person, task, wait

AIMS = (AimKind.LAST_RETURN, AimKind.CALLS)


def job(one: int, two: int, *more_links: Link, **more: Any) -> Instance:
    """Return a job whose task `a` takes one person `one` ticks, and two of them `two`."""
    more.setdefault("people", (person("ann", (0, 6), (10, 16)), person("bo", (2, 16))))
    more.setdefault("aims", AIMS)
    modes = (Mode(size=1, ticks=one), Mode(size=2, ticks=two))
    return instance(
        task("a", one, "ann", "bo", modes=modes),
        task("b", 1, "bo"),
        links=(Link(before="a", after="b"), *more_links),
        lookups=(wait("pot life", 3),),
        **more,
    )


def starts_of_two(problem: Instance) -> list[int]:
    """Return the ticks at which two people may begin task `a`."""
    space = make_space(problem)
    options = space.options[space.number["a"]]
    pairs = [w for w in options if w.size == 2]
    return sorted(int(space.axis[s]) for w in pairs for s in w.starts)


def test_two_are_no_quicker_than_one_and_not_weighed():
    assert (
        starts_of_two(job(3, 3)) == []
    )  # each start within a day of bo's, who is alone


def test_two_who_are_quicker_are_weighed():
    # ann and bo are both there at 2..5 and 10..15; from 5 on, bo alone ends at 8, and
    # the two of them at 11
    assert starts_of_two(job(3, 2)) == [2, 3, 4, 10, 11, 12, 13, 14]


def test_two_are_weighed_where_one_ends_later_or_would_work_on_another_day():
    # alone, ann stops at 6 and goes on at 10; with bo, who is there only at 2..5
    # and 10..15, she stops and goes on at the same ticks: for her it is another day,
    # and being called there may count
    both = (person("ann", (0, 6), (10, 16)), person("bo", (2, 6), (10, 16)))
    assert starts_of_two(job(3, 3, people=both)) == [4, 5]


def test_where_another_must_follow_in_time_the_end_has_to_be_the_same():
    late = Link(before="a", after="b", kind=LinkKind.LATEST, wait="pot life")
    # bo alone ends at 8 from 5, two at 12: an earlier end could be too early for b
    assert starts_of_two(job(3, 3, late)) == [4, 5]


@pytest.mark.parametrize(
    "more",
    [
        {"aims": (AimKind.LAST_RETURN, AimKind.COST)},
        {
            "aims": (AimKind.LAST_RETURN, AimKind.CHANGE),
            "agreed": (Before(task="a", start=3, team=("ann", "bo")),),
        },
    ],
)
def test_every_team_is_weighed_where_cost_or_an_agreed_team_counts(more: Any):
    assert starts_of_two(job(3, 3, **more)) == [2, 3, 4, 5, 10, 11, 12, 13]
