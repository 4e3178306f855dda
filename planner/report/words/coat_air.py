"""The air in words: what each product asks, what it gets, and how each coat dries."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np
from markupsafe import Markup

from planner.air.moist_air import dew_point_c
from planner.nouns.plan import Plan, PlannedTask
from planner.nouns.used import UsedProduct
from planner.report.drawing.drying_progress import Drying
from planner.report.drawing.elements import Node, add, line_path, markup
from planner.report.drawing.view import View, minutes_between
from planner.units import duration_words

SPARK_W, SPARK_H = 110.0, 22.0


@dataclass(frozen=True, slots=True, kw_only=True)
class LimitRow:
    """A limit of a product, and the worst air that its coats have, in words."""

    product: str
    limit: str
    worst: str
    kept: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class CoatRow:
    """How a coat hardens: half-way, likely ready, and ready as planned."""

    title: str
    product: str
    way: str
    stage: str
    begins: str
    half: str
    likely: str
    ready: str
    hours: str
    air: str
    binding: bool
    picture: Markup


def limit_rows(view: View) -> tuple[LimitRow, ...]:
    """Return every limit of every product against the air of its coats.

    A coat must have the air from its start until it is dry.
    """
    out: list[LimitRow] = []
    for product in view.plan.products:
        windows = [_window(view, t) for t in view.plan.tasks if t.product == product.id]
        if windows:
            out += _product_rows(view.plan, product, windows)
    return tuple(out)


def _window(view: View, task: PlannedTask) -> tuple[datetime, datetime]:
    """Return the stretch from a coat's start until it is dry."""
    ready = [
        w.ready
        for w in view.plan.waits
        if w.task == task.id and w.stage == task.dry_stage
    ]
    return task.start, max([task.end, *ready])


def _product_rows(
    plan: Plan, product: UsedProduct, windows: Iterable[tuple[datetime, datetime]]
) -> Iterable[LimitRow]:
    air, units = plan.stage.air, plan.units
    step = timedelta(minutes=air.tick_minutes)
    lain = np.zeros(len(air.air_c), dtype=bool)
    for start, end in windows:
        lain[max((start - air.start) // step, 0) : -((air.start - end) // step)] = True
    if not lain.any():
        return
    warm, damp = np.array(air.air_c)[lain], np.array(air.humidity_pct)[lain]
    wall = warm - air.wall_colder_delta_k
    above = wall - dew_point_c(warm, damp)
    where = " (wall)" if air.wall_colder_delta_k else ""
    for limit, seen, least, words, name in (
        (product.min_c, wall, True, units.temperature, f"temperature{where} at least"),
        (product.max_c, warm, False, units.temperature, "temperature at most"),
        (product.max_rh_pct, damp, False, "{:.0f} %".format, "humidity at most"),
        (
            product.dew_margin_delta_k,
            above,
            True,
            units.kelvins,
            f"above the dew point{where} by",
        ),
    ):
        if limit is None:
            continue
        worst = float(seen.min() if least else seen.max())
        yield LimitRow(
            product=product.title,
            limit=f"{name} {words(limit)}",
            worst=words(worst),
            kept=worst >= limit - 1e-3 if least else worst <= limit + 1e-3,
        )


def coat_rows(view: View, drying: Drying) -> tuple[CoatRow, ...]:
    """Return how every coat hardens that takes any time, in order."""
    out = []
    for wait in view.plan.waits:
        if wait.ready <= wait.begins:
            continue
        row = view.wait_row(wait)
        points = [
            (
                (at - wait.begins) / (wait.ready - wait.begins) * (SPARK_W - 2) + 1,
                1 + share * (SPARK_H - 2),
            )
            for at, share in drying.curve(wait)
        ]
        out.append(
            CoatRow(
                title=view.tasks[wait.task].title,
                product=wait.product_title,
                way=wait.way,
                stage=wait.stage,
                begins=view.when(wait.begins),
                half=view.when(drying.half_way(wait)),
                likely=view.when(wait.likely),
                ready=row.ready,
                hours=duration_words(minutes_between(wait.begins, wait.ready)),
                air=row.air,
                binding=view.binds(wait),
                picture=_spark(points, wait.way),
            )
        )
    return tuple(out)


def _spark(points: list[tuple[float, float]], way: str) -> Markup:
    """Return a slope from wet to ready, as small as a word."""
    root = Node(
        "svg", {"class": "board spark", "viewBox": f"0 0 {SPARK_W:g} {SPARK_H:g}"}
    )
    root.set("aria-hidden", "true")
    area = [*points, (1.0, SPARK_H - 1)]
    add(root, "path", fill=f"url(#wet-{way})", d=line_path(area, closed=True))
    add(root, "path", class_="bslope", d=line_path(points))
    return markup(root)
