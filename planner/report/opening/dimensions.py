"""Dimensions of the opening's drawing: heights, lengths from the end, spans."""

from collections.abc import Sequence
from dataclasses import dataclass

from planner.measures import Units
from planner.report.drawing.elements import Node, add, line_path, num, width_of
from planner.report.opening.style import (
    LINE,
    SMALL,
    ElevationPage,
    imperial,
    spread,
    whole_mm,
    wrapped,
)

BOTH_H, OWN_H = 182.0, 112.0  # a row of lengths set upright, in both systems or one
_GAP = 13.0
_WIDE = 86.0  # room for a length in two lines


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """A length between two ends on a drawing; `whole` tells whether both are shown."""

    left: float
    right: float
    mm: float
    units: Units
    whole: bool
    sheet: ElevationPage

    @property
    def words(self) -> str:
        """The length in words."""
        words = self.sheet.say(self.mm, self.units)
        return words if self.whole else f"part of {words}"

    @property
    def fits(self) -> bool:
        """Whether the words stand between the ends on one line."""
        return width_of(self.words, SMALL) <= self.right - self.left


def row_height(sheet: ElevationPage) -> float:
    """Return how high a row of lengths set upright is."""
    return BOTH_H if sheet.both else OWN_H


def level(node: Node, spans: Sequence[Span], y: float, high: float) -> None:
    """Draw lengths beside each other, their words over them, in two lines if narrow.

    Words of narrow ones are kept apart, left of `high`; a part that is too narrow for
    its words has none, as its ends are given below the floor.
    """
    for s in spans:
        add(node, "path", class_="odim", d=line_path([(s.left, y), (s.right, y)]))
        for x in (s.left, s.right):
            add(node, "path", class_="otick", d=line_path([(x, y - 5), (x, y + 5)]))
        if s.fits:
            middle = (s.left + s.right) / 2.0
            add(node, "text", s.words, class_="s m", x=middle, y=y - 5)
    narrow = [s for s in spans if s.whole and not s.fits]
    middles = [(s.left + s.right) / 2.0 for s in narrow]
    places = spread(middles, _WIDE, 0.0, high - _WIDE / 2.0)
    for s, x in zip(narrow, places, strict=True):
        lines = [imperial(s.mm), f"{whole_mm(s.mm)} mm"]
        if s.units is Units.METRIC:
            lines.reverse()
        shown = lines if s.sheet.both else lines[:1]
        for line, up in zip(shown, (31, 19)[-len(shown) :], strict=True):
            add(node, "text", line, class_="s m", x=x, y=y - up)
        ends = [(x, y - 16), ((s.left + s.right) / 2.0, y - 2)]
        add(node, "path", class_="odim", d=line_path(ends))


def heights(
    node: Node,
    marks: Sequence[tuple[float, float, str]],
    *,
    right: float,
    top: float,
    bottom: float,
    sheet: ElevationPage,
    units: Units,
) -> None:
    """Draw heights above the floor on the left, kept apart, led to their places.

    `marks` are (place, height in mm, what lies there), from the top down; what lies
    there is written where there is room.
    """
    places = spread([y + SMALL * 0.36 for y, _, _ in marks], _GAP, top, bottom)
    for (y, mm, word), place in zip(marks, places, strict=True):
        middle = place - SMALL * 0.36
        ends = [(right, y), (right - 8, y), (right - 24, middle), (right - 28, middle)]
        add(node, "path", class_="odim", d=line_path(ends))
        add(node, "text", sheet.say(mm, units), class_="s e", x=right - 32, y=place)
        if sheet.both:
            add(node, "text", word, class_="s q", x=0, y=place)


def running(
    node: Node,
    marks: Sequence[tuple[float, float, bool]],
    floor: float,
    words: str,
    *,
    low: float,
    high: float,
    sheet: ElevationPage,
    units: Units,
) -> None:
    """Draw lengths from the run's left end in a row, set upright, led to their places.

    `marks` are (place, length in mm, heavy), from the left.
    """
    places = spread([x for x, _, _ in marks], _GAP, low, high - 2)
    for (x, mm, heavy), place in zip(marks, places, strict=True):
        ends = [(x, floor), (x, floor + 5), (place, floor + 17), (place, floor + 21)]
        add(node, "path", class_="otick" if heavy else "odim", d=line_path(ends))
        y = floor + 25
        turn = f"rotate(-90 {num(place)} {num(y)})"
        kind = "s e b" if heavy else "s e"
        at = {"x": num(place), "y": num(y + SMALL * 0.36), "transform": turn}
        add(node, "text", sheet.say(mm, units), class_=kind, **at)
    for n, line in enumerate(wrapped(words, low - 12, SMALL)):
        add(node, "text", line, class_="s q", x=0, y=floor + 30 + LINE * n)
