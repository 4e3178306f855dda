"""The past as it was logged, else as it was planned; never both at odds.

Tests of planner/living/went.py, planner/living/laid_over.py.
"""

from datetime import timedelta

import pytest

from planner.living.laid_over import effective, with_log
from planner.nouns.happened import Logbook
from tests.support.living import HOUR, begun

STEP = timedelta(minutes=15)


@pytest.fixture(scope="module")
def job(tmp_path_factory):
    return begun(tmp_path_factory.mktemp("went"))


def past_of(told):
    return {p.task: p for p in told.past.tasks}


def test_what_nobody_logged_is_taken_as_planned(job):
    task = job.plan.task("fasten.wall")
    now = task.start + STEP
    told = job.went(now)
    past = past_of(told)
    for planned in job.plan.tasks:
        name = job.plan.short_id(planned.id)
        assert (name in past) is (planned.start < now)
        assert (planned.id in told.taken) is (planned.start < now)
        if name in past and planned.end <= now:
            one = past[name]
            assert (one.start, one.end, one.team, one.spans) == (
                planned.start, planned.end, planned.team, planned.spans,
            )  # fmt: skip
    running = past["fasten.wall"]
    assert running.end is None
    assert running.spans == ((task.start, now),)


def test_what_was_logged_as_waiting_isnt_taken_as_begun(job):
    task = job.plan.task("fasten.wall")
    now = task.start + 3 * HOUR
    waits = job.event("waiting", "fasten.wall", task.start + STEP)
    past = past_of(job.went(now, waits))
    assert "fasten.wall" not in past
    assert "drill.wall" not in past  # it follows
    assert "set.wall" in past
    early = job.event("waiting", "fasten.wall", task.start - STEP)
    assert "fasten.wall" in past_of(job.went(now, early))
    done = job.event("done", "fasten.wall", task.end)
    assert past_of(job.went(now, waits, done))["fasten.wall"].end == task.end


def test_at_its_very_start_a_task_isnt_begun_and_at_its_end_it_is_done(job):
    task = job.plan.task("fasten.wall")
    assert "fasten.wall" not in past_of(job.went(task.start))
    assert past_of(job.went(task.end))["fasten.wall"].end == task.end


def test_of_a_task_that_pauses_only_what_was_worked_until_then_is_past(job):
    paused = [t for t in job.plan.tasks if len(t.spans) > 1]
    assert paused
    for task in paused:
        (first, *_), now = task.spans, task.spans[1][0]
        assert past_of(job.went(now))[job.plan.short_id(task.id)].spans == (first,)


def test_what_is_left_of_a_task_taken_as_planned_is_what_the_plan_has_left(job):
    task = job.plan.task("fasten.wall")
    left_h = past_of(job.went(task.start + STEP))["fasten.wall"].left_h
    hours = (task.end - task.start - STEP) / HOUR
    assert left_h == pytest.approx(hours * len(task.team))  # one gives all of an hour
    later = past_of(job.went(task.start + 2 * STEP))["fasten.wall"].left_h
    assert later == pytest.approx(left_h * (hours - 0.25) / hours)


def test_a_logged_end_stands_and_who_follows_wasnt_begun_before_it(job):
    drill, anchor = job.plan.task("drill.wall"), job.plan.task("bed.wall")
    assert anchor.start < drill.end + 3 * HOUR
    late = drill.end + 3 * HOUR + timedelta(minutes=5)
    done = job.event("done", "drill.wall", late, by=("bo",))
    told = job.went(late + HOUR, done)
    past = past_of(told)
    one = past["drill.wall"]
    assert one.end == drill.end + 3 * HOUR + STEP  # an end counts from the next step
    assert one.start == drill.start
    assert one.team == ("bo",)
    assert "bed.wall" not in past
    assert job.plan.task("drill.wall").id not in told.taken
    assert past["fasten.wall"].end == job.plan.task("fasten.wall").end


@pytest.mark.parametrize("hours", [0, 9])
def test_what_comes_before_what_was_logged_was_done_whoever_said_so(job, hours):
    """Taped, so the floor is anchored: as planned, or by then where that is sooner."""
    tape = job.plan.task("tape.wall")
    begin = job.event("begun", "tape.wall", tape.start - hours * HOUR)
    stop = job.event("stopped", "floor.wall", begin.at - STEP)
    told = job.went(begin.at, begin, stop)
    past = past_of(told)
    for name in ("floor.wall", "anchor.wall", "mark.wall"):
        planned = job.plan.task(name)
        assert past[name].end == min(planned.end, begin.at)
        assert past[name].start < past[name].end
        assert planned.id in told.taken
    assert past["tape.wall"].end is None


def test_begun_late_it_ends_as_much_later(job):
    task = job.plan.task("fasten.wall")
    at = task.start + HOUR
    event = job.event("begun", "fasten.wall", at, logged=at + HOUR / 2)
    early = past_of(job.went(task.end + HOUR - STEP, event))["fasten.wall"]
    assert early.end is None
    assert early.start == at
    assert past_of(job.went(task.end + HOUR, event))["fasten.wall"].end == (
        task.end + HOUR
    )


@pytest.mark.parametrize("hours", [0.5, 3.0])
def test_stopped_it_isnt_done_however_late_it_is(job, hours):
    task = job.plan.task("fasten.wall")
    begin = job.event("begun", "fasten.wall", task.start)
    stop = job.event("stopped", "fasten.wall", task.start + STEP, left_h=hours)
    one = past_of(job.went(task.end + 48 * HOUR, begin, stop))["fasten.wall"]
    assert one.end is None
    other = past_of(job.went(task.end + 48 * HOUR, begin))["fasten.wall"]
    assert other.end == task.end
    frac = one.left_h / (hours * len(task.team))
    assert 0.5 < frac <= 1.0


def test_stopped_without_saying_what_is_left_the_rest_of_its_hours_is(job):
    task = job.plan.task("fasten.wall")
    begin = job.event("begun", "fasten.wall", task.start)
    stop = job.event("stopped", "fasten.wall", task.start + STEP)
    now = task.start + STEP
    said = past_of(job.went(now, begin, stop))["fasten.wall"].left_h
    assert said == pytest.approx(past_of(job.went(now))["fasten.wall"].left_h)


def test_what_a_revised_plan_knows_already_isnt_reckoned_twice(job):
    task = job.plan.task("fasten.wall")
    begin = job.event("begun", "fasten.wall", task.start)
    stop = job.event("stopped", "fasten.wall", task.start + STEP, left_h=3.0)
    since = task.start + STEP
    one = past_of(job.went(task.end, begin, stop, since=since))["fasten.wall"]
    assert one.end == task.end  # the plan has its rest


def test_nobody_who_is_away_began_anything(job):
    task = job.plan.task("fasten.wall")
    away = job.event(
        "away", task.team[0], start=task.start - HOUR, until=task.end + HOUR
    )
    assert "fasten.wall" not in past_of(job.went(task.end, away))


def test_over_a_coat_found_wet_nothing_was_begun(job):
    second = job.plan.task("prime-2")
    first = job.plan.task("prime-1")
    wet = job.event("wet", "prime-1", second.start)
    before = job.event("wet", "prime-1", second.start - STEP)
    dry = job.event("dry", "prime-1", second.start)
    now = second.end + HOUR
    assert past_of(job.went(now))["prime-2"].end == second.end
    assert "prime-2" not in past_of(job.went(now, wet))
    assert past_of(job.went(now, before))["prime-2"].end == second.end
    assert past_of(job.went(now, dry, wet))["prime-1"].found_wet == second.start
    assert past_of(job.went(now))["prime-1"].end == first.end


def test_what_is_logged_for_later_than_now_hasnt_happened(job):
    task = job.plan.task("fasten.wall")
    done = job.event("done", "fasten.wall", task.start + 2 * STEP)
    assert past_of(job.went(task.start + STEP, done))["fasten.wall"].end is None


# ------------------------------------------------------------ facts laid over


def laid(job, *events):
    return with_log(job.inputs, Logbook(events=events), file="job-log.txt")


def test_without_events_that_count_the_facts_are_the_same(job):
    note = job.event("note", words="lift stuck")
    chip = job.event("damaged", "wall")  # nobody has said when the new piece comes
    assert effective(Logbook(events=(note, chip))) == ()
    assert laid(job, note, chip) is job.inputs


def test_people_away_bookings_and_quiet_hours_become_entries(job):
    start, until = job.plan.grid_start, job.plan.grid_start + HOUR
    stretch = {"start": start, "until": until}
    away = job.event("away", "ana", **stretch)
    booked = job.event("booked", words="shoot", **stretch)
    quiet = job.event("quiet", **stretch)
    found = laid(job, away, booked, quiet)
    (busy,) = found.hours.people["ana"]
    assert (busy.start, busy.end, busy.file) == (start, until, "job-log.txt")
    assert [b.title for b in found.hours.bookings] == ["shoot"]
    assert [(q.start, q.end) for q in found.hours.quiet] == [(start, until)]
    assert found.fingerprint != job.inputs.fingerprint
    again = laid(job, quiet, booked, away)
    assert again.fingerprint == found.fingerprint


@pytest.mark.parametrize(
    ("title", "hours", "left"),
    [("", (0, 1), 0), ("shoot", (0, 1), 0), ("SHO", (-1, 2), 0), ("x", (0, 1), 1),
     ("", (0.5, 2), 1)],
)  # fmt: skip
def test_a_booking_within_a_released_stretch_is_none_any_more(job, title, hours, left):
    first = job.plan.grid_start
    booked = job.event("booked", words="Shoot", start=first, until=first + HOUR)
    gone = job.event(
        "released",
        words=title,
        at=first + STEP,
        start=first + hours[0] * HOUR,
        until=first + hours[1] * HOUR,
    )
    assert len(laid(job, booked, gone).hours.bookings) == left


def test_late_crates_and_measured_air_are_taken_over(job):
    come = job.plan.grid_start + 30 * HOUR
    late = job.event("late", until=come)
    air = job.event("air", air_c=17.0, humidity_pct=61.0)
    found = laid(job, late, air)
    assert found.job.delivery == come
    (read,) = found.readings
    assert (read.when, read.air_c, read.humidity_pct) == (
        job.plan.grid_start, 17.0, 61.0,
    )  # fmt: skip
