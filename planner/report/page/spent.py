"""How the closure is spent: parts that add up to it, as a strip and as rows."""

from dataclasses import dataclass

from markupsafe import Markup

from planner.report.board.closed import BOOKED, NOBODY, QUIET, WAITING
from planner.report.board.style import mark_id
from planner.report.drawing.elements import Node, add, markup
from planner.report.drawing.view import View, minutes_between
from planner.units import duration_words

# What fills each part: the board's own patterns, so that they mean the same.
FILLS = {
    "working": "hand",
    "drying": "wet-dries",
    "setting or curing": "wet-cures",
    "clearing of fumes": "wet-clears",
    "waiting for a test": "wet-lies",
    "waiting for people": mark_id(WAITING),
    "waiting for the stage or quiet hours": mark_id(BOOKED),
    "waiting for the air": mark_id(QUIET),
    "nights and days off": mark_id(NOBODY),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class PartRow:
    """A part of the closure; `swatch` is its pattern, drawn."""

    letter: str
    part: str
    hours: str
    share: str
    swatch: Markup


@dataclass(frozen=True, slots=True, kw_only=True)
class Spent:
    """The closure's parts, their sum in words, and the strip."""

    rows: tuple[PartRow, ...]
    total: str
    strip: Markup


def spent(view: View) -> Spent:
    """Return how the closure is spent."""
    parts = [s for s in view.plan.stage.division if s.minutes]
    total = sum(s.minutes for s in parts)
    closed = minutes_between(*view.plan.stage.closure)
    if parts and total != closed:
        raise AssertionError(
            f"the parts of the closure add up to {total}, not {closed}"
        )
    letters = "abcdefghij"
    rows = tuple(
        PartRow(
            letter=letters[n],
            part=s.part,
            hours=duration_words(s.minutes),
            share=f"{s.minutes / total:.0%}".replace("%", " %"),
            swatch=_strip(((s.part, 100.0, ""),), "swatch"),
        )
        for n, s in enumerate(parts)
    )
    shares = tuple(
        (s.part, s.minutes / total * 100, letters[n]) for n, s in enumerate(parts)
    )
    return Spent(rows=rows, total=duration_words(closed), strip=_strip(shares, "strip"))


def _strip(shares: tuple[tuple[str, float, str], ...], kind: str) -> Markup:
    """Return parts side by side; widths are percentages, so it fits any page."""
    root = Node("svg", {"class": f"board {kind}", "aria-hidden": "true"})
    at = 0.0
    for part, percent, letter in shares:
        fill = FILLS.get(part, "face-0")
        look = {"class_": "bhand"} if fill == "hand" else {"fill": f"url(#{fill})"}
        place = {"x": f"{at:.3f}%", "width": f"{percent:.3f}%", "height": "100%"}
        add(root, "rect", **place, **look)
        if letter and percent > 2:
            tone = "b m flip" if fill == "hand" else "b m bsay"
            middle = f"{at + percent / 2:.3f}%"
            add(root, "text", letter, class_=tone, x=middle, y="60%")
        at += percent
        if percent < 100:
            add(root, "rect", class_="bhand", x=f"{at:.3f}%", width="1", height="100%")
    return markup(root)
