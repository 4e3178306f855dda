"""Rounds of plan and air, step by step: what moves, what is asked again, what is proven.

The own air of a plan is made up here: each case says what its rules come to when the
coats lie as they do. A tick is a quarter of an hour; Ann is always there.

Tests of planner/planning/rounds.py, planner/planning/searching.py,
planner/schedule/first/later.py.
"""

import time
from dataclasses import replace
from datetime import date
from types import SimpleNamespace
from typing import Any, cast

import pytest

from planner.errors import TimeUpError
from planner.hours.grid import Grid
from planner.planning import rounds
from planner.planning.problem import Problem
from planner.planning.refusals.no_plan import Damp
from planner.planning.rounds import AirRounds, Held, NotHeld, Settled
from planner.planning.searching import Search
from planner.schedule.first.later import moved_on
from planner.schedule.problem.limits import SearchLimits
from planner.schedule.problem.outcome import AimResult, NoPlan, Planned, TimeUp
from planner.schedule.problem.parts import AimKind, Hold, Link, LinkKind
from tests.support.ics import HALIFAX
from tests.support.schedule import block, instance, person, place, spans, task, wait

FAR = 60
GRID = Grid.from_day(date(2027, 2, 8), days=42, tick_minutes=15, zone=HALIFAX)
AIMS = (AimKind.LAST_RETURN, AimKind.CLOSED, AimKind.EARLY)
A, B = place("a", 0, 2, "ann"), place("b", 4, 6, "ann")


def problem(*tasks, dry: int = 3, **more: Any) -> Problem:
    """Return a problem of coats `a` and `b`, or others, that dry for some ticks."""
    more.setdefault("lookups", (wait("dry", dry, FAR),))
    made = instance(
        *(tasks or (task("a", 2, "ann"), task("b", 2, "ann"))),
        people=(person("ann", (0, FAR)),),
        horizon=FAR,
        aims=AIMS,
        **more,
    )
    bare = ("job", "work", "air", "products", "open", "booked", "quiet", "lookups")
    others: dict[str, Any] = dict.fromkeys((*bare, "waits"))
    return Problem(grid=GRID, instance=made, facts={}, **others)


def rounds_of(monkeypatch, own, *, least=None, search=None, wet="ab") -> AirRounds:
    """Return rounds in which `own` gives the problem in the air of some placements."""
    monkeypatch.setattr(rounds, "least", lambda _, dry: least or dry)
    monkeypatch.setattr(rounds, "coats_of", lambda _work, _products, placed: placed)
    monkeypatch.setattr(rounds, "gives_water", lambda _work, _products: set(wet))
    monkeypatch.setattr(rounds, "bounds_hold", lambda _inputs, _dry: True)

    def posed(_case, *, weeks, coats):
        assert weeks == 6
        return own({p.task: p for p in coats})

    monkeypatch.setattr(rounds, "posed", posed)
    case = cast(Any, SimpleNamespace(inputs=None))
    return AirRounds(case, problem(), search or Search(limits=SearchLimits()))


@pytest.fixture
def asked(monkeypatch):
    """Return the starts that each moving on was told to keep to."""
    seen: list[dict[str, int]] = []

    def watched(rules, placements, not_before):
        seen.append(dict(not_before))
        return moved_on(rules, placements, not_before)

    monkeypatch.setattr(rounds, "moved_on", watched)
    return seen


def damp_until(start: int, *, dry: int = 10):
    """Return an own air that is too damp for `a` once a `b` before a tick has begun."""

    def own(plan):
        begun = plan["b"].start
        hold = Hold(fact="damp", bad=spans((begun + 1, begun + 20)), until="dry")
        holds = (hold,) if begun < start else ()
        return problem(task("a", 2, "ann", holds=holds), task("b", 2, "ann"), dry=dry)

    return own


# ------------------------------------------------------------------ made to hold


def test_what_begins_before_a_coat_is_dry_in_its_own_air_is_moved_on(monkeypatch):
    tasks = task("a", 2, "ann"), task("c", 1, "ann")
    dries = (Link(before="a", after="c", wait="dry"),)
    own = problem(*tasks, dry=5, links=dries)
    made = rounds_of(monkeypatch, lambda _: own, least=own)
    held = made.held((A, place("c", 5, 6, "ann")))
    assert held is not None
    assert {p.task: p.start for p in held.placements} == {"a": 0, "c": 7}
    # back at 8, closed since 0; the ends are 2 and 8
    assert held.worth == (8, 8, 10)
    assert held.problem is own
    # what holds is left where it is
    again = made.held(held.placements)
    assert again is not None
    assert again.placements == held.placements


def test_a_coat_that_makes_it_too_damp_moves_by_an_hour_then_by_two(monkeypatch, asked):
    made = rounds_of(monkeypatch, damp_until(16), least=damp_until(0)({"b": B}))
    held = made.held((A, B))
    assert held is not None
    # 4 and an hour, then 8 and two; a lies until 2 and dries until 12
    assert asked == [{"b": 8}, {"b": 16}]
    assert made.damp == Damp(task="a", fact="damp", first=9, last=12)
    assert {p.task: p.start for p in held.placements} == {"a": 0, "b": 16}


def test_a_plan_that_never_holds_moves_off_the_grid_and_there_is_none(monkeypatch):
    made = rounds_of(
        monkeypatch, damp_until(FAR, dry=50), least=damp_until(0)({"b": B})
    )
    assert made.held((A, B)) is None
    assert made.damp is not None


@pytest.mark.parametrize(("ago_s", "late"), [(1.0, False), (60.0, True)])
def test_past_the_clock_a_plan_has_a_moment_more_to_hold(monkeypatch, ago_s, late):
    search = Search(limits=SearchLimits(until_s=time.monotonic() - ago_s))
    good = damp_until(0)({"b": B})
    made = rounds_of(monkeypatch, damp_until(8), least=good, search=search)
    if late:
        with pytest.raises(TimeUpError):
            made.held((A, B))
    else:
        assert made.held((A, B)) is not None
    # one that holds as it is needs no time
    assert made.held((A, place("b", 8, 10, "ann"))) is not None


def test_the_last_coat_laid_before_the_limits_break_is_the_one_that_moves(monkeypatch):
    def hold(until: str, *bad: tuple[int, int]) -> tuple[Hold, ...]:
        return (Hold(fact="damp", bad=spans(*bad), until=until),)

    own = problem(
        task("a", 2, "ann", holds=hold("dry", (6, 7), (9, 30))),
        task("b", 2, "ann"),
        task("c", 2, "ann", holds=hold("", (6, 20))),
        task("d", 2, "ann", holds=hold("dry", (6, 20)), optional=True),
        task("e", 2, "ann", holds=hold("dry", (20, 30))),
        task("f", 2, "ann", holds=hold("dry", (30, 31)) + hold("", (7, 8))),
        dry=10,
    )
    made = rounds_of(monkeypatch, lambda _: own, wet="abef")
    plan = (A, B, place("c", 5, 7, "ann"), place("e", 7, 9, "ann"),
            place("f", 6, 8, "ann"))  # fmt: skip
    found = [(d, late.task) for d, late in made.too_damp(own, plan)]
    # a: of those wet by tick 6 the last is f, c is no coat; e is laid after
    # c: damp while it is worked alone, from 6 to 7; d is left out; e is dry by 19
    # f: its first limits hold, its second don't; by tick 7 the last is e
    assert found == [
        (Damp(task="a", fact="damp", first=6, last=12), "f"),
        (Damp(task="c", fact="damp", first=6, last=7), "f"),
        (Damp(task="f", fact="damp", first=7, last=8), "e"),
    ]


def test_what_is_moved_on_keeps_the_starts_and_limits_that_no_air_allows(monkeypatch):
    shut = (block("own-damp:a", (0, 3)),)
    holds = tuple(Hold(fact=n, bad=spans((0, 1)), until=n) for n in ("dry@a", "gone@a"))
    lookups = (wait("dry@a", 1, FAR), wait("gone@a", 1, FAR))
    least = problem(task("a", 2, "ann", no_start=shut, holds=holds), lookups=lookups)
    hold = (Hold(fact="damp", bad=spans((5, 9)), until="dry"),)
    own = problem(
        task("a", 2, "ann", no_start=(block("damp", (5, 6)),), holds=hold), dry=9
    )
    (a,) = rounds_of(monkeypatch, lambda _: own, least=least).rules(own).tasks
    assert a.no_start == shut
    assert [(h.fact, h.until) for h in a.holds] == [("dry@a", "dry")]


# ------------------------------------------------------------------- a better one


def planned(*values: int, bounds: tuple[int, ...] = (), stopped: str = "") -> Planned:
    results = zip(AIMS, values, bounds or values, strict=True)
    aims = tuple(AimResult(aim=a, value=v, bound=b) for a, v, b in results)
    return Planned(placements=(A, B), aims=aims, stopped=stopped)


def held(*worth: int, dry: int = 3) -> Held:
    return Held(problem=problem(dry=dry), placements=(A, B), worth=worth)


def scripted(monkeypatch, outcomes, holds=(), **more: Any):
    """Return rounds whose searches and tries to hold end as told, and the searches."""
    searches: list[dict[str, Any]] = []
    made = rounds_of(monkeypatch, lambda _: problem(dry=7), **more)

    def solved(asked, search, **how):
        found = {"instance": asked.instance, "work": search.limits.work, **how}
        searches.append(found)
        return outcomes[len(searches) - 1]

    tries = iter(holds)
    monkeypatch.setattr(rounds, "solved", solved)
    monkeypatch.setattr(made, "held", lambda _: next(tries))
    return made, searches


def test_a_plan_as_good_as_any_air_allows_is_not_searched_for_a_better(monkeypatch):
    made, searches = scripted(monkeypatch, [])
    best = held(9, 5, 20)
    # only the return and the closure are worth another search
    assert made.bettered(best, (9, 5, 18)) == (best, frozenset(), 1)
    stop = Search(limits=SearchLimits(), stop=lambda: True)
    made, searches = scripted(monkeypatch, [], search=stop)
    assert made.bettered(best, (8, 5, 18)) == (best, frozenset(), 1)
    assert searches == []


def test_no_better_one_in_its_own_air_ends_the_rounds_with_what_that_proves(
    monkeypatch,
):
    best = held(9, 5, 20)
    made, searches = scripted(monkeypatch, [planned(9, 5, 20, bounds=(9, 4, 20))])
    # what is proven after an aim that isn't counts for nothing
    assert made.bettered(best, (8, 5, 18)) == (best, {AimKind.LAST_RETURN}, 2)
    (only,) = searches
    assert (only["work"], only["round_number"]) == (1.0, 2)  # a quarter of 4
    assert only["instance"] == best.problem.instance
    for nothing in (NoPlan(facts=(), minimal=False), TimeUp()):
        made, _ = scripted(monkeypatch, [nothing])
        assert made.bettered(best, (8, 5, 18)) == (best, frozenset(), 2)


def test_a_better_plan_that_holds_takes_the_place_and_its_air_is_searched(monkeypatch):
    best, other = held(9, 5, 20), held(8, 6, 22, dry=4)
    outcomes = [planned(7, 5, 18), planned(8, 6, 22)]
    made, searches = scripted(monkeypatch, outcomes, [other])
    found, here, number = made.bettered(best, (7, 5, 18))
    assert found is other
    assert here == set(AIMS)
    assert number == 3
    assert searches[1]["instance"] == other.problem.instance


@pytest.mark.parametrize("no_better", [None, held(9, 5, 20), held(9, 6, 1)])
def test_one_that_comes_to_nothing_makes_the_next_keep_the_damper_air(
    monkeypatch, no_better
):
    best = held(9, 5, 20)
    # in its own air the closure can't be shorter than 5; there the return could
    first = planned(8, 5, 18, bounds=(9, 5, 18))
    outcomes = [first, planned(8, 5, 18), planned(8, 5, 18)]
    made, searches = scripted(monkeypatch, outcomes, [no_better] * 3)
    found, here, number = made.bettered(best, (7, 5, 18))
    assert (found, number) == (best, 4)
    assert here == {AimKind.LAST_RETURN, AimKind.CLOSED}
    # dry for 3 ticks in the plan's own air, for 7 in that of what was tried
    lasts = [s["instance"].lookups[0].over[4] - 4 for s in searches]
    assert lasts == [3, 7, 7]


def test_the_damper_of_two_airs_has_the_longer_waits_and_all_bad_ticks():
    def air(dry: int, late: int, **holds: tuple[int, int]):
        made = tuple(Hold(fact=f, bad=spans(s)) for f, s in holds.items())
        return problem(
            task("a", 2, "ann", holds=made),
            task("b", 2, "ann"),
            lookups=(wait("dry", dry, FAR), wait("window", late, FAR)),
            links=(Link(before="a", after="b", kind=LinkKind.LATEST, wait="window"),),
        ).instance

    one, two = air(3, 9, damp=(4, 6), cold=(0, 1)), air(5, 8, damp=(5, 9), warm=(7, 8))
    for both in (rounds._damper(one, two), rounds._damper(two, one)):
        # what must be covered in time must be so in both airs
        assert [k.over[0] for k in both.lookups] == [5, 8]
        holds = {h.fact: h.bad.items for h in both.tasks[0].holds}
        assert holds == {"damp": ((4, 9),), "cold": ((0, 1),), "warm": ((7, 8),)}
        assert both.links == one.links


# ------------------------------------------------------------------ what is proven


def test_bounds_of_the_first_search_do_as_far_as_the_plan_is_as_good(monkeypatch):
    made, searches = scripted(monkeypatch, [])
    first = planned(9, 5, 20, bounds=(9, 4, 21), stopped="work limit")
    found, everywhere = made.proven(held(9, 5, 20), first)
    assert searches == []
    assert everywhere == set(AIMS)
    assert [(a.value, a.bound) for a in found.aims] == [(9, 9), (5, 4), (20, 20)]
    assert found.stopped == "work limit"
    assert found.placements == (A, B)


def test_else_bounds_are_sought_for_plans_as_good_as_this_one(monkeypatch):
    again = planned(9, 6, 20, bounds=(9, 5, 19))
    made, searches = scripted(monkeypatch, [again])
    found, everywhere = made.proven(held(9, 6, 20), planned(9, 5, 18))
    (only,) = searches
    assert only["given"] == dict(zip(AIMS, (9, 6, 20), strict=True))
    assert only["work"] == 1.0
    assert [a.bound for a in found.aims] == [9, 5, 19]
    assert everywhere == set(AIMS)


@pytest.mark.parametrize("stopped", [True, False])
def test_without_them_the_aims_up_to_the_first_that_differs_keep_theirs(
    monkeypatch, stopped
):
    search = Search(limits=SearchLimits(), stop=(lambda: True) if stopped else None)
    made, searches = scripted(monkeypatch, [TimeUp()], search=search)
    found, everywhere = made.proven(held(9, 6, 20), planned(9, 5, 18))
    assert everywhere == {AimKind.LAST_RETURN, AimKind.CLOSED}
    assert [a.bound for a in found.aims] == [9, 5, 18]
    assert len(searches) == (0 if stopped else 1)
    assert found.stopped == ("interrupted" if stopped else "")


def test_with_readings_in_the_plans_weeks_nothing_is_proven_of_other_airs(monkeypatch):
    made, _ = scripted(monkeypatch, [])
    monkeypatch.setattr(rounds, "bounds_hold", lambda _inputs, _dry: False)
    assert made.proven(held(9, 5, 20), planned(9, 5, 20))[1] == set()


# --------------------------------------------------------------------- all together


def test_the_first_search_looks_at_each_coat_alone_with_a_quarter_of_the_work(
    monkeypatch,
):
    lone = problem(dry=1)
    first = planned(9, 5, 18)
    best = held(9, 5, 20)
    made, searches = scripted(monkeypatch, [first, TimeUp()], [best], least=lone)
    found = made.settled()
    assert isinstance(found, Settled)
    assert searches[0]["instance"] == lone.instance
    assert (searches[0]["round_number"], searches[0]["work"]) == (1, 1.0)
    assert found.problem is best.problem
    assert found.rounds == 1
    assert [a.value for a in found.found.aims] == [9, 5, 20]
    assert found.proof.everywhere == set(AIMS)
    assert found.proof.here == set()


def test_where_the_first_search_finds_nothing_there_is_nothing(monkeypatch):
    none = NoPlan(facts=(), minimal=False)
    assert scripted(monkeypatch, [none])[0].settled() is None
    some = TimeUp(some_teams=True)
    assert scripted(monkeypatch, [some])[0].settled() is some
    with pytest.raises(TimeUpError):
        scripted(monkeypatch, [TimeUp()])[0].settled()


def test_a_plan_that_can_not_be_made_to_hold_is_no_proof_that_there_is_none(
    monkeypatch,
):
    made = scripted(monkeypatch, [planned(9, 5, 18)], [None])[0]
    assert made.settled() == NotHeld(damp=None)
    made = scripted(monkeypatch, [planned(9, 5, 18)], [None])[0]
    made.damp = Damp(task="a", fact="damp", first=2, last=4)
    assert made.settled() == NotHeld(damp=made.damp)


def test_a_part_of_a_search_has_its_share_of_work_and_of_what_the_clock_leaves():
    whole = SearchLimits(work=8.0, until_s=time.monotonic() + 40.0)
    part = Search(limits=whole).part(0.25)
    assert part.limits.work == 2.0
    assert part.limits.clock_s == pytest.approx(10.0, abs=0.5)
    assert replace(part.limits, clock_s=None, work=8.0) == whole
    assert Search(limits=SearchLimits()).part(0.5).limits.clock_s is None
