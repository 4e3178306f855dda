"""The room's air over days as one picture: temperature, dew point, humidity."""

import xml.etree.ElementTree as ET
from collections.abc import Sequence

from planner.air.moist_air import FloatArray, dew_point_c
from planner.report.words.air_text import AirAnswer
from planner.units import day_words

WIDTH, LEFT, RIGHT = 960.0, 64.0, 24.0
PANEL_H, GAP, TOP = 170.0, 46.0, 40.0


def _text(parent: ET.Element, x: float, y: float, words: str, anchor: str) -> None:
    attributes = {"x": f"{x:.1f}", "y": f"{y:.1f}", "text-anchor": anchor}
    ET.SubElement(parent, "text", attributes).text = words


def _panel(
    root: ET.Element,
    top: float,
    title: str,
    span: tuple[float, float],
    marks: Sequence[float],
    curves: Sequence[tuple[str, str, FloatArray]],
) -> None:
    """Draw a panel: its title, horizontal marks, and curves (name, dashes, values)."""
    low, high = span

    def y(value: float) -> float:
        return top + PANEL_H * (high - value) / (high - low)

    _text(root, LEFT, top - 10, title, "start")
    for mark in marks:
        line = {"x1": f"{LEFT}", "x2": f"{WIDTH - RIGHT}", "class": "mark"}
        ET.SubElement(
            root, "line", {**line, "y1": f"{y(mark):.1f}", "y2": f"{y(mark):.1f}"}
        )
        _text(root, LEFT - 8, y(mark) + 4, f"{mark:g}", "end")
    for name, dashes, values in curves:
        step = (WIDTH - LEFT - RIGHT) / max(len(values) - 1, 1)
        points = " ".join(
            f"{LEFT + i * step:.1f},{y(v):.1f}" for i, v in enumerate(values.tolist())
        )
        curve = ET.SubElement(root, "polyline", {"points": points, "class": "curve"})
        if dashes:
            curve.set("stroke-dasharray", dashes)
        ET.SubElement(curve, "title").text = name


def air_svg(answer: AirAnswer, *, days: int) -> bytes:
    """Return the picture as SVG; temperature is the solid line, dew point dashed."""
    shown = answer.grid.days()[:days]
    ticks = shown[-1][2]
    air_c = answer.room.air.air_c[:ticks]
    humid = answer.room.air.humidity_pct[:ticks]
    dew = dew_point_c(air_c, humid)
    height = TOP + 2 * PANEL_H + GAP + 44
    root = ET.Element(
        "svg",
        {
            "xmlns": "http://www.w3.org/2000/svg",
            "viewBox": f"0 0 {WIDTH:g} {height:g}",
            "role": "img",
        },
    )
    first, last = (
        day_words(answer.grid.instant(s[1]), answer.grid.zone)
        for s in (shown[0], shown[-1])
    )
    ET.SubElement(root, "title").text = f"The room's air, {first} to {last}"
    ET.SubElement(root, "desc").text = (
        f"Temperature {air_c.min():.1f} to {air_c.max():.1f} °C, humidity "
        f"{humid.min():.0f} to {humid.max():.0f} %"
    )
    ET.SubElement(root, "style").text = (
        "svg{background:#fbf8f1;font:13px Georgia,serif;fill:#1d1b16}"
        ".mark{stroke:#cfc7b6;stroke-width:1}.day{stroke:#cfc7b6;stroke-dasharray:1 4}"
        ".curve{fill:none;stroke:#1d1b16;stroke-width:1.6}"
    )
    for day, start, _ in shown:
        x = LEFT + (WIDTH - LEFT - RIGHT) * start / ticks
        if len(shown) <= 21 or day.weekday() == 0:
            line = {"x1": f"{x:.1f}", "x2": f"{x:.1f}", "class": "day"}
            bottom = f"{TOP + 2 * PANEL_H + GAP:g}"
            ET.SubElement(root, "line", {**line, "y1": f"{TOP:g}", "y2": bottom})
        if day.weekday() == 0:
            words = day_words(answer.grid.instant(start), answer.grid.zone)
            _text(root, x + 3, height - 16, words, "start")
    low = 5.0 * (min(dew.min(), air_c.min()) // 5.0)
    high = 5.0 * (air_c.max() // 5.0) + 5.0
    marks = [low + 5.0 * i for i in range(round((high - low) / 5.0) + 1)]
    _panel(
        root,
        TOP,
        "Temperature, solid, and dew point, dashed, °C",
        (low, high),
        marks,
        [("temperature", "", air_c), ("dew point", "6 4", dew)],
    )
    _panel(
        root,
        TOP + PANEL_H + GAP,
        "Relative humidity, %",
        (0.0, 100.0),
        (0.0, 25.0, 50.0, 75.0, 100.0),
        [("humidity", "", humid)],
    )
    return bytes(ET.tostring(root, encoding="utf-8", xml_declaration=True))
