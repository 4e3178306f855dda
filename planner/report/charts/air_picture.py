"""The room's air over days as one picture: temperature, dew point, humidity."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from functools import partial

from planner.air.moist_air import FloatArray, dew_point_c
from planner.report.drawing import tokens
from planner.report.drawing.elements import (
    Node,
    add,
    file_bytes,
    line_path,
    num,
    on_paper,
    picture,
)
from planner.report.words.air_text import AirAnswer
from planner.units import day_words

WIDTH, LEFT, RIGHT = 960.0, 112.0, 24.0
PANEL_H, GAP, TOP = 170.0, 46.0, 40.0
HEIGHT = TOP + 2 * PANEL_H + GAP + 44
STEP_C = 5.0  # between two marks of temperature


@dataclass(frozen=True, slots=True, kw_only=True)
class AirPanel:
    """One of the two drawings: its title, scale, marks with words, and curves.

    A curve is its name, the class it is drawn by, and its values, a tick each.
    """

    title: str
    low: float
    high: float
    marks: Sequence[float]
    words: Callable[[float], str]
    curves: Sequence[tuple[str, str, FloatArray]]


def air_svg(answer: AirAnswer, *, days: int) -> bytes:
    """Return the picture as SVG; temperature is the solid line, dew point dashed."""
    shown = answer.grid.days()[:days]
    ticks = shown[-1][2]
    air, units = answer.room.air, answer.room.air.units
    air_c, humid = air.air_c[:ticks], air.humidity_pct[:ticks]
    dew = dew_point_c(air_c, humid)
    day = partial(day_words, zone=answer.grid.zone)
    first, last = (day(answer.grid.instant(s[1])) for s in (shown[0], shown[-1]))
    root = picture(
        WIDTH,
        HEIGHT,
        id_="air",
        title=f"The room's air, {first} to {last}",
        story=f"Temperature {units.temperatures(air_c.min(), air_c.max())}, humidity "
        f"{humid.min():.0f} to {humid.max():.0f} %",
        class_="air",
    )
    add(root, "style", tokens.css() + _css() + on_paper(WIDTH, HEIGHT))
    add(root, "rect", class_="apaper", width=WIDTH, height=HEIGHT)
    _days(root, answer, shown, ticks)
    low = STEP_C * (min(dew.min(), air_c.min()) // STEP_C)
    high = STEP_C * (air_c.max() // STEP_C) + STEP_C
    warmth = AirPanel(
        title="Temperature, solid, and dew point, dashed",
        low=low,
        high=high,
        marks=[low + STEP_C * i for i in range(round((high - low) / STEP_C) + 1)],
        words=units.temperature,
        curves=[("temperature", "acurve", air_c), ("dew point", "acurve w", dew)],
    )
    damp = AirPanel(
        title="Relative humidity",
        low=0.0,
        high=100.0,
        marks=(0.0, 25.0, 50.0, 75.0, 100.0),
        words=lambda v: f"{v:.0f} %",
        curves=[("humidity", "acurve", humid)],
    )
    _panel(root, TOP, warmth)
    _panel(root, TOP + PANEL_H + GAP, damp)
    return file_bytes(root)


def _days(
    root: Node, answer: AirAnswer, shown: Sequence[tuple[date, int, int]], ticks: int
) -> None:
    """Draw a line at each midnight, or each Monday's of many, and name the Mondays."""
    bottom = num(TOP + 2 * PANEL_H + GAP)
    for day, start, _ in shown:
        x = LEFT + (WIDTH - LEFT - RIGHT) * start / ticks
        if len(shown) <= 21 or day.weekday() == 0:
            add(root, "path", class_="aday", d=f"M{num(x)} {num(TOP)}V{bottom}")
        if day.weekday() == 0:
            words = day_words(answer.grid.instant(start), answer.grid.zone)
            add(root, "text", words, x=x + 3, y=HEIGHT - 16)


def _panel(root: Node, top: float, panel: AirPanel) -> None:
    def y(value: float) -> float:
        return top + PANEL_H * (panel.high - value) / (panel.high - panel.low)

    add(root, "text", panel.title, class_="b", x=LEFT, y=top - 10)
    for mark in panel.marks:
        path = f"M{num(LEFT)} {num(y(mark))}H{num(WIDTH - RIGHT)}"
        add(root, "path", class_="amark", d=path)
        add(root, "text", panel.words(mark), class_="e", x=LEFT - 8, y=y(mark) + 4)
    for name, kind, values in panel.curves:
        step = (WIDTH - LEFT - RIGHT) / max(len(values) - 1, 1)
        points = [(LEFT + i * step, y(v)) for i, v in enumerate(values.tolist())]
        add(add(root, "path", class_=kind, d=line_path(points)), "title", name)


def _css() -> str:
    return (
        f".air{{font:13px {tokens.TYPE['text']};fill:var(--ink)}}"
        ".air .b{font-weight:700}.air .e{text-anchor:end}"
        ".apaper{fill:var(--paper)}.amark{stroke:var(--hair)}"
        ".aday{stroke:var(--rule);stroke-dasharray:1 4}"
        ".acurve{fill:none;stroke:var(--wet);stroke-width:1.8}"
        ".acurve.w{stroke-dasharray:8 3 2 3;stroke-width:1.4}"
    )
