"""What a job that has begun asks of the instance, rule by rule, without a plan.

Ticks are hours from Monday 8 February 2027 on; it is 12:00 of the first day, and what
happened before that is stated.

Tests of planner/planning/begun/past.py.
"""

from dataclasses import replace
from datetime import date, datetime
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from planner.files.job.jobfile import read_job
from planner.hours.grid import Grid
from planner.hours.spans import Spans
from planner.nouns.case import Past, PastTask
from planner.nouns.work import Pace, Task, Team, Wait, Work
from planner.planning.begun.past import NOW, as_worked, is_dry, with_past
from planner.planning.problem import Problem
from planner.schedule.problem.parts import (
    Apart,
    Before,
    Demand,
    Link,
    LinkKind,
    Mode,
    Pin,
    Pool,
)
from planner.trade.data.materials import product
from tests.support.schedule import (
    block,
    closure,
    instance,
    person,
    place,
    spans,
    task,
    wait,
)
from tests.support.values import job_file

GRID = Grid.from_day(
    date(2027, 2, 8), days=10, tick_minutes=60, zone=ZoneInfo("America/Halifax")
)
TICKS, NOON = GRID.ticks, 12
TOPPING = product("topping")
DRY = "topping:dry"


def at(tick: float) -> datetime:
    return GRID.start + tick * (GRID.instant(1) - GRID.start)


def work(id_: str, *sizes: int) -> Task:
    return Task(
        id=id_,
        title=id_.upper(),
        how="",
        phase="",
        bays=(),
        lead=(),
        help=(),
        person_hours=8.0,
        set_up_h=1.0,
        elapsed_h=0.0,
        quantity="",
        teams=tuple(Team(size=n, yield_frac=0.8) for n in sizes or (1,)),
        pace=Pace.PAUSABLE,
    )


@pytest.fixture
def problem(tmp_path: Path) -> Problem:
    """`a`, then `b`, then `c`; all of them for anybody."""
    job = replace(read_job(job_file(tmp_path)), margin_frac=0.25)
    nothing: Any = None
    made = instance(
        *(task(name, 8, "ann", "bo") for name in "abc"),
        people=(person("ann", (0, TICKS)), person("bo", (0, TICKS))),
        lookups=(wait(DRY, 6, TICKS),),
        horizon=TICKS,
    )
    return Problem(
        job=job,
        work=Work(bays=(), tasks=tuple(map(work, "abc")), links=(), returns=()),
        grid=GRID,
        air=nothing,
        products={"topping": TOPPING},
        open={},
        booked=(),
        quiet=(),
        instance=made,
        facts={"known": "as before"},
        lookups={},
        waits={DRY: Wait(product="topping", stage="dry")},
    )


def changed(problem: Problem, **parts: Any) -> Problem:
    return replace(problem, instance=replace(problem.instance, **parts))


def done(task_: str, start: float, end: float, *team: str, **more: Any) -> PastTask:
    span = ((at(start), at(end)),)
    return PastTask(
        task=task_, start=at(start), end=at(end), team=team, spans=span, **more
    )


def begun(task_: str, start: float, left_h: float, *team: str) -> PastTask:
    span = ((at(start), at(NOON)),)
    return PastTask(
        task=task_, start=at(start), end=None, team=team, spans=span, left_h=left_h
    )


def after(problem: Problem, *tasks: PastTask, now: float = NOON) -> Problem:
    return with_past(problem, Past(now=at(now), tasks=tasks))


def named(problem: Problem) -> dict[str, Any]:
    return {t.id: t for t in problem.instance.tasks}


# ------------------------------------------------------------------------- tasks


def test_what_is_done_is_a_task_of_nobody_where_it_was(problem):
    """From 8:30 to 10:15 it touches three hours."""
    found = after(problem, done("a", 8.5, 10.25, "ann"))
    a = named(found)["a"]
    assert (a.modes, a.eligible, a.no_start) == ((Mode(size=0, ticks=3),), (), ())
    assert found.instance.pins == (Pin(task="a", start=8, fact="happened:a"),)
    assert found.past == {"a": place("a", 8, 11, "ann")}
    assert found.facts["happened:a"] == '"A" was begun'
    assert found.facts[NOW].startswith("it is Mon 8 Feb 2027, 12:00")
    assert found.facts["known"] == "as before"
    assert "happened:b" not in found.facts


def test_nothing_else_begins_before_now(problem):
    shut = block("shut", (20, 22))
    a, b, c = problem.instance.tasks
    asked = changed(problem, tasks=(a, replace(b, no_start=(shut,)), c))
    _, b, c = after(asked).instance.tasks
    assert b.no_start == (shut, block(NOW, (0, NOON)))
    assert c.no_start == (block(NOW, (0, NOON)),)


def test_of_what_is_under_way_the_rest_is_planned_by_the_size_of_the_team(problem):
    """5 h of one person who gets 0.8 h done in an hour: 6.25 h, or 3.125 h of two."""
    two = task(
        "a",
        8,
        "ann",
        "bo",
        modes=(Mode(size=1, ticks=8), Mode(size=2, ticks=4)),
        set_up=1,
    )
    asked = replace(
        changed(
            problem, tasks=(replace(two, optional=True), *problem.instance.tasks[1:])
        ),
        work=replace(problem.work, tasks=(work("a", 1, 2), work("b"), work("c"))),
    )
    a = named(after(asked, begun("a", 9, 5.0, "ann")))["a"]
    assert [(m.size, m.ticks) for m in a.modes] == [(1, 7), (2, 4)]
    assert (a.set_up, a.optional, a.no_start) == (0, False, (block(NOW, (0, NOON)),))
    nearly = named(after(asked, begun("a", 9, 0.0, "ann")))["a"]
    assert [m.ticks for m in nearly.modes] == [1, 1]


def test_what_the_work_has_no_longer_is_left_out(problem):
    found = after(problem, done("gone", 8, 10, "ann"))
    assert found.instance.pins == ()
    assert found.past == {}


def test_a_moment_past_the_days_looked_at_closes_them_all(problem):
    found = after(problem, now=TICKS + 30)
    assert found.now == TICKS
    assert named(found)["a"].no_start == (block(NOW, (0, TICKS)),)


# ------------------------------------------------------------------------ people


SHIFTS = ((8, 16), (20, 30))


@pytest.mark.parametrize(
    ("last", "shut"),
    [
        (12, (16, 23)),  # 11 h from noon; the rest of the shift is theirs still
        (10.5, (16, 22)),
    ],
)
def test_who_has_worked_rests_after_the_shift_that_it_was_in(problem, last, shut):
    ann = person("ann", *SHIFTS, rest=11)
    people = (ann, problem.instance.people[1])
    found = after(changed(problem, people=people), done("a", 8, last, "ann", "bo"))
    assert found.instance.people[0].open == spans(*SHIFTS) - spans(shut)


def test_rest_counts_from_the_last_of_the_past_and_from_what_lies_before_now(problem):
    ann, bo = person("ann", *SHIFTS, rest=11), person("bo", *SHIFTS, rest=11)
    asked = changed(problem, people=(ann, bo))
    tasks = done("a", 2, 6, "ann"), done("b", 8, 10, "ann"), done("c", 8, 14, "cy")
    one, other = after(asked, *tasks).instance.people
    assert one.open == spans(*SHIFTS) - spans((16, 21))
    assert other == bo
    # worked to the end of a shift, and odd hours outside any
    whole, _ = after(asked, done("a", 8, 16, "ann"), now=18).instance.people
    assert whole.open == spans(*SHIFTS) - spans((16, 27))
    odd, _ = after(asked, done("a", 17, 18, "ann"), now=18).instance.people
    assert odd.open == spans(*SHIFTS) - spans((18, 29))
    until, _ = after(asked, done("a", 17, 20, "ann"), now=20).instance.people
    assert until.open == spans(*SHIFTS) - spans((20, 31))
    at_ease = replace(ann, rest=0), bo
    asked = changed(problem, people=at_ease)
    assert after(asked, *tasks).instance.people == at_ease


@pytest.mark.parametrize(
    ("team", "kept"),
    [
        (("bo", "ann"), True),
        (("ann",), False),  # no team of one may do it
        (("ann", "cy"), False),  # Cy may not
        (("ann", "di"), False),  # isn't there for four days
        (("ann", "ed"), True),  # is there from the third day on
    ],
)
def test_a_team_keeps_what_it_has_under_way_if_it_may_and_is_there_soon(
    problem, team, kept
):
    people = (
        *(person(who, (0, TICKS)) for who in ("ann", "bo", "cy")),
        person("di", (0, NOON), (NOON + 72, TICKS)),
        person("ed", (0, NOON), (NOON + 71, TICKS)),
    )
    a = task("a", 8, "ann", "bo", "di", "ed", size=2)
    asked = replace(
        changed(problem, people=people, tasks=(a, *problem.instance.tasks[1:])),
        work=replace(problem.work, tasks=(work("a", 2), work("b"), work("c"))),
    )
    pin = Pin(task="a", team=tuple(sorted(team)), fact="happened:a")
    found = after(asked, begun("a", 9, 5.0, *team)).instance.pins
    assert found == ((pin,) if kept else ())


def test_what_happened_isnt_settled_or_agreed_besides(problem):
    asked = changed(
        problem,
        pins=(Pin(task="a", start=20), Pin(task="b", start=30)),
        agreed=tuple(Before(task=t, start=9, team=("ann",)) for t in "ab"),
    )
    found = after(asked, done("a", 8, 10, "ann")).instance
    assert found.pins == (
        Pin(task="b", start=30),
        Pin(task="a", start=8, fact="happened:a"),
    )
    assert [x.task for x in found.agreed] == ["b"]


# ------------------------------------------------------------------------- links


LATEST = LinkKind.LATEST


def test_what_had_to_come_before_what_has_begun_binds_no_more(problem):
    links = (Link(before="a", after="b"), Link(before="b", after="c", wait=DRY))
    found = after(changed(problem, links=links), begun("b", 9, 1.0, "ann"))
    assert found.instance.links == links[1:]


@pytest.mark.parametrize(
    ("open_h", "unless", "kept"),
    [
        (1, "", False),  # until 11:00: too late for that, whatever is done
        (2, "", True),  # until now
        (1, "c", True),  # or c is done instead
    ],
)
def test_a_latest_time_that_is_over_binds_no_more_if_nothing_else_would_do(
    problem, open_h, unless, kept
):
    link = Link(before="a", after="b", kind=LATEST, wait="open", unless=unless)
    asked = changed(
        problem,
        links=(link,),
        lookups=(wait("open", open_h, TICKS), *problem.instance.lookups),
    )
    found = after(asked, done("a", 8, 10, "ann")).instance
    assert found.links == ((link,) if kept else ())
    assert after(asked).instance.links == (link,)


def test_what_is_under_way_in_a_bay_is_ended_before_others_work_there(problem):
    bays = {"a": ("north",), "b": ("north", "east"), "c": ("east",)}
    tasks = tuple(
        task(t, 8, "ann", demands=tuple(Demand(pool=b) for b in found))
        for t, found in bays.items()
    )
    pools = (Pool(id="north"), Pool(id="east"))
    asked = changed(problem, tasks=tasks, pools=pools)
    found = after(asked, begun("a", 9, 1.0, "ann")).instance.links
    assert found == (Link(before="a", after="b"),)
    both = after(asked, begun("a", 9, 1.0, "ann"), begun("c", 9, 1.0, "bo"))
    assert both.instance.links == (
        Link(before="a", after="b"),
        Link(before="c", after="b"),
    )
    assert after(asked, done("a", 9, 10, "ann")).instance.links == ()


def test_what_keeps_apart_is_asked_of_what_is_still_to_come(problem):
    asked = changed(problem, apart=(Apart(task="a", others=("b", "c"), until=DRY),))

    def others(*tasks: PastTask) -> list[tuple[str, ...]]:
        return [x.others for x in after(asked, *tasks).instance.apart]

    assert others() == [("b", "c")]
    assert others(done("a", 8, 10), done("b", 8, 10)) == [("c",)]
    assert others(done("a", 8, 10), begun("b", 9, 1.0)) == [("c",)]
    assert others(done("b", 8, 10)) == [("c",)]
    assert others(begun("b", 9, 1.0)) == [("b", "c")]
    assert others(done("b", 8, 10), done("c", 8, 10)) == []


def test_bookings_of_the_past_forbid_no_closure(problem):
    booked = (block("over", (8, 10)), block("now", (10, 15)), block("later", (30, 40)))
    asked = changed(problem, closures=(closure("a", "b", "c", booked=booked),))
    (found,) = after(asked, done("a", 8, 10)).instance.closures
    assert found.booked == (block("now", (NOON, 15)), block("later", (30, 40)))


# ------------------------------------------------------------ coats looked at


@pytest.fixture
def coated(problem):
    return changed(problem, links=(Link(before="a", after="b", wait=DRY),))


def looked_at(problem: Problem, *, now: float = NOON, **found: float) -> Any:
    coat = done("a", 2, 4, **{f"found_{k}": at(v) for k, v in found.items()})
    return after(problem, coat, now=now)


def over(problem: Problem) -> int:
    """Return when `b` may begin by its wait for `a`, which ended at 4."""
    lookups = {k.name: k.over for k in problem.instance.lookups}
    (link,) = problem.instance.links
    assert link.wait in lookups
    assert len(lookups[link.wait]) == TICKS + 1
    return lookups[link.wait][4]


def test_a_coat_nobody_looked_at_is_dry_by_its_law(coated):
    assert over(looked_at(coated)) == 4 + 6
    assert looked_at(coated).found == {}


def test_a_coat_found_dry_is_waited_for_no_longer(coated):
    found = looked_at(coated, dry=7.5)
    assert over(found) == 8
    (finding,) = found.found.values()
    assert (finding.over, finding.dry) == (8, True)
    assert over(looked_at(coated, wet=6, dry=7)) == 7
    assert over(looked_at(coated, wet=7, dry=7)) == 7


def test_a_coat_found_wet_is_waited_for_a_quarter_of_what_it_has_had_at_least_an_hour(
    coated,
):
    """Laid at 4: found wet at 12, 8 h and 2 h more; at 5, 6 h by its law."""
    assert over(looked_at(coated, wet=12)) == 14
    assert over(looked_at(coated, wet=12, dry=9)) == 14
    assert over(looked_at(coated, wet=5)) == 10
    impatient = replace(coated, job=replace(coated.job, margin_frac=0.0))
    found = looked_at(impatient, wet=12)
    assert over(found) == 13
    assert [f.dry for f in found.found.values()] == [False]


def test_a_coat_found_wet_keeps_its_air_as_long_though_nothing_waits_for_it(problem):
    """Its wait is told all the same, and isn't over by its law."""
    own = next(t for t in problem.work.tasks if t.id == "a")
    kept = replace(own, product=DRY.partition(":")[0], dry_stage="dry")
    tasks = tuple(kept if t.id == "a" else t for t in problem.work.tasks)
    alone = replace(problem, work=replace(problem.work, tasks=tasks))
    assert looked_at(alone, wet=12).found["a", DRY].over == 14


def test_before_the_moment_it_was_found_the_wait_is_no_shorter_than_that(coated):
    found = looked_at(coated, dry=8)
    lookup = found.instance.lookups[-1]
    assert lookup.over == tuple(max(t, 8) for t in range(TICKS + 1))


def test_what_was_found_concerns_that_coat_alone_and_what_dries(problem):
    """A coat found dry says nothing of fumes; found wet, nothing of what has set."""
    sets = "joint:set"
    asked = replace(
        changed(
            problem,
            links=(
                Link(before="a", after="b", wait=DRY),
                Link(before="c", after="b", wait=DRY),
                Link(before="a", after="c", wait=sets),
                Link(before="a", after="c", kind=LATEST, wait=DRY),
            ),
            apart=(Apart(task="a", others=("c",), until=DRY),),
            lookups=(*problem.instance.lookups, wait(sets, 2, TICKS)),
        ),
        products={"topping": TOPPING, "joint": product("setting-90")},
        waits={**problem.waits, sets: Wait(product="joint", stage="set")},
    )
    own = f"found:a:{DRY}"
    wet = looked_at(asked, now=9, wet=8).instance
    assert [k.wait for k in wet.links] == [own, DRY, sets, DRY]
    assert [x.until for x in wet.apart] == [own]
    dry = looked_at(asked, now=9, dry=8).instance
    assert [k.wait for k in dry.links] == [own, DRY, f"found:a:{sets}", DRY]


@pytest.mark.parametrize(
    ("dry", "wet", "is_"),
    [
        (None, None, False),
        (8, None, True),
        (None, 8, False),
        (8, 9, False),
        (9, 8, True),
    ],
)
def test_of_what_was_found_the_later_counts(dry, wet, is_):
    found = {"found_dry": dry, "found_wet": wet}
    moments = {k: None if v is None else at(v) for k, v in found.items()}
    assert is_dry(done("a", 2, 4, **moments)) is is_


# ---------------------------------------------------------------- told as it was


def test_what_happened_is_told_as_it_was_worked_and_the_rest_with_it(problem):
    now = after(problem, done("a", 8, 10, "ann"), begun("b", 10, 2.0, "bo"))
    planned = {
        "a": place("a", 8, 10),
        "b": place("b", 14, 16, "bo", "ann"),
        "c": place("c", 16, 20, "ann"),
    }
    told = as_worked(now, planned)
    assert told["a"] == place("a", 8, 10, "ann")
    assert told["b"] == replace(
        planned["b"], start=10, worked=Spans(((10, 12), (14, 16)))
    )
    assert told["c"] == planned["c"]
