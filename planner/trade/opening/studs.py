"""The studs behind a run, and the strips of backing that end on them.

Assumed: in an inside corner framing stands behind both boards; beyond a free end the
wall goes on as far as the next stud; a stud closer than an inch to an edge counts as
neither inside nor outside it, so that screws have wood on both sides of the line.
"""

import math

from planner.nouns.job import Stage
from planner.trade.geometry.layout import Layout
from planner.trade.opening.nouns import Rect, Strip, StripKind

STRIP_MM = 101.6  # 4 in; common practice, no source
STUD_MM = 38.1  # 1 1/2 in, dressed timber of 2 in; steel is near it; from memory
CLEAR_MM = 25.4  # an inch of backing beyond a line that is screwed to; assumption
_SAME_MM = 0.5


def studs_of(stage: Stage, layout: Layout, index: int) -> tuple[float, ...]:
    """Return the studs behind a run: its grid, and the framing in its corners.

    At a free end they go on to the first stud at or beyond the end of the cove.
    """
    step, first = stage.stud_spacing_mm, stage.runs[index].first_stud_mm
    at_left, at_right = layout.legs_mm
    length = layout.length_mm
    if at_left:
        lowest = math.ceil(-first / step - 1e-9)
    else:
        low = min(layout.start_mm, length - at_right - CLEAR_MM * bool(at_right))
        lowest = math.floor((low - first) / step + 1e-9)
    if at_right:
        highest = math.floor((length - first) / step + 1e-9)
    else:
        high = max(layout.end_mm, at_left + CLEAR_MM * bool(at_left))
        highest = math.ceil((high - first) / step - 1e-9)
    grid = [first + step * k for k in range(lowest, highest + 1)]
    framing = [0.0] * bool(at_left) + [length] * bool(at_right)
    kept = [v for v in framing if all(abs(v - g) >= STUD_MM for g in grid)]
    return tuple(sorted((*grid, *kept)))


def strips_of(
    layout: Layout,
    studs: tuple[float, ...],
    bays: tuple[str, str, str],
    bottom: float,
    ceiling: float,
) -> tuple[Strip, ...]:
    """Return the strips of backing on a run; `bays` are its corner, itself, its corner.

    Two corners' strips that would overlap are one.
    """
    tall: list[tuple[float, float, tuple[str, ...]]] = []
    for leg, at, bay in (
        (layout.legs_mm[0], layout.legs_mm[0], bays[0]),
        (layout.legs_mm[1], layout.length_mm - layout.legs_mm[1], bays[2]),
    ):
        if leg:
            tall.append((_before(studs, at), _after(studs, at), (bay,)))
    if len(tall) == 2 and tall[1][0] < tall[0][1] + _SAME_MM:
        (a, b, one), (c, d, two) = tall
        tall = [(min(a, c), max(b, d), (*one, *two))]
    low = tall[0][1] if layout.legs_mm[0] else _before(studs, layout.start_mm, 0.0)
    high = tall[-1][0] if layout.legs_mm[1] else _after(studs, layout.end_mm, 0.0)
    out = [
        _strip(studs, a, b, bottom, ceiling, kind=StripKind.CORNER, bays=names)
        for a, b, names in tall
    ]
    if layout.cove_mm > _SAME_MM and high - low > _SAME_MM:
        top = min(bottom + STRIP_MM, ceiling)
        kind = StripKind.STRAIGHT
        out.append(_strip(studs, low, high, bottom, top, kind=kind, bays=(bays[1],)))
    return tuple(sorted(out, key=lambda s: s.rect.left_mm))


def _before(studs: tuple[float, ...], at: float, clear: float = CLEAR_MM) -> float:
    """Return the nearest stud that lies `clear` or more before a place."""
    return max((s for s in studs if s <= at - clear + _SAME_MM), default=studs[0])


def _after(studs: tuple[float, ...], at: float, clear: float = CLEAR_MM) -> float:
    """Return the nearest stud that lies `clear` or more beyond a place."""
    return min((s for s in studs if s >= at + clear - _SAME_MM), default=studs[-1])


def _strip(
    studs: tuple[float, ...],
    left: float,
    right: float,
    bottom: float,
    top: float,
    *,
    kind: StripKind,
    bays: tuple[str, ...],
) -> Strip:
    return Strip(
        bays=bays,
        kind=kind,
        rect=Rect(left_mm=left, right_mm=right, bottom_mm=bottom, top_mm=top),
        studs_mm=tuple(s for s in studs if left <= s <= right),
    )
