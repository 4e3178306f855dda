"""What to mind by where and how the work is done: heights, exits, detectors, fixings.

The lines are in `data/safety.toml`, each with its source; a task gets those that it is
for. What belongs to a kind of work wherever it is done is with its labour rate.
"""

import tomllib
from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from importlib.resources import files
from typing import Any

from planner.nouns.job import Job, Kit, Stage
from planner.nouns.work import Task
from planner.trade.data.labour import rates
from planner.trade.takeoff import Bay, BayKind, TakeOff


def with_lines(task: Task, job: Job, takeoff: TakeOff) -> Task:
    """Return a task with the lines of safety that it is for, after its own cautions."""
    holds = {
        "above_reach": above_reach(task, job.stage, job.kit, takeoff),
        "on_stage": task.on_stage,
        "dusty": task.dusty and task.on_stage,
        "fumes": task.fumes,
    }
    more = tuple(
        job.units.text(line["words"])
        for line in _said()["line"]
        if task.phase in line.get("work", ())
        or any(line.get(name, False) and true for name, true in holds.items())
    )
    return replace(task, cautions=tuple(dict.fromkeys((*task.cautions, *more))))


def above_reach(task: Task, stage: Stage, kit: Kit, takeoff: TakeOff) -> bool:
    """Tell whether part of a task lies higher than is reached from the floor."""
    reach_mm = _said()["reach"]["mm"]
    bays = [b for b in takeoff.built if b.id in task.bays]
    reach = rates()[task.phase].reach
    if reach == "ceiling":
        return bool(bays) and stage.ceiling_mm > reach_mm
    if not reach:
        return False
    return any(
        edge_mm(b, stage, kit) > reach_mm
        or (reach == "seams" and any(s.above_mm(reach_mm) > 0.0 for s in b.seams))
        for b in bays
    )


def edge_mm(bay: Bay, stage: Stage, kit: Kit) -> float:
    """Return how high the modules' edges go in a bay. [mm]."""
    if bay.uprights:
        return stage.ceiling_mm
    corner = bay.kind is BayKind.CORNER
    return kit.corner_height_mm if corner else kit.straight_height_mm


@cache
def _said() -> Mapping[str, Any]:
    text = (
        files("planner.trade.data").joinpath("safety.toml").read_text(encoding="utf-8")
    )
    return tomllib.loads(text)
