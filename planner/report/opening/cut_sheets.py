"""The sheets that the backing is cut from, drawn small and listed."""

from planner.measures import Units
from planner.report.drawing.elements import Node, add, line_path
from planner.report.opening.panel import placed
from planner.report.opening.style import (
    LINE,
    SMALL,
    ElevationPage,
    mark_words,
    wrapped,
)
from planner.trade.opening.cutting import CutSheet, Placed

PLATE_W = 340.0
_GAP = 24.0


def draw(
    node: Node,
    sheets: tuple[CutSheet, ...],
    sheet: ElevationPage,
    top: float,
    units: Units,
) -> float:
    """Draw the sheets beside and under each other; return the height taken."""
    wide = min(PLATE_W, sheet.width - 2)
    across = max(1, int((sheet.width + _GAP) // (wide + _GAP)))
    y = top
    for start in range(0, len(sheets), across):
        row = sheets[start : start + across]
        tall = 0.0
        for n, one in enumerate(row):
            group = placed(node, y, n * (wide + _GAP))
            title = f"sheet {start + n + 1} of {len(sheets)}, {one.sheet.name}"
            tall = max(tall, _plate(group, one, title, wide, units))
        y += tall + 12
    return y - top


def _plate(node: Node, cut: CutSheet, title: str, wide: float, units: Units) -> float:
    scale = wide / cut.sheet.length_mm
    add(node, "text", title, class_="s b", x=0, y=11)
    high = cut.sheet.width_mm * scale
    top = 18.0
    add(node, "rect", class_="oplate", x=0, y=top, width=wide, height=high)
    for p in cut.offcuts:
        _part(node, p, scale, top, "ooff")
    for p in cut.pieces:
        _part(node, p, scale, top, "opiece")
        _name(node, p, scale, top)
    for rip in cut.rips_mm:
        y = top + rip * scale
        ends = [(-6.0, y), (0.0, y)]
        add(node, "path", class_="otick", d=line_path([(x, v) for x, v in ends]))
    y = top + high + LINE
    for listed in _listed(cut, units):
        for n, line in enumerate(wrapped(listed, wide - 12, SMALL)):
            add(node, "text", line, class_="s", x=12 if n else 0, y=y)
            y += LINE
    return y


def _part(node: Node, p: Placed, scale: float, top: float, kind: str) -> None:
    add(
        node,
        "rect",
        class_=kind,
        x=p.along_mm * scale,
        y=top + p.across_mm * scale,
        width=p.length_mm * scale,
        height=p.width_mm * scale,
    )


def _name(node: Node, p: Placed, scale: float, top: float) -> None:
    x = (p.along_mm + p.length_mm / 2.0) * scale
    y = top + (p.across_mm + p.width_mm / 2.0) * scale + SMALL * 0.36
    add(node, "text", p.label, class_="oname s m", x=x, y=y)


def _listed(cut: CutSheet, units: Units) -> list[str]:
    """Return what is cut from a sheet, equal pieces together, and the offcuts."""
    same: dict[tuple[float, float], list[str]] = {}
    for p in cut.pieces:
        size = (round(p.length_mm, 3), round(p.width_mm, 3))
        same.setdefault(size, []).append(p.label)
    lines = [
        f"{', '.join(labels)}: {mark_words(long, units)} by {mark_words(wide, units)}"
        for (long, wide), labels in same.items()
    ]
    lines += [
        f"left over: {mark_words(p.length_mm, units)} by {mark_words(p.width_mm, units)}"
        for p in cut.offcuts
    ]
    return lines
