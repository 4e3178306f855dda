"""What is left of a job is promised by what is left unsure: the past is fixed.

Tests of planner/promise/playing.py, planner/odds/play.py, planner/odds/script.py,
planner/odds/drying.py, planner/odds/weather.py, planner/usecases/living/left.py,
planner/usecases/living/moved_promise.py, planner/usecases/living/learning.py,
planner/living/laid_over.py, planner/report/living/taught_text.py.
"""

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from planner.living.laid_over import with_learned
from planner.living.went import Went
from planner.nouns.case import Case, Past, PastTask
from planner.nouns.happened import Logbook
from planner.nouns.job import Survey
from planner.nouns.odds import Factor, Learned, Lesson
from planner.nouns.product import Air
from planner.nouns.work import ReturnKind
from planner.odds.draws import Draws
from planner.odds.drying import PlayedStage, PlayedWait
from planner.odds.play import play
from planner.odds.script import script_of
from planner.odds.weather import airs
from planner.planning.posing import posed
from planner.promise.playing import odds_of_placed
from planner.report.living.taught_text import taught_lines
from planner.trade.data.odds import spread
from planner.usecases.living.learning import learned
from planner.usecases.living.placed import placements_of
from tests.support.living import HOUR, begun

FULL = ReturnKind.FULL_SERVICE
COAT = "topping-coat-1.wall"


@pytest.fixture(scope="module")
def job(tmp_path_factory):
    return begun(tmp_path_factory.mktemp("left"))


def planned(plan):
    return {r.kind: r.when for r in plan.stage.returns}


def rest(job, past):
    """Return the placements of a plan of which a past is known, and its problem."""
    problem = posed(Case(inputs=job.inputs, past=past), weeks=13)
    placed = [
        replace(p, team=(), end=problem.past[p.task].end)
        if p.task in problem.past
        else p
        for p in placements_of(job.plan)
    ]
    return placed, problem


def played(job, past, futures=2_000, air=None):
    placed, problem = rest(job, past)
    script = script_of(problem, placed, air or (problem.air,))
    draws = Draws(spread=spread(job.inputs.job), futures=futures, series=1, seed=1)
    return problem, play(script, draws)


# ---------------------------------------------------------------- the past


def test_before_anything_has_happened_the_odds_are_those_of_the_first_plan(job):
    """Byte for byte: nothing is known yet, and all lies after now."""
    asked = {"planned": planned(job.plan), "threats": False, "futures": 500}
    first = odds_of_placed(job.inputs, placements_of(job.plan), **asked)
    past = Past(now=job.plan.grid_start, tasks=())
    again = odds_of_placed(job.inputs, placements_of(job.plan), **asked, past=past)
    assert repr(again) == repr(first)


def test_what_is_done_lies_where_it_was_in_every_future(job):
    now = job.plan.task(COAT).end
    past = job.went(now).past
    problem, found = played(job, past)
    for task, one in problem.past.items():
        assert (found.starts[task] == one.start).all()
        assert (found.ends[task] == one.end).all()
    ahead = [t for t in found.starts if t not in problem.past]
    assert ahead
    assert all((found.starts[t] >= problem.now).all() for t in ahead)


def test_the_more_is_done_the_less_is_unsure(job):
    width = []
    for name in ("mark.wall", COAT, "colour-2"):
        _, found = played(job, job.went(job.plan.task(name).end).past)
        back = found.returns[FULL]
        width.append(np.quantile(back, 0.9) - np.quantile(back, 0.1))
    assert width[0] > width[1] > width[2] > 0


# ---------------------------------------------------------------- coats


def looked(job, what, hours):
    end = job.plan.task(COAT).end
    now = end + hours * HOUR
    events = [
        job.event("done", COAT, end, by=("ana",)),
        job.event(what, COAT, now),
    ]
    return now, events, job.went(now, *events).past


def test_a_coat_found_wet_is_ready_in_no_future_before_it_was_looked_at(job):
    """The others are those of all futures in which it was still wet by then."""
    prime = job.plan.task("prime-1")
    now = prime.end + 15 * HOUR
    events = [job.event("done", "prime-1", prime.end), job.event("wet", "prime-1", now)]
    past = job.went(now, *events).past
    problem, found = played(job, past)
    seen = problem.grid.floor(past.now)
    assert (found.starts["prime-2"] > seen).all()
    _, unseen = played(job, replace(past, tasks=tuple(
        replace(p, found_wet=None) for p in past.tasks
    )))  # fmt: skip
    assert found.starts["prime-2"].mean() > unseen.starts["prime-2"].mean()


def test_a_coat_found_dry_is_ready_in_every_future(job):
    _, _, past = looked(job, "dry", 20)
    problem, found = played(job, past)
    assert found.starts["rub.wall"].min() >= problem.grid.ceil(past.now)
    _, unseen = played(job, replace(past, tasks=tuple(
        replace(p, found_dry=None) for p in past.tasks
    )))  # fmt: skip
    assert (found.starts["rub.wall"] <= unseen.starts["rub.wall"]).all()


def test_the_least_factor_is_the_one_at_which_the_coat_would_just_be_dry():
    """At constant speed, a coat that needs ten ticks and is wet after fifteen: 1.5."""
    steady = PlayedStage(done=np.arange(101) / 10.0, shortens=True)
    wait = PlayedWait(ticks=100, stages=(steady,))
    series = np.zeros(1, dtype=np.int64)
    end = np.array([20])
    assert wait.least_factor(end, 35, series)[0] == pytest.approx(1.5, rel=1e-4)
    after = PlayedWait(ticks=100, stages=(steady, steady))  # one after the other
    assert after.least_factor(end, 50, series)[0] == pytest.approx(1.5, rel=1e-4)


# ---------------------------------------------------------------- air


def test_the_air_isnt_off_when_it_was_measured_and_strays_as_its_memory_says():
    """An autoregressive error from 0: standard deviation s * sqrt(1 - exp(-2 t / T))."""
    ticks = 24 * 60
    still = Air(
        tick_minutes=60, air_c=np.full(ticks, 20.0), humidity_pct=np.full(ticks, 50.0)
    )
    made = airs(
        still, delta_k=1.0, delta_rh_pct=2.0, memory_h=72.0, seed=4, known=240,
        series=4_000,
    )  # fmt: skip
    warmth = np.array([a.air_c for a in made[1:]]) - 20.0
    assert (warmth[:, :241] == 0.0).all()
    for days in (1, 3, 10):
        right = np.sqrt(1.0 - np.exp(-2.0 * days * 24 / 72))
        assert warmth[:, 240 + 24 * days].std() == pytest.approx(right, abs=0.03)


# ---------------------------------------------------------------- learning


def slow_log(job, times):
    """Return that each short task up to the coat took so many times its hours."""
    out = []
    for task in job.plan.tasks:
        name = job.plan.short_id(task.id)
        if task.end <= job.plan.task(COAT).end and len(task.spans) == 1:
            work = next(t for t in posed(Case(inputs=job.inputs), weeks=6).work.tasks
                        if t.id == name)  # fmt: skip
            team = next(t for t in work.teams if t.size == len(task.team))
            hours = work.person_hours / (team.size * team.yield_frac) + work.elapsed_h
            end = task.start + (hours * times + work.set_up_h) * HOUR
            out.append(job.event("begun", name, task.start))
            out.append(job.event("done", name, end))
    return out


def taught(job, now, events):
    problem = posed(Case(inputs=job.inputs), weeks=6)
    book = Logbook(events=tuple(events))
    return learned(job.plan, book, job.went(now, *events), problem)


@pytest.mark.parametrize("times", [0.8, 1.0, 1.25])
def test_the_pace_is_learned_from_hours_without_setting_up(job, times):
    """Many tasks, all as much slower: what they share comes near to it, no further."""
    events = slow_log(job, times)
    now = job.plan.task(COAT).end + 30 * HOUR
    lessons = {one.of: one for one in taught(job, now, events).pace}
    primed = lessons["prime"]
    shared = primed.times * primed.left.median
    assert primed.seen == 0
    if times == 1.0:
        assert shared == pytest.approx(1.0, abs=0.01)
    else:
        assert abs(np.log(shared)) > 0.2 * abs(np.log(times))
        assert abs(np.log(shared)) < abs(np.log(times))
        assert np.sign(np.log(shared)) == np.sign(np.log(times))


def test_work_that_was_stopped_or_not_logged_whole_teaches_nothing(job):
    end = job.plan.task("mark.wall").end
    begun_ = job.event("begun", "mark.wall", job.plan.task("mark.wall").start)
    stopped = job.event("stopped", "mark.wall", begun_.at + HOUR / 4)
    done = job.event("done", "mark.wall", end)
    assert not taught(job, end + HOUR, [done])
    assert not taught(job, end + HOUR, [begun_])
    assert not taught(job, end + HOUR, [begun_, stopped, done])
    assert taught(job, end + HOUR, [begun_, done])


@pytest.mark.parametrize(
    ("work", "teaches"),
    [("survey", False), ("locate", False), ("intake", False), ("count", True)],
)
def test_the_hours_of_outsiders_teach_nothing_of_the_crew_s_pace(job, work, teaches):
    """Of a surveyor, a locator of services, the carrier: common practice, no source."""
    inputs = replace(job.inputs, job=replace(job.inputs.job, survey=Survey()))
    problem = posed(Case(inputs=inputs), weeks=6)
    task = next(t for t in problem.work.tasks if t.id == work)
    team = ("ana", "bo")[: task.teams[0].size]
    start = job.plan.task("mark.wall").start
    planned_h = task.person_hours / (len(team) * task.teams[0].yield_frac)
    end = start + (2.6 * planned_h + task.set_up_h) * HOUR
    events = (
        job.event("begun", work, start, by=team),
        job.event("done", work, end, by=team),
    )
    now = end + HOUR
    went = PastTask(
        task=work, start=start, end=end, team=team, spans=((start, end),), left_h=0.0
    )
    told = Went(past=Past(now=now, tasks=(went,)), taken=())
    found = learned(job.plan, Logbook(events=events), told, problem)
    assert [one.of for one in found.pace if one.seen] == ([work] if teaches else [])
    assert any(one.times > 1.0 for one in found.pace) == teaches
    assert {"survey", "locate", "intake"}.isdisjoint(one.of for one in found.pace)


def test_a_coat_found_wet_teaches_of_its_product(job):
    prime = job.plan.task("prime-1")
    seen = prime.end + 15 * HOUR
    events = [
        job.event("done", "prime-1", prime.end),
        job.event("wet", "prime-1", seen),
    ]
    (lesson,) = taught(job, seen, events).waits
    assert lesson.of == prime.product
    assert lesson.times > 1.1
    soon = [events[0], job.event("wet", "prime-1", prime.end + HOUR / 2)]
    (early,) = taught(job, seen, soon).waits
    assert early.times == 1.0


def test_what_was_learned_is_laid_over_rates_and_laws(job):
    lesson = Learned(
        pace=(
            Lesson(of="prime", times=1.2, left=Factor(frac=0.1), seen=2),
            Lesson(of="drill", times=0.9, left=Factor(frac=0.2), seen=1),
        ),
        waits=(Lesson(of="water-primer", times=1.5, left=Factor(frac=0.1), seen=1),),
    )
    before, after = job.inputs, with_learned(job.inputs, lesson)
    assert after.fingerprint != before.fingerprint
    olds, news = (
        {t.id: t for t in posed(Case(inputs=i), weeks=6).work.tasks}
        for i in (before, after)
    )
    assert news["prime-1"].person_hours > olds["prime-1"].person_hours
    assert news["colour-1"] == olds["colour-1"]
    slow, fast = (i.products["water-primer"].stages for i in (after, before))
    assert {s.times for s in fast} == {1.0}
    assert any(s.times == 1.5 for s in slow)
    assert spread(after.job).learned_pace == (
        ("prime", Factor(frac=0.1)),
        ("drill", Factor(frac=0.2)),
    )
    assert with_learned(before, Learned()) is before
    titles = {"prime": "Prime", "drill": "Drill"}
    said = list(taught_lines(lesson, titles, {"water-primer": "Primer"}))
    assert said == [
        "Prime (2 logged): 1.20 times the hours of its rate",
        "Drill (1 logged): 0.90 times the hours of its rate",
        "Primer (1 coat looked at): 1.50 times the hours of its law",
    ]


def test_what_other_work_taught_is_told_once_and_only_of_what_is_to_come():
    def by(of, times, seen=0):
        return Lesson(of=of, times=times, left=Factor(frac=0.1), seen=seen)

    def told(*lessons):
        titles = {"tape": "Tape", "prime": "Primer", "colour": "Colour"}
        return list(taught_lines(Learned(pace=lessons), titles, {}))

    alike = (by("prime", 1.05), by("colour", 1.05), by("drill", 1.05))
    assert told(by("tape", 1.2, 1), *alike) == [
        "Tape (1 logged): 1.20 times the hours of its rate",
        "All other work of the crew's own (by how what was logged went): "
        "1.05 times the hours of its rate",
    ]
    assert told(by("tape", 1.1), *alike, by("drill", 1.2, 3)) == [
        "Colour, Primer (by how what was logged went): 1.05 times the hours of its rate",
        "Tape (by how what was logged went): 1.10 times the hours of its rate",
    ]
    assert told(by("tape", 1.0), by("prime", 1.0)) == []


@pytest.mark.slow
def test_a_revision_learns_tells_why_and_the_judge_agrees(job):
    """Slow work, a coat wet past its time, somebody away: each moves the promise."""
    seen = job.plan.task("rub.wall").start - HOUR
    away = [
        job.event("away", who, seen, start=seen + 12 * HOUR, until=seen + 60 * HOUR)
        for who in ("ana", "bo")
    ]
    events = [*slow_log(job, 1.3), job.event("wet", COAT, seen), *away]
    found = job.revised(seen + timedelta(minutes=15), *events)
    assert found.after.stage.sureness.futures > 0
    words = {c.words: c.minutes for c in found.causes}
    assert words["who is away"] > 0
    assert words["the crew's pace, as it was logged"] > 0
    assert words["how coats were found to dry"] > 0
    assert {one.of for one in found.learned.waits} == {"topping", "setting-90"}
    told = found.after.stage.sureness.spread
    assert dict(told.learned_pace)
    assert found.after.task("prime-1").end - found.after.task("prime-1").start > (
        job.plan.task("prime-1").end - job.plan.task("prime-1").start
    )
