"""How the modules stand along a run: whole ones, those that are cut, or the gap left.

Places are measured along a run from its start; runs are listed from left to right as
one stands in the room and faces them, so that a run's start is on its left.

Rules (common practice, no source):

- modules are set from the corner outwards, so what is left over is at the free end;
  between two corners they are set from both and the closing one is cut; with two free
  ends they are set from the left;
- a rest of an inch or more is a module cut to that width; a smaller one is a gap:
  between two corners it is closed with compound, at a free end the backdrop ends there;
- a rest narrower than the kit's least cut is no piece to bolt and to screw: it is shared
  with a whole module, and two pieces of the same width are cut instead. With two free
  ends the modules shift, so that one of the two stands at each end; else both close
  the run side by side.
"""

import math
from dataclasses import dataclass

from planner.measures import Units
from planner.nouns.job import Kit, Stage
from planner.nouns.told.saying import PlaceKind, Saying, measured, saying

CUT_FROM_MM = 25.4  # an inch; assumption: less can't be cut, held and screwed
_EXACT_MM = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class CutPiece:
    """A module that is cut: where it begins along the run, and its width."""

    left_mm: float
    width_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """The modules of a run in place, from its start to its end.

    `legs_mm` are the corner pieces' legs at the start and the end, 0 at a free end.
    `start_mm` and `end_mm` bound the cove, without the corner pieces; `seams_mm` are
    the joints between two of its modules. `closed` tells whether a gap lies between
    modules, to be closed with compound, or at a free end. `sliver_mm` is the rest that
    two cut pieces are made of in place of one, 0 where none would be so narrow.
    """

    length_mm: float
    legs_mm: tuple[float, float]
    start_mm: float
    end_mm: float
    whole: int
    cuts: tuple[CutPiece, ...]
    gap_mm: float
    seams_mm: tuple[float, ...]
    sliver_mm: float = 0.0

    @property
    def modules(self) -> int:
        """The modules that stand here, whole and cut."""
        return self.whole + len(self.cuts)

    @property
    def cove_mm(self) -> float:
        """The length of the cove, a gap that is closed included."""
        return self.end_mm - self.start_mm

    @property
    def corners(self) -> int:
        """How many of the run's ends stand in an inside corner."""
        return sum(leg > 0.0 for leg in self.legs_mm)

    @property
    def free_ends(self) -> int:
        """How many ends of its cove stand open in the room."""
        return 2 - self.corners if self.modules else 0

    @property
    def closed(self) -> bool:
        """Whether the gap, if there is one, lies between two corner pieces."""
        return self.corners == 2

    @property
    def joints(self) -> int:
        """The joints between two of its modules; two corner pieces that meet are one.

        Joints to a corner piece belong to the corner.
        """
        return self.modules - 1 if self.modules else int(self.closed)

    def cut(self, units: Units) -> Saying | None:
        """Return what is cut and why not otherwise; nothing where all are whole."""
        if not self.cuts:
            return None
        width = measured("width", PlaceKind.LENGTH, self.cuts[0].width_mm, units)
        if not self.sliver_mm:
            return saying("one module cut to {width}", width)
        sliver = measured("sliver", PlaceKind.LENGTH, self.sliver_mm, units)
        if self.corners:
            return saying(
                "two modules cut to {width}, side by side, as whole ones would leave a "
                "sliver of {sliver}",
                *(width, sliver),
            )
        return saying(
            "two modules cut to {width}, one at each end, as whole ones would leave a "
            "sliver of {sliver}",
            *(width, sliver),
        )


def cornered(stage: Stage, index: int) -> tuple[bool, bool]:
    """Return whether a run starts and whether it ends in an inside corner."""
    return index - 1 in stage.corners, index in stage.corners


def laid_out(stage: Stage, kit: Kit, index: int) -> Layout:
    """Return the modules of the run at `index` in place."""
    length = stage.runs[index].length_mm
    first, last = cornered(stage, index)
    legs = (kit.corner_leg_mm * first, kit.corner_leg_mm * last)
    fill = max(length - sum(legs), 0.0)
    width = kit.module_width_mm
    whole = math.floor(fill / width + 1e-9)
    rest = max(fill - whole * width, 0.0)
    rest = 0.0 if rest < _EXACT_MM else rest
    gap = rest if rest < CUT_FROM_MM - _EXACT_MM else 0.0
    narrow = 0.0 < rest < kit.least_cut_mm - _EXACT_MM
    sliver = rest if whole and not gap and narrow else 0.0
    widths = [rest] * (not gap and rest > 0.0)
    if sliver:
        whole, widths = whole - 1, [(width + rest) / 2.0] * 2
    start, end = legs[0], length - legs[1]
    if gap and not last:
        end -= gap
    elif gap and not first:
        start += gap
    if not first and not last and len(widths) == 2:
        pieces = [widths[0], *(width,) * whole, widths[1]]
    else:
        left = whole if not last else 0 if not first else math.ceil(whole / 2)
        pieces = [*(width,) * left, *widths, *(width,) * (whole - left)]
    lefts = _lefts(start, pieces, gap if first and last else 0.0)
    return Layout(
        length_mm=length,
        legs_mm=legs,
        start_mm=start,
        end_mm=end,
        whole=whole,
        cuts=tuple(
            CutPiece(left_mm=at, width_mm=wide)
            for at, wide in zip(lefts, pieces, strict=True)
            if wide < width
        ),
        gap_mm=gap,
        seams_mm=_seams(lefts, pieces),
        sliver_mm=sliver,
    )


def _lefts(start: float, pieces: list[float], gap: float) -> list[float]:
    """Return where each piece begins; a gap that is closed lies in the middle."""
    out: list[float] = []
    at = start
    for n, wide in enumerate(pieces):
        if gap and n == math.ceil(len(pieces) / 2):
            at += gap
        out.append(at)
        at += wide
    return out


def _seams(lefts: list[float], pieces: list[float]) -> tuple[float, ...]:
    """Return the joints between pieces; a gap that is closed is marked by its middle."""
    ends = [at + wide for at, wide in zip(lefts, pieces, strict=True)]
    return tuple((end + at) / 2.0 for end, at in zip(ends, lefts[1:], strict=False))


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """The upright corner modules over a corner piece.

    `trimmed_mm` is the height of the upper one that is cut to the ceiling, 0 where
    all are whole; `gap_mm` what is left open under the ceiling, less than an inch.
    """

    uprights: int
    trimmed_mm: float
    gap_mm: float
    seams_mm: tuple[float, ...]  # heights above the floor, the corner piece's top first

    @property
    def joints(self) -> int:
        """The joints below, between and above: each upright stands on one."""
        return self.uprights


def column_of(stage: Stage, kit: Kit) -> Column:
    """Return the uprights that stand on a corner piece."""
    bottom, height = kit.corner_height_mm, kit.upright_height_mm
    column = max(stage.ceiling_mm - bottom, 0.0)
    whole = math.floor(column / height + 1e-9)
    rest = max(column - whole * height, 0.0)
    rest = 0.0 if rest < _EXACT_MM else rest
    trimmed = rest if rest >= CUT_FROM_MM else 0.0
    uprights = whole + (trimmed > 0.0)
    return Column(
        uprights=uprights,
        trimmed_mm=trimmed,
        gap_mm=rest - trimmed,
        seams_mm=tuple(bottom + height * n for n in range(uprights)),
    )
