"""How many teams are made: alike people count, and many different ones are too many.

Tests of planner/schedule/cp/called.py, planner/schedule/cp/relaxed.py,
planner/schedule/space/axis.py, planner/schedule/space/memory.py,
planner/schedule/space/search_space.py, planner/schedule/space/teams.py.
"""

import time
from collections import Counter
from dataclasses import replace

import pytest

from planner.schedule.check.verify import values, verify
from planner.schedule.climb import solve as solving
from planner.schedule.climb.solve import solve
from planner.schedule.cp.called import calls
from planner.schedule.cp.model import Model
from planner.schedule.cp.relaxed import without_people
from planner.schedule.cp.rules import keep_all_rules
from planner.schedule.problem import limits as limiting
from planner.schedule.problem.instance import Instance
from planner.schedule.problem.limits import SearchLimits, StoppedError, Watch
from planner.schedule.problem.outcome import NoPlan, Planned, TimeUp
from planner.schedule.problem.parts import AimKind, Link, Mode, Pin
from planner.schedule.space import search_space, teams
from planner.schedule.space.memory import Memory
from planner.schedule.space.search_space import make_space
from planner.schedule.space.teams import (
    MOST_TEAMS,
    count_teams,
    find_groups,
    most_teams,
    teams_of,
)
from planner.schedule.space.windows import narrow
from planner.schedule.why.conflict import conflict
from tests.support.schedule import instance, person, task
from tests.support.small import best_by_trial, seats_to_try, small_instance

SIZES = tuple(Mode(size=n, ticks=4) for n in (1, 2, 3, 4))
AIMS = (AimKind.LAST_RETURN, AimKind.CALLS)


def crew_of(count: int, *, alike: bool) -> Instance:
    """Return a job of six tasks that anybody may do, up to four at a time."""
    names = [f"p{k:02}" for k in range(count)]
    hours = [((0, 8), (10, 20)) if alike else ((0, 8 - k % 5), (10, 20 - k // 5)) for k in range(count)]  # fmt: skip
    return instance(
        *(task(f"t{k}", 4, *names, modes=SIZES) for k in range(6)),
        people=tuple(person(n, *h) for n, h in zip(names, hours, strict=True)),
        aims=AIMS,
    )


def variables_of(problem: Instance) -> int:
    m = Model(narrow(make_space(problem)), None)
    keep_all_rules(m)
    calls(m)
    return len(m.cp.proto.variables)


@pytest.mark.parametrize(
    ("hours", "rest", "times"),
    [
        (((0, 8), (10, 20)), 0, 1),
        (((0, 8), (10, 20)), 3, 2),
        (((0, 8), (11, 20)), 0, 2),
    ],
)
def test_courses_are_worked_out_once_for_all_who_have_the_same_hours(
    hours, rest, times
):
    """Three who know different work; the third may have other hours, or other rest."""
    usual = ((0, 8), (10, 20))
    problem = instance(
        task("x", 4, "ana", "bo"),
        task("y", 4, "bo", "cy"),
        people=(
            person("ana", *usual),
            person("bo", *usual),
            person("cy", *hours, rest=rest),
        ),
    )
    memory = Memory()
    make_space(problem, memory)
    assert len(memory.starts) == times


@pytest.mark.parametrize("size", [0, 1, 2, 3, 4])
@pytest.mark.parametrize("leads", [None, (), ("p00", "p03"), ("p01",)])
def test_teams_are_counted_without_being_made(size, leads):
    problem = crew_of(6, alike=False)
    doubled = replace(
        problem, people=(*problem.people, person("p99", (0, 8), (10, 20)))
    )
    for made in (problem, doubled, crew_of(6, alike=True)):
        ids = tuple(p.id for p in made.people)
        one = replace(made.tasks[0], eligible=ids, leads=leads)
        groups = find_groups(replace(made, tasks=(one, *made.tasks[1:])))
        assert count_teams(one, size, groups) == len(
            list(teams_of(one, size, groups, MOST_TEAMS))
        )


def test_forty_who_are_alike_make_a_model_no_larger_than_four_do():
    four, forty = (variables_of(crew_of(n, alike=True)) for n in (4, 40))
    assert forty == four


def test_forty_who_differ_make_no_more_teams_than_can_be_weighed():
    space = make_space(crew_of(40, alike=False))
    assert space.some_teams  # four of forty are 91,390 teams
    for row in space.options:
        assert len(row) <= MOST_TEAMS * len(SIZES)
    quicker = tuple(Mode(size=n, ticks=12 - 2 * n) for n in (1, 2, 3, 4))
    few = crew_of(10, alike=False)
    one = replace(few.tasks[0], modes=quicker)
    ten = make_space(replace(few, tasks=(one, *few.tasks[1:])))
    assert not ten.some_teams
    assert len(ten.options[0]) == 10 + 45 + 120 + 210


@pytest.mark.parametrize(
    ("budget", "each", "most", "some"),
    [
        (2310, 0, 210, False),  # six times the 385 teams of ten people
        (2309, 0, 209, True),
        (600, 0, 30, True),  # ten alone, and thirty each of two, three and four
        (0, 100, 30, True),  # as many, for six tasks
    ],
)
def test_the_teams_of_all_tasks_together_are_few_enough_too(
    budget, each, most, some, monkeypatch
):
    monkeypatch.setattr(teams, "MOST_OPTIONS", budget)
    monkeypatch.setattr(teams, "MOST_EACH", each)
    ten = crew_of(10, alike=False)
    assert most_teams(ten.tasks, find_groups(ten)) == (most, some)
    space = make_space(ten)
    assert space.some_teams is some
    assert sum(map(len, space.options)) <= max(budget, 6 * each)


def test_once_time_is_up_a_task_has_few_teams():
    """Of ten people there are 45 pairs, of six fifteen; alone there are ten in any case."""
    quicker = tuple(Mode(size=n, ticks=12 - 2 * n) for n in (1, 2, 3, 4))
    ten = crew_of(10, alike=False)
    ten = replace(ten, tasks=tuple(replace(t, modes=quicker) for t in ten.tasks))
    asked: list[bool] = []

    def over() -> bool:
        asked.append(True)
        return len(asked) > len(SIZES)  # while the second task is prepared

    first, *others = make_space(ten, hurry=over).options
    assert len(first) == 10 + 45 + 120 + 210
    for row in others:
        sizes = Counter(sum(n for _, n in o.team) for o in row)
        assert sizes == {1: 10, 2: 15, 3: 20, 4: 15}
    assert make_space(ten, hurry=over).some_teams
    three = crew_of(3, alike=False)
    assert not make_space(three, hurry=lambda: True).some_teams
    pins = tuple(Pin(task=t.id, team=("p01",)) for t in ten.tasks)
    assert not make_space(replace(ten, pins=pins), hurry=lambda: True).some_teams


def test_teams_that_are_settled_leave_room_for_those_of_the_others(monkeypatch):
    monkeypatch.setattr(teams, "MOST_OPTIONS", 385)
    monkeypatch.setattr(teams, "MOST_EACH", 0)
    ten = crew_of(10, alike=False)
    pins = tuple(Pin(task=t.id, team=("p01",)) for t in ten.tasks[1:])
    space = make_space(replace(ten, pins=pins))
    assert not space.some_teams
    assert list(map(len, space.options[1:])) == [1] * 5
    assert {len(o.team) for o in space.options[0]} == {1, 2, 3, 4}


def test_a_settled_team_is_there_among_the_more_that_can_not_be_weighed():
    """The last four of forty are open the least, so no team is made of them."""
    forty = crew_of(40, alike=False)
    names = tuple(f"p{k}" for k in (36, 37, 38, 39))
    pins = tuple(Pin(task=t.id, team=names) for t in forty.tasks)
    space = make_space(replace(forty, pins=pins))
    for row in space.options:
        assert len(row) == 1
        who = [m for g, _ in row[0].team for m in space.groups[g].members]
        assert sorted(who) == list(names)
    assert not space.some_teams  # for each task the only team that may do it
    one = make_space(replace(forty, pins=pins[:1]))
    assert (len(one.options[0]), one.some_teams) == (1, True)


@pytest.mark.parametrize(
    ("team", "leads", "there"),
    [
        (("p00", "p01"), None, True),
        (("p00", "p01"), ("p01",), True),
        (("p00", "p01"), ("p02",), False),  # nobody of it may lead
        (("p00", "p01", "p02"), None, False),  # no team of three is asked for
        (("p00", "p09"), None, False),  # one of it may not do the work
    ],
)
def test_a_settled_team_must_be_one_that_the_task_may_have(team, leads, there):
    made = crew_of(10, alike=False)
    able = tuple(p.id for p in made.people[:6])
    mode = (Mode(size=2, ticks=4),)
    one = replace(made.tasks[0], eligible=able, leads=leads, modes=mode)
    pin = Pin(task=one.id, team=team)
    posed = replace(made, tasks=(one, *made.tasks[1:]), pins=(pin,))
    assert len(make_space(posed).options[0]) == there


def test_what_nobody_could_do_in_time_is_known_before_any_team_is_looked_at(
    monkeypatch,
):
    """Four tasks in a row of four people each take four ticks, and eight are allowed."""
    forty = crew_of(40, alike=False)
    links = tuple(Link(before=f"t{k}", after=f"t{k + 1}", fact=f"t{k}-t{k + 1}") for k in range(5))  # fmt: skip
    stage = replace(forty.closures[0], due=8)
    late = replace(forty, closures=(stage,), links=links)
    made = []

    def watched(posed, *more, **how):
        made.append(len(posed.people))
        return make_space(posed, *more, **how)

    monkeypatch.setattr(solving, "make_space", watched)
    found = solve(late)
    assert made == [0]
    # each link stays until the windows alone show that the work is too long
    assert isinstance(found, NoPlan)
    assert found.facts
    assert (found.minimal, found.some_teams, found.enough) == (False, True, ())
    assert solve(late, explain=False) == NoPlan(facts=(), minimal=False)


def test_a_clash_is_not_asked_for_where_teams_left_out_could_do_it():
    forty = crew_of(40, alike=False)
    assert conflict(forty) is None
    none = conflict(forty, certain=True)
    assert none == NoPlan(facts=(), minimal=False)


@pytest.mark.parametrize(
    ("late_s", "preparing_s", "stop", "ends"),
    [
        (-60.0, 0.0, False, False),  # a minute is left
        (3.0, 60.0, False, False),  # late, and yet a plan is begun
        (3.0, 0.0, False, True),
        (-60.0, 60.0, True, False),  # so a small job's first plan isn't lost to Ctrl-C
        (-60.0, 0.0, True, True),
    ],
)
def test_a_search_that_is_late_or_stopped_has_a_moment_to_come_to_a_plan(
    late_s, preparing_s, stop, ends, monkeypatch
):
    monkeypatch.setattr(limiting, "PREPARING_S", preparing_s)
    outcome = solve(
        crew_of(4, alike=False),
        limits=SearchLimits(until_s=time.monotonic() - late_s),
        stop=lambda: stop,
        explain=False,
    )
    assert (outcome == TimeUp()) is ends


def test_the_moment_to_come_to_a_plan_is_not_used_up_by_other_programs(monkeypatch):
    monkeypatch.setattr(limiting, "PREPARING_S", 0.05)
    watch = Watch(SearchLimits(until_s=time.monotonic() - 1.0), None)
    time.sleep(0.1)  # the processor is with others
    watch.check_prepared()
    begun_s = time.process_time()
    while time.process_time() < begun_s + 0.06:
        pass
    with pytest.raises(StoppedError):
        watch.check_prepared()


@pytest.mark.parametrize(
    "seed",
    [pytest.param(n, marks=[pytest.mark.slow] * (n >= 8)) for n in range(40)],
)
def test_what_is_said_of_a_plan_made_in_a_hurry_holds_for_all_teams(seed, monkeypatch):
    problem = small_instance(seed)
    assert seats_to_try(problem) <= 60_000, "choose another seed: too many plans to try"
    monkeypatch.setattr(search_space, "HURRIED_TEAMS", 1)
    late = SearchLimits(until_s=time.monotonic())
    best, outcome = best_by_trial(problem), solve(problem, limits=late, explain=False)
    if isinstance(outcome, NoPlan):
        assert best is None
    elif isinstance(outcome, Planned):
        assert best is not None
        assert verify(problem, outcome.placements) == ()
        first = outcome.aims[0]
        assert first.bound <= best[0] <= first.value
    else:
        assert isinstance(outcome, TimeUp)


@pytest.mark.slow
def test_a_plan_of_some_teams_says_that_it_is_not_proven():
    problem = replace(crew_of(40, alike=False), aims=(AimKind.CALLS,))
    outcome = solve(problem)
    assert isinstance(outcome, Planned)
    assert verify(problem, outcome.placements) == ()
    assert outcome.stopped == "limit of teams"
    assert not outcome.aims[0].proven


@pytest.mark.parametrize(
    "seed",
    [pytest.param(n, marks=[pytest.mark.slow] * (n >= 15)) for n in range(40)],
)
def test_what_is_said_of_some_teams_holds_for_all(seed, monkeypatch):
    problem = small_instance(seed)
    assert seats_to_try(problem) <= 60_000, "choose another seed: too many plans to try"
    monkeypatch.setattr(teams, "MOST_TEAMS", 1)
    best, outcome = best_by_trial(problem), solve(problem, explain=False)
    if isinstance(outcome, NoPlan):
        assert best is None
    elif isinstance(outcome, Planned):
        assert best is not None
        assert verify(problem, outcome.placements) == ()
        found = values(problem, outcome.placements)
        first = outcome.aims[0]
        assert first.value == found[first.aim]
        assert first.bound <= best[0] <= first.value
    else:
        assert outcome == TimeUp(some_teams=True)
    if best is not None:  # nothing that hangs on people rules a plan out
        narrow(make_space(without_people(problem)))
