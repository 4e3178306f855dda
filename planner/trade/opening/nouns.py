"""The nouns of a wall's opening: strips, pieces, cuts, and lines that are backed.

Places are measured along a run from its start (left, as one faces it) and above the
floor. Lengths in mm.
"""

import math
from dataclasses import dataclass
from enum import StrEnum

from planner.measures import Units
from planner.nouns.job import Behind
from planner.trade.geometry.layout import Column, Layout
from planner.trade.opening.cutting import (
    FEET_SHEET,
    BoardSheet,
    CutSheet,
    Wanted,
    nested,
)


class StripKind(StrEnum):
    """What a strip backs: straight modules' edge, or a corner's upright edge."""

    STRAIGHT = "straight"
    CORNER = "corner"


@dataclass(frozen=True, slots=True, kw_only=True)
class Rect:
    """An upright rectangle on a wall: along the run, and above the floor. In mm."""

    left_mm: float
    right_mm: float
    bottom_mm: float
    top_mm: float

    @property
    def width_mm(self) -> float:
        """The width."""
        return self.right_mm - self.left_mm

    @property
    def height_mm(self) -> float:
        """The height."""
        return self.top_mm - self.bottom_mm

    @property
    def area_m2(self) -> float:
        """The area in m²."""
        return self.width_mm * self.height_mm * 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class Strip:
    """A stretch of wall that gets backing, and the bays that need it."""

    bays: tuple[str, ...]
    kind: StripKind
    rect: Rect
    studs_mm: tuple[float, ...]  # centre lines that it bears on, both ends included


@dataclass(frozen=True, slots=True, kw_only=True)
class WallPiece:
    """A piece of board to take out, or of backing to cut; `label` stands on it."""

    label: str
    bay: str
    rect: Rect


@dataclass(frozen=True, slots=True, kw_only=True)
class Cut:
    """A straight cut in the board, never deeper than the board.

    `sawn` cuts run between studs; the others are made with a knife, over a stud or
    along its centre line.
    """

    sawn: bool
    from_mm: tuple[float, float]
    to_mm: tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Bracket:
    """A line that is screwed to, and the backing that has to reach past it.

    `low_mm` and `high_mm` bound the backing below and above it, or left and right.
    """

    line: str
    at_mm: float
    low_mm: float
    high_mm: float

    @property
    def holds(self) -> bool:
        """Whether the backing lies on both sides of the line."""
        return self.low_mm < self.at_mm < self.high_mm


@dataclass(frozen=True, slots=True, kw_only=True)
class RunOpening:
    """All that a carpenter marks on one run of wall."""

    run: str
    layout: Layout
    column: Column | None  # the uprights, where the run has a corner
    ceiling_mm: float
    edge_mm: float  # the straight modules' top edge, above the floor
    corner_mm: float  # the corner piece's, where the run has a corner
    studs_mm: tuple[float, ...]
    strips: tuple[Strip, ...]
    taken: tuple[WallPiece, ...]
    backing: tuple[WallPiece, ...]
    cuts: tuple[Cut, ...]
    brackets: tuple[Bracket, ...]
    ends: tuple[str, ...]
    behind: tuple[Behind, ...] = ()
    units: Units = Units.US  # the measures that readers are shown first


@dataclass(frozen=True, slots=True, kw_only=True)
class OpeningPlan:
    """The opening of every run, or why there is none; `sheet` is what backing is."""

    runs: tuple[RunOpening, ...]
    sheet: BoardSheet = FEET_SHEET
    why_none: str = ""
    units: Units = Units.US

    @property
    def backing(self) -> tuple[WallPiece, ...]:
        """Every piece of backing."""
        return tuple(p for r in self.runs for p in r.backing)

    def sheets(self) -> tuple[CutSheet, ...]:
        """Return the sheets that the backing is cut from."""
        wanted = (
            Wanted(label=p.label, length_mm=p.rect.width_mm, width_mm=p.rect.height_mm)
            for p in self.backing
        )
        return nested(wanted, self.sheet)

    def opened_m2(self, bay: str) -> float:
        """Return the board taken out for a bay, in m²; two corners share a strip."""
        return math.fsum(
            s.rect.area_m2 / len(s.bays)
            for r in self.runs
            for s in r.strips
            if bay in s.bays
        )

    def opened_mm(self, bay: str) -> float:
        """Return the length of a bay's backing strips: along, or up in a corner."""
        return math.fsum(
            (s.rect.height_mm if s.kind is StripKind.CORNER else s.rect.width_mm)
            / len(s.bays)
            for r in self.runs
            for s in r.strips
            if bay in s.bays
        )


NO_OPENING = OpeningPlan(runs=())
