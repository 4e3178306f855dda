"""The room's air as a picture: temperature, dew point and humidity, with limits."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime

import numpy as np
from markupsafe import Markup

from planner.air.moist_air import dew_point_c
from planner.nouns.plan import Plan
from planner.report.board import bands
from planner.report.board.bands import Canvas, in_row
from planner.report.board.style import SHEETS, SMALL, Axis, BoardPage, room_for
from planner.report.drawing.elements import (
    add,
    fitted,
    line_path,
    markup,
    num,
    picture,
    width_of,
)
from planner.report.drawing.view import View
from planner.report.drawing.week_rows import Row, rows

WARM_H = 78.0
ROW_H = 34 + WARM_H + 12 + bands.AIR_H + 14


@dataclass(frozen=True, slots=True, kw_only=True)
class AirPicture:
    """A row of the air's picture, for one of the widths."""

    sheet: str
    svg: Markup


def air_pictures(view: View) -> tuple[AirPicture, ...]:
    """Return the air row by row, for each width."""
    dew = dew_point_c(
        view.plan.stage.air.air_c, view.plan.stage.air.humidity_pct
    ).tolist()
    out = []
    for sheet in SHEETS:
        for number, row in enumerate(r for r in rows(view, sheet.days_a_row)):
            if row.idle:
                continue
            svg = _row(view, row, sheet, dew, number)
            out.append(AirPicture(sheet=sheet.name, svg=svg))
    return tuple(out)


def _row(
    view: View, row: Row, sheet: BoardPage, dew: Sequence[float], number: int
) -> Markup:
    first, last = view.day(row.start), view.day(row.days[-2])
    root = picture(
        sheet.width,
        ROW_H,
        id_=f"air-{sheet.name}-{number}",
        title=f"The air, {first} to {last}",
        story=_story(view, row, dew),
        class_="board",
    )
    canvas = Canvas(node=root, axis=Axis(row=row, sheet=sheet), view=view)
    bands.day_lines(canvas, 0, ROW_H - 8)
    y = bands.days(canvas, "", 0)
    y = _warmth(canvas, dew, y + 16)
    bands.humidity(canvas, y + 8)
    return markup(root)


def _story(view: View, row: Row, dew: Sequence[float]) -> str:
    axis = Axis(row=row, sheet=SHEETS[0])
    plan = view.plan
    said = []
    for name, values, words in (
        ("temperature", plan.stage.air.air_c, plan.units.temperature),
        ("dew point", dew, plan.units.temperature),
        ("humidity", plan.stage.air.humidity_pct, lambda v: f"{v:.0f} %"),
    ):
        seen = [v for _, v in in_row(plan, values, axis)]
        if seen:
            said.append(f"{name} {words(min(seen))} to {words(max(seen))}")
    return ", ".join(said) + "."


def coldest_allowed_c(plan: Plan) -> float | None:
    """Return the highest of the products' lower limits; None without any. [°C]."""
    return max((p.min_c for p in plan.products if p.min_c is not None), default=None)


def _warmth(canvas: Canvas, dew: Sequence[float], y: float) -> float:
    """Draw temperature over dew point; return where they end."""
    axis, plan = canvas.axis, canvas.view.plan
    limit = coldest_allowed_c(plan)
    every = [*plan.stage.air.air_c, *dew, *([limit] if limit is not None else [])]
    low, high = np.floor(min(every) - 1), np.ceil(max(every) + 1)

    def up(value: float) -> float:
        return float(y + WARM_H - (value - low) / (high - low) * WARM_H)

    left, right = axis.sheet.left, axis.sheet.right
    base = f"M{num(left)} {num(y + WARM_H)}H{num(right)}"
    add(canvas.node, "path", class_="bday", d=base)
    labels: list[tuple[float, float]] = []
    if limit is not None:
        path = f"M{num(left)} {num(up(limit))}H{num(right)}"
        add(canvas.node, "path", class_="blimit", d=path)
        say = f"at least {plan.units.temperature(limit)}"
        add(canvas.node, "text", say, class_="s e bsay", x=right - 4, y=up(limit) - 4)
    for name, values, kind in (
        ("air", plan.stage.air.air_c, "bair"),
        ("dew point", dew, "bair w"),
    ):
        points = in_row(plan, values, axis)
        if not points:
            continue
        path = line_path([(axis.x(t), up(v)) for t, v in points])
        add(canvas.node, "path", class_=kind, d=path)
        if name == "air":
            bands.dots(canvas, [(r.when, r.air_c) for r in plan.stage.air.readings], up)
        _side(canvas, name, up(points[0][1]), labels)
        _ends(canvas, points, up)
    return y + WARM_H


def _side(canvas: Canvas, say: str, y: float, taken: list[tuple[float, float]]) -> None:
    """Name a line at its left, moved down where another name stands."""
    while not room_for(taken, y - 6, y + 6, gap=0):
        y += 4
    taken.append((y - 6, y + 6))
    text = fitted(say, canvas.axis.sheet.left - 4, SMALL)
    add(canvas.node, "text", text, class_="s", x=2, y=y + 4)


def _ends(
    canvas: Canvas, points: list[tuple[datetime, float]], up: Callable[[float], float]
) -> None:
    """Name the warmest and the coldest hour of a line in a row."""
    taken: list[tuple[float, float]] = []
    warm, cold = max(points, key=lambda p: p[1]), min(points, key=lambda p: p[1])
    pairs = ((warm, -4.0), (cold, 13.0)) if warm[1] - cold[1] >= 1 else ((warm, -4.0),)
    for (when, value), shift in pairs:
        say = canvas.view.plan.units.temperature(value)
        wide = width_of(say, SMALL)
        x = min(canvas.axis.x(when) + 3, canvas.axis.sheet.right - wide - 2)
        if room_for(taken, x, x + wide):
            taken.append((x, x + wide))
            add(canvas.node, "text", say, class_="s bsay", x=x, y=up(value) + shift)
