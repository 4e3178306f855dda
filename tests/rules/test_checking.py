"""What the checker says of a broken plan, what a plan comes to, what holds it.

Tests of planner/schedule/check/tally.py, planner/schedule/check/verify.py,
planner/schedule/check/verify_course.py, planner/schedule/problem/outcome.py,
planner/schedule/why/chain.py, planner/schedule/why/fixed.py,
planner/schedule/why/slack.py.
"""

import pytest

from planner.schedule.check.verify import values, verify
from planner.schedule.problem.outcome import Cause
from planner.schedule.problem.parts import (
    AimKind,
    Apart,
    Before,
    Branch,
    Closure,
    Demand,
    Hold,
    Link,
    LinkKind,
    Pin,
    Pool,
    Term,
)
from planner.schedule.why.chain import holding_chain
from planner.schedule.why.fixed import capacity_profile
from planner.schedule.why.slack import slack
from tests.support.schedule import (
    block,
    closure,
    faults_of,
    instance,
    person,
    place,
    spans,
    task,
    wait,
)


def first_held(problem, *placements):
    """Return (task, cause, by, since) of the first step back from the return."""
    step = holding_chain(problem, placements, problem.closures[0].id)[0]
    return step.task, step.cause, step.by, step.since


# ------------------------------------------------------------------ the checker


def test_a_task_that_nobody_knows_is_a_fault():
    problem = instance(task("a", 2, "ann"), people=(person("ann"),))
    placed = place("a", 0, 2, "ann"), place("ghost", 2, 3, "ann")
    assert verify(problem, placed) == ("ghost: is no task of the instance",)
    twice = place("a", 0, 2, "ann"), place("a", 2, 4, "ann")
    assert verify(problem, twice) == ("a task is placed twice",)


@pytest.mark.parametrize(("end", "worked"), [(2, 2), (4, 4)])
def test_work_in_one_go_is_as_long_as_it_must_be(end, worked):
    problem = instance(task("a", 3, "ann", one_go=True), people=(person("ann"),))
    assert verify(problem, (place("a", 0, 3, "ann"),)) == ()
    fault = faults_of(problem, place("a", 0, end, "ann"))
    assert fault == f"a: works {worked} ticks, not 3"


def test_a_task_that_is_placed_and_never_worked_is_told_so_and_no_more():
    problem = instance(task("a", 2, "ann"), people=(person("ann"),))
    nothing = place("a", 0, 2, "ann", skip=spans((0, 2)))
    assert verify(problem, (nothing,)) == (
        "a: isn't worked from its start 0 to its end 2",
        "a: works 0 ticks, not 2",
    )


def test_the_last_tick_of_the_grid_may_be_worked_and_no_later_one():
    problem = instance(task("a", 2, "ann"), people=(person("ann", (0, 6)),), horizon=6)
    assert verify(problem, (place("a", 4, 6, "ann"),)) == ()
    late = faults_of(problem, place("a", 5, 7, "ann"))
    assert "a: lies from 5 to 7, outside 0 to 6" in late
    assert "stage: doesn't return within the horizon" in late


def test_each_closed_tick_is_named_with_what_closes_it():
    cold = Hold(fact="cold", bad=spans((7, 8)), until="dry")
    problem = instance(
        task(
            "a",
            4,
            "ann",
            no_work=(block("quiet", (3, 4)),),
            no_start=(block("early", (0, 3)),),
            holds=(cold,),
        ),
        people=(person("ann", (0, 5), (6, 20)),),
        lookups=(wait("dry", 2),),
    )
    found = verify(problem, (place("a", 2, 6, "ann"),))
    # worked 2 to 6: ann is away from 5 to 6, quiet from 3 to 4; dry at 8
    assert found == (
        "a: ann isn't open in 5 to 6",
        "a: works in 3 to 4, closed by quiet",
        "a: starts at 2, closed by early",
        "a: cold fails in 7 to 8, before 8",
    )
    # from 8 to 12, dry at 14: all is well
    assert verify(problem, (place("a", 8, 12, "ann"),)) == ()
    # a wait beyond the grid's 20 ticks can't be shown to hold
    late = verify(problem, (place("a", 15, 19, "ann"),))
    assert late == ("a: cold can't be shown to hold beyond the horizon",)


def test_two_teams_at_a_time_and_a_short_rest_are_counted():
    shifts = ((0, 6), (8, 14))
    problem = instance(
        task("a", 4, "ann"),
        task("b", 2, "ann"),
        people=(person("ann", *shifts, shifts=spans(*shifts), rest=4),),
    )
    both = faults_of(problem, place("a", 0, 4, "ann"), place("b", 2, 4, "ann"))
    assert both == "ann: in a until 4 and in b from 2, 2 ticks too early"
    # from 5 to 8 are three ticks of rest
    short = faults_of(problem, place("b", 3, 5, "ann"), place("a", 8, 12, "ann"))
    assert short == "ann: rests 3 ticks before 8, 1 too few"
    assert not faults_of(problem, place("b", 2, 4, "ann"), place("a", 8, 12, "ann"))


def test_of_a_pool_no_more_is_taken_than_is_there_at_that_tick():
    two = (Demand(pool="tower", amount=2),)
    problem = instance(
        task("a", 3, "ann", demands=two),
        task("b", 3, "bo", demands=two),
        people=(person("ann"), person("bo")),
        pools=(Pool(id="tower", capacity=4, less=((3, 5, 3), (4, 6, 1))),),
    )
    together = place("a", 0, 3, "ann"), place("b", 0, 3, "bo")
    assert verify(problem, together) == ()
    # at 3 both are still under way and 3 are there; at 4 one is
    assert verify(problem, (place("a", 1, 4, "ann"), place("b", 1, 4, "bo"))) == (
        "tower: 4 taken at 3, of 3",
    )
    assert verify(problem, (place("a", 0, 3, "ann"), place("b", 3, 6, "bo"))) == (
        "tower: 2 taken at 4, of 1",
    )


def test_who_mustnt_share_the_room_keeps_away_before_and_until_it_is_clear():
    problem = instance(
        task("fumes", 2, "ann"),
        task("b", 3, "bo"),
        people=(person("ann"), person("bo")),
        lookups=(wait("clear", 4),),
        apart=(Apart(task="fumes", others=("b",), until="clear", fact="fumes"),),
    )
    fumes = place("fumes", 5, 7, "ann")  # clear at 11
    for start in (2, 11):
        assert not faults_of(problem, fumes, place("b", start, start + 3, "bo"))
    for start in (3, 10):
        assert faults_of(problem, fumes, place("b", start, start + 3, "bo")) == (
            f"b: from {start} to {start + 3} in the same room as fumes from 5 to 11 "
            "(fumes)"
        )


def test_a_late_return_and_what_was_settled_are_named():
    problem = instance(
        task("a", 2, "ann", "bo"),
        people=(person("ann"), person("bo")),
        due=6,
        pins=(Pin(task="a", start=4, end=6, team=("bo",)),),
    )
    assert verify(problem, (place("a", 4, 6, "bo"),)) == ()
    assert verify(problem, (place("a", 5, 7, "ann"),)) == (
        "stage: returns at 7, 1 ticks too late",
        "a: start is 5, settled as 4",
        "a: end is 7, settled as 6",
        "a: team is ('ann',), settled as ('bo',)",
    )


# ------------------------------------------------------ what a plan comes to


def test_each_aim_of_a_plan_worked_by_hand():
    shifts = ((0, 6), (8, 14))
    ann = person(
        "ann",
        *shifts,
        shifts=spans(*shifts),
        price=2,
        dear=spans((4, 6)),
        dear_price=3,
        call_price=10,
    )
    problem = instance(
        task("z", 1, "bo"),
        task("a", 4, "ann", demands=(Demand(pool="bay"),)),
        task("b", 2, "ann", "bo", size=2),
        task("c", 1, "bo", optional=True, pays=7),
        people=(ann, person("bo", price=1), person("cy")),
        pools=(Pool(id="bay", day_price=5),),
        lookups=(wait("dry", 3), wait("window", 20)),
        links=(
            Link(before="a", after="b"),
            Link(before="z", after="a", kind=LinkKind.LATEST, wait="window"),
        ),
        closures=(
            closure(
                "b",
                terms=(Term(task="b", wait="dry"),),
                tick_price=4,
                soft=((5, 8, 90), (12, 15, 6), (13, 14, 9)),
            ),
            Closure(id="store", tasks=("z",), terms=(Term(task="z"),)),
        ),
        agreed=(
            Before(task="a", start=5, team=("ann",)),
            Before(task="b", start=8, team=("ann", "cy")),
        ),
        days=spans((0, 4), (5, 9), (10, 20)),
    )
    plan = (
        place("z", 0, 1, "bo"),
        place("a", 2, 6, "ann"),
        place("b", 8, 10, "ann", "bo"),
        place("c", 10, 11, "bo"),
    )
    assert values(problem, plan) == {
        AimKind.LAST_RETURN: 13,  # b ends at 10, dry 3 ticks later
        AimKind.RETURNS: 13 + 1,
        AimKind.CLOSED: (13 - 8) + (1 - 0),
        # c 7; ann's 6 ticks at 2, 2 of them dear at 3, two calls; bo's 4 ticks;
        # 5 closed ticks at 4, the booking from 12 on, not the one that ends at 8;
        # the bay on two days
        AimKind.COST: 7 + 6 * 2 + 2 * 3 + 2 * 10 + 4 + 5 * 4 + 6 + 2 * 5,
        AimKind.CALLS: 2 + 1,
        AimKind.CHANGE: 3 + 2 * 8,  # a three ticks sooner; bo for cy in b
        AimKind.EARLY: 1 + 6 + 10 + 11,
        # a leads to b, a window leads to nothing: 2 to 13, and 0 to 1
        AimKind.TIDY: 11 + 1,
    }


# ----------------------------------------------------------- what holds a plan


def test_a_return_that_waits_for_what_is_left_out_is_held_by_the_rest():
    problem = instance(
        task("a", 2, "ann"),
        task("c", 2, "ann", optional=True),
        people=(person("ann"),),
        closures=(closure("a", terms=(Term(task="a"), Term(task="c"))),),
    )
    assert first_held(problem, place("a", 0, 2, "ann")) == ("a", Cause.BEGIN, "", 0)


def test_fumes_are_held_by_the_last_of_those_who_must_be_gone():
    problem = instance(
        task("a", 3, "ann"),
        task("b", 5, "bo"),
        task("fumes", 2, "cy"),
        people=(person("ann"), person("bo"), person("cy")),
        apart=(Apart(task="fumes", others=("a", "b")),),
    )
    placed = (
        place("a", 0, 3, "ann"),
        place("b", 0, 5, "bo"),
        place("fumes", 5, 7, "cy"),
    )
    assert first_held(problem, *placed) == ("fumes", Cause.APART, "b", 5)


def test_setting_up_counts_in_what_one_go_needs():
    # one tick of setting up and two of work don't fit before the quiet hours at 2
    problem = instance(
        task("a", 2, "ann", one_go=True, set_up=1, no_work=(block("quiet", (2, 4)),)),
        people=(person("ann"),),
    )
    assert first_held(problem, place("a", 4, 7, "ann")) == (
        "a",
        Cause.BLOCK,
        "quiet",
        0,
    )


def test_a_pool_holds_what_needs_it_until_there_is_enough_of_it():
    pool = Pool(id="tower", capacity=3, less=((0, 5, 1), (4, 6, 2)))
    assert capacity_profile(pool, 8).tolist() == [1, 1, 1, 1, 1, 2, 3, 3]
    problem = instance(
        task("a", 2, "ann", demands=(Demand(pool="tower", amount=2),)),
        people=(person("ann"),),
        pools=(pool,),
    )
    assert first_held(problem, place("a", 5, 7, "ann")) == (
        "a",
        Cause.POOL,
        "tower",
        5,
    )


def test_a_task_slips_up_to_where_its_tower_is_gone():
    # the tower is gone from 6 to 8; a needs 2 ticks before that, b ends at 12
    problem = instance(
        task("a", 2, "ann", demands=(Demand(pool="tower"),)),
        task("b", 2, "bo"),
        people=(person("ann"), person("bo")),
        pools=(Pool(id="tower", less=((6, 8, 0),)),),
    )
    placed = place("a", 0, 2, "ann"), place("b", 10, 12, "bo")
    assert slack(problem, placed) == {"a": (4, 4), "b": (0, 0)}
    # after it, nothing holds a but the return
    later = place("a", 8, 10, "ann"), place("b", 10, 12, "bo")
    assert slack(problem, later) == {"a": (2, 2), "b": (0, 0)}


def test_of_each_branch_one_option_is_carried_out_and_no_task_is_missed():
    names = ("a", "b", "c", "d")
    problem = instance(
        *(task(name, 2, "ann") for name in names),
        people=(person("ann"),),
        branches=(
            Branch(id="one", options=(("a",), ("b",))),
            Branch(id="two", options=(("c",), ("d",))),
        ),
    )
    assert verify(problem, (place("a", 0, 2, "ann"), place("d", 2, 4, "ann"))) == ()
    assert verify(problem, (place("a", 0, 2, "ann"),)) == (
        "branch two: [] is no option of it",
    )


def test_a_booking_of_several_days_holds_with_any_of_them():
    problem = instance(
        task("a", 2, "ann"),
        people=(person("ann"),),
        closures=(closure("a", booked=(block("shoot", (1, 6), (10, 12)),)),),
    )
    held = first_held(problem, place("a", 6, 8, "ann"))
    assert held == ("a", Cause.BOOKING, "shoot", 6)


def test_of_two_who_are_away_the_one_who_is_longer_away_is_named_throughout():
    # Bo is away from 3 to 6, Ann from 3 to 4; two ticks in one go fit from 1 on at most
    problem = instance(
        task("a", 2, "ann", "bo", size=2, one_go=True),
        people=(person("ann", (0, 3), (4, 20)), person("bo", (0, 3), (6, 20))),
    )
    placed = (place("a", 6, 8, "ann", "bo"),)
    steps = holding_chain(problem, placed, "stage")
    assert [(s.cause, s.by, s.since) for s in steps] == [
        (Cause.PERSON_CLOSED, "bo", 2),
        (Cause.AIM, "", 0),
        (Cause.BEGIN, "", 0),
    ]


def test_a_task_slips_up_to_its_closures_next_booking_whichever_it_is():
    booked = (block("early", (0, 2)), block("shoot", (2, 3), (10, 12), (14, 15)))
    problem = instance(
        task("a", 2, "ann"),
        task("b", 2, "bo"),
        people=(person("ann"), person("bo")),
        closures=(
            closure("a", booked=booked),
            Closure(id="store", tasks=("b",), terms=(Term(task="b"),)),
        ),
    )
    placed = place("a", 4, 6, "ann"), place("b", 15, 17, "bo")
    # until 10, though the last return is at 17; alone it moves its own return at once
    assert slack(problem, placed)["a"] == (4, 0)


@pytest.mark.parametrize(("rest", "slips"), [(2, 4), (3, 3), (4, 2), (0, 4)])
def test_a_task_slips_until_its_people_just_have_their_rest(rest, slips):
    shifts = ((0, 6), (8, 14))
    problem = instance(
        task("a", 2, "ann"),
        task("b", 2, "ann"),
        people=(person("ann", *shifts, shifts=spans(*shifts), rest=rest),),
    )
    placed = place("a", 0, 2, "ann"), place("b", 8, 10, "ann")
    # the shift ends at 6, and b begins at 8
    assert slack(problem, placed)["a"] == (slips, slips)


def test_a_tower_passes_to_the_next_from_who_had_it_last():
    # of two towers that are free at 8, c takes b's, which was given back later
    tower = (Demand(pool="tower"),)
    names = ("a", "b", "c", "last")
    problem = instance(
        *(task(n, 2, n, demands=tower if n != "last" else ()) for n in names),
        people=tuple(person(n) for n in names),
        pools=(Pool(id="tower", capacity=2),),
    )
    placed = (
        place("a", 0, 2, "a"),
        place("b", 1, 3, "b"),
        place("c", 8, 10, "c"),
        place("last", 14, 16, "last"),
    )
    found = slack(problem, placed)
    # nobody takes a's tower after it, so it may slip up to the return; b is done by
    # the time at which c, the latest it can, begins: at 14
    assert found["a"] == (14, 14)
    assert found["b"] == (11, 5)


def test_who_was_gone_before_fumes_slips_until_they_begin():
    problem = instance(
        task("sweep", 2, "ann"),
        task("fumes", 2, "cy"),
        people=(person("ann"), person("cy")),
        apart=(Apart(task="fumes", others=("sweep",)),),
        closures=(closure("sweep", "fumes"),),
    )
    placed = place("sweep", 1, 3, "ann"), place("fumes", 6, 8, "cy")
    assert slack(problem, placed) == {"sweep": (3, 3), "fumes": (0, 0)}


def test_each_pair_that_is_kept_apart_counts_in_what_a_task_can_slip():
    problem = instance(
        task("dust", 1, "ann"),
        task("coat", 1, "bo"),
        task("fumes", 2, "cy"),
        task("other", 2, "di"),
        task("last", 2, "ed"),
        people=tuple(person(p) for p in ("ann", "bo", "cy", "di", "ed")),
        apart=(
            Apart(task="dust", others=("coat",)),
            Apart(task="fumes", others=("other",)),
        ),
    )
    placed = (
        place("dust", 0, 1, "ann"),
        place("coat", 3, 4, "bo"),
        place("fumes", 0, 2, "cy"),
        place("other", 5, 7, "di"),
        place("last", 10, 12, "ed"),
    )
    found = slack(problem, placed)
    # other may start at 10 and return with the last at 12; fumes must be done by then
    assert found["fumes"] == (8, 3)
    assert found["other"] == (5, 5)
    # coat may start at 11, dust end by then; alone dust has until 3
    assert found["dust"] == (10, 2)


def test_a_tower_that_is_back_is_taken_in_turn_again():
    # the tower is gone from 2 to 4; then c has it, then d; all return at 14
    tower = (Demand(pool="tower"),)
    problem = instance(
        task("c", 2, "ann", demands=tower),
        task("d", 2, "bo", demands=tower),
        task("last", 2, "cy"),
        people=(person("ann"), person("bo"), person("cy")),
        pools=(Pool(id="tower", less=((2, 4, 0),)),),
    )
    placed = (
        place("c", 4, 6, "ann"),
        place("d", 8, 10, "bo"),
        place("last", 12, 14, "cy"),
    )
    # d may start at 12, c end by then; alone c ends by 8
    assert slack(problem, placed) == {"c": (6, 2), "d": (4, 4), "last": (0, 0)}


def test_a_task_that_breaks_a_rule_where_it_lies_has_no_slack():
    """The judge says what is wrong with it; here a is worked while Ann is away."""
    problem = instance(
        task("a", 2, "ann"), task("b", 1, "ann"), people=(person("ann", (4, 12)),)
    )
    placed = place("a", 14, 16, "ann"), place("b", 4, 5, "ann")
    assert slack(problem, placed)["a"] == (0, 0)
