"""Furring over a wall: which strips carry what, the board on them, and its seams.

Facts of the trade (common practice, no source):

- where the modules' upper edge is screwed, a level band of strips lies behind it; it
  begins two inches below the edge, as the backing of an opened wall does;
- beside a corner piece and its uprights, strips stand at each edge that is screwed;
- above the band, strips stand at the stud spacing and at the end; board goes over all
  of it, from the foot of the band to the ceiling. Below the band the modules hide the
  wall, which stays as it is.

Sheets of board lie level, joined where two meet.
"""

import math
from dataclasses import dataclass

from planner.nouns.job import Kit

BELOW_EDGE_MM = 50.8  # 2 in: 35 1/2 under 37 1/2; common practice, no source
STRIP_WIDE_MM = 63.5  # a strip of 1 by 3 in, dressed to 2 1/2; common practice
COURSES = 2  # strips side by side at a screwed edge: 5 in to screw to; assumption
SHEET_MM = (2438.4, 1219.2)  # 4 by 8 ft, laid level; common practice, no source
FEATHER_MM = 127.0  # 5 in beyond each edge; common practice, no source
_SAME_MM = 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Seam:
    """A joint in the wall that is taped and coated; level where both heights are one.

    `width_mm` is how wide compound goes for its sake, beyond what the edge beside it
    takes anyway.
    """

    length_mm: float
    low_mm: float
    high_mm: float
    width_mm: float = 2.0 * FEATHER_MM

    @property
    def m2(self) -> float:
        """The area of compound over it."""
        return self.length_mm * self.width_mm * 1e-6

    def above_mm(self, height_mm: float) -> float:
        """Return how much of it lies above a height."""
        if self.high_mm - self.low_mm < _SAME_MM:
            return self.length_mm if self.low_mm >= height_mm else 0.0
        share = (self.high_mm - max(self.low_mm, height_mm)) / (
            self.high_mm - self.low_mm
        )
        return self.length_mm * min(max(share, 0.0), 1.0)


def band_foot_mm(kit: Kit) -> float:
    """Return how high above the floor the furring and its board begin."""
    return kit.straight_height_mm - BELOW_EDGE_MM


def strips_mm(
    kit: Kit, *, ceiling_mm: float, spacing_mm: float, wall_mm: float, corner: bool
) -> tuple[float, ...]:
    """Return the length of each furring strip behind a bay.

    Parameters
    ----------
    kit : Kit
        Its straight modules' height is where the band lies.
    ceiling_mm, spacing_mm : float
        The ceiling above the floor, and the stud spacing.
    wall_mm : float
        The wall behind the bay along the floor; of a corner, both legs.
    corner : bool
        Strips then stand at both screwed edges; else the band lies along the wall.
    """
    rise = max(ceiling_mm - band_foot_mm(kit), 0.0)
    if wall_mm < _SAME_MM or rise < _SAME_MM:
        return ()
    uprights = math.ceil(wall_mm / spacing_mm - 1e-9) + 1
    if corner:
        return (rise,) * (uprights + 2 * COURSES)
    over_band = max(rise - COURSES * STRIP_WIDE_MM, 0.0)
    return (*(wall_mm,) * COURSES, *(over_band,) * uprights)


def board_m2(kit: Kit, *, ceiling_mm: float, wall_mm: float) -> float:
    """Return the board over a stretch of wall, from the foot of the band up, in m²."""
    return wall_mm * max(ceiling_mm - band_foot_mm(kit), 0.0) * 1e-6


def board_seams(kit: Kit, *, ceiling_mm: float, wall_mm: float) -> tuple[Seam, ...]:
    """Return the seams in the board over a run; a corner's uprights hide theirs."""
    foot = band_foot_mm(kit)
    long_mm, wide_mm = SHEET_MM
    out: list[Seam] = []
    butts = max(math.ceil(wall_mm / long_mm - 1e-9) - 1, 0)
    low = foot
    while ceiling_mm - low > _SAME_MM:
        high = min(low + wide_mm, ceiling_mm)
        if low > foot:
            out.append(Seam(length_mm=wall_mm, low_mm=low, high_mm=low))
        # The modules' edge lies over the lowest two inches.
        seen = max(low, kit.straight_height_mm)
        out += [
            Seam(length_mm=high - seen, low_mm=seen, high_mm=high)
            for _ in range(butts)
            if high > seen
        ]
        low = high
    return tuple(s for s in out if s.length_mm > _SAME_MM)
