"""Where a board wall is opened for the backing, run by run.

Facts of the trade (common practice, no source), in inches of the kit they come from:

- the straight modules' backing starts at 35 1/2, two below their top edge at 37 1/2,
  and is at least 4 high; it ends on a stud at or beyond the end of the cove;
- in a corner the backing goes from that height to the top of the upper modules,
  between the nearest stud inside and the nearest outside each edge of the corner piece;
- no stud is cut.

For other kits the distance to the edge is kept.
"""

from dataclasses import replace
from enum import StrEnum

from planner.nouns.job import Job, Kit, Stage
from planner.trade.geometry.furring import BELOW_EDGE_MM
from planner.trade.geometry.layout import column_of, laid_out
from planner.trade.opening.cutting import FEET_SHEET, METRIC_SHEET, BoardSheet
from planner.trade.opening.nouns import OpeningPlan, RunOpening
from planner.trade.opening.pieces import (
    backing_of,
    brackets_of,
    cuts_of,
    ends_of,
    taken_of,
)
from planner.trade.opening.studs import strips_of, studs_of
from planner.units import MM_PER_IN


class LeftClosed(StrEnum):
    """Why there is nothing to open."""

    MASONRY = "a masonry wall isn't opened: furring and new board go over it"
    FURRED = "the wall isn't opened: furring and new board go over it"


def opening_plan(
    job: Job,
    corners: tuple[str, ...],
    ids: tuple[str, ...],
    sheet: BoardSheet | None = None,
) -> OpeningPlan:
    """Return the opening of each run; `ids` and `corners` name the bays, in order.

    Backing is cut from `sheet`, or from the standard sheet that suits the studs.
    """
    stage = job.stage
    if stage.wall == "masonry":
        return OpeningPlan(runs=(), why_none=LeftClosed.MASONRY, units=job.units)
    if job.methods.backing != "inlaid":
        return OpeningPlan(runs=(), why_none=LeftClosed.FURRED, units=job.units)
    chosen = sheet or sheet_for(stage)
    named = dict(zip(stage.corners, corners, strict=True))
    runs: list[RunOpening] = []
    labels = (0, 0)
    for i, id_ in enumerate(ids):
        bays = (named.get(i - 1, ""), id_, named.get(i, ""))
        one = _opened(stage, job.kit, i, bays, labels, chosen)
        one = replace(one, units=job.units)
        labels = (labels[0] + len(one.taken), labels[1] + len(one.backing))
        runs.append(one)
    return OpeningPlan(runs=tuple(runs), sheet=chosen, units=job.units)


def sheet_for(stage: Stage) -> BoardSheet:
    """Return the standard sheet that suits the studs: feet for whole inches."""
    inches = stage.stud_spacing_mm / MM_PER_IN
    return FEET_SHEET if abs(inches - round(inches)) < 1e-6 else METRIC_SHEET


def _opened(
    stage: Stage,
    kit: Kit,
    index: int,
    bays: tuple[str, str, str],
    labels: tuple[int, int],
    sheet: BoardSheet,
) -> RunOpening:
    layout = laid_out(stage, kit, index)
    studs = studs_of(stage, layout, index)
    edge = kit.straight_height_mm
    bottom = edge - BELOW_EDGE_MM
    strips = strips_of(layout, studs, bays, bottom, stage.ceiling_mm)
    taken = taken_of(strips, labels[0])
    column = column_of(stage, kit) if any(layout.legs_mm) else None
    seams = (kit.corner_height_mm, *column.seams_mm[1:]) if column else ()
    backing = backing_of(strips, labels[1], sheet, seams)
    return RunOpening(
        run=stage.runs[index].name,
        layout=layout,
        column=column,
        ceiling_mm=stage.ceiling_mm,
        edge_mm=edge,
        corner_mm=kit.corner_height_mm,
        studs_mm=studs,
        strips=strips,
        taken=taken,
        backing=backing,
        cuts=cuts_of(strips, stage.ceiling_mm),
        brackets=tuple(brackets_of(layout, strips, backing, kit, column)),
        ends=tuple(ends_of(layout, strips)),
        behind=tuple(b for b in stage.behind if b.run == stage.runs[index].id),
    )
