"""What is said beside work that can hurt: on which tasks, on which sheets.

The heights, exits and rags are common practice, no source; ladders 29 CFR 1926.1053 and
compressed air 29 CFR 1926.1153(f), US, both from memory.

Tests of planner/trade/data/materials.py, planner/trade/safety.py.
"""

from pathlib import Path

import pytest

from planner.trade.data import materials
from planner.trade.work import work
from tests.support.rooms import ROOMS, measured

LADDER = "Ladder or scaffold above "


def tasks_of(room, tmp_path):
    job, takeoff = measured(tmp_path, room)
    return job, work(job, takeoff, materials.load()).tasks


@pytest.mark.parametrize("room", ROOMS, ids=lambda r: r.name)
def test_work_above_reach_has_the_ladder_line_and_work_at_the_floor_has_not(
    room, tmp_path
):
    job, tasks = tasks_of(room, tmp_path)
    assert job.stage.ceiling_mm > 1800
    for task in tasks:
        said = any(LADDER in c for c in task.cautions)
        if task.phase in ("prime", "shadow", "colour", "fur", "board"):
            assert said, task.title  # a whole wall, up to the ceiling
        if task.phase in ("floor", "drill", "anchor", "pack", "foam", "intake"):
            assert not said, task.title
        column = any(b.startswith("corner") for b in task.bays)
        if task.phase in ("lines", "fasten", "wipe"):
            edge_mm = job.kit.corner_height_mm if column else job.kit.straight_height_mm
            up = column and job.stage.ceiling_mm - edge_mm >= 25.4
            assert said == (up or edge_mm > 1800), task.title


@pytest.mark.parametrize("room", ROOMS[:3], ids=lambda r: r.name)
def test_lines_go_with_the_work_that_they_are_for(room, tmp_path):
    _, tasks = tasks_of(room, tmp_path)

    def with_line(words):
        return {t.phase for t in tasks if any(words in c for c in t.cautions)}

    stage = {t.phase for t in tasks if t.on_stage}
    assert with_line("Exits and their ways stay clear") == stage
    dusty = {t.phase for t in tasks if t.on_stage and (t.dusty or t.fumes)}
    assert with_line("Smoke detectors and sprinklers") == dusty
    assert with_line("post-tensioned") == {"drill"}
    assert with_line("No compressed air") == {"drill"}
    assert {"fasten", "anchor"} <= with_line("signs for them")
    assert with_line("rated for fire or sound") == {"open", "back"} & stage
    fixed = {"fur", "plug", "frame-fix", "shoot"}
    assert with_line("A rated wall that fixings go through") == fixed & stage
    assert with_line("no hot work; nobody alone on a ladder") == stage
    sawn = {t.phase for t in tasks} & {"cut", "trim", "sand-modules"}
    assert with_line("Nobody alone at a saw") == sawn
    assert not any("blow" in t.how.lower() for t in tasks)


def test_supplies_and_readme_say_us_beside_us_rules():
    root = Path(__file__).parents[2]
    files = [root / "README.md", *sorted((root / "planner").rglob("*.toml"))]
    seen = 0
    for file in files:
        for line in file.read_text("utf-8").splitlines():
            for rule in ("29 CFR", "40 CFR"):
                first, found, _ = line.partition(rule)
                seen += bool(found)
                assert not found or "US " in first, f"{file.name}: {line}"
    assert seen > 10


def test_a_us_rule_says_so(tmp_path):
    for room in ROOMS:
        for task in tasks_of(room, tmp_path)[1]:
            for caution in task.cautions:
                for rule in ("29 CFR", "40 CFR"):
                    first = caution.partition(rule)
                    assert not first[1] or "US " in first[0], caution
