"""Why the date is what it is, how far tasks can slip, and what clashes.

Tests of planner/schedule/why/asking.py, planner/schedule/why/chain.py,
planner/schedule/why/conflict.py, planner/schedule/why/explain.py,
planner/schedule/why/relaxing.py, planner/schedule/why/slack.py.
"""

from dataclasses import replace

from planner.schedule.climb.solve import solve
from planner.schedule.problem.outcome import Cause
from planner.schedule.problem.parts import (
    AimKind,
    Apart,
    Closure,
    Demand,
    Hold,
    Link,
    LinkKind,
    Pin,
    Pool,
    Term,
)
from planner.schedule.space.bounds import least_at_once
from planner.schedule.space.search_space import make_space
from planner.schedule.space.windows import narrow
from planner.schedule.why.explain import conflict, holding_chain, slack
from tests.benchmarks.jobs import SIZES, made_job
from tests.support.schedule import (
    block,
    closure,
    instance,
    person,
    place,
    plan_of,
    spans,
    task,
    wait,
)


def chain_of(problem, *placements):
    """Return (task, cause, by, since) of the chain; of the best plan if none given."""
    placed = placements or tuple(plan_of(problem).values())
    steps = holding_chain(problem, placed, problem.closures[0].id)
    return [(s.task, s.cause, s.by, s.since) for s in steps]


def test_chain_goes_through_a_wait_and_a_night_to_the_beginning():
    # a 0 to 2, dry at 5; bo comes at 9
    problem = instance(
        task("a", 2, "ann"),
        task("b", 2, "bo"),
        people=(person("ann"), person("bo", (0, 4), (9, 20))),
        lookups=(wait("dry", 3),),
        links=(Link(before="a", after="b", wait="dry"),),
    )
    assert chain_of(problem) == [
        ("b", Cause.PERSON_CLOSED, "bo", 5),
        ("b", Cause.LINK, "a", 2),
        ("a", Cause.BEGIN, "", 0),
    ]


def test_chain_names_the_task_that_keeps_a_person():
    problem = instance(
        task("a", 3, "ann"), task("b", 2, "ann"), people=(person("ann"),)
    )
    placed = place("a", 0, 3, "ann"), place("b", 3, 5, "ann")
    assert chain_of(problem, *placed) == [
        ("b", Cause.PERSON, "a", 3),
        ("a", Cause.BEGIN, "", 0),
    ]


def test_chain_names_the_task_that_takes_the_bay():
    problem = instance(
        task("a", 3, "ann", demands=(Demand(pool="bay"),)),
        task("b", 2, "bo", demands=(Demand(pool="bay"),)),
        people=(person("ann"), person("bo")),
        pools=(Pool(id="bay"),),
    )
    placed = place("a", 0, 3, "ann"), place("b", 3, 5, "bo")
    assert chain_of(problem, *placed)[0] == ("b", Cause.POOL, "a", 3)


def test_chain_names_the_booking_before_the_closure():
    problem = instance(
        task("a", 3, "ann"),
        people=(person("ann"),),
        closures=(closure("a", booked=(block("shoot", (1, 6)),)),),
    )
    assert chain_of(problem) == [("a", Cause.BOOKING, "shoot", 6)]


def test_chain_names_quiet_hours_closed_starts_and_holds():
    problem = instance(
        task("a", 3, "ann", one_go=True, no_work=(block("quiet", (2, 4)),)),
        people=(person("ann"),),
    )
    assert chain_of(problem)[0] == ("a", Cause.BLOCK, "quiet", 0)
    problem = instance(
        task("a", 3, "ann", no_start=(block("damp", (0, 4)),)), people=(person("ann"),)
    )
    assert chain_of(problem)[0] == ("a", Cause.BLOCK, "damp", 0)
    hold = Hold(fact="cold", bad=spans((2, 4)))
    problem = instance(task("a", 3, "ann", holds=(hold,)), people=(person("ann"),))
    assert chain_of(problem)[0] == ("a", Cause.HOLD, "cold", 0)


def test_chain_names_the_fumes_that_must_clear():
    problem = instance(
        task("fumes", 3, "ann"),
        task("b", 2, "bo"),
        people=(person("ann"), person("bo")),
        lookups=(wait("clear", 4),),
        apart=(Apart(task="fumes", others=("b",), until="clear"),),
    )
    placed = place("fumes", 0, 3, "ann"), place("b", 7, 9, "bo")
    assert chain_of(problem, *placed)[0] == ("b", Cause.APART, "fumes", 3)


def test_chain_names_rest_and_the_pin():
    shifts = ((0, 8), (10, 16))
    problem = instance(
        task("a", 8, "ann"),
        task("b", 2, "ann"),
        people=(person("ann", *shifts, shifts=spans(*shifts), rest=4),),
        links=(Link(before="a", after="b"),),
    )
    assert chain_of(problem)[:2] == [
        ("b", Cause.REST, "ann", 8),
        ("a", Cause.BEGIN, "", 0),
    ]
    problem = instance(
        task("a", 2, "ann"),
        people=(person("ann"),),
        pins=(Pin(task="a", start=4, fact="p"),),
    )
    assert chain_of(problem) == [("a", Cause.PIN, "p", 4)]


def test_chain_says_where_only_an_aim_holds_a_task():
    problem = instance(task("a", 2, "ann"), people=(person("ann"),))
    assert chain_of(problem, place("a", 5, 7, "ann")) == [
        ("a", Cause.AIM, "", 0),
        ("a", Cause.BEGIN, "", 0),
    ]


def test_chain_follows_a_coat_that_must_be_covered_in_time():
    # b can't start before 11, so a is put off until it ends at 6
    problem = instance(
        task("a", 2, "ann"),
        task("b", 2, "bo"),
        people=(person("ann"), person("bo", (11, 20))),
        lookups=(wait("window", 5),),
        links=(
            Link(before="a", after="b"),
            Link(before="a", after="b", kind=LinkKind.LATEST, wait="window"),
        ),
        closures=(closure("a"),),
    )
    assert chain_of(problem)[0] == ("a", Cause.LINK, "b", 4)


def test_a_cover_that_no_start_is_too_soon_for_holds_nothing():
    # ann comes at 3; all her starts leave b within the window of 15
    problem = instance(
        task("a", 2, "ann"),
        task("b", 2, "bo"),
        people=(person("ann", (3, 20)), person("bo", (8, 20))),
        lookups=(wait("window", 15),),
        links=(
            Link(before="a", after="b"),
            Link(before="a", after="b", kind=LinkKind.LATEST, wait="window"),
        ),
        closures=(closure("a"),),
    )
    placed = place("a", 3, 5, "ann"), place("b", 8, 10, "bo")
    assert chain_of(problem, *placed) == [
        ("a", Cause.PERSON_CLOSED, "ann", 0),
        ("a", Cause.BEGIN, "", 0),
    ]


def test_slack_goes_through_calendars():
    # a may end by 4 or by 10, b starts at 10 and returns at 12; bo is away from 4 to 8
    problem = instance(
        task("a", 2, "bo"),
        task("b", 2, "ann"),
        people=(person("ann", (10, 20)), person("bo", (0, 4), (8, 20))),
        links=(Link(before="a", after="b"),),
    )
    placed = place("a", 0, 2, "bo"), place("b", 10, 12, "ann")
    assert slack(problem, placed) == {"a": (8, 8), "b": (0, 0)}


def test_slack_counts_drying_and_the_order_on_a_person():
    # ann does a, then c, then d; b waits for a to dry; all return at 12
    problem = instance(
        task("a", 2, "ann"),
        task("c", 2, "ann"),
        task("b", 2, "bo"),
        task("d", 3, "ann"),
        people=(person("ann"), person("bo")),
        lookups=(wait("dry", 3),),
        links=(Link(before="a", after="b", wait="dry"),),
    )
    placed = (
        place("a", 0, 2, "ann"),
        place("c", 2, 4, "ann"),
        place("b", 5, 7, "bo"),
        place("d", 9, 12, "ann"),
    )
    # a: c must start by 7, b by 10; alone it can't move, c follows at once
    assert slack(problem, placed) == {
        "a": (5, 0),
        "c": (5, 5),
        "b": (5, 5),
        "d": (0, 0),
    }


def test_slack_ends_where_a_slip_would_cut_a_rest_short():
    # b may slip to tick 3; in the next shift, from 6 on, it would begin 4 ticks after
    # a ended, and ann rests 5; a may slip as far, b moving with it
    problem = instance(
        task("a", 2, "ann"),
        task("b", 1, "ann"),
        task("z", 1, "bob"),
        people=(person("ann", (0, 4), (6, 10), rest=5), person("bob")),
        links=(Link(before="a", after="b"),),
    )
    placed = (place("a", 0, 2, "ann"), place("b", 2, 3, "ann"), place("z", 6, 7, "bob"))
    assert slack(problem, placed) == {"a": (1, 0), "b": (1, 1), "z": (0, 0)}


def test_slack_reaches_the_tick_at_which_a_rest_is_over():
    # a ended at 2, ann rests 4: the next shift's first tick, 6, is soon enough for b
    problem = instance(
        task("a", 2, "ann"),
        task("b", 1, "ann"),
        task("z", 1, "bob"),
        people=(person("ann", (0, 4), (6, 10), rest=4), person("bob")),
        links=(Link(before="a", after="b"),),
    )
    placed = (place("a", 0, 2, "ann"), place("b", 2, 3, "ann"), place("z", 6, 7, "bob"))
    assert slack(problem, placed)["b"] == (4, 4)


def test_what_is_settled_to_begin_then_has_no_slack():
    problem = instance(
        task("a", 2, "ann"),
        task("b", 2, "bo"),
        task("z", 9, "cy"),
        people=(person("ann"), person("bo"), person("cy")),
        pins=(Pin(task="a", start=1), Pin(task="b", team=("bo",))),
    )
    placed = (
        place("a", 1, 3, "ann"),
        place("b", 1, 3, "bo"),
        place("z", 0, 9, "cy"),
    )
    assert slack(problem, placed) == {"a": (0, 0), "b": (6, 6), "z": (0, 0)}


def test_slack_ends_at_a_hold_and_at_a_window():
    hold = Hold(fact="cold", bad=spans((4, 20)))
    problem = instance(
        task("a", 2, "ann", holds=(hold,)),
        task("z", 9, "bo"),
        people=(person("ann"), person("bo")),
    )
    placed = place("a", 0, 2, "ann"), place("z", 0, 9, "bo")
    assert slack(problem, placed)["a"] == (2, 2)
    problem = instance(
        task("a", 2, "ann"),
        task("b", 1, "ann"),
        task("z", 19, "bo"),
        people=(person("ann"), person("bo")),
        lookups=(wait("window", 5),),
        links=(
            Link(before="a", after="b"),
            Link(before="a", after="b", kind=LinkKind.LATEST, wait="window"),
        ),
    )
    coats = place("a", 0, 2, "ann"), place("b", 2, 3, "ann"), place("z", 0, 19, "bo")
    # b by 7 while a stays; a may go to 5, then b starts at 7
    assert slack(problem, coats) == {"a": (5, 0), "b": (5, 5), "z": (0, 0)}


def test_slack_of_one_closure_ends_where_the_last_returns():
    problem = instance(
        task("a", 2, "ann"),
        task("b", 6, "bo"),
        people=(person("ann"), person("bo")),
        closures=(
            Closure(id="one", tasks=("a",), terms=(Term(task="a"),)),
            Closure(id="two", tasks=("b",), terms=(Term(task="b"),)),
        ),
    )
    placed = place("a", 0, 2, "ann"), place("b", 0, 6, "bo")
    assert slack(problem, placed) == {"a": (4, 0), "b": (0, 0)}


def test_no_conflict_where_there_is_a_plan():
    assert conflict(instance(task("a", 1, "ann"), people=(person("ann"),))) is None


def test_facts_that_have_nothing_to_do_with_it_are_left_out():
    problem = instance(
        task("a", 2, "ann", no_work=(block("quiet", (9, 12)),)),
        task("b", 2, "bo", no_start=(block("damp", (0, 1)),)),
        people=(
            person("ann", fact="hours of ann"),
            person("bo", (0, 20), fact="hours of bo"),
        ),
        lookups=(wait("dry", 6),),
        links=(Link(before="a", after="b", wait="dry", fact="drying"),),
        due=9,
    )
    found = conflict(problem)
    assert found is not None
    assert set(found.facts) == {"drying", "due"}
    assert found.minimal
    assert set(found.enough) == {("due",), ("drying",)}


def test_a_window_that_ends_before_the_coat_is_dry_clashes_with_the_drying():
    # dry 6 ticks after each end, to be covered by 4 ticks after it, at any time
    problem = instance(
        task("a", 2, "ann"),
        task("b", 2, "bo"),
        people=(person("ann", fact="hours of ann"), person("bo", fact="hours of bo")),
        lookups=(wait("dry", 6), wait("open", 4)),
        links=(
            Link(before="a", after="b", wait="dry", fact="drying"),
            Link(
                before="a", after="b", kind=LinkKind.LATEST, wait="open", fact="window"
            ),
        ),
        due=19,
    )
    found = conflict(problem)
    assert found is not None
    assert set(found.facts) == {"drying", "window"}
    assert found.minimal
    assert set(found.enough) == {("drying",), ("window",)}


def test_a_clash_that_only_the_count_of_bays_shows_needs_the_solver():
    # three tasks of 3 ticks in one bay, none of which fits twice into 0 to 8
    problem = instance(
        *(
            task(f"t{k}", 3, name, demands=(Demand(pool="bay"),), one_go=True)
            for k, name in enumerate(("ann", "bo", "cy"))
        ),
        people=tuple(person(n, fact=f"hours of {n}") for n in ("ann", "bo", "cy")),
        pools=(Pool(id="bay"),),
        due=8,
    )
    found = conflict(problem)
    assert found is not None
    assert found.facts == ("due",)
    assert found.minimal
    assert found.enough == (("due",),)


def test_hours_that_leave_a_task_no_start_clash_alone():
    problem = instance(
        task("a", 3, "ann", one_go=True),
        task("b", 2, "bo"),
        people=(
            person("ann", (0, 2), (4, 6), fact="hours of ann"),
            person("bo", fact="hours of bo"),
        ),
        due=15,
    )
    found = conflict(problem)
    assert found is not None
    assert found.facts == ("hours of ann",)
    assert found.enough == (("hours of ann",),)


def test_two_clashes_need_two_facts_to_be_given_up():
    problem = instance(
        task("a", 2, "ann", no_work=(block("shut", (0, 20)),)),
        task("b", 2, "bo", no_work=(block("closed", (0, 20)),)),
        people=(person("ann"), person("bo")),
    )
    found = conflict(problem)
    assert found is not None
    assert len(found.facts) == 1
    assert [set(given_up) for given_up in found.enough] == [{"shut", "closed"}]


def test_too_short_a_horizon_is_named():
    problem = instance(task("a", 3, "ann"), people=(person("ann", (0, 2)),), horizon=2)
    found = conflict(problem)
    assert found is not None
    assert found.facts == ("horizon",)


def test_a_clash_of_a_whole_job_is_small_and_quick():
    # 45 tasks: the due tick lies a day below what the windows alone allow
    job = made_job(SIZES["45"], 0)
    (stage,) = job.closures
    least = least_at_once(narrow(make_space(job)), AimKind.LAST_RETURN)
    found = conflict(replace(job, closures=(replace(stage, due=least - 96),)))
    assert found is not None
    assert stage.due_fact in found.facts
    assert found.minimal
    assert len(found.facts) < 20
    assert (stage.due_fact,) in found.enough


def test_solve_gives_the_clash_itself():
    outcome = solve(instance(task("a", 2, "ann"), people=(person("ann"),), due=1))
    assert outcome == conflict(
        instance(task("a", 2, "ann"), people=(person("ann"),), due=1)
    )
