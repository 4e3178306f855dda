"""What comes before what, how soon after, and apart from what.

Tests of planner/schedule/check/verify.py, planner/schedule/cp/rules.py,
planner/schedule/space/windows.py.
"""

from planner.schedule.problem.parts import (
    AimKind,
    Apart,
    Branch,
    Closure,
    Demand,
    Hold,
    Link,
    LinkKind,
    Lookup,
    Mode,
    Pin,
    Pool,
    Term,
)
from tests.support.schedule import (
    LONG,
    block,
    clash_of,
    closure,
    faults_of,
    instance,
    person,
    place,
    plan_of,
    spans,
    task,
    wait,
)


def followed(due=None, **link):
    return instance(
        task("a", 2, "ann"),
        task("b", 2, "bo"),
        people=(person("ann"), person("bo")),
        lookups=(wait("dry", 3), wait("window", 5)),
        links=(Link(before="a", after="b", **link),),
        due=due,
    )


def test_what_follows_starts_when_the_task_before_ends():
    assert plan_of(followed(due=4))["b"].start == 2
    assert clash_of(followed(due=3, fact="order")) == {"due", "order"}


def test_what_follows_waits_until_it_is_dry():
    assert plan_of(followed(due=7, wait="dry"))["b"].start == 5
    assert clash_of(followed(due=6, wait="dry", fact="drying")) == {"due", "drying"}


def test_checker_says_by_how_much_a_follower_is_early():
    problem = followed(wait="dry", fact="drying")
    assert faults_of(problem, place("a", 0, 2, "ann"), place("b", 5, 7, "bo")) == ""
    assert faults_of(problem, place("a", 0, 2, "ann"), place("b", 4, 6, "bo")) == (
        "b: starts at 4, 1 ticks too early after a (drying)"
    )


def test_a_wait_goes_on_while_nobody_works():
    # ends at 2, dry at 5; bo's next shift begins at 9
    problem = instance(
        task("a", 2, "ann"),
        task("b", 2, "bo"),
        people=(person("ann"), person("bo", (0, 4), (9, 20))),
        lookups=(wait("dry", 3),),
        links=(Link(before="a", after="b", wait="dry"),),
    )
    assert plan_of(problem)["b"].start == 9


def test_a_wait_depends_on_the_tick_it_begins():
    # ended by 2 it is dry at 12, ended at 3 or later only at 18: a bad night
    over = tuple(12 if t <= 2 else max(18, t) for t in range(LONG + 1))

    def night(first):
        return instance(
            task("a", 2, "ann"),
            task("b", 1, "bo"),
            people=(person("ann", (first, LONG)), person("bo")),
            lookups=(Lookup(name="dry", over=over),),
            links=(Link(before="a", after="b", wait="dry"),),
        )

    assert plan_of(night(0))["b"].start == 12
    assert plan_of(night(1))["b"].start == 18


def test_start_start_counts_from_the_start():
    problem = followed(kind=LinkKind.START_START, wait="dry", due=5)
    assert plan_of(problem)["b"].start == 3
    late = followed(kind=LinkKind.START_START, wait="dry", due=4, fact="lag")
    assert clash_of(late) == {"due", "lag"}
    assert faults_of(problem, place("a", 0, 2, "ann"), place("b", 2, 4, "bo")) == (
        "b: starts at 2, 1 ticks too early after a"
    )


def covered(opens, unless="", **more):
    """Return a coat a that b must follow within 5 ticks; bo is open in `opens`."""
    again = (task("again", 1, "ann", optional=True),) if unless else ()
    return instance(
        task("a", 2, "ann"),
        task("b", 2, "bo"),
        *again,
        people=(person("ann", (0, 6)), person("bo", opens, fact="hours of bo")),
        lookups=(wait("window", 5),),
        links=(
            Link(before="a", after="b", fact="order"),
            Link(
                before="a",
                after="b",
                kind=LinkKind.LATEST,
                wait="window",
                unless=unless,
                fact="recoat",
            ),
            *(
                (Link(before="a", after="again"), Link(before="again", after="b"))
                * bool(unless)
            ),
        ),
        **more,
    )


def test_a_coat_that_must_be_covered_soon_is_put_off():
    # b can start at 11 at the earliest, so a may end at 6 at the earliest
    assert plan_of(covered((11, 20)))["a"].end == 6


def test_a_coat_that_cannot_be_covered_in_time_leaves_no_plan():
    assert "recoat" in clash_of(covered((12, 20)))


def test_a_coat_that_is_sanded_again_needs_no_cover_in_time():
    plan = plan_of(covered((12, 20), unless="again"))
    assert set(plan) == {"a", "again", "b"}
    plan = plan_of(covered((11, 20), unless="again"))
    assert plan["b"].start == 11


def test_checker_says_by_how_much_a_cover_is_late():
    problem = covered((0, 20))
    assert faults_of(problem, place("a", 0, 2, "ann"), place("b", 7, 9, "bo")) == ""
    assert faults_of(problem, place("a", 0, 2, "ann"), place("b", 8, 10, "bo")) == (
        "b: starts at 8, 1 ticks too late after a (recoat)"
    )


def kept_apart(until="", due=None):
    return instance(
        task("fumes", 3, "ann"),
        task("b", 2, "bo"),
        people=(person("ann"), person("bo")),
        lookups=(wait("clear", 4),),
        apart=(Apart(task="fumes", others=("b",), until=until, fact="fumes"),),
        due=due,
    )


def test_tasks_kept_apart_do_not_overlap():
    plan = plan_of(kept_apart(due=5))
    assert plan["b"].end <= plan["fumes"].start or plan["b"].start >= plan["fumes"].end
    assert clash_of(kept_apart(due=4)) == {"due", "fumes"}


def test_the_other_task_goes_first_when_fumes_must_clear():
    plan = plan_of(kept_apart(until="clear", due=5))
    assert (plan["b"].end, plan["fumes"].start) == (2, 2)
    problem = kept_apart(until="clear")
    assert faults_of(problem, place("fumes", 0, 3, "ann"), place("b", 7, 9, "bo")) == ""
    assert "in the same room as fumes from 0 to 7" in faults_of(
        problem, place("fumes", 0, 3, "ann"), place("b", 6, 8, "bo")
    )


def held(bad, until="", due=None):
    return instance(
        task(
            "coat",
            2,
            "ann",
            holds=(Hold(fact="too cold", bad=spans(bad), until=until),),
        ),
        people=(person("ann"),),
        lookups=(wait("dry", 3),),
        due=due,
    )


def test_limits_hold_while_the_coat_is_put_on():
    assert plan_of(held((2, 4)))["coat"].start == 0
    assert plan_of(held((1, 4)))["coat"].start == 4
    assert clash_of(held((1, 4), due=5)) == {"due", "too cold"}


def test_limits_hold_until_the_coat_is_dry():
    # on from 0 to 2, dry at 5
    assert plan_of(held((5, 7), until="dry"))["coat"].start == 0
    assert plan_of(held((4, 7), until="dry"))["coat"].start == 7
    assert "too cold fails in 4 to 5, before 5" in faults_of(
        held((4, 7), until="dry"), place("coat", 0, 2, "ann")
    )


def test_a_wait_that_is_not_over_within_the_horizon_cannot_be_held():
    late = held((0, 16), until="dry")
    assert clash_of(late) == {"too cold"}


def sharing(capacity, due=None, less=()):
    return instance(
        task("a", 3, "ann", demands=(Demand(pool="bay"),)),
        task("b", 3, "bo", demands=(Demand(pool="bay"),)),
        people=(person("ann"), person("bo")),
        pools=(Pool(id="bay", capacity=capacity, less=less),),
        due=due,
    )


def test_one_bay_takes_one_team_at_a_time():
    assert max(p.end for p in plan_of(sharing(1, due=6)).values()) == 6
    assert clash_of(sharing(1, due=5)) == {"due"}
    assert max(p.end for p in plan_of(sharing(2, due=3)).values()) == 3


def test_checker_finds_a_bay_that_is_taken_twice():
    teams = place("a", 0, 3, "ann"), place("b", 2, 5, "bo")
    assert faults_of(sharing(2), *teams) == ""
    assert faults_of(sharing(1), *teams) == "bay: 2 taken at 2, of 1"


def test_a_tool_that_is_away_is_waited_for():
    ends = sorted(p.end for p in plan_of(sharing(2, less=((1, 6, 1),))).values())
    assert ends == [3, 6]
    ends = sorted(p.end for p in plan_of(sharing(2, less=((1, 6, 0),))).values())
    assert ends == [9, 9]


def test_a_tool_is_held_over_a_pause_in_which_it_is_away():
    # the night from 2 to 6 has nobody open, and the bay is closed at 4
    def night(less):
        return instance(
            task("a", 3, "ann", demands=(Demand(pool="bay"),)),
            people=(person("ann", (0, 2), (6, 20)),),
            pools=(Pool(id="bay", less=less),),
        )

    assert plan_of(night(()))["a"].end == 7
    assert plan_of(night(((4, 5, 0),)))["a"].start == 6


def test_more_than_there_is_of_a_pool_is_named():
    problem = instance(
        task("a", 1, "ann", demands=(Demand(pool="bay", amount=2),)),
        people=(person("ann"),),
        pools=(Pool(id="bay"),),
    )
    assert clash_of(problem) == {"pool:bay"}


def branched(quick_before=LONG):
    return instance(
        task("cut", 6, "ann"),
        task("fur", 2, "ann"),
        task("board", 2, "ann"),
        task("end", 1, "ann"),
        people=(person("ann"),),
        branches=(Branch(id="backing", options=(("cut",), ("fur", "board"))),),
        links=(
            Link(before="cut", after="end"),
            Link(before="fur", after="board"),
            Link(before="board", after="end"),
        ),
        closures=(closure("end", due=quick_before, due_fact="due"),),
        pins=(),
    )


def test_exactly_one_method_is_carried_out():
    assert set(plan_of(branched())) == {"fur", "board", "end"}
    assert plan_of(branched(5))["end"].end == 5
    assert clash_of(branched(4)) == {"due"}


def test_checker_finds_half_a_method_and_two_methods():
    end = place("end", 9, 10, "ann")
    fur, board = place("fur", 0, 2, "ann"), place("board", 2, 4, "ann")
    assert faults_of(branched(), fur, board, end) == ""
    assert "is no option of it" in faults_of(branched(), fur, end)
    assert "is no option of it" in faults_of(branched(), end)
    both = faults_of(branched(), fur, board, place("cut", 10, 16, "ann"), end)
    assert "branch backing: ['board', 'cut', 'fur'] is no option of it" in both


def test_a_settled_start_end_and_team_stay():
    def settled(pin, due=None):
        return instance(
            task("a", 2, "ann", "bo"),
            people=(person("ann"), person("bo")),
            pins=(pin,),
            due=due,
        )

    assert plan_of(settled(Pin(task="a", start=4, fact="agreed")))["a"].start == 4
    assert plan_of(settled(Pin(task="a", end=9)))["a"].end == 9
    assert plan_of(settled(Pin(task="a", team=("bo",))))["a"].team == ("bo",)
    late = settled(Pin(task="a", start=4, fact="agreed"), due=5)
    assert clash_of(late) == {"due", "agreed"}
    faults = faults_of(settled(Pin(task="a", start=4)), place("a", 3, 5, "ann"))
    assert faults == "a: start is 3, settled as 4"


def booked(*bookings, due=None, first=0):
    return instance(
        task("before", 2, "ann"),
        task("a", 2, "ann"),
        task("b", 2, "ann"),
        people=(person("ann", (first, LONG)),),
        lookups=(wait("dry", 3),),
        links=(
            Link(before="before", after="a"),
            Link(before="a", after="b"),
        ),
        closures=(
            Closure(
                id="stage",
                tasks=("a", "b"),
                terms=(Term(task="b", wait="dry"),),
                booked=bookings,
                due=due,
                due_fact="due",
            ),
        ),
    )


def test_the_closure_fits_before_a_booking_when_it_just_does():
    # before 0 to 2, a and b 2 to 6, dry at 9
    assert plan_of(booked(block("shoot", (9, 12))))["a"].start == 2


def test_the_closure_moves_behind_a_booking_when_it_just_does_not_fit():
    plan = plan_of(booked(block("shoot", (8, 12))))
    assert plan["a"].start == 12
    assert plan["before"].end <= 8


def test_bookings_that_leave_no_gap_are_named():
    clash = clash_of(booked(block("shoot", (8, 9)), block("show", (15, 16))))
    assert clash == {"shoot", "show"}


def test_checker_names_the_booking_that_a_closure_overlaps():
    teams = (
        place("before", 0, 2, "ann"),
        place("a", 2, 4, "ann"),
        place("b", 4, 6, "ann"),
    )
    assert faults_of(booked(block("shoot", (9, 12))), *teams) == ""
    assert faults_of(booked(block("shoot", (8, 12))), *teams) == (
        "stage: overlaps shoot in 8 to 9"
    )
    assert faults_of(booked(due=8), *teams) == "stage: returns at 9, 1 ticks too late"


def test_the_closure_covers_the_nights_between_its_tasks():
    # nobody works from 4 to 8, and the booking lies there: the closure can't span it
    problem = instance(
        task("a", 2, "ann"),
        task("b", 2, "ann"),
        people=(person("ann", (2, 4), (8, 20)),),
        closures=(closure("a", "b", booked=(block("shoot", (5, 7)),)),),
    )
    assert plan_of(problem)["a"].start == 8


def test_size_nought_needs_nobody_and_works_at_night():
    problem = instance(
        task("a", 2, "ann"),
        task("machine", 5, modes=(Mode(size=0, ticks=5),)),
        people=(person("ann", (0, 2)),),
        links=(Link(before="a", after="machine"),),
        aims=(AimKind.LAST_RETURN,),
    )
    assert plan_of(problem)["machine"].end == 7
