"""The time of each run against the size of what it solved, as a drawing."""

import math
from collections.abc import Callable, Sequence
from xml.etree import ElementTree as ET

from tests.benchmarks.measure import Row
from tests.benchmarks.summary import Line, lines, sizes
from tests.benchmarks.trials import OWN_SETS

LEFT, TOP, HEIGHT, FOOT = 64, 96, 360, 72
LANE = 56  # width for one solver on one set
BETWEEN = 36  # between sets
MARK = 3.2
INK, FAINT, PAPER = "#1c1c1c", "#c9c9c4", "#ffffff"
# colours that the colour-blind tell apart too; the shape says the same
STYLES = {
    "engine": ("#00558c", "circle"),
    "PyJobShop": ("#b34700", "square"),
    "lean": ("#3d7a29", "triangle"),
    "command": ("#6b4c9a", "circle"),
}
FONT = "font-family: system-ui, sans-serif"


def drawing(rows: Sequence[Row]) -> str:
    """Return an SVG: a lane for each set and solver, sets by size, a mark for each run.

    Seconds are on a scale of tens. A hollow mark is a run that wasn't proven best.
    """
    found = sorted(lines(rows), key=lambda x: (_published(x.set), x.size))
    lanes = _lanes(found)
    width = max(lanes.values(), default=LEFT) + LANE // 2 + BETWEEN
    width = max(width, 560)
    seconds = [max(r.seconds, 1e-3) for r in rows] or [1.0]
    low = math.floor(math.log10(min(seconds)))
    high = max(low + 1, math.ceil(math.log10(max(seconds)) - 1e-9))

    def y(value: float) -> float:
        share = (math.log10(max(value, 10**low)) - low) / (high - low)
        return TOP + HEIGHT * (1 - share)

    height = TOP + HEIGHT + FOOT
    svg = ET.Element(
        "svg",
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 {width} {height}",
        width=str(width),
        height=str(height),
        role="img",
        style=FONT,
    )
    ET.SubElement(svg, "title").text = "Time against size"
    ET.SubElement(
        svg, "desc"
    ).text = "Seconds of each run by set and solver; the table beside says the same"
    ET.SubElement(svg, "rect", width=str(width), height=str(height), fill=PAPER)
    _text(svg, 16, 28, "Time against size", size=18)
    _legend(svg, {line.solver for line in found})
    _scale(svg, low, high, width, y)
    _names(svg, found, lanes)
    for line in found:
        of_line = [r for r in rows if (r.set, r.solver) == (line.set, line.solver)]
        at = lanes[line.set, line.solver]
        colour, shape = STYLES[line.solver]
        for k, row in enumerate(of_line):
            spread = (k + 0.5) / len(of_line) - 0.5
            here = (at + spread * (LANE - 16), y(row.seconds))
            _mark(svg, here, shape, colour, filled=row.proven)
        middle = y(line.median_s)
        _line(svg, (at - LANE / 2 + 4, middle), (at + LANE / 2 - 4, middle), colour, 2)
    ET.indent(svg)
    return ET.tostring(svg, encoding="unicode") + "\n"


def _published(group: str) -> bool:
    """Tell whether a set is of published instances; they stand on the right."""
    return group.split()[0] not in OWN_SETS


def _lanes(found: Sequence[Line]) -> dict[tuple[str, str], float]:
    """Return the middle of each lane."""
    lanes: dict[tuple[str, str], float] = {}
    at, group = float(LEFT), ""
    for line in found:
        if line.set != group:
            longer = max(len(line.set), len(group))
            at += max(BETWEEN, 9 * longer - LANE)  # room for the names
        at += LANE
        group = line.set
        lanes[line.set, line.solver] = at - LANE / 2
    return lanes


def _legend(svg: ET.Element, solvers: set[str]) -> None:
    at = 22.0
    for solver, (colour, shape) in STYLES.items():
        if solver in solvers:
            _mark(svg, (at, 52), shape, colour, filled=True)
            _text(svg, at + 10, 56, solver)
            at += 34 + 8 * len(solver)
    words = "filled: proven; hollow: not proven; bar: the median; below: proven of all"
    _text(svg, 16, 78, words)


def _scale(
    svg: ET.Element, low: int, high: int, width: float, y: Callable[[float], float]
) -> None:
    """Draw a line for each ten seconds, tenth of a second and so on."""
    for power in range(low, high + 1):
        level = y(10.0**power)
        _line(svg, (LEFT, level), (width - 12, level), FAINT, 1)
        _text(svg, LEFT - 8, level + 4, f"{10.0**power:g} s", anchor="end")


def _names(
    svg: ET.Element, found: Sequence[Line], lanes: dict[tuple[str, str], float]
) -> None:
    """Write below each set its name, its size and how many are proven."""
    for line in found:
        at = lanes[line.set, line.solver]
        _text(svg, at, TOP + HEIGHT + 20, f"{line.proven}/{line.runs}", anchor="middle")
    for group in dict.fromkeys(line.set for line in found):
        own = [line for line in found if line.set == group]
        middle = sum(lanes[x.set, x.solver] for x in own) / len(own)
        _text(svg, middle, TOP + HEIGHT + 42, group, anchor="middle", weight="600")
        size = f"{sizes(own[0])} tasks"
        _text(svg, middle, TOP + HEIGHT + 60, size, anchor="middle")


def _mark(
    svg: ET.Element, at: tuple[float, float], shape: str, colour: str, *, filled: bool
) -> None:
    x, y = at
    paint = {
        "fill": colour if filled else PAPER,
        "stroke": colour,
        "stroke-width": "1.2",
    }
    match shape:
        case "circle":
            ET.SubElement(
                svg, "circle", paint, cx=f"{x:.1f}", cy=f"{y:.1f}", r=f"{MARK}"
            )
        case "square":
            place = {"x": f"{x - MARK:.1f}", "y": f"{y - MARK:.1f}"}
            side = f"{2 * MARK}"
            ET.SubElement(svg, "rect", paint | place, width=side, height=side)
        case _:
            corners = ((x - MARK, y + MARK), (x + MARK, y + MARK), (x, y - MARK))
            points = " ".join(f"{a:.1f},{b:.1f}" for a, b in corners)
            ET.SubElement(svg, "polygon", paint, points=points)


def _line(
    svg: ET.Element,
    one: tuple[float, float],
    two: tuple[float, float],
    colour: str,
    width: int,
) -> None:
    ends = {"x1": one[0], "y1": one[1], "x2": two[0], "y2": two[1]}
    place = {k: f"{v:.1f}" for k, v in ends.items()}
    ET.SubElement(svg, "line", {**place, "stroke": colour, "stroke-width": str(width)})


def _text(
    svg: ET.Element,
    x: float,
    y: float,
    words: str,
    *,
    anchor: str = "start",
    size: int = 13,
    weight: str = "400",
) -> None:
    place = {
        "x": f"{x:.1f}",
        "y": f"{y:.1f}",
        "fill": INK,
        "font-size": str(size),
        "font-weight": weight,
        "text-anchor": anchor,
    }
    ET.SubElement(svg, "text", place).text = words
