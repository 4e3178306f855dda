"""What is asked besides a job, tick by tick: where it begins, ends, and what it says.

A tick is a quarter of an hour from midnight of Monday 8 February 2027 in Halifax.

Tests of planner/planning/asked.py, planner/planning/posing.py.
"""

from datetime import timedelta
from typing import Any, cast

import pytest

from planner.errors import PlannerError
from planner.nouns.case import ANY_TIME, AgreedTask, Case, ClosureWindow, SettledTask
from planner.nouns.inputs import Inputs
from planner.planning.asked import NOT_AFTER, NOT_BEFORE, asked_words, with_asked
from planner.planning.posing import problem_of
from planner.planning.problem import AIMS, Problem
from planner.schedule.problem.parts import AimKind, Before, Pin
from planner.usecases.read import read_inputs
from tests.support.ics import HALIFAX, local
from tests.support.values import STRAIGHT, job_file

MONDAY = local(HALIFAX, 2027, 2, 8)
WEEK = 7 * 96


def at(hour: float):
    """Return the moment so many hours after the grid begins."""
    return MONDAY + timedelta(hours=hour)


@pytest.fixture(scope="module")
def inputs(tmp_path_factory) -> Inputs:
    return read_inputs(job_file(tmp_path_factory.mktemp("job"), STRAIGHT))


@pytest.fixture(scope="module")
def plain(inputs) -> Problem:
    return problem_of(inputs, weeks=1)


def asked(plain: Problem, **what: Any) -> tuple[Problem, Case]:
    case = Case(inputs=cast(Inputs, None), **what)
    return with_asked(plain, case), case


def test_a_case_that_asks_for_nothing_has_the_jobs_own_problem(plain):
    found, case = asked(plain)
    assert found is plain
    assert asked_words(found, case) == ()


@pytest.mark.parametrize(
    ("hour", "until"),
    [(10.0, 40), (10.1, 41), (0.1, 1), (9 * 24, WEEK)],
)
def test_the_stage_stays_open_up_to_the_tick_that_holds_the_moment(plain, hour, until):
    found, case = asked(plain, window=ClosureWindow(not_before=at(hour)))
    first, light = found.instance.closures
    (shut,) = first.booked
    assert (shut.fact, shut.ticks.items) == (NOT_BEFORE, ((0, until),))
    assert first.due is None
    assert light == plain.instance.closures[1]
    said = found.facts[NOT_BEFORE]
    assert said.startswith("the stage stays open until ")
    assert asked_words(found, case) == (f"asked: {said}",)
    assert found.instance.aims == AIMS
    assert NOT_BEFORE not in plain.facts


@pytest.mark.parametrize("hour", [0.0, -5.0])
def test_a_window_that_begins_with_the_grid_shuts_nothing(plain, hour):
    found, case = asked(plain, window=ClosureWindow(not_before=at(hour)))
    assert found.instance.closures == plain.instance.closures
    assert asked_words(found, case) == ()


@pytest.mark.parametrize(
    ("hour", "due"), [(10.0, 40), (10.1, 40), (9 * 24, WEEK), (-3.0, 0)]
)
def test_the_stage_is_back_by_the_last_tick_before_the_moment(plain, hour, due):
    found, case = asked(plain, window=ClosureWindow(not_after=at(hour)))
    first = found.instance.closures[0]
    assert (first.due, first.due_fact, first.booked) == (due, NOT_AFTER, ())
    said = found.facts[NOT_AFTER]
    assert said.startswith("the stage is back by ")
    assert asked_words(found, case) == (f"asked: {said}",)


def test_what_is_settled_can_not_move_and_is_told_in_words(plain):
    tasks = (
        SettledTask(task="count", start=at(8), end=at(9.25), team=("bo", "ana")),
        SettledTask(task="handover"),
        SettledTask(task="mark.wall", team=("ana",)),
    )
    found, case = asked(plain, settled=tasks)
    first, second, third = found.instance.pins
    assert first == Pin(
        task="count", start=32, end=37, team=("ana", "bo"), fact="settled:count"
    )
    assert second == Pin(task="handover", fact="settled:handover")
    assert third.team == ("ana",)
    titles = {t.id: t.title for t in plain.work.tasks}
    words = asked_words(found, case)
    assert words == (
        f'it is settled that "{titles["count"]}" begins Mon 8 Feb 2027, 08:00 and ends '
        "Mon 8 Feb 2027, 09:15 and is done by Bo and Ana",
        f'it is settled that "{titles["handover"]}" is done',
        f'it is settled that "{titles["mark.wall"]}" is done by Ana',
    )
    assert [found.facts[p.fact] for p in found.instance.pins] == list(words)
    assert found.instance.closures == plain.instance.closures
    assert found.instance.aims == AIMS


@pytest.mark.parametrize(
    ("settled", "message", "hint"),
    [
        (SettledTask(task="xyz"), 'there is no task "xyz"', "there: "),
        (SettledTask(task="count", team=("ana", "q")), 'there is no person "q"', "there: ana, bo"),
        (SettledTask(task="count", end=at(8.1)), "Mon 8 Feb 2027, 08:06 is not on a step of 15 minutes", ""),
    ],
)  # fmt: skip
def test_what_can_not_be_settled_says_where_and_what_there_is(
    plain, settled, message, hint
):
    with pytest.raises(PlannerError) as error:
        asked(plain, settled=(settled,))
    assert error.value.message == message
    assert error.value.where == f"settled: {settled.task}"
    assert (error.value.hint or "").startswith(hint)
    assert bool(error.value.hint) is bool(hint)


def test_what_was_agreed_of_what_there_still_is_moves_as_little_as_it_can(plain):
    agreed = (
        AgreedTask(task="count", start=at(8.1), team=("ana", "zoe", "bo")),
        AgreedTask(task="gone", start=at(9), team=("ana",)),
        AgreedTask(task="handover", start=at(-24), team=()),
    )
    found, case = asked(plain, agreed=agreed)
    assert found.instance.agreed == (
        Before(task="count", start=32, team=("ana", "bo")),
        Before(task="handover", start=-96, team=()),
    )
    # after return and closure, before fewer shifts
    assert found.instance.aims == (
        AimKind.LAST_RETURN,
        AimKind.CLOSED,
        AimKind.CHANGE,
        AimKind.CALLS,
    )
    assert asked_words(found, case) == (
        "3 tasks were agreed before and move as little as they can",
    )
    none, _ = asked(plain, agreed=agreed[1:2])
    assert none.instance.aims == AIMS
    assert case.window == ANY_TIME
