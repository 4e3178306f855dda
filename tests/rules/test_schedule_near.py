"""A plan near another one keeps its teams, unless one of them is away or it fits nowhere.

Tests of planner/schedule/climb/near.py, planner/planning/searching.py.
"""

from dataclasses import replace
from functools import partial
from types import SimpleNamespace
from typing import cast

import pytest

from planner.files.job.changes import changes_from
from planner.planning.answer import Answer
from planner.planning.answering import answer
from planner.planning.problem import Problem
from planner.planning.searching import Search, solved
from planner.schedule.check.verify import values, verify
from planner.schedule.climb.near import SAME_TEAMS, solve_near, with_teams_of
from planner.schedule.climb.repair import MENDED
from planner.schedule.climb.solve import solve
from planner.schedule.problem.limits import SearchLimits
from planner.schedule.problem.outcome import NoPlan, Planned
from planner.schedule.problem.parts import Link, Mode
from planner.usecases.read import Papers
from tests.support.places import ROOT
from tests.support.schedule import instance, person, place, task, wait

ASK = partial(solve, explain=False)
# ana and bo could do both; one of them leads the second
PAIR = instance(
    task("saw", 3, "ana", "bo"),
    task("paint", 4, "ana", "bo", "cy", leads=("ana", "cy")),
    people=(person("ana"), person("bo"), person("cy")),
    lookups=(wait("dry", 2),),
    links=(Link(before="saw", after="paint", wait="dry"),),
)
PLAN = (place("saw", 0, 3, "bo"), place("paint", 5, 9, "cy"))


def eligible(problem):
    return {t.id: t.eligible for t in problem.tasks}


def test_each_task_has_the_team_of_the_plan_alone():
    assert eligible(with_teams_of(PLAN, PAIR)) == {"saw": ("bo",), "paint": ("cy",)}


def test_a_task_whose_team_is_away_at_its_time_may_have_any():
    people = (person("ana"), person("bo", (0, 2), (3, 20)), person("cy"))
    away = replace(PAIR, people=people)
    assert eligible(with_teams_of(PLAN, away)) == {
        "saw": ("ana", "bo"),
        "paint": ("cy",),
    }


@pytest.mark.parametrize(
    "other",
    [
        PLAN[:1],  # left out
        (PLAN[0], place("paint", 5, 9, "bo")),  # nobody who leads
        (PLAN[0], place("paint", 5, 9, "dee")),  # no longer of the crew
        (
            PLAN[0],
            place("paint", 5, 9, "ana", "cy"),
        ),  # a size that isn't one of its own
    ],
)
def test_a_task_whose_team_cannot_be_has_all_its_teams(other):
    assert eligible(with_teams_of(other, PAIR))["paint"] == ("ana", "bo", "cy")


def test_only_the_size_of_the_team_is_left():
    sizes = (Mode(size=1, ticks=4), Mode(size=2, ticks=2))
    tasks = tuple(replace(t, modes=sizes) for t in PAIR.tasks)
    kept = with_teams_of(PLAN, replace(PAIR, tasks=tasks))
    assert [t.modes for t in kept.tasks] == [sizes[:1], sizes[:1]]


def test_a_longer_wait_moves_the_plan_and_keeps_its_teams():
    longer = replace(PAIR, lookups=(wait("dry", 5),))
    found = solve_near(PLAN, longer, ASK)
    assert found is not None
    assert verify(longer, found.placements) == ()
    assert [(p.task, p.team, p.start) for p in found.placements] == [
        ("paint", ("cy",), 8),
        ("saw", ("bo",), 0),
    ]
    counted = values(longer, found.placements)
    assert [a.value for a in found.aims] == [counted[a] for a in longer.aims]


def test_nothing_is_called_proven_as_other_teams_were_not_weighed():
    slow = replace(PAIR, people=(person("ana"), person("bo", (4, 20)), person("cy")))
    plan = (place("saw", 4, 7, "bo"), place("paint", 9, 13, "cy"))
    found = solve_near(plan, slow, ASK)
    best = solve(slow)
    assert found is not None
    assert isinstance(best, Planned)
    assert (found.aims[0].value, best.aims[0].value) == (13, 9)
    assert not any(a.proven for a in found.aims)
    assert [a.bound for a in found.aims] == [0] * len(found.aims)
    # bo, who saws, comes at 4: three ticks of sawing, two of drying, four of painting
    assert found.aims[0].bound_of_teams == 13
    assert found.stopped == SAME_TEAMS


def test_other_teams_are_weighed_where_these_lose_more_than_the_change():
    # bo, who saws, is there on one day only from tick 10 on; ana could saw at once
    late = replace(PAIR, people=(person("ana"), person("bo", (0, 3)), person("cy")))
    longer = (Mode(size=1, ticks=4),)
    saw = replace(late.tasks[0], modes=longer)
    people = (person("ana"), person("bo", (0, 3), (12, 20)), person("cy"))
    changed = replace(late, tasks=(saw, late.tasks[1]), people=people)
    only = ASK(with_teams_of(PLAN, changed))
    found = solve_near(PLAN, changed, ASK)
    assert isinstance(only, Planned)
    assert found is not None
    assert only.aims[0].value == 19  # bo saws until 13, cy paints at 15..18
    assert found.aims[0].value == 10  # ana saws at 0..3, cy paints at 6..9
    assert verify(changed, found.placements) == ()
    assert found.stopped == SAME_TEAMS


def test_where_the_teams_leave_no_plan_others_are_weighed():
    # one after the other is too long for one person alone, but not for two
    both = instance(
        task("saw", 12, "ana", "bo"),
        task("cut", 12, "ana", "bo"),
        people=(person("ana"), person("bo")),
    )
    plan = (place("saw", 0, 12, "ana"), place("cut", 12, 24, "ana"))
    late = replace(both, people=(person("ana", (0, 24)), person("bo")), horizon=24)
    assert solve_near(plan, late, ASK) is not None
    # a shorter horizon doesn't hold the plan any more
    two = (person("ana", (0, 20)), person("bo", (0, 20)))
    shorter = replace(both, people=two, horizon=20)
    found = solve_near(plan, shorter, ASK)
    assert found is not None
    assert verify(shorter, found.placements) == ()
    assert found.aims[0].value == 12
    assert len({p.team for p in found.placements}) == 2
    # and where nobody's plan is near, the whole problem is asked
    none = (person("ana", (0, 11)), person("bo", (0, 11)))
    shortest = replace(both, people=none, horizon=11)
    assert solve_near(plan, shortest, ASK) is None
    problem = cast(Problem, SimpleNamespace(instance=shortest, grid=None))
    assert isinstance(solved(problem, Search(limits=SearchLimits(), near=plan)), NoPlan)


def test_a_changed_case_is_answered_near_the_answer_at_hand():
    papers = Papers(ROOT / "examples" / "straight" / "job.toml")
    first = answer(papers.case(), Search(limits=SearchLimits()))
    teams = {p.task: p.team for p in first.placements}

    def kept(found: Answer) -> int:
        return sum(teams[p.task] == p.team for p in found.placements)

    # with a margin of 160 % the teams lose more than the waits are longer by
    for margin, most in (("40 %", 0.9), ("160 %", 0.4)):
        changed = papers.case(changes_from({"job.drying_margin": margin}))
        again = Search(limits=SearchLimits(), near=first.placements)
        near = answer(changed, again)
        best = answer(changed, Search(limits=SearchLimits()))
        assert kept(near) > most * len(teams)
        assert kept(near) > kept(best)
        assert near.stopped in {MENDED, SAME_TEAMS}
        assert best.worth <= near.worth
        assert near.worth.full_service == best.worth.full_service
        assert near == answer(changed, again)


def test_a_first_plan_takes_the_tasks_in_the_order_of_another():
    # without an aim, what the first pass gives is the plan: both tasks are ana's
    alone = instance(
        task("saw", 3, "ana"), task("cut", 2, "ana"), people=(person("ana"),), aims=()
    )
    for first in ("saw", "cut"):
        found = solve(alone, orders=[{"saw": 4, "cut": 4} | {first: 0}])
        assert isinstance(found, Planned)
        starts = {p.task: p.start for p in found.placements}
        assert min(starts, key=lambda t: starts[t]) == first
