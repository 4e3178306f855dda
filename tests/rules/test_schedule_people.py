"""Who may work when: one place at a time, open together, size, leads, rest.

Tests of planner/schedule/check/verify.py, planner/schedule/cp/people.py,
planner/schedule/space/starts.py, planner/schedule/space/teams.py.
"""

from dataclasses import replace

from planner.hours.spans import Spans
from planner.schedule.problem.parts import AimKind, Link, Mode
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


def two_tasks(due, people=("ann",)):
    return instance(
        task("a", 3, *people),
        task("b", 3, *people),
        people=tuple(person(p) for p in people),
        due=due,
    )


def test_one_person_does_two_tasks_one_after_the_other():
    plan = plan_of(two_tasks(due=6))
    assert sorted((p.start, p.end) for p in plan.values()) == [(0, 3), (3, 6)]


def test_one_person_cannot_do_two_tasks_in_less_than_their_sum():
    assert clash_of(two_tasks(due=5)) == {"due"}


def test_two_people_do_two_tasks_at_a_time():
    plan = plan_of(two_tasks(due=3, people=("ann", "bo")))
    assert plan["a"].team != plan["b"].team


def test_checker_finds_a_person_in_two_places():
    problem = two_tasks(due=None)
    assert faults_of(problem, place("a", 0, 3, "ann"), place("b", 3, 6, "ann")) == ""
    faults = faults_of(problem, place("a", 0, 3, "ann"), place("b", 2, 5, "ann"))
    assert faults == "ann: in a until 3 and in b from 2, 1 ticks too early"


def pausing(due, **more):
    # a night from 4 to 7: the third and fourth tick of work lie after it
    return instance(
        task("a", 4, "ann", **more),
        people=(person("ann", (2, 4), (7, 12), fact="hours of ann"),),
        due=due,
    )


def test_work_pauses_over_closed_ticks_and_goes_on():
    plan = plan_of(pausing(due=9))
    assert (plan["a"].start, plan["a"].end) == (2, 9)
    assert plan["a"].worked == spans((2, 4), (7, 9))


def test_work_cannot_end_before_enough_open_ticks_have_passed():
    assert clash_of(pausing(due=8)) == {"due", "hours of ann"}


def test_one_go_waits_for_an_open_span_that_is_long_enough():
    plan = plan_of(pausing(due=11, one_go=True))
    assert (plan["a"].start, plan["a"].end) == (7, 11)


def test_one_go_has_no_plan_when_only_its_pieces_fit():
    assert clash_of(pausing(due=10, one_go=True)) == {"due", "hours of ann"}


def test_checker_finds_a_pause_in_one_go_and_work_in_closed_ticks():
    problem = pausing(due=None, one_go=True)
    night = spans((4, 7))
    assert "in one go" in faults_of(problem, place("a", 2, 9, "ann", skip=night))
    assert "ann isn't open in 4 to 6" in faults_of(problem, place("a", 2, 6, "ann"))
    assert faults_of(problem, place("a", 7, 11, "ann")) == ""


def test_checker_finds_idling_while_the_team_is_open():
    problem = pausing(due=None)
    idle = place("a", 2, 10, "ann", skip=spans((4, 8)))
    assert faults_of(problem, idle) == "a: idles in 7 to 8, though the team is open"


def pair(due, bo=((0, 20),), **more):
    return instance(
        task("a", 3, "ann", "bo", size=2, **more),
        people=(person("ann", (0, 20)), person("bo", *bo, fact="hours of bo")),
        due=due,
    )


def test_a_team_works_only_when_all_of_it_is_open():
    plan = plan_of(pair(due=6, bo=((0, 1), (4, 9))))
    assert plan["a"].worked == spans((0, 1), (4, 6))


def test_a_team_cannot_work_while_one_of_it_is_away():
    assert clash_of(pair(due=5, bo=((0, 1), (4, 9)))) == {"due", "hours of bo"}


def test_a_person_stays_with_a_team_that_pauses():
    # ann waits for bo from 1 to 4 and can't do b in between
    problem = replace(
        pair(due=None, bo=((0, 1), (4, 9))),
        tasks=(
            task("a", 3, "ann", "bo", size=2),
            task("b", 2, "ann"),
        ),
        links=(Link(before="a", after="b"),),
    )
    plan = plan_of(problem)
    assert plan["b"].start == 6
    early = place("b", 1, 3, "ann")
    late = place("a", 0, 6, "ann", "bo", skip=spans((1, 4)))
    assert "ann: in a until 6 and in b from 1" in faults_of(problem, late, early)


def test_a_team_of_the_wrong_size_is_a_fault():
    faults = faults_of(pair(due=None), place("a", 0, 3, "ann"))
    assert faults == "a: has a team of 1; allowed are [2]"


def test_more_people_take_fewer_ticks_where_the_task_says_so():
    sizes = (Mode(size=1, ticks=6), Mode(size=2, ticks=3))
    plan = plan_of(pair(due=3, modes=sizes))
    assert plan["a"].team == ("ann", "bo")


def test_a_team_needs_one_of_its_leads():
    def led(due):
        return instance(
            task("a", 2, "ann", "bo", leads=("bo",)),
            people=(person("ann"), person("bo", (4, 20), fact="hours of bo")),
            due=due,
        )

    assert plan_of(led(6))["a"].team == ("bo",)
    assert clash_of(led(5)) == {"due", "hours of bo"}
    faults = faults_of(led(None), place("a", 0, 2, "ann"))
    assert faults == "a: nobody in the team may lead it"


def test_where_no_lead_is_named_anyone_eligible_leads():
    alone = instance(task("a", 2, "ann", leads=None), people=(person("ann"),))
    assert plan_of(alone)["a"].team == ("ann",)


def test_where_nobody_may_lead_there_is_no_plan():
    alone = instance(task("a", 2, "ann", leads=()), people=(person("ann"),))
    assert clash_of(alone) == {"nobody:a"}
    faults = faults_of(alone, place("a", 0, 2, "ann"))
    assert faults == "a: nobody in the team may lead it"
    assert from_json(to_json(alone)) == alone


def test_work_that_needs_nobody_needs_no_lead_either():
    alone = instance(task("a", 2, leads=()))
    assert plan_of(alone)["a"].team == ()


def test_an_optional_task_that_nobody_may_lead_is_left_out():
    problem = instance(
        task("a", 2, "ann"),
        task("b", 2, "ann", leads=(), optional=True),
        people=(person("ann"),),
    )
    assert set(plan_of(problem)) == {"a"}


def test_nobody_eligible_is_named():
    alone = instance(
        task("a", 2, "ann"),
        task("b", 2, modes=(Mode(size=1, ticks=2),)),
        people=(person("ann"),),
    )
    assert clash_of(alone) == {"nobody:b"}


def test_too_few_eligible_people_are_named():
    assert clash_of(instance(task("a", 2, "ann", size=2), people=(person("ann"),))) == {
        "nobody:a"
    }


def resting(rest, due=None, ticks=8, second=(10, 16)):
    """Return two tasks of `ticks` and 2 ticks, in shifts 0 to 8 and `second`."""
    shifts = ((0, 8), second)
    return instance(
        task("a", ticks, "ann"),
        task("b", 2, "ann"),
        people=(
            person(
                "ann", *shifts, shifts=spans(*shifts), rest=rest, fact="hours of ann"
            ),
        ),
        links=(Link(before="a", after="b"),),
        due=due,
    )


def test_short_rest_leaves_the_next_shift_as_it_is():
    assert plan_of(resting(rest=2, due=12))["b"].start == 10


def test_next_shift_begins_when_the_rest_is_over():
    assert plan_of(resting(rest=4, due=14))["b"].start == 12


def test_no_plan_when_rest_and_due_tick_clash():
    assert clash_of(resting(rest=4, due=13)) == {"due", "hours of ann"}


def test_checker_counts_the_missing_rest():
    problem = resting(rest=5, ticks=6)
    first = place("a", 0, 6, "ann")
    assert faults_of(problem, first, place("b", 11, 13, "ann")) == ""
    assert faults_of(problem, first, place("b", 10, 12, "ann")) == (
        "ann: rests 4 ticks before 10, 1 too few"
    )


def test_a_pause_between_shifts_counts_as_rest():
    # nine ticks from 0 reach into the next shift after a rest of 2; where 4 are asked,
    # the evening or the morning loses 2
    def long_task(rest):
        return instance(
            task("a", 9, "ann"),
            people=(
                person(
                    "ann", (0, 8), (10, 20), shifts=spans((0, 8), (10, 20)), rest=rest
                ),
            ),
        )

    assert plan_of(long_task(2))["a"].end == 11
    assert plan_of(long_task(4))["a"] == place("a", 0, 13, "ann", skip=spans((8, 12)))


def test_people_who_are_alike_share_the_work():
    # nothing tells ann, bo and cy apart; six tasks of 2 ticks fit into 4 ticks
    crew = ("ann", "bo", "cy")

    def work(due):
        return instance(
            *(task(f"t{k}", 2, *crew) for k in range(6)),
            people=tuple(person(p) for p in crew),
            due=due,
            aims=(AimKind.LAST_RETURN,),
        )

    assert max(p.end for p in plan_of(work(4)).values()) == 4
    assert clash_of(work(3)) == {"due"}


def test_quiet_hours_pause_the_work():
    def loud(due):
        return instance(
            task("a", 3, "ann", no_work=(block("quiet", (1, 5)),)),
            people=(person("ann"),),
            due=due,
        )

    assert plan_of(loud(7))["a"].worked == spans((0, 1), (5, 7))
    assert clash_of(loud(6)) == {"due", "quiet"}
    faults = faults_of(loud(None), place("a", 0, 3, "ann"))
    assert faults == "a: works in 1 to 3, closed by quiet"


def test_a_closed_start_moves_the_task_on():
    def damp(due):
        return instance(
            task("a", 3, "ann", no_start=(block("damp", (0, 4)),)),
            people=(person("ann"),),
            due=due,
        )

    assert plan_of(damp(7))["a"].start == 4
    assert clash_of(damp(6)) == {"due", "damp"}
    assert faults_of(damp(None), place("a", 3, 6, "ann")) == (
        "a: starts at 3, closed by damp"
    )


def test_checker_refuses_a_plan_without_worked_ticks():
    problem = two_tasks(due=None)
    empty = replace(place("a", 0, 3, "ann"), worked=Spans())
    assert "works 0 ticks, not 3" in faults_of(problem, empty, place("b", 3, 6, "ann"))
