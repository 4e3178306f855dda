"""What lies behind a cove: asked for, shown to the carpenter, said at the wall.

That a box stays where it can be reached is NEC (NFPA 70) 314.29, US, from memory; who is
licensed for what is common practice, no source.

Tests of planner/trade/behind.py.
"""

from xml.etree import ElementTree as ET

import pytest

from planner.errors import JobFileError
from planner.files.job.jobfile import read_job
from planner.report.opening.drawing import opening_svg
from planner.report.opening.sheet import opening_text
from planner.trade.data import labour, materials
from planner.trade.takeoff import take_off
from planner.trade.work import work
from planner.usecases.opening import opening_of
from tests.support.values import STRAIGHT, changed, job_file

OUTLET = """
[[stage.behind]]
what = "outlet"
run = "wall"
from_start = "6 ft"
height = "12 in"

[[crew]]
name = "Ana"
"""
MEETS = changed(
    STRAIGHT,
    ('length = "5 m"', 'length = "5 m"\nmeets = "side"'),
    (
        '[[crew]]\nname = "Ana"',
        '[[stage.run]]\nname = "side"\nlength = "4 m"\n[[crew]]\nname = "Ana"',
    ),
)


def job_with(tmp_path, text=STRAIGHT, *changes):
    said = changed(text, ('[[crew]]\nname = "Ana"\n', OUTLET), *changes)
    return read_job(job_file(tmp_path, said))


def told_at(job):
    """Return the bays and kinds of the tasks that say what lies behind."""
    takeoff = take_off(job, ids=tuple(r.id for r in job.stage.runs))
    return {
        (b, t.phase)
        for t in work(job, takeoff, materials.load()).tasks
        for b in t.bays
        if any("Behind the cove: outlet on wall" in c for c in t.cautions)
    }


def test_every_task_that_touches_the_wall_says_what_lies_behind_and_who_moves_it(
    tmp_path,
):
    job = job_with(tmp_path)
    touching = {("wall", p) for p in ("mark", "open", "back", "fasten")}
    assert told_at(job) == touching
    assert all(labour.rates()[p].at_wall for _, p in touching)
    takeoff = take_off(job, ids=("wall",))
    opened = next(
        t for t in work(job, takeoff, materials.load()).tasks if t.phase == "open"
    )
    assert "1829 mm (6 ft) from its start" in opened.cautions[0]
    assert "305 mm (12 in) above the floor" in opened.cautions[0]
    assert (
        "proved dead and moved or ended by a licensed electrician"
        in (opened.cautions[0])
    )


@pytest.mark.parametrize(
    ("place", "bays"),
    # A leg of 1054.1 mm at the end of the run of 5 m: the corner from 3945.9 mm on.
    [("3.94 m", {"wall"}), ("3.95 m", {"wall", "corner"}), ("0 m", {"wall"})],
)
def test_near_a_corner_the_corners_tasks_say_it_too(tmp_path, place, bays):
    job = job_with(tmp_path, MEETS, ('"6 ft"', f'"{place}"'))
    assert {b for b, _ in told_at(job)} == bays


def test_the_opening_shows_it_in_text_and_drawing(tmp_path):
    job = job_with(tmp_path)
    prepared = opening_of(job)
    text = " ".join(opening_text(prepared).split())
    assert "Behind the coves" in text
    assert "outlet on wall, 1829 mm (6 ft) from its start" in text
    root = ET.fromstring(opening_svg(prepared.opening, name="a wall"))
    (cross,) = (
        p
        for p in root.iter("{http://www.w3.org/2000/svg}path")
        if p.get("class") == "ohid" and "l10 10" in (p.get("d") or "")
    )
    said = [t.text for t in root.iter("{http://www.w3.org/2000/svg}text")]
    assert "outlet" in said
    assert cross is not None


def test_a_wall_that_is_not_opened_lists_it_all_the_same(tmp_path):
    job = job_with(
        tmp_path, STRAIGHT, ("[stage]", '[methods]\nbacking = "furred"\n[stage]')
    )
    assert "Behind the coves" in opening_text(opening_of(job))
    assert {p for _, p in told_at(job)} == {"mark", "fur", "board", "fasten"}


@pytest.mark.parametrize(
    ("change", "place", "words"),
    [
        (('"wall"\nfrom', '"wal"\nfrom'), "stage.behind.1.run", '"wal" is no run'),
        (('"6 ft"', '"6 m"'), "stage.behind.1.from_start", "past the end of wall"),
        (('"12 in"', '"3 m"'), "stage.behind.1.height", "above the ceiling"),
        (('"outlet"', '"oven"'), "stage.behind.1.what", "oven"),
    ],
)
def test_what_cannot_be_there_is_a_fault(tmp_path, change, place, words):
    with pytest.raises(JobFileError) as caught:
        job_with(tmp_path, STRAIGHT, change)
    (fault,) = caught.value.faults
    assert place in fault.where
    assert words in f"{fault.message} {fault.hint}"
