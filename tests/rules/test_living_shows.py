"""A joint that shows through is filled, dried, sanded and, on primer, primed again.

Tests of planner/trade/phases/patches.py, planner/living/shown.py, planner/living/known.py,
planner/living/laid_over.py, planner/judge/methods.py, planner/judge/sequence.py,
planner/usecases/living/revise.py.
"""

from dataclasses import replace

import pytest

from planner.judge import judged
from planner.living.known import known_of, with_patches
from planner.living.laid_over import with_shown
from planner.living.shown import numbered, shown
from planner.nouns.case import Case
from planner.nouns.happened import Logbook
from planner.nouns.job import Shows
from planner.planning.answering import answer
from planner.planning.posing import posed
from tests.support.finished import finished
from tests.support.judge import with_task
from tests.support.living import HOUR, LITTLE, begun


@pytest.fixture(scope="module")
def job(tmp_path_factory):
    return begun(tmp_path_factory.mktemp("shows"))


@pytest.fixture(scope="module")
def patched(job):
    """The job with three joints that show, planned from its start, and judged."""
    places = (
        Shows(number=1, bay="wall", before="rub.wall"),
        Shows(number=2, bay="wall", before="wipe"),
        Shows(number=3, bay="wall", before="colour-1"),
        Shows(number=4, bay="wall", before="handover"),
        Shows(number=5, bay="wall", before="spot-colour-4.wall"),
        Shows(number=6, bay="wall"),
    )
    inputs = with_shown(job.inputs, places)
    case = Case(inputs=inputs)
    return inputs, finished(case, answer(case, LITTLE.search()))


def links_of(inputs):
    work = posed(Case(inputs=inputs), weeks=6).work
    return {
        (x.before, x.after): x.wait.stage if x.wait else None
        for x in work.links
        if "spot" in x.before + x.after
    }


def test_each_patch_lies_between_what_is_below_and_what_comes_next(patched):
    inputs, _ = patched
    links = links_of(inputs)
    assert links["spot-fill-1.wall", "rub.wall"] == "dry"
    assert links["topping-coat-1.wall", "spot-fill-1.wall"] == "dry"
    assert links["rub.wall", "spot-fill-2.wall"] is None
    assert links["spot-fill-2.wall", "spot-sand-2.wall"] == "dry"
    assert links["spot-sand-2.wall", "wipe"] is None
    assert links["shadow", "spot-fill-3.wall"] is None
    assert links["prime-2", "spot-fill-3.wall"] == "recoat"
    assert links["spot-fill-3.wall", "spot-prime-3.wall"] == "dry"
    assert links["spot-prime-3.wall", "colour-1"] == "recoat"


def test_after_the_last_coat_the_bay_is_coated_again_and_returns_wait_for_it(patched):
    inputs, _ = patched
    links = links_of(inputs)
    assert links["colour-2", "spot-fill-4.wall"] == "recoat"
    assert links["spot-fill-4.wall", "spot-prime-4.wall"] == "dry"
    assert links["spot-prime-4.wall", "spot-colour-4.wall"] == "recoat"
    assert links["spot-colour-4.wall", "handover"] == "recoat"
    # a second joint of the bay goes below the same coat
    assert links["spot-prime-4.wall", "spot-fill-5.wall"] == "recoat"
    assert links["spot-prime-5.wall", "spot-colour-4.wall"] == "recoat"
    assert ("colour-2", "spot-fill-6.wall") in links
    assert not any(a == "spot-colour-6.wall" for a, _ in links)
    work = posed(Case(inputs=inputs), weeks=6).work
    coats = {t.id: t for t in work.tasks if t.phase == "spot-colour"}
    assert set(coats) == {"spot-colour-4.wall", "spot-colour-6.wall"}
    # 2.9 m by 5 m of wall and cove, and no floor in front: less than a whole coat
    whole = next(t for t in work.tasks if t.id == "colour-1")
    assert 0 < coats["spot-colour-4.wall"].wet_m2 < whole.wet_m2
    for back in work.returns:
        waits = {(t, w.stage) for t, w in back.after if w}
        assert {(c, back.kind.value) for c in coats} <= waits


def test_the_judge_passes_the_plan_and_names_what_is_left_out_or_too_soon(patched):
    inputs, plan = patched
    assert judged(inputs, plan) == ()
    gone = plan.task("spot-fill-3.wall").id
    without = replace(plan, tasks=tuple(t for t in plan.tasks if t.id != gone))
    found = judged(inputs, without)
    assert any("spot-fill, coat 3 (wall): ordered, but not" in f for f in found)
    other = replace(inputs, job=replace(inputs.job, shows=()))
    assert any("in the plan, but not ordered" in f for f in judged(other, plan))
    for name, before in (
        ("rub.wall", "spot-fill-1.wall"),
        ("spot-sand-2.wall", "spot-fill-2.wall"),
        ("wipe", "spot-sand-2.wall"),
        ("spot-prime-3.wall", "spot-fill-3.wall"),
        ("colour-1", "spot-prime-3.wall"),
        ("spot-fill-3.wall", "prime-2"),
        ("spot-fill-4.wall", "colour-2"),
        ("spot-colour-4.wall", "spot-prime-5.wall"),
        ("handover", "spot-colour-4.wall"),
        ("spot-fill-6.wall", "colour-2"),
    ):
        early = plan.task(before).start
        soon = with_task(plan, name, start=early, spans=((early, early + HOUR),))
        title = plan.task(name).title
        faults = judged(inputs, soon)
        assert any(f'"{title}": begins' in f for f in faults), (name, faults)
    coat = replace(plan.stage, return_terms=tuple(
        t for t in plan.stage.return_terms if "spot-colour" not in t.task
    ))  # fmt: skip
    hasty = judged(inputs, replace(plan, stages=(coat,)))
    assert any("doesn't wait for" in f and "again 6, wall" in f for f in hasty)
    other = with_task(plan, "spot-colour-6.wall", product="water-primer")
    assert any("lays water-primer, the job" in f for f in judged(inputs, other))
    dry = with_task(plan, "spot-fill-1.wall", product="water-primer")
    assert any("lays water-primer, the job says" in f for f in judged(inputs, dry))


def test_it_is_filled_before_the_next_that_had_not_begun(job):
    work = posed(Case(inputs=job.inputs), weeks=6).work

    def before(name, hours):
        at = job.plan.task(name).start + hours * HOUR
        shows = Logbook(events=(job.event("shows", "wall", at),))
        found = shown(shows, job.went(at), work)
        return [s.before for s in found]

    assert before("rub.wall", -1) == ["rub.wall"]
    assert before("rub.wall", 0.25) == ["wipe"]
    assert before("wipe", 0.25) == ["prime-1"]
    assert before("prime-1", 0.25) == ["prime-2"]
    assert before("shadow", 0.25) == ["colour-1"]
    assert before("colour-2", 0.25) == ["handover"]
    assert before("handover", 0.25) == [""]


def test_what_was_begun_over_a_joint_before_it_was_filled_is_not_waited_for(job):
    """It shows at the check, colour is begun all the same: it is filled on that coat."""
    at = job.plan.task("colour-1").start - HOUR
    work = posed(Case(inputs=job.inputs), weeks=6).work
    shows = job.event("shows", "wall", at)

    def before(*events, hours=3.0):
        told = job.went(job.plan.task("colour-1").start + hours * HOUR, *events)
        found = shown(Logbook(events=(shows, *events)), told, work)
        return [s.before for s in found]

    assert before(hours=0.0) == ["colour-1"]
    assert before() == ["colour-2"]


def test_two_joints_of_a_bay_lie_below_one_coat(job):
    last = job.plan.task("colour-2").end
    work = posed(Case(inputs=job.inputs), weeks=6).work
    both = [job.event("shows", "wall", last + n * HOUR) for n in (0, 1)]
    both.append(job.event("shows", "apron", last, words="insisted on"))  # nothing taped
    found = shown(Logbook(events=tuple(both)), job.went(last + 2 * HOUR), work)
    assert [s.before for s in found] == ["handover", "spot-colour-1.wall"]


def test_places_keep_their_numbers_and_may_be_logged(job):
    at = job.plan.task("shadow").start
    one = job.event("shows", "wall", at)
    two = job.event("shows", "wall", at + HOUR)
    gone = job.event("undo", one.id, at + 2 * HOUR)
    book = Logbook(events=(two, one, gone))
    assert [(n, e.id) for n, e in numbered(book)] == [(2, two.id)]
    work = posed(Case(inputs=job.inputs), weeks=6).work
    known = with_patches(known_of(job.inputs.job, work), book)
    assert "the-stage:spot-prime-2.wall" in known.tasks
    assert "the-stage:spot-prime-1.wall" not in known.tasks


@pytest.mark.slow
def test_the_rest_is_planned_with_the_patch_and_then_from_its_log(job):
    """At the shadow check a joint shows: one more coat, and colour after it."""
    shadow = job.plan.task("shadow")
    events = [
        job.event("done", "shadow", shadow.end),
        job.event("shows", "wall", shadow.end, words="by the door"),
    ]
    found = job.revised(shadow.end, *events)
    after = found.after
    fill, prime = (after.task(f"spot-{w}-1.wall") for w in ("fill", "prime"))
    assert shadow.end <= fill.start < prime.start < after.task("colour-1").start
    assert after.stage.closure[1] > job.plan.stage.closure[1]
    assert {c.words: c.minutes for c in found.causes}["joints that show through"] > 0
