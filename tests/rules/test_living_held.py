"""What was logged of a damaged piece or a damp base holds the work that needs it.

Tests of planner/living/laid_over.py, planner/planning/shut.py, planner/judge/asked.py,
planner/usecases/living/log.py, planner/living/known.py.
"""

from dataclasses import replace
from datetime import datetime
from pathlib import Path

import pytest

from planner.judge import judged
from planner.living.laid_over import with_log
from planner.nouns.case import Case, Past
from planner.nouns.happened import Logbook
from planner.nouns.job import HeldBay, HeldFor
from planner.planning.posing import posed
from planner.usecases.living.log import Said, log
from tests.support.living import HOUR, begun


@pytest.fixture(scope="module")
def job(tmp_path_factory):
    return begun(tmp_path_factory.mktemp("held"))


def held(job, *events):
    """Return the facts with some events, and when each task may begin."""
    facts = with_log(job.inputs, Logbook(events=events), file="job-log.txt")
    problem = posed(Case(inputs=facts), weeks=6)
    shut = {t.id: [b for b in t.no_start if b.fact.startswith("held:")]
            for t in problem.instance.tasks}  # fmt: skip
    return facts, problem, {t for t, blocks in shut.items() if blocks}


PIECES = {"cut", "join.wall", "set.wall"}


def test_a_damaged_piece_holds_what_handles_the_pieces_of_its_bay(job):
    now = job.plan.task("count").end
    until = now + 60 * HOUR
    event = job.event("damaged", "wall", now, until=until, words="a chip")
    facts, problem, waiting = held(job, event)
    assert waiting == PIECES
    assert facts.job.held == (
        HeldBay(bay="wall", what=HeldFor.PIECE, until=until, said="a chip"),
    )
    (said,) = {w for k, w in problem.facts.items() if k.startswith("held:")}
    assert said.startswith("waits for a piece in place of a damaged one, ")
    assert said.endswith(" (a chip)")


def test_a_damp_slab_holds_what_is_laid_on_it_and_a_damp_wall_its_coats(job):
    now = job.plan.task("count").end
    until = now + 60 * HOUR
    slab = job.event("moisture", "apron", now, until=until, words="88 %")
    wall = job.event("moisture", "wall", now, until=until)
    on_slab, on_wall = held(job, slab)[2], held(job, wall)[2]
    assert "floor.wall" in on_slab
    assert not {"tape.wall", "prime-1"} & on_slab
    assert {"floor.wall", "tape.wall", "setting-coat-1.wall", "prime-1"} <= on_wall
    assert not on_wall & {"set.wall", "rub.wall", "mark.wall"}


def test_the_last_that_was_said_of_a_bay_counts(job):
    now = job.plan.task("count").end
    damp = job.event("moisture", "apron", now, until=now + 60 * HOUR)
    dry = job.event("moisture", "apron", now + HOUR, words="71 %")
    assert held(job, damp, dry)[2] == set()
    assert held(job, dry, replace(damp, at=now + 2 * HOUR))[2] != set()


def test_the_judge_names_what_begins_too_soon(job):
    for bay, what, task in (
        ("wall", HeldFor.PIECE, "set.wall"),
        ("apron", HeldFor.DRY_BASE, "floor.wall"),
        ("", HeldFor.DRY_BASE, "tape.wall"),
    ):
        until = job.plan.task(task).start + HOUR
        one = HeldBay(bay=bay, what=what, until=until)
        facts = replace(job.inputs, job=replace(job.inputs.job, held=(one,)))
        found = [f for f in judged(facts, job.plan) if "and waits for" in f]
        assert any(f'"{job.plan.task(task).title}"' in f for f in found), found
        just = replace(one, until=job.plan.grid_start)
        facts = replace(job.inputs, job=replace(job.inputs.job, held=(just,)))
        assert judged(facts, job.plan) == ()
        past = Past(now=until, tasks=job.went(until).past.tasks)
        assert not any(
            f'"{job.plan.task(task).title}": begins' in f
            for f in judged(facts, job.plan, past=past)
            if "waits for" in f
        )


@pytest.mark.slow
def test_the_rest_is_planned_around_a_new_piece(job):
    now = job.plan.task("count").end
    until = now + 60 * HOUR
    event = job.event("damaged", "wall", now, until=until)
    after = job.revised(now, event).after
    assert all(after.task(t).start >= until for t in PIECES)
    assert after.task("mark.wall").start == job.plan.task("mark.wall").start


def test_moisture_is_logged_of_a_bay_or_in_words(job):
    path, now = job.inputs.job.file, job.plan.task("count").end
    one = log(Path(path), Said(what="moisture", about="apron", until="tomorrow 8:00",
                               words="88 % RH"), now=now)  # fmt: skip
    (event,) = one.events
    assert (event.about, event.words) == ("the-stage:apron", "88 % RH")
    assert event.until is not None
    said = Said(what="moisture", about="apron", until="2027-03-05", words="88 % RH")
    (whole,) = log(Path(path), said, now=now).events
    assert whole.until == datetime(
        2027, 3, 6, tzinfo=job.inputs.job.zone
    )  # day included
    said = Said(what="damaged", about="wall", until="5 Mar 2027")
    (piece,) = log(Path(path), said, now=now).events
    assert piece.until == whole.until  # so is it of a piece
    (plain,) = log(Path(path), Said(what="moisture", about="slab 4 %"), now=now).events
    assert (plain.about, plain.words) == ("", "slab 4 %")
