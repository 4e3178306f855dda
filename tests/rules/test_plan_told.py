"""What a plan tells: reasons in words, the closure's hours, money, days of purchases.

Worked by hand on the full small job; ticks are quarters of an hour from Monday
8 February 2027 in Halifax.

Tests of planner/judge/told.py, planner/nouns/plan.py, planner/planning/answer.py,
planner/planning/apart.py, planner/planning/cost.py, planner/planning/inside.py,
planner/planning/wording/account.py, planner/planning/wording/air_told.py,
planner/planning/wording/chain_words.py, planner/planning/wording/division.py,
planner/planning/wording/document.py, planner/planning/wording/promised.py,
planner/planning/wording/stage_told.py, planner/planning/wording/supplies.py,
planner/planning/wording/used.py,
planner/planning/wording/waited.py.
"""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest

from planner.hours.spans import Spans
from planner.judge import judged
from planner.nouns.air import AirReading
from planner.nouns.ids import bare
from planner.nouns.inputs import Inputs
from planner.nouns.plan import Plan
from planner.nouns.product import HardeningWay
from planner.nouns.work import ReturnKind, Wait
from planner.planning.answer import Answer, checked
from planner.planning.apart import kept_apart
from planner.planning.cost import cost_of, paid_times
from planner.planning.inside import coats_of
from planner.planning.posing import problem_of, takeoff_of
from planner.planning.problem import Problem
from planner.planning.wording.account import aims_of, crew_of, division_of
from planner.planning.wording.chain_words import because, chain_words
from planner.planning.wording.division import Timeline, divide
from planner.planning.wording.document import Origin, _windows, plan_of
from planner.planning.wording.supplies import periods
from planner.planning.wording.used import product_used
from planner.planning.wording.waited import Waited
from planner.schedule.climb.solve import solve
from planner.schedule.problem.limits import SearchLimits
from planner.schedule.problem.outcome import (
    AimResult,
    BindingStep,
    Cause,
    Placement,
    Planned,
)
from planner.schedule.problem.parts import AimKind, Pin
from planner.usecases.read import PROGRAM, read_inputs
from tests.support.full import FULL, full_job
from tests.support.ics import HALIFAX
from tests.support.odds import kept_always
from tests.support.values import STRAIGHT, changed, job_file

DAY = 96


def h(hour: float, day: int = 0) -> int:
    """Return the tick of an hour."""
    return day * DAY + round(hour * 4)


@pytest.fixture(scope="module")
def inputs(tmp_path_factory: pytest.TempPathFactory) -> Inputs:
    return read_inputs(full_job(tmp_path_factory.mktemp("job")))


@pytest.fixture(scope="module")
def problem(inputs: Inputs) -> Problem:
    return problem_of(inputs, weeks=6)


@pytest.fixture(scope="module")
def found(problem: Problem) -> Planned:
    answer = solve(problem.instance, limits=SearchLimits())
    assert isinstance(answer, Planned)
    return answer


@pytest.fixture(scope="module")
def answer(inputs: Inputs, problem: Problem, found: Planned) -> Answer:
    return checked(problem, found, fingerprint=inputs.fingerprint)


@pytest.fixture(scope="module")
def plan(inputs: Inputs, problem: Problem, answer: Answer) -> Plan:
    origin = Origin(
        program=PROGRAM,
        solver="s",
        fingerprint=inputs.fingerprint,
        readings=(),
        remarks=("a remark",),
    )
    return plan_of(
        problem, answer, kept_always(inputs, answer), takeoff_of(inputs), origin
    )


def placed(task: str, *spans: tuple[int, int], team: tuple[str, ...] = ("ana",)):
    worked = Spans(spans)
    return Placement(
        task=task, team=team, start=spans[0][0], end=spans[-1][1], worked=worked
    )


# ------------------------------------------------------------------- the whole plan


def test_the_plan_of_the_full_job_does_what_the_job_says(inputs, plan):
    assert judged(inputs, plan) == ()


def test_a_plan_holds_what_the_job_names(inputs, plan):
    assert (plan.job, plan.zone, plan.tick_minutes) == ("a wall", "America/Halifax", 15)
    assert plan.margin_frac == 0.25
    assert [b.reason.split('"')[1] for b in plan.stage.bookings] == [
        "Shoot", "Shoot", "Portraits", "Shoot",
    ]  # fmt: skip
    assert plan.stage.bookings[0].reason == '"Shoot" (stage.ics)'
    assert (plan.program, plan.solver) == (PROGRAM, "s")
    assert plan.fingerprint == inputs.fingerprint
    assert plan.remarks == ("a remark",)
    first = plan.stage.bookings[0]
    assert first.start == datetime(2027, 2, 9, 13, tzinfo=UTC)  # 9:00 in Halifax
    assert first.end == datetime(2027, 2, 9, 16, tzinfo=UTC)
    assert [q.reason for q in plan.stage.quiet] == [
        '"cello" (left.ics)',
        '"drums" (right.ics)',
        '"viola" (left.ics)',
    ]
    # shut from midnight to 7:00, and from 22:00 on
    assert plan.stage.shut[:2] == (
        (datetime(2027, 2, 8, 4, tzinfo=UTC), datetime(2027, 2, 8, 11, tzinfo=UTC)),
        (datetime(2027, 2, 9, 2, tzinfo=UTC), datetime(2027, 2, 9, 11, tzinfo=UTC)),
    )
    assert {b.id for b in plan.stage.bays} == {"the-stage:wall", "the-stage:apron"}


def test_the_tasks_of_a_plan_are_told_as_they_are(inputs, plan, problem):
    records = {t.id: t for t in problem.work.tasks}
    assert {t.id for t in plan.tasks} == {f"the-stage:{id_}" for id_ in records}
    for told in plan.tasks:
        task = records[bare(told.id)]
        assert told.stage == "the-stage"
        assert told.bays == tuple(f"the-stage:{b}" for b in task.bays)
        same = (
            "title", "how", "phase", "lead", "help", "elapsed_h", "quantity",
            "on_stage", "loud", "dusty", "fumes", "product", "dry_stage", "bring",
            "cautions", "source", "touch_up_frac",
        )  # fmt: skip
        assert [getattr(told, n) for n in same] == [getattr(task, n) for n in same]
        minutes = sum((b - a).total_seconds() / 60 for a, b in told.spans)
        assert told.worked_min == minutes * len(told.team)
        assert (told.start, told.end) == (told.spans[0][0], told.spans[-1][1])
        assert 0 <= told.free_slack_min <= told.total_slack_min
        assert told.held_by
    assert list(plan.tasks) == sorted(plan.tasks, key=lambda t: (t.start, t.end, t.id))


def test_full_service_is_back_once_the_last_of_its_waits_is_over(plan):
    ends = {t.id: t.end for t in plan.tasks}
    ready = {(w.task, w.stage): w.ready for w in plan.waits}
    full = plan.stage.returning(ReturnKind.FULL_SERVICE)
    terms = [t for t in plan.stage.return_terms if t.returning == "full service"]
    assert len(terms) == 5  # hand-over, colour, bed, rest, screws
    assert full.when == max(
        ready[t.task, t.stage] if t.stage else ends[t.task] for t in terms
    )
    assert plan.stage.closure == (
        min(t.start for t in plan.tasks if t.on_stage),
        full.when,
    )
    light = plan.stage.returning(ReturnKind.LIGHT_FOOT_TRAFFIC)
    assert light.when <= full.when
    for back in (light, full):
        assert back.when == back.promise == back.tentative_until
        assert back.kept_frac == 1.0


def test_each_wait_is_told_with_its_way_and_its_air(plan, problem):
    by = {(bare(w.task), w.stage): w for w in plan.waits}
    dry = by["topping-coat-1.wall", "dry"]
    assert (dry.product, dry.way, dry.air_c, dry.humidity_pct) == (
        "topping", "dries", 20.0, 50.0,
    )  # fmt: skip
    assert dry.product_title == problem.products["topping"].title
    assert by["anchor.wall", "hold"].way == "cures"
    assert by["setting-coat-1.wall", "set"].way == "sets"
    assert dry.begins == plan.task("topping-coat-1.wall").end
    # the margin of a quarter is on what dries: likely is four fifths of it
    likely, ready = (
        (x - dry.begins).total_seconds() / 3600 for x in (dry.likely, dry.ready)
    )
    assert ready == pytest.approx(1.25 * likely, abs=0.5)
    sets = by["setting-coat-1.wall", "set"]
    assert sets.ready == sets.likely
    # a bay that both coats share waits for each of them
    assert {("setting-coat-1.wall", "dry"), ("setting-coat-2.wall", "dry")} <= by.keys()


def test_products_links_and_supplies_are_told(plan, problem):
    used = {p.id: p for p in plan.products}
    assert used.keys() == {
        "adhesive", "damp-wipe", "dry-mortar", "flat-colour", "setting-90",
        "slab-sheet", "topping", "water-primer",
    }  # fmt: skip
    topping = used["topping"]
    assert (topping.min_c, topping.min_c_before_h) == (10.0, 48.0)
    margins = {s.stage: s.margin_frac for s in used["setting-90"].stages}
    assert margins == {"set": 0.0, "dry": 0.25}
    links = {(bare(x.before), bare(x.after)): (x.product, x.stage) for x in plan.links}
    assert links["topping-coat-1.wall", "rub.wall"] == ("topping", "dry")
    assert links["mark.wall", "open.wall"] == (None, None)
    assert len(links) == len(problem.work.links)
    manned = {
        day for day, a, b in problem.grid.days()
        if any(hours.open.clip(a, b) for hours in problem.open.values())
    }  # fmt: skip
    assert plan.supplies
    for supply in plan.supplies:
        if supply.on_site and supply.on_site >= date(2027, 2, 8):
            assert supply.on_site in manned
            assert supply.first_use
            assert supply.on_site <= supply.first_use.astimezone(HALIFAX).date()
    assert plan.supplies == tuple(
        sorted(plan.supplies, key=lambda s: s.on_site or date.max)
    )


def test_tools_are_told_with_the_days_of_their_tasks(plan):
    assert plan.tools
    assert [t.days for t in plan.tools] == sorted(t.days for t in plan.tools)
    by_id = {t.id: t for t in plan.tasks}
    for tool in plan.tools:
        days = {
            moment.astimezone(HALIFAX).date()
            for task in tool.tasks
            for span in by_id[task].spans
            for moment in (span[0], span[1] - timedelta(minutes=1))
        }
        assert set(tool.days) == days
        assert tool.count >= 1


def test_a_stage_that_begins_after_another_says_which(tmp_path):
    text = changed(
        STRAIGHT, ("[stage]", '[methods]\nprimer = "solvent-primer"\n[stage]')
    )
    read = read_inputs(job_file(tmp_path, text))
    posed = problem_of(read, weeks=2)
    told = product_used(posed, read.products["solvent-primer"])
    assert [(s.stage, s.after) for s in told.stages] == [
        ("recoat", None),
        ("free of fumes", "recoat"),
    ]
    assert [x.name for x in told.latest] == ["recoat window"]
    # the window of 72 h at 25 °C, 102 h at 20 °C, is open still at the grid's end
    last = posed.grid.ticks
    for end, closes in (
        (last - 10, None),
        (h(10), h(10) + round(72 * 2**0.5 * 4 - 0.5)),
    ):
        _, first, _ = _windows(
            posed,
            {
                "bed.wall": placed("bed.wall", (0, 4)),
                "prime-1": placed("prime-1", (end - 4, end)),
                "prime-2": placed("prime-2", (end - 4, end)),
            },
        )
        assert (first.before, first.after) == ("prime-1", "prime-2")
        assert first.closes == (None if closes is None else posed.grid.instant(closes))
        assert first.sanded_again is None


def test_the_chain_leads_from_the_first_day_to_the_return(plan):
    assert plan.stage.chain
    titles = {t.id for t in plan.tasks}
    assert all(step.task in titles and step.because for step in plan.stage.chain)
    moments = [step.held_from for step in plan.stage.chain]
    assert moments == sorted(moments)


def test_the_closures_minutes_add_up(plan):
    minutes = sum(s.minutes for s in plan.stage.division)
    first, last = plan.stage.closure
    assert minutes == (last - first).total_seconds() / 60
    assert len({s.part for s in plan.stage.division}) == len(plan.stage.division) == 9


def test_a_plans_air_reaches_to_its_working_return_and_holds_the_readings_in_it(
    inputs, problem, answer, plan
):
    last = plan.stage.returning(ReturnKind.FULL_SERVICE).when
    step = timedelta(minutes=15)
    assert last == max(w.ready for w in plan.waits)
    # to the tick after it
    assert len(plan.stage.air.air_c) == (last - problem.grid.start) / step + 1
    assert set(plan.stage.air.changes_per_h) == {0.3}
    start, after = problem.grid.start, last + step
    moments = (start - step, start, last, after)
    readings = tuple(
        AirReading(when=w, air_c=20.00049, humidity_pct=50.00051) for w in moments
    )
    origin = Origin(
        program="p", solver="s", fingerprint="f", readings=readings, remarks=()
    )
    told = plan_of(
        problem, answer, kept_always(inputs, answer), takeoff_of(inputs), origin
    ).stage.air.readings
    assert [r.when for r in told] == [start, last]
    assert (told[0].air_c, told[0].humidity_pct) == (20.0, 50.001)


# ------------------------------------------------------------------- in words


def ready_at(tick: int):
    return lambda task, wait: tick if wait else h(10)


def words(problem, cause, by, *, since=0, task="rub.wall", ready=None, team=("ana",)):
    step = BindingStep(task=task, cause=cause, by=by, since=since)
    where = {
        "rub.wall": placed("rub.wall", (h(13), h(14)), team=team),
        "tape.wall": placed("tape.wall", (h(8), h(9)), team=("ana", "bo")),
    }
    return because(problem, where, step, ready or ready_at(h(12)))


def test_each_cause_is_told_in_words(problem):
    titles = {t.id: t.title for t in problem.work.tasks}
    tape, compound = titles["tape.wall"], problem.products["topping"].title
    assert words(problem, Cause.PERSON, "tape.wall") == (
        f'Ana had "{tape}" to finish first'
    )
    both = words(problem, Cause.PERSON, "tape.wall", team=("bo", "ana"))
    assert both == f'Ana and Bo had "{tape}" to finish first'
    assert words(problem, Cause.POOL, "tape.wall") == f'the bay was taken by "{tape}"'
    assert words(problem, Cause.REST, "bo") == "Bo must rest between shifts"
    assert words(problem, Cause.BLOCK, "stage-hours") == "the stage's own hours"
    assert words(problem, Cause.HOLD, "no such fact") == "no such fact"
    assert words(problem, Cause.BEGIN, "") == "the first day is Mon 8 Feb 2027"
    assert words(problem, Cause.AIM, "") == (
        "nothing: an earlier start would bring the stage back no sooner"
    )
    # the wait that ends last is told
    assert words(problem, Cause.LINK, "topping-coat-1.wall") == (
        f'{compound} of "{titles["topping-coat-1.wall"]}" had to have dried, '
        "Mon 8 Feb 2027, 12:00"
    )
    # a wait of no time, or none at all: the reason of the work
    come_first = words(
        problem, Cause.LINK, "topping-coat-1.wall", ready=ready_at(h(10))
    )
    assert come_first.startswith(f'"{titles["topping-coat-1.wall"]}" comes first: ')
    plain = words(problem, Cause.LINK, "rub.wall", task="wipe")
    assert plain.startswith(f'"{titles["rub.wall"]}" comes first: ')
    # a window, where no link leads
    assert words(problem, Cause.LINK, "tape.wall") == (
        f'"{tape}" could not have covered it in time, had it been done sooner'
    )


def test_closed_hours_are_told_by_what_took_them(problem):
    def closed(by, tick):
        return words(problem, Cause.PERSON_CLOSED, by, since=tick)

    dentist = 'Ana\'s hours: "Dentist" (ana.ics)'
    assert closed("ana", h(9)) == dentist
    assert closed("ana", h(10.25)) == dentist  # from the tick just after it
    assert closed("ana", h(10.5)) == "Ana's hours: break, night or day off"
    assert closed("ana", h(9, 7)) == "Ana's hours: Heritage Day (public holiday)"
    assert closed("bo", h(9)) == "Bo's hours: break, night or day off"
    assert closed("nobody", h(9)) == "the team's hours: closed"


def test_a_chain_is_told_from_its_beginning(problem):
    steps = [
        BindingStep(task="rub.wall", cause=Cause.REST, by="bo", since=h(9)),
        BindingStep(task="tape.wall", cause=Cause.BEGIN, by="", since=0),
    ]
    told = chain_words(problem, {}, steps, ready_at(0))
    assert [(s.task, s.cause, s.by) for s in told] == [
        ("tape.wall", "begin", ""),
        ("rub.wall", "rest", "bo"),
    ]
    assert told[1].because == "Bo must rest between shifts"
    assert told[1].held_from == problem.grid.instant(h(9))


# ------------------------------------------------------------------- what adds up


def test_each_tick_of_a_closure_counts_once_in_the_first_part_that_covers_it():
    parts = divide(
        10,
        110,
        Timeline(
            worked=Spans(((0, 20), (30, 40))),
            waits=(
                (HardeningWay.DRIES, Spans(((35, 50),))),
                (HardeningWay.CURES, Spans(((45, 55),))),
            ),
            anybody_open=Spans(((0, 80),)),
            held=(
                ("waiting for the air", Spans(((52, 60),))),
                ("waiting for the stage or quiet hours", Spans(((58, 65), (90, 95)))),
            ),
        ),
    )
    # 10-20 and 30-40 worked; 40-50 dries; 50-55 cures; 80-110 nobody is open;
    # 55-60 the air, 60-65 the stage; what is left, 20-30 and 65-80, people
    assert parts == {
        "working": 20,
        "drying": 10,
        "setting or curing": 5,
        "clearing of fumes": 0,
        "waiting for a test": 0,
        "waiting for people": 25,
        "waiting for the stage or quiet hours": 5,
        "waiting for the air": 5,
        "nights and days off": 30,
    }
    assert list(divide(0, 1, Timeline(worked=Spans(), waits=(), anybody_open=Spans(),
                                      held=())).values())[-1] == 1  # fmt: skip


def test_setting_is_hardening_and_clearing_is_fumes():
    def only(way):
        line = Timeline(
            worked=Spans(),
            waits=((way, Spans(((0, 4),))),),
            anybody_open=Spans(((0, 4),)),
            held=(),
        )
        return [k for k, v in divide(0, 4, line).items() if v == 4]

    assert only(HardeningWay.SETS) == only(HardeningWay.CURES) == ["setting or curing"]
    assert only(HardeningWay.CLEARS) == ["clearing of fumes"]
    assert only(HardeningWay.DRIES) == ["drying"]
    assert only(HardeningWay.LIES) == ["waiting for a test"]


def test_a_closures_hours_by_hand(problem):
    """Topping ends at 10:00; rubbing, held by its drying, begins the next day."""
    where = {
        "topping-coat-1.wall": placed("topping-coat-1.wall", (h(8), h(10))),
        "rub.wall": placed("rub.wall", (h(13, 1), h(14, 1))),
        "handover": placed("handover", (h(14, 1), h(15, 1))),
        "bed.wall": placed("bed.wall", (h(8), h(9))),
        "pack.wall": placed("pack.wall", (h(8), h(9))),
        "anchor.wall": placed("anchor.wall", (h(8), h(9))),
        "colour-2": placed("colour-2", (h(8), h(9))),
    }
    waited = Waited(problem, {t: p.end for t, p in where.items()})
    steps = [
        BindingStep(
            task="rub.wall", cause=Cause.BLOCK, by="stage-hours", since=h(9, 1)
        ),
        BindingStep(
            task="rub.wall", cause=Cause.LINK, by="topping-coat-1.wall", since=h(10)
        ),
    ]
    parts = {
        s.part: s.minutes / 60
        for s in division_of(problem, where, steps, (h(8), h(15, 1)), waited)
    }
    # worked 8-10, and 13-15 of the next day; drying from 10:00 until the block that
    # held it last, 9:00 of the next day (23 h); the block until 13:00 but for the
    # hour from 12, in which nobody is open
    assert parts["working"] == 4
    assert parts["drying"] == 23
    assert parts["nights and days off"] == 1
    assert parts["waiting for the stage or quiet hours"] == 3
    assert sum(parts.values()) == 31


def test_the_aims_are_told_as_proven_or_by_what_is_left_open(problem):
    results = (
        AimResult(aim=AimKind.LAST_RETURN, value=h(10, 3), bound=h(9, 2)),
        AimResult(aim=AimKind.CLOSED, value=20, bound=14),
        AimResult(aim=AimKind.CHANGE, value=9, bound=9),
        AimResult(aim=AimKind.CALLS, value=9, bound=7),
    )
    told = aims_of(problem, results)
    assert [t.words for t in told] == [
        "not proven: no plan returns before Wed 10 Feb 2027, 09:00, between that and "
        "this one it is open",
        "not proven: at most 1.5 h less is possible",
        "proven: nothing better exists",
        "not proven: 9 found, less than 7 is impossible",
    ]
    assert [t.proven for t in told] == [False, False, True, False]
    assert [(t.value, t.bound) for t in told][1:] == [(20, 14), (9, 9), (9, 7)]


def test_what_is_proven_with_the_teams_of_an_earlier_plan_is_told_as_that(problem):
    def words(aim, value, bound):
        (told,) = aims_of(
            problem, (AimResult(aim=aim, value=value, bound=0, bound_of_teams=bound),)
        )
        assert (told.proven, told.bound) == (False, 0)
        return told.words

    teams = "not proven for other teams; with those of the earlier plan, "
    last = AimKind.LAST_RETURN
    assert words(last, h(10, 3), h(10, 3)) == f"{teams}nothing better exists"
    assert words(last, h(10, 3), h(9, 2)) == (
        f"{teams}no plan returns before Wed 10 Feb 2027, 09:00"
    )
    assert words(AimKind.CLOSED, 20, 14) == "not proven: the best that was found"
    task = next(iter(problem.instance.tasks)).id
    kept = replace(problem.instance, pins=(Pin(task=task, start=h(8), fact="f"),))
    result = AimResult(aim=last, value=9, bound=0, bound_of_teams=9)
    (told,) = aims_of(replace(problem, instance=kept), (result,))
    assert told.words == (
        "not proven for other teams; with those of the earlier plan, and what begins "
        "soon as it was planned there, nothing better exists"
    )


def test_a_bound_that_is_past_is_told_to_nobody(problem):
    """Of nothing proven no first day is made, and no moment before "as of"."""
    found = "not proven: the best that was found"
    for now, bound in ((0, 0), (h(9, 2), h(9, 2)), (h(9, 2), h(9))):
        result = AimResult(aim=AimKind.LAST_RETURN, value=h(10, 3), bound=bound)
        (told,) = aims_of(replace(problem, now=now), (result,))
        assert told.words == found
    for aim in (AimKind.CLOSED, AimKind.CHANGE, AimKind.CALLS):
        (told,) = aims_of(problem, (AimResult(aim=aim, value=9, bound=0),))
        assert told.words == found


def test_a_day_that_the_closure_touches_is_paid_whole(problem):
    rates = replace(problem.job.rates, stage_per_day=100.0, labour_per_h=40.0)
    paid = replace(problem, job=replace(problem.job, rates=rates))
    times = paid_times(paid, {})
    for span, days in (
        ((h(8), h(9)), 1),
        ((h(23), h(0, 1)), 1),
        ((h(23), h(0, 1) + 1), 2),
        ((h(0, 1), h(1, 3)), 3),
    ):
        assert cost_of(paid, span, times).stage == 100.0 * days
    assert cost_of(problem, (0, 4), times).stage is None


def test_what_each_of_the_crew_does_is_told(problem):
    where = {
        "tape.wall": placed(
            "tape.wall", (h(11), h(12)), (h(13), h(14)), team=("ana", "bo")
        ),
        "rub.wall": placed("rub.wall", (h(8, 1), h(9, 1)), team=("bo",)),
    }
    ana, bo = crew_of(problem, where)
    assert (ana.id, ana.name, ana.rest_h) == ("ana", "Ana", 8.0)
    assert ana.trades == ("carpenter", "finisher", "painter")
    assert (ana.worked_min, bo.worked_min) == (120, 180)
    assert (ana.days_called, bo.days_called) == (1, 2)
    # her own calendar, then the day off
    assert [t.reason for t in ana.taken] == [
        '"Dentist" (ana.ics)', "Heritage Day (public holiday)",
        "Heritage Day (public holiday)",
    ]  # fmt: skip
    assert ana.open[0] == (problem.grid.instant(h(8)), problem.grid.instant(h(8.5)))
    assert bo.shifts[0] == (problem.grid.instant(h(8)), problem.grid.instant(h(17)))


# ------------------------------------------------------------------- coats, apart


def test_wet_coats_are_laid_in_the_ticks_that_they_are_worked(inputs, problem):
    where = [
        placed("topping-coat-1.wall", (h(8), h(9)), (h(10), h(11))),
        placed("tape.wall", (h(13), h(14))),
        placed("fasten.wall", (h(14), h(15))),
    ]
    (coat,) = coats_of(problem.work, inputs.products, where)
    area = next(t.wet_m2 for t in problem.work.tasks if t.id == "topping-coat-1.wall")
    assert coat.spans == ((h(8), h(9)), (h(10), h(11)))
    assert coat.stage.stage == "dry"
    assert coat.thickness_mm == 1.5875
    assert coat.water_kg == pytest.approx(area * 1.5875 * 0.325)


def test_dust_keeps_away_from_wet_coats_and_everybody_from_fumes(tmp_path):
    """Two bays: sanding one and coating the other have no order between them."""
    two = changed(
        FULL,
        (
            '[[crew]]\nname = "Ana"',
            '[[stage.run]]\nname = "side"\nlength = "4 m"\n\n[[crew]]\nname = "Ana"',
        ),
        ('calendar = "ana.ics"\n', ""),
        ('bookings = ["stage.ics"]\n', ""),
        ('quiet = ["left.ics", "right.ics"]\n', ""),
        ('holidays = ["days.ics"]', ""),
    )
    read = read_inputs(job_file(tmp_path, two))
    found = problem_of(read, weeks=2)
    kept = {k.task: k for k in kept_apart(found.work, read.products)}
    topping = kept["topping-coat-1.wall"]
    assert "rub.side" in topping.others
    assert not {"tape.side", "rub.wall", "topping-coat-1.wall"} & set(topping.others)
    assert topping.until == Wait(product="topping", stage="dry")
    told = {a.task: (a.others, a.until) for a in found.instance.apart}
    assert told.keys() == kept.keys()
    assert told["topping-coat-1.wall"] == (topping.others, "topping:dry")
    titles = {t.id: t.title for t in found.work.tasks}
    shared = f'it must not share the room with "{titles["topping-coat-1.wall"]}"'
    apart = {"task": "rub.side", "ready": ready_at(h(12))}
    assert words(found, Cause.APART, "topping-coat-1.wall", **apart) == (
        f"{shared}, which had dried Mon 8 Feb 2027, 12:00"
    )
    apart["task"] = "tape.side"
    assert words(found, Cause.APART, "topping-coat-1.wall", **apart) == shared
    # nothing dusty before a coat's own links, and no coat keeps itself away
    assert all(k.task not in k.others for k in kept.values())
    assert "fasten.wall" not in kept  # glue is no coat


def test_days_are_joined_over_gaps_that_are_short_enough():
    days = [date(2027, 2, d) for d in (8, 9, 11, 15, 16)]
    # a gap of one day, the 10th, and one of three
    assert periods(days, 0) == (
        (days[0], days[1]), (days[2], days[2]), (days[3], days[4]),
    )  # fmt: skip
    assert periods(days, 1) == ((days[0], days[2]), (days[3], days[4]))
    assert periods(days, 3) == ((days[0], days[4]),)
    assert periods([], 3) == ()
