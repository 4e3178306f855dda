"""Work that goes on over nights: set up again each day, and rest in short nights.

Tests of planner/schedule/check/verify_course.py,
planner/schedule/cp/straight_pieces.py, planner/schedule/space/days.py,
planner/schedule/space/starts.py.
"""

from dataclasses import replace

import pytest

from planner.schedule.cp.straight_pieces import StraightPiece, straight_pieces
from planner.schedule.problem.instance import Instance
from planner.schedule.problem.parts import Activity, AimKind, Link, Mode
from tests.support.json import from_json, to_json
from tests.support.schedule import (
    block,
    clash_of,
    faults_of,
    instance,
    person,
    place,
    plan_of,
    spans,
    task,
)

# ----------------------------------------------------------------- setting up


def over_two_days(ticks: int, set_up: int = 1, lunch: bool = False) -> Instance:
    """Return a task for ann, who works from 0 to 6 and from 10 to 18."""
    opens = ((0, 3), (4, 6), (10, 18)) if lunch else ((0, 6), (10, 18))
    ann = person("ann", *opens, shifts=spans((0, 6), (10, 18)))
    return instance(task("a", ticks, "ann", set_up=set_up), people=(ann,))


def test_setting_up_comes_before_the_work():
    # one tick to set up, five of work: the day is just long enough
    assert plan_of(over_two_days(5))["a"] == place("a", 0, 6, "ann")


def test_setting_up_is_due_again_the_next_day():
    # five ticks of progress on the first day; setting up again and one on the second
    night = spans((6, 10))
    assert plan_of(over_two_days(6))["a"] == place("a", 0, 12, "ann", skip=night)


def test_lunch_ends_no_day():
    # four of five open ticks give progress, then one more after setting up again
    away = spans((3, 4), (6, 10))
    plan = plan_of(over_two_days(5, lunch=True))
    assert plan["a"] == place("a", 0, 12, "ann", skip=away)


def test_a_team_has_a_new_day_when_any_of_it_has_a_new_shift():
    # bo goes home in between, ann doesn't
    ann = person("ann", (0, 12))
    bo = person("bo", (0, 4), (6, 12))
    problem = instance(task("a", 5, "ann", "bo", size=2, set_up=1), people=(ann, bo))
    away = spans((4, 6))
    assert plan_of(problem)["a"] == place("a", 0, 9, "ann", "bo", skip=away)


def test_a_day_no_longer_than_setting_up_is_left_out():
    # the day from 6 to 8 would go on setting up alone
    ann = person("ann", (0, 4), (6, 8), (10, 18))
    problem = instance(task("a", 4, "ann", set_up=2), people=(ann,))
    skipped = spans((4, 10))
    assert plan_of(problem)["a"] == place("a", 0, 14, "ann", skip=skipped)
    late = place("a", 0, 14, "ann", skip=spans((4, 6), (8, 10)))
    assert "no more than sets up from 6 on" in faults_of(problem, late)


def test_no_task_starts_where_the_day_is_over_before_it_is_set_up():
    # from tick 3 on the day is no longer than setting up takes
    ann = person("ann", (0, 5), (8, 18))
    problem = instance(
        task("b", 3, "ann"),
        task("a", 1, "ann", set_up=2),
        people=(ann,),
        links=(Link(before="b", after="a"),),
    )
    assert plan_of(problem)["a"] == place("a", 8, 11, "ann")
    early = place("a", 3, 9, "ann", skip=spans((5, 8)))
    assert "no more than sets up from 3 on" in faults_of(
        problem, early, place("b", 0, 3, "ann")
    )


def test_work_in_one_go_is_set_up_once():
    ann = person("ann", (0, 6), (10, 18))
    problem = instance(task("a", 6, "ann", set_up=1, one_go=True), people=(ann,))
    assert plan_of(problem)["a"] == place("a", 10, 17, "ann")


def test_work_that_needs_nobody_has_no_nights():
    machine = Activity(id="a", modes=(Mode(size=0, ticks=5),), set_up=2)
    assert plan_of(instance(machine))["a"] == place("a", 0, 7)


@pytest.mark.parametrize(
    ("start", "end", "fault"),
    [
        (0, 11, "a: works 5 ticks beside setting up, not 6"),
        (0, 13, "a: works 7 ticks beside setting up, not 6"),
        (0, 12, ""),
    ],
)
def test_checker_counts_progress_day_by_day(start, end, fault):
    placed = place("a", start, end, "ann", skip=spans((6, 10)))
    faults = faults_of(over_two_days(6), placed)
    assert fault in faults
    assert bool(faults) == bool(fault)


def test_a_day_of_setting_up_is_paid():
    # over two days 8 ticks are worked for 6 of progress, in one day 7: it costs less
    problem = over_two_days(6)
    paid = tuple(replace(p, price=3) for p in problem.people)
    dear = replace(problem, people=paid, aims=(AimKind.COST, AimKind.EARLY))
    assert plan_of(dear)["a"] == place("a", 10, 17, "ann")


def test_set_up_below_none_is_refused():
    with pytest.raises(ValueError, match="set_up -1 is below 0"):
        instance(task("a", 1, "ann", set_up=-1), people=(person("ann"),))


# --------------------------------------------------------------- short nights


def short_night(ticks: int, rest: int, **more) -> Instance:
    """Return a task for ann, who works from 0 to 8 and from 10 to 20."""
    ann = person("ann", (0, 8), (10, 20), rest=rest, rest_fact="rest of ann")
    return instance(task("a", ticks, "ann", **more), people=(ann,))


def test_rest_that_a_night_is_too_short_for_is_taken_from_the_morning_or_evening():
    # 10 ticks of work in 8 and 10 open ones, of which rest takes 3
    away = spans((8, 13))
    assert plan_of(short_night(10, rest=5))["a"] == place("a", 0, 15, "ann", skip=away)


def test_people_stop_early_where_the_evening_is_closed_to_the_work_anyway():
    # no loud work from 5 on: rest from 5 to 10 costs nothing
    loud = short_night(8, rest=5)
    quiet = person("bo", (0, 20))
    closed = replace(
        loud.tasks[0],
        no_work=(block("quiet", (5, 8)),),
    )
    problem = replace(loud, tasks=(closed,), people=(*loud.people, quiet))
    assert plan_of(problem)["a"] == place("a", 0, 13, "ann", skip=spans((5, 10)))


def test_part_of_the_rest_may_lie_in_the_evening_and_part_in_the_morning():
    # the work is closed at 7 and at 10, so that rest from 7 to 11 costs nothing
    base = short_night(9, rest=4)
    closed = replace(base.tasks[0], no_work=(block("quiet", (7, 8), (10, 11)),))
    problem = replace(base, tasks=(closed,))
    assert plan_of(problem)["a"] == place("a", 0, 13, "ann", skip=spans((7, 11)))


def test_each_of_a_team_has_the_rest_of_its_own():
    # ann must rest 4, bo 6: the team goes on at 14
    ann = person("ann", (0, 8), (10, 20), rest=4)
    bo = person("bo", (0, 8), (10, 20), rest=6)
    problem = instance(task("a", 10, "ann", "bo", size=2), people=(ann, bo))
    plan = plan_of(problem)
    assert plan["a"] == place("a", 0, 16, "ann", "bo", skip=spans((8, 14)))


def test_only_the_rest_of_those_whose_night_it_is_counts():
    # ann must rest 4 over her night; bo, who needs 9, is in one long shift
    ann = person("ann", (0, 8), (10, 20), rest=4)
    bo = person("bo", (0, 20), rest=9)
    problem = instance(task("a", 10, "ann", "bo", size=2), people=(ann, bo))
    plan = plan_of(problem)
    assert plan["a"] == place("a", 0, 14, "ann", "bo", skip=spans((8, 12)))
    slow = place("a", 0, 15, "ann", "bo", skip=spans((7, 12)))
    assert "done soonest" in faults_of(problem, slow)


def test_checker_asks_that_work_is_done_soonest():
    problem = short_night(10, rest=5)
    slow = place("a", 0, 16, "ann", skip=spans((8, 14)))
    assert "done soonest" in faults_of(problem, slow)
    early = place("a", 0, 15, "ann", skip=spans((7, 12)))
    assert "rested as late as can be" in faults_of(problem, early)
    none = place("a", 0, 12, "ann", skip=spans((8, 10)))
    assert "ann: rests 2 ticks before 10, 3 too few" in faults_of(problem, none)


def test_a_refusal_that_hangs_on_rest_names_it():
    def asked(rest: int) -> Instance:
        due = short_night(18, rest=rest)
        ann = replace(due.people[0], fact="hours of ann")
        return replace(due, people=(ann,))

    assert plan_of(asked(2))["a"].end == 20
    assert clash_of(asked(3)) == {"rest of ann", "hours of ann"}


def test_longer_shifts_with_a_night_too_short_are_no_worse():
    # nights of 6 are long enough; an hour more on either side leaves 4, 2 too few
    def work(*shifts: tuple[int, int]) -> int:
        ann = person("ann", *shifts, rest=6)
        problem = instance(task("a", 14, "ann"), people=(ann,), horizon=44, due=None)
        return plan_of(problem)["a"].end

    assert work((1, 9), (15, 23), (29, 37)) == 21
    assert work((0, 10), (14, 24), (28, 38)) == 20


def test_instance_with_days_survives_json():
    problem = short_night(10, rest=5, set_up=2)
    assert from_json(to_json(problem)) == problem


# ------------------------------------------------------------ ends as straight pieces


@pytest.mark.parametrize(
    ("xs", "values", "pieces"),
    [
        ((0, 1, 3, 7), (3, 4, 6, 10), [StraightPiece(0, 7, 1, 3)]),
        ((1, 2, 5), (5, 7, 13), [StraightPiece(1, 5, 2, 3)]),
        (
            (0, 2, 4),
            (9, 8, 7),
            [
                StraightPiece(0, 0, 0, 9),
                StraightPiece(2, 2, 0, 8),
                StraightPiece(4, 4, 0, 7),
            ],
        ),
        ((4,), (6,), [StraightPiece(4, 4, 0, 6)]),
        (
            (2, 3, 4, 8, 9),
            (5, 6, 7, 20, 21),
            [StraightPiece(2, 4, 1, 3), StraightPiece(8, 9, 1, 12)],
        ),
    ],
    ids=["a line", "steep", "no whole slope", "alone", "after a night"],
)
def test_a_line_is_one_piece_as_far_as_it_goes(xs, values, pieces):
    assert list(straight_pieces(xs, values)) == pieces
