"""How the opening is drawn: its sizes, classes, pattern, and its words for lengths."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from planner.measures import Units, feet_and_inches
from planner.report.drawing.elements import Node, add, clean, fitted, width_of
from planner.report.drawing.tokens import TYPE

TEXT = 12.0
SMALL = 12.0
LINE = 14.0  # from one line of small text to the next


@dataclass(frozen=True, slots=True, kw_only=True)
class ElevationPage:
    """The measures of a drawing: wide for desks and paper, narrow for hands.

    `stretch_mm` is the most of a wall that stands side by side. Lengths are in `both`
    systems of measures, or in the reader's own alone, where there is little room.
    """

    name: str
    width: float
    left: float
    right: float
    stretch_mm: float
    most: float  # units a metre at most
    both: bool = True

    @property
    def room(self) -> float:
        """The width left for the wall."""
        return self.width - self.left - self.right

    def say(self, mm: float, units: Units) -> str:
        """Return a length to mark by."""
        return mark_words(mm, units) if self.both else own_words(mm, units)


WIDE = ElevationPage(
    name="wide", width=1200, left=316, right=14, stretch_mm=9_000, most=150
)
NARROW = ElevationPage(
    name="narrow",
    width=288,
    left=100,
    right=8,
    stretch_mm=2_150,
    most=110,
    both=False,
)
SHEETS = (WIDE, NARROW)


def imperial(mm: float) -> str:
    """Return a length in feet and inches to a sixteenth, signed."""
    words = feet_and_inches(abs(mm))
    return f"-{words}" if mm < 0 and words != "0 in" else words


def mark_words(mm: float, units: Units) -> str:
    """Return a length to mark by, in inches to a sixteenth and in whole mm.

    Examples
    --------
    >>> mark_words(3759.2, Units.US)
    '12 ft 4 in (3759 mm)'
    >>> mark_words(901.7, Units.METRIC)
    '902 mm (35 1/2 in)'
    """
    return units.both(imperial(mm), f"{whole_mm(mm)} mm")


def own_words(mm: float, units: Units) -> str:
    """Return the same in the reader's own measures alone.

    Examples
    --------
    >>> own_words(901.7, Units.US), own_words(901.7, Units.METRIC)
    ('35 1/2 in', '902 mm')
    """
    return imperial(mm) if units is Units.US else f"{whole_mm(mm)} mm"


def whole_mm(mm: float) -> int:
    """Return a length in whole mm, halves rounded up."""
    return math.floor(mm + 0.5)


def spread(wanted: Sequence[float], gap: float, low: float, high: float) -> list[float]:
    """Return places in the order wanted, `gap` apart, near where they are wanted.

    They lie between `low` and `high` as long as there is room.
    """
    out: list[float] = []
    for place in wanted:
        out.append(max(place, out[-1] + gap if out else low))
    limit = high
    for n in range(len(out) - 1, -1, -1):
        out[n] = min(out[n], limit)
        limit = out[n] - gap
    return out


def wrapped(text: str, width: float, size: float) -> list[str]:
    """Return a text in lines no wider than a width, a long word cut short."""
    lines = [""]
    for word in clean(text).split():
        longer = f"{lines[-1]} {word}".strip()
        if lines[-1] and width_of(longer, size) > width:
            lines.append(fitted(word, width, size))
        else:
            lines[-1] = longer if lines[-1] else fitted(word, width, size)
    return lines


def pattern(parent: Node, id_: str) -> None:
    """Add the hatching of board that is taken out."""
    defs = add(parent, "defs")
    tile = add(
        defs, "pattern", id=id_, width=8, height=8, patternUnits="userSpaceOnUse"
    )
    add(tile, "rect", class_="of", width=8, height=8)
    add(tile, "path", class_="og", d="M-1 9L9 -1M-1 1L1 -1M7 9L9 7")


def css() -> str:
    """Return the classes of the opening's drawing."""
    return (
        f".opening{{font:{TEXT}px {TYPE['text']};fill:var(--ink)}}"
        f".opening .s{{font-size:{SMALL}px}}"
        ".opening .q{fill:var(--soft)}"
        ".opening .b{font-weight:700}"
        ".opening .e{text-anchor:end}.opening .m{text-anchor:middle}"
        ".opaper{fill:var(--paper)}"
        ".owall{fill:var(--card);stroke:none}"
        ".of{fill:var(--face-2)}.og{fill:none;stroke:var(--grain);stroke-width:1}"
        ".ostud{fill:var(--shade);stroke:var(--rule);stroke-width:.7}"
        ".oaxis{stroke:var(--rule);stroke-width:1;stroke-dasharray:9 3 2 3;fill:none}"
        ".oend{stroke:var(--ink);stroke-width:2.5;fill:none}"
        ".oend.f{stroke-width:1.2;stroke-dasharray:4 4}"
        ".ocut{stroke:var(--ink);stroke-width:2.6;fill:none}"
        ".ocut.k{stroke-width:1.6;stroke-dasharray:3 2}"
        ".okit{stroke:var(--wet);stroke-width:1.4;fill:none}"
        ".okit.j{stroke-width:1;stroke-dasharray:6 3}"
        ".opart{stroke:var(--on-face);stroke-width:1.2;stroke-dasharray:1 2;fill:none}"
        ".oname{fill:var(--on-face);font-weight:700;stroke:var(--face-2);"
        "stroke-width:3.5px;stroke-linejoin:round;paint-order:stroke}"
        ".ohid{stroke:var(--ink);stroke-width:2;fill:none}"
        ".odim{stroke:var(--rule);stroke-width:1;fill:none}"
        ".otick{stroke:var(--ink);stroke-width:1.4;fill:none}"
        ".opiece{fill:var(--face-2);stroke:var(--ink);stroke-width:1.2}"
        ".ooff{fill:var(--shade);stroke:var(--rule);stroke-width:1}"
        ".oplate{fill:var(--card);stroke:var(--ink);stroke-width:1.6}"
    )
