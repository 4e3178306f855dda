"""The looks of the board: its patterns, classes and sizes."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from planner.report.board.closed import BOOKED, NOBODY, OFF, QUIET, WAITING
from planner.report.drawing.elements import Node, add
from planner.report.drawing.tokens import FACES, TYPE
from planner.report.drawing.week_rows import Row


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardPage:
    """The measures of a drawing: wide for desks and paper, narrow for hands.

    With `tips`, marks say what they are when pointed at; hands can't point.
    """

    name: str
    width: float
    left: float
    days_a_row: int
    tips: bool = False

    @property
    def right(self) -> float:
        """Where time ends."""
        return self.width - 6


WIDE = BoardPage(name="wide", width=1200, left=92, days_a_row=7, tips=True)
# The narrow ones are as wide as their windows or less, so that the least text on a
# small phone (320 px) is 12 px high.
MIDDLE = BoardPage(name="middle", width=608, left=78, days_a_row=7)
NARROW = BoardPage(name="narrow", width=288, left=62, days_a_row=3)
SHEETS = (WIDE, MIDDLE, NARROW)


@dataclass(frozen=True, slots=True, kw_only=True)
class Axis:
    """A row's time as places across a sheet."""

    row: Row
    sheet: BoardPage

    def x(self, when: datetime) -> float:
        """Return the place of a moment, held inside the row."""
        row = self.row
        held = min(max(when, row.start), row.end)
        share = (held - row.start) / (row.end - row.start)
        return self.sheet.left + share * (self.sheet.right - self.sheet.left)


TEXT = 12.0
SMALL = 12.0

# Each face as strokes on a tile; the tile's size first.
_FACES: tuple[tuple[float, float, str], ...] = (
    (14, 9, "M0 2H5M8 6.5H13"),
    (12, 12, "M3 0V12M7 0V12"),
    (24, 10, "M0 3Q6 .5 12 3T24 3M0 8Q6 10 12 8T24 8"),
    (13, 13, "M2 1Q2 10 11 10"),
    (13, 13, "M2 1Q2 10 11 10M8 2L12 6M12 2L8 6"),
    (12, 11, "M0 3H12M0 7.5H12M3 3V7.5"),
    (9, 9, "M-1 10L10 -1M-1 1L1 -1M8 10L10 8"),
    (5, 5, "M-1 -1L6 6M4 -1L6 1M-1 4L1 6"),
    (7, 7, "M1 1.5H2.4M4.5 5H5.9"),
    (40, 40, ""),
    (14, 14, "M7 4.5A2.5 2.5 0 1 0 7.01 4.5"),
)
_WET: dict[str, tuple[float, float, str]] = {
    "dries": (14, 7, "M0 2.5Q3.5 0 7 2.5T14 2.5"),
    "sets": (6, 6, "M1 1.5H2.8M4 4.5H5.8"),
    "cures": (9, 9, "M2 6.5L4.5 2.5L7 6.5Z"),
    "lies": (9, 9, "M2 2H7V7H2Z"),
    "clears": (
        11,
        11,
        "M2.5 9V5.5M2.5 5.5L1 7.5M2.5 5.5L4 7.5M8 5V1.5M8 1.5L6.5 3.5M8 1.5L9.5 3.5",
    ),
}
_CLOSED: dict[str, tuple[float, float, str]] = {
    BOOKED: (7, 7, "M0 7L7 0M0 0L7 7"),
    QUIET: (8, 4, "M0 2H8"),
    NOBODY: (40, 40, ""),
    WAITING: (10, 8, "M2 1V5M7 4V8"),
    OFF: (8, 8, "M-1 9L9 -1M-1 1L1 -1M7 9L9 7"),
}


def mark_id(kind: str) -> str:
    """Return the id of the pattern of a kind of closed stretch."""
    return "closed-" + kind.replace(" ", "-")


def patterns(parent: Node) -> None:
    """Add every pattern that the board is filled with."""
    defs = add(parent, "defs")
    for number in range(FACES):
        wide, high, strokes = _FACES[number]
        tile = _tile(defs, f"face-{number}", wide, high)
        add(tile, "rect", class_=f"bt{number}", width=wide, height=high)
        if strokes:
            add(tile, "path", class_="bg", d=strokes)
    for way, (wide, high, strokes) in _WET.items():
        tile = _tile(defs, f"wet-{way}", wide, high)
        add(tile, "rect", class_="bw", width=wide, height=high)
        add(tile, "path", class_="bv", d=strokes)
    for kind, (wide, high, strokes) in _CLOSED.items():
        tile = _tile(defs, mark_id(kind), wide, high)
        add(tile, "rect", class_="bs", width=wide, height=high)
        if strokes:
            add(tile, "path", class_="bc", d=strokes)


def _tile(defs: Node, id_: str, wide: float, high: float) -> Node:
    return add(
        defs,
        "pattern",
        id=id_,
        width=wide,
        height=high,
        patternUnits="userSpaceOnUse",
    )


def css() -> str:
    """Return the classes of the board and of its patterns."""
    faces = "".join(
        f".bt{n}{{fill:var(--face-{n})}}.f{n}{{fill:url(#face-{n});stroke:var(--rule)}}"
        f".n{n}{{fill:var(--on-face);font-weight:600;stroke:var(--face-{n});"
        "stroke-width:4px;stroke-linejoin:round;paint-order:stroke}"
        for n in range(FACES)
    )
    return (
        f".board{{font:{TEXT}px {TYPE['text']};fill:var(--ink)}}"
        f".board .s{{font-size:{SMALL}px;fill:var(--soft)}}"
        ".board .b{font-weight:700}"
        ".board .e{text-anchor:end}.board .m{text-anchor:middle}"
        f"{faces}"
        ".bg{fill:none;stroke:var(--grain);stroke-width:1;opacity:.75}"
        ".bw{fill:var(--wet-wash)}"
        ".bv{fill:none;stroke:var(--wet);stroke-width:1;opacity:.6}"
        ".bs{fill:var(--shade)}"
        ".bc{fill:none;stroke:var(--ink);stroke-width:1;opacity:.55}"
        ".bface{stroke:var(--rule);stroke-width:1}"
        ".bcol{fill:var(--shade);opacity:.8}"
        ".bday{stroke:var(--hair);stroke-width:1}"
        ".bhour{stroke:var(--rule);stroke-width:1}"
        ".bedge{stroke:var(--rule);stroke-width:1;fill:none}"
        ".bhand{fill:var(--ink)}"
        ".boff{fill:var(--paper);stroke:var(--ink);stroke-width:1.2}"
        ".bopen{stroke:var(--rule);stroke-width:1.5}"
        ".bslope{fill:none;stroke:var(--wet);stroke-width:1.2}"
        ".bslope.h{stroke-width:3}"
        ".bslope.t{stroke-dasharray:5 4}"
        ".bslope.t:not(.h){stroke-width:1;opacity:.65}"
        ".blikely{stroke:var(--ink);stroke-width:2}"
        ".bair{fill:none;stroke:var(--wet);stroke-width:1.8}"
        ".bair.w{stroke-dasharray:8 3 2 3;stroke-width:1.4}"
        ".bread{fill:none;stroke:var(--ink);stroke-width:2.6;stroke-linecap:round;"
        "opacity:.8}"
        ".blimit{stroke:var(--ink);stroke-width:1;stroke-dasharray:7 4;fill:none}"
        ".bbrace{stroke:var(--ink);stroke-width:3.5;fill:none}"
        ".bbrace.l{stroke-width:1.6}"
        ".breturn{stroke:var(--ink);stroke-width:2}"
        ".breturn.l{stroke-dasharray:1 4;stroke-linecap:round;stroke-width:2.6}"
        ".bfade{fill:var(--ink)}"
        ".bedgeline{fill:none;stroke:var(--ink);stroke-width:1.6}"
        ".bpromise{stroke:var(--ink);stroke-width:3}"
        ".bwas{fill:none;stroke:var(--ink);stroke-width:1}"
        ".bnow{stroke:var(--ink);stroke-width:1.6;stroke-dasharray:10 3 2 3}"
        ".bsay{paint-order:stroke;stroke:var(--card);stroke-width:3px;"
        "stroke-linejoin:round}"
        ".bground{fill:var(--card)}"
        ".bpaper{fill:var(--paper)}"
        f".board .bjob{{font:700 19px {TYPE['display']}}}"
    )


def room_for(
    taken: Sequence[tuple[float, float]], start: float, end: float, gap: float = 4
) -> bool:
    """Return whether a stretch of a line is free of what already stands on it."""
    return all(end + gap <= a or start >= b + gap for a, b in taken)
