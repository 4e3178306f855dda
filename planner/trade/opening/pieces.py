"""What is cut for an opening: board to take out, backing to cut, and the cuts.

Board is sawn level from stud to stud and scored over each; upright cuts are made
along the centre line of a stud, so that board and backing both have wood to hold on
to. Nothing is cut deeper than the board.
"""

import math
from collections.abc import Iterable
from dataclasses import replace
from itertools import pairwise

from planner.nouns.job import Kit
from planner.trade.geometry.layout import Column, Layout
from planner.trade.opening.cutting import BoardSheet
from planner.trade.opening.nouns import Bracket, Cut, Rect, Strip, StripKind, WallPiece
from planner.trade.opening.studs import CLEAR_MM, STUD_MM

_SAME_MM = 0.5


def taken_of(strips: tuple[Strip, ...], so_far: int) -> tuple[WallPiece, ...]:
    """Return the board to take out, stud by stud."""
    rects = [
        (s, replace(s.rect, left_mm=a, right_mm=b))
        for s in strips
        for a, b in pairwise(s.studs_mm)
    ]
    return _labelled("B", rects, so_far)


def backing_of(
    strips: tuple[Strip, ...], so_far: int, sheet: BoardSheet, seams: tuple[float, ...]
) -> tuple[WallPiece, ...]:
    """Return the backing to cut: as long as a sheet gives, joined on studs.

    Corner backing that is higher than a sheet is joined level, over a cleat, in
    pieces as high as each other, and an inch or more off every seam of the uprights.
    """
    rects: list[tuple[Strip, Rect]] = []
    for strip in strips:
        limit = sheet.length_mm if strip.kind is StripKind.STRAIGHT else sheet.width_mm
        for left, right in _spans(strip.studs_mm, limit):
            narrow = right - left <= sheet.width_mm + _SAME_MM / 100
            most = sheet.length_mm if narrow else sheet.width_mm
            levels = _levels(strip.rect, most, seams)
            rects += [
                (strip, Rect(left_mm=left, right_mm=right, bottom_mm=low, top_mm=up))
                for low, up in pairwise(levels)
            ]
    return _labelled("P", rects, so_far)


def _levels(rect: Rect, most: float, seams: tuple[float, ...]) -> list[float]:
    """Return where backing is joined up a strip, its bottom and its top included."""
    high = rect.height_mm
    fewest = max(1, math.ceil(high / most - 1e-9))
    found: list[list[float]] = []
    for rows in range(fewest, fewest + 3):
        inner = [rect.bottom_mm + high / rows * n for n in range(1, rows)]
        found.append([rect.bottom_mm, *inner, rect.top_mm])
        if all(abs(v - seam) >= CLEAR_MM for v in inner for seam in seams):
            return found[-1]
    return found[0]


def _spans(studs: tuple[float, ...], limit: float) -> Iterable[tuple[float, float]]:
    """Yield stretches from stud to stud, each as long as the limit lets it be."""
    start = 0
    while start < len(studs) - 1:
        end = start + 1
        while (
            end + 1 < len(studs)
            and studs[end + 1] - studs[start] <= limit + _SAME_MM / 100
        ):
            end += 1
        yield studs[start], studs[end]
        start = end


def _labelled(
    letter: str, rects: list[tuple[Strip, Rect]], so_far: int
) -> tuple[WallPiece, ...]:
    return tuple(
        WallPiece(label=f"{letter}{so_far + n}", bay=strip.bays[0], rect=rect)
        for n, (strip, rect) in enumerate(rects, 1)
    )


def cuts_of(strips: tuple[Strip, ...], ceiling: float) -> tuple[Cut, ...]:
    """Return every cut in the board of a run; at the ceiling the board ends."""
    out: list[Cut] = []
    for strip in strips:
        rect = strip.rect
        levels = [rect.bottom_mm, rect.top_mm]
        for level in [v for v in levels if v < ceiling - _SAME_MM]:
            out += _level_cuts(strip.studs_mm, level)
    tops: dict[float, list[float]] = {}
    for strip in strips:
        for at in (strip.rect.left_mm, strip.rect.right_mm):
            tops.setdefault(at, []).append(strip.rect.top_mm)
    bottom = strips[0].rect.bottom_mm if strips else 0.0
    for at, reached in sorted(tops.items()):
        start = bottom if len(reached) == 1 else min(reached)
        out.append(Cut(sawn=False, from_mm=(at, start), to_mm=(at, max(reached))))
    return tuple(c for c in out if c.from_mm != c.to_mm)


def _level_cuts(studs: tuple[float, ...], level: float) -> Iterable[Cut]:
    """Yield a level cut: sawn from face to face of the studs, scored over each."""
    half = STUD_MM / 2.0
    for a, b in pairwise(studs):
        yield Cut(sawn=False, from_mm=(a, level), to_mm=(a + half, level))
        yield Cut(sawn=True, from_mm=(a + half, level), to_mm=(b - half, level))
        yield Cut(sawn=False, from_mm=(b - half, level), to_mm=(b, level))


def brackets_of(
    layout: Layout,
    strips: tuple[Strip, ...],
    backing: tuple[WallPiece, ...],
    kit: Kit,
    column: Column | None,
) -> Iterable[Bracket]:
    """Yield every line that is screwed to, with the piece of backing behind it."""
    for strip in strips:
        rect = strip.rect
        edges = [("straight modules' top edge", kit.straight_height_mm)]
        if strip.kind is StripKind.CORNER and column is not None:
            edges.append(("corner piece's top edge", kit.corner_height_mm))
            edges += [("seam between uprights", v) for v in column.seams_mm[1:]]
        for line, at in edges:
            for piece in backing:
                p = piece.rect
                behind = rect.left_mm <= p.left_mm and p.right_mm <= rect.right_mm
                if behind and p.bottom_mm <= at < p.top_mm:
                    yield Bracket(
                        line=line, at_mm=at, low_mm=p.bottom_mm, high_mm=p.top_mm
                    )
        if strip.kind is StripKind.CORNER:
            sides = (layout.legs_mm[0], layout.length_mm - layout.legs_mm[1])
            for leg, at in zip(layout.legs_mm, sides, strict=True):
                if leg and rect.left_mm < at < rect.right_mm:
                    yield Bracket(
                        line="corner piece's upright edge",
                        at_mm=at,
                        low_mm=rect.left_mm,
                        high_mm=rect.right_mm,
                    )


def ends_of(layout: Layout, strips: tuple[Strip, ...]) -> Iterable[str]:
    """Yield what a free end of the backing needs looking at, in words."""
    if not strips:
        return
    places = (
        (layout.legs_mm[0], "left", layout.start_mm - strips[0].rect.left_mm),
        (layout.legs_mm[1], "right", strips[-1].rect.right_mm - layout.end_mm),
    )
    for leg, side, beyond in places:
        if leg:
            continue
        if beyond > _SAME_MM:
            yield f"{side}: ends on the first stud beyond the end of the cove"
        else:
            yield f"{side}: ends on the stud at the end of the cove"
