"""A revised plan: what happened is told as it was, and rules bind what is to come.

Tests of planner/judge/asked.py, planner/judge/__init__.py, planner/judge/case.py,
planner/planning/begun/past.py, planner/planning/asked.py, planner/planning/answer.py,
planner/planning/wording/document.py, planner/planning/wording/waited.py.
"""

from dataclasses import replace
from datetime import timedelta

import pytest

from planner.nouns.case import Past, PastTask
from tests.support.judge import with_task
from tests.support.living import HOUR, begun
from tests.support.values import STRAIGHT, changed

STEP = timedelta(minutes=15)


@pytest.fixture(scope="module")
def job(tmp_path_factory):
    return begun(tmp_path_factory.mktemp("past"))


@pytest.fixture(scope="module")
def running(job):
    """A revision in the middle of fastening: the moment, the past, the plan."""
    now = job.plan.task("fasten.wall").start + STEP
    return now, job.went(now).past, job.revised(now).after


def faults_of(job, revision, plan=None, past=None):
    _, told, made = revision
    return job.faults(plan or made, past or told)


def test_with_nothing_logged_nothing_moves_and_the_plan_is_sound(job, running):
    now, _, plan = running
    assert faults_of(job, running) == ()
    assert [(t.id, t.start, t.end, t.team) for t in plan.tasks] == [
        (t.id, t.start, t.end, t.team) for t in job.plan.tasks
    ]
    assert plan.stage.closure == job.plan.stage.closure
    told = {t.id: t.happened for t in plan.tasks}
    assert set(told.values()) == {"", "begun", "done"}
    assert all(
        (told[t.id] == "") is (t.start >= now)
        and (told[t.id] == "done") is (t.end <= now)
        for t in plan.tasks
    )
    assert plan.cost == job.plan.cost


SPOILT = {
    "begins before now": ("bed.wall", lambda t, now: {"start": now - STEP}),
    "is said to be done, nobody says so": (
        "bed.wall",
        lambda t, now: {"happened": "done"},
    ),
    'was done, the plan says "begun"': (
        "mark.wall",
        lambda t, now: {"happened": "begun"},
    ),
    "at other times than it was worked": (
        "mark.wall",
        lambda t, now: {"end": t.end + STEP},
    ),
    "has others at it than did it": ("mark.wall", lambda t, now: {"team": ("bo",)}),
    "has other hours for it than were worked": (
        "mark.wall",
        lambda t, now: {"spans": t.spans[:-1]},
    ),
    "nothing more is worked at it": (
        "fasten.wall",
        lambda t, now: {"spans": ((t.start, now),)},
    ),
    "h are left, its team gives": (
        "fasten.wall",
        lambda t, now: {"spans": ((t.start, now + STEP),)},
    ),
}


@pytest.mark.parametrize("words", SPOILT)
def test_what_is_spoilt_is_named(job, running, words):
    now, past, plan = running
    name, change = SPOILT[words]
    spoilt = with_task(plan, name, **change(plan.task(name), now))
    found = job.faults(spoilt, past)
    assert any(words in f for f in found), found


def test_a_task_that_happened_isnt_left_out(job, running):
    _, past, plan = running
    gone = plan.task("mark.wall").id
    without = replace(plan, tasks=tuple(t for t in plan.tasks if t.id != gone))
    assert any(
        "was begun, and isn't in the plan" in f for f in job.faults(without, past)
    )


def test_without_its_past_a_revised_plan_isnt_sound(job, running):
    _, past, plan = running
    assert any(
        "nobody says so" in f for f in job.faults(plan, Past(now=past.now, tasks=()))
    )


# ---------------------------------------------------------------- late, early


def test_what_took_longer_moves_what_follows_and_the_judge_agrees(job):
    task = job.plan.task("tape.wall")
    late = task.end + 7 * HOUR
    event = job.event("done", "tape.wall", late)
    revision = job.revised(late + STEP, event)
    after = revision.after
    assert after.task("tape.wall").end == late
    coat = after.task("setting-coat-1.wall")
    assert coat.start >= late + STEP
    assert after.stage.closure[0] == job.plan.stage.closure[0]
    assert after.stage.closure[1] >= job.plan.stage.closure[1]


@pytest.mark.slow
def test_what_was_done_sooner_and_by_others_at_odd_hours_is_no_fault(job):
    """Marked on the Sunday by the one who isn't of the trade: it happened."""
    task = job.plan.task("mark.wall")
    sunday = job.plan.grid_start - timedelta(days=1) + 33 * HOUR
    assert sunday < task.start
    early = (
        job.event("begun", "mark.wall", sunday, by=("bo",)),
        job.event("done", "mark.wall", sunday + HOUR, by=("bo",)),
    )
    after = job.revised(sunday + 2 * HOUR, *early).after
    told = after.task("mark.wall")
    assert (told.team, told.happened) == (("bo",), "done")
    assert told.end - told.start == HOUR


# ------------------------------------------------------------ coats looked at


def coated(job, *looks):
    """Return the revision a day after the last topping coat, with looks at it."""
    coat = job.plan.task("topping-coat-1.wall")
    now = coat.end + 40 * HOUR
    events = [
        job.event("done", "topping-coat-1.wall", coat.end),
        *(job.event(what, "topping-coat-1.wall", coat.end + h * HOUR) for what, h in looks),
    ]  # fmt: skip
    moment = max(e.at for e in events)
    return job.revised(moment, *events), events, now


def wait_of(plan, task):
    name = plan.task(task).id
    return next(w for w in plan.waits if w.task == name and w.stage == "dry")


def test_a_coat_found_wet_is_waited_for_by_its_margin(job):
    planned = wait_of(job.plan, "topping-coat-1.wall")
    had = planned.ready - planned.begins + 4 * HOUR
    found, events, _ = coated(job, ("wet", had / HOUR))
    wait = wait_of(found.after, "topping-coat-1.wall")
    margin = job.inputs.job.margin_frac
    assert margin > 0
    # as much longer as the margin is of what it has had, up to the next step
    assert timedelta(0) <= wait.ready - (events[-1].at + had * margin) < STEP
    assert found.after.task("rub.wall").start >= wait.ready
    sooner = with_task(
        found.after, "rub.wall", start=wait.ready - STEP, spans=((wait.ready - STEP, found.after.task("rub.wall").end),)
    )  # fmt: skip
    past = job.went(events[-1].at, *events).past
    assert any('before "Topping' in f for f in job.faults(sooner, past, *events))


@pytest.mark.slow
def test_found_wet_before_it_could_be_dry_nothing_is_longer(job):
    planned = wait_of(job.plan, "topping-coat-1.wall")
    found, _, _ = coated(job, ("wet", 1))
    assert wait_of(found.after, "topping-coat-1.wall").ready == planned.ready


@pytest.mark.slow
def test_a_coat_found_dry_is_waited_for_no_longer(job):
    planned = wait_of(job.plan, "topping-coat-1.wall")
    hours = (planned.ready - planned.begins) / HOUR / 2
    found, events, _ = coated(job, ("wet", 1), ("dry", hours))
    wait = wait_of(found.after, "topping-coat-1.wall")
    assert timedelta(0) <= wait.ready - events[-1].at < STEP
    again, _, _ = coated(job, ("dry", 1), ("wet", hours))
    assert wait_of(again.after, "topping-coat-1.wall").ready >= planned.ready


@pytest.mark.slow
def test_a_found_wait_told_otherwise_is_named(job):
    found, events, _ = coated(job, ("dry", 5))
    past = job.went(events[-1].at, *events).past
    assert job.faults(found.after, past, *events) == ()
    waits = tuple(
        replace(w, ready=w.ready + 3 * HOUR) if w.stage == "dry" else w
        for w in found.after.waits
    )
    told = replace(found.after, waits=waits)
    assert any("planned for" in f for f in job.faults(told, past, *events))


# ------------------------------------------------------------------- the case


@pytest.mark.parametrize(
    "changes",
    [{"end": 0}, {"start": "naive"}, {"found_dry": "naive"}, {"found_wet": "naive"}],
)
def test_a_past_that_cant_be_is_refused(job, changes):
    first = job.plan.grid_start
    moments = {0: first, "naive": first.replace(tzinfo=None)}
    fields = {"task": "x", "start": first, "end": first + HOUR, "team": (), "spans": ()}
    fields |= {k: moments[v] for k, v in changes.items()}
    with pytest.raises(ValueError, match=r"not before|no zone"):
        PastTask(**fields)


@pytest.mark.slow
def test_a_booking_of_the_past_forbids_no_closure(tmp_path):
    small = begun(tmp_path, changed(STRAIGHT, ('"5 m"', '"3 m"')))
    now = small.plan.stage.closure[0] + 30 * HOUR
    past = small.event(
        "booked", words="shoot", at=now, start=now - 9 * HOUR, until=now - 8 * HOUR
    )
    found = small.revised(now, past)
    assert found.unkept == ()
    assert found.after.stage.closure == small.plan.stage.closure


def test_who_stopped_may_do_something_else_before_going_on_but_not_at_once(job):
    count, slab = job.plan.task("count"), "test-slab.apron"
    now = count.start + HOUR
    events = (
        job.event("begun", "count", count.start),
        job.event("stopped", "count", now, left_h=1.0),
    )
    past, plan = job.went(now, *events).past, job.revised(now, *events).after
    assert job.faults(plan, past, *events) == ()
    assert (plan.task("count").team, plan.task(slab).team) == (("bo",), ("bo",))
    assert plan.task("count").spans == ((count.start, now + HOUR),)

    def in_two_places(plan):
        found = job.faults(plan, past, *events)
        title = plan.task(slab).title
        return any("in two places" in f and title in f for f in found)

    at_once = with_task(plan, slab, start=now + STEP, end=now + 3 * STEP)
    assert in_two_places(at_once)
    goes_on = ((count.start, now), (now + 2 * STEP, now + HOUR + 2 * STEP))
    later = with_task(plan, "count", spans=goes_on, end=goes_on[1][1])
    first = with_task(later, slab, start=now, end=now + 2 * STEP)
    assert not in_two_places(first)
    assert in_two_places(with_task(later, slab, start=now, end=now + 3 * STEP))
