"""The seams between an opened wall's board and its backing: taped as joints are."""

from planner.trade.geometry.furring import FEATHER_MM, Seam
from planner.trade.opening.nouns import OpeningPlan, RunOpening, Strip, StripKind

_SAME_MM = 0.5


def backing_seams(plan: OpeningPlan, bay: str) -> tuple[Seam, ...]:
    """Return the seams of a bay's strips that no module hides.

    Over straight modules that is the strip's top, and what of it stands out beyond a
    free end; beside a corner's uprights the upright seam on the stud outside. A strip
    that two corners share lies hidden behind both.
    """
    return tuple(
        seam
        for run in plan.runs
        for strip in run.strips
        if strip.bays == (bay,)
        for seam in (
            _straight(run, strip)
            if strip.kind is StripKind.STRAIGHT
            else _beside_uprights(run, strip)
        )
        if seam.length_mm > _SAME_MM
    )


def _width_mm(from_edge_mm: float) -> float:
    """Return how much wider a seam so far from a feathered edge makes the compound."""
    return min(from_edge_mm, 2.0 * FEATHER_MM)


def _straight(run: RunOpening, strip: Strip) -> tuple[Seam, ...]:
    rect, layout = strip.rect, run.layout
    out = [
        Seam(
            length_mm=rect.width_mm,
            low_mm=rect.top_mm,
            high_mm=rect.top_mm,
            width_mm=_width_mm(rect.top_mm - run.edge_mm),
        )
    ]
    for leg, beyond in zip(
        layout.legs_mm,
        (layout.start_mm - rect.left_mm, rect.right_mm - layout.end_mm),
        strict=True,
    ):
        if leg or beyond < _SAME_MM:
            continue
        low, high = rect.bottom_mm, rect.top_mm
        out.append(Seam(length_mm=rect.height_mm, low_mm=low, high_mm=high))
        out.append(Seam(length_mm=beyond, low_mm=low, high_mm=low))
    return tuple(out)


def _beside_uprights(run: RunOpening, strip: Strip) -> tuple[Seam, ...]:
    rect, layout = strip.rect, run.layout
    at_start, at_end = layout.legs_mm[0], layout.length_mm - layout.legs_mm[1]
    starts = rect.left_mm < at_start < rect.right_mm
    beyond = rect.right_mm - at_start if starts else at_end - rect.left_mm
    return (
        Seam(
            length_mm=rect.top_mm - run.edge_mm,
            low_mm=run.edge_mm,
            high_mm=rect.top_mm,
            width_mm=_width_mm(beyond),
        ),
    )
