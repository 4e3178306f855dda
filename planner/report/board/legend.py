"""The key to the board: faces in the order of the work, waits, closed hours, marks."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from planner.report.board.closed import BOOKED, NOBODY, OFF, QUIET
from planner.report.board.states import STATES
from planner.report.board.style import TEXT, BoardPage, mark_id
from planner.report.drawing.elements import Node, add, block, num, width_of

SWATCH_W, SWATCH_H, STEP_H = 30.0, 15.0, 22.0

Draw = Callable[[Node, float, float], None]


def _filled(fill: str) -> Draw:
    def draw(node: Node, x: float, y: float) -> None:
        add(
            node,
            "rect",
            class_="bface",
            fill=f"url(#{fill})",
            x=x,
            y=y,
            width=SWATCH_W,
            height=SWATCH_H,
        )

    return draw


def _slope(way: str) -> Draw:
    def draw(node: Node, x: float, y: float) -> None:
        low = y + SWATCH_H
        curve = f"M{num(x)} {num(y)}Q{num(x + 12)} {num(y + 8)} {num(x + SWATCH_W)} {num(low)}"
        add(node, "path", fill=f"url(#wet-{way})", d=f"{curve}H{num(x)}Z")
        add(node, "path", class_="bslope", d=curve)

    return draw


def _stroke(kind: str, path: str) -> Draw:
    def draw(node: Node, x: float, y: float) -> None:
        add(
            node, "path", class_=kind, d=path, transform=f"translate({num(x)} {num(y)})"
        )

    return draw


def _block(kind: str) -> Draw:
    def draw(node: Node, x: float, y: float) -> None:
        add(node, "rect", class_=kind, x=x, y=y + 4, width=SWATCH_W, height=7)

    return draw


def _fade(node: Node, x: float, y: float) -> None:
    for n, share in enumerate((0.75, 0.5, 0.25)):
        high = SWATCH_H * share
        left = x + 10 * n
        d = block(left, left + 10, y + SWATCH_H - high, high)
        add(node, "path", class_="bfade", fill_opacity=f"{share:.2f}", d=d)


OFF_STAGE = "off the stage"
ODDS, EARLIER, NOW = "odds", "earlier", "now"


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """What a board shows: faces by number; ways of waiting, closed hours and work off."""

    faces: frozenset[int]
    kinds: frozenset[str]


# Each with the kind that it stands for; without one it is on every board.
_MARKS: tuple[tuple[Draw, str, str], ...] = (
    (_slope("dries"), "drying, from wet to dry", "dries"),
    (_slope("sets"), "setting", "sets"),
    (_slope("cures"), "curing", "cures"),
    (_slope("clears"), "fumes, until the air is clear", "clears"),
    (_slope("lies"), "a result is awaited", "lies"),
    (_stroke("blikely", "M15 15V6"), "likely ready here; the rest is margin", ""),
    (_stroke("bslope h", "M0 1L30 14"), "a wait that holds the date", ""),
    (_stroke("bslope t", "M0 1L30 14"), "a wait of the return only", ""),
    (_block("bhand"), "hands at work", ""),
    (_block("boff"), "work off the stage", OFF_STAGE),
    (_stroke("bopen", "M0 8H30"), "in, free", ""),
    (_filled(mark_id(NOBODY)), "nobody in", NOBODY),
    (_filled(mark_id(OFF)), "day off", OFF),
    (_filled(mark_id(QUIET)), "quiet hours", QUIET),
    (_filled(mark_id(BOOKED)), "booked", BOOKED),
    (_stroke("bbrace", "M0 6H30M1.5 6V15"), "closed", ""),
    (_stroke("bbrace l", "M0 6H30M0 10H30"), "closed but for light foot traffic", ""),
    (_fade, "still closed, as likely as it is high", ODDS),
    (_stroke("bpromise", "M15 0V16"), "promised", ODDS),
    (_stroke("bwas", "M0 4H30V11H0Z"), "was planned here before", EARLIER),
    (_stroke("bnow", "M15 0V16"), "past to the left, as it happened", NOW),
)


def legend(node: Node, sheet: BoardPage, y: float, shown: Shown) -> float:
    """Draw the key to what is shown; return where it ends."""
    faces = [
        (_filled(f"face-{n}"), f"{n} {name}")
        for n, name in enumerate(STATES)
        if n in shown.faces
    ]
    marks = [
        (draw, words) for draw, words, kind in _MARKS if not kind or kind in shown.kinds
    ]
    for entries in (faces, marks):
        y = _flow(node, sheet, entries, y) + 6
    return y


def _flow(
    node: Node, sheet: BoardPage, entries: Sequence[tuple[Draw, str]], y: float
) -> float:
    """Set entries side by side and begin a new line where one is full."""
    x = 2.0
    for draw, words in entries:
        wide = SWATCH_W + 6 + width_of(words, TEXT) + 16
        if x + wide > sheet.width and x > 2.0:
            x, y = 2.0, y + STEP_H
        draw(node, x, y)
        add(node, "text", words, x=x + SWATCH_W + 6, y=y + 12)
        x += wide
    return y + STEP_H
