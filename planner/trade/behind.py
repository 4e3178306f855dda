"""What lies in the wall behind a cove: where it is, who moves it, before which work.

A box that stays behind a cove can't be reached again, and is found with the drill. So
whatever the job file names is made safe and moved, or ended, before the wall is touched
there; that is licensed work and none of the crew's. Common practice, no source; US: NEC
(NFPA 70) 314.29, boxes stay accessible, from memory.
"""

from collections.abc import Mapping
from dataclasses import replace

from planner.measures import Units
from planner.nouns.job import Behind, Job, Kit, Stage
from planner.nouns.told.saying import (
    PlaceKind,
    Saying,
    marked,
    measured,
    name,
    saying,
    text,
    told,
)
from planner.nouns.work import Task
from planner.trade.data import labour
from planner.trade.takeoff import corner_ids

_BY_ELECTRICIAN = marked(
    "switched off, proved dead and moved or ended by a licensed electrician"
)
MADE_SAFE: Mapping[str, str] = {
    marked("outlet"): _BY_ELECTRICIAN,
    marked("switch"): _BY_ELECTRICIAN,
    marked("cable"): _BY_ELECTRICIAN,
    marked("data socket"): marked("moved or ended by whoever is licensed for it"),
    marked("pipe"): marked(
        "shut off, emptied and moved or ended by a licensed plumber"
    ),
    marked("sprinkler pipe"): marked(
        "moved by the licensed sprinkler firm, with the building's leave"
    ),
    marked("gas pipe"): marked(
        "shut off, purged and moved or ended by a licensed gas fitter"
    ),
    marked("duct"): marked(
        "closed off or moved by whoever keeps the building's ventilation"
    ),
}


def place_words(behind: Behind, stage: Stage, units: Units) -> str:
    """Return what it is and where, in words."""
    return _place(behind, stage, units).text


def gate_words(behind: Behind, stage: Stage, units: Units) -> str:
    """Return what must be done with it before the wall is touched, as a sentence."""
    return _gate(behind, stage, units)[-1].text


def _place(behind: Behind, stage: Stage, units: Units) -> Saying:
    """Return what it is and where."""
    return saying(
        "{what} on {run}, {along} from its start, {height} above the floor",
        text("what", behind.what),
        name("run", next(r.name for r in stage.runs if r.id == behind.run)),
        measured("along", PlaceKind.LENGTH, behind.from_start_mm, units),
        measured("height", PlaceKind.LENGTH, behind.height_mm, units),
    )


def _gate(behind: Behind, stage: Stage, units: Units) -> tuple[Saying, Saying]:
    """Return where it is, and what must be done with it before the wall is touched."""
    place = _place(behind, stage, units)
    return place, saying(
        "Behind the cove: {place}: {made_safe} before this; nothing live or under "
        "pressure stays behind a cove",
        told("place", place),
        text("made_safe", MADE_SAFE[behind.what]),
    )


def bays_of(behind: Behind, stage: Stage, kit: Kit) -> tuple[str, ...]:
    """Return the bays at which it lies: its run, and a corner whose leg reaches it."""
    (index,) = (i for i, r in enumerate(stage.runs) if r.id == behind.run)
    from_end = stage.runs[index].length_mm - behind.from_start_mm
    ids = corner_ids(len(stage.corners))
    reached = [
        ids[stage.corners.index(corner)]
        for corner, off in (
            (index - 1, behind.from_start_mm),
            (index, from_end),
        )
        if corner in stage.corners and off <= kit.corner_leg_mm
    ]
    return (behind.run, *reached)


def with_behind(task: Task, job: Job) -> Task:
    """Return a task with what lies behind the wall where it is done, told first."""
    if not labour.rates()[task.phase].at_wall:
        return task
    more = tuple(
        _gate(b, job.stage, job.units)
        for b in job.stage.behind
        if set(bays_of(b, job.stage, job.kit)) & set(task.bays)
    )
    return replace(
        task,
        cautions=(*(gate.text for _, gate in more), *task.cautions),
        sayings=(*task.sayings, *(one for pair in more for one in pair)),
    )
