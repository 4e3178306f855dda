"""What `air` and `dry` print: the room day by day, and when a coat is ready."""

import textwrap
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo

import numpy as np

from planner.air.advice import Advice
from planner.air.calculator import Answer, StageTime
from planner.air.limits import breaks_by_limit
from planner.air.moist_air import FloatArray, dew_point_c
from planner.hours.grid import Grid
from planner.hours.spans import Spans
from planner.records import Product, RoomAir
from planner.units import (
    day_words,
    duration_words,
    moment_words,
    temperature_words,
)

WIDTH = 80


def _item(text: str, indent: str = "  ") -> list[str]:
    return textwrap.wrap(
        text,
        WIDTH,
        initial_indent=indent,
        subsequent_indent=indent + "    ",
        break_on_hyphens=False,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class AirAnswer:
    """The room's air with what `air` was asked of it.

    `broken` holds, by product, the ticks that break each of its limits.
    """

    room: RoomAir
    grid: Grid
    products: Sequence[Product]
    wall_colder_delta_k: float
    wet_work: bool
    advice: Advice | None


def _day_row(answer: AirAnswer, dew: FloatArray, first: int, last: int) -> str:
    room, part = answer.room, slice(first, last)
    air_c, humid = room.air.air_c[part], room.air.humidity_pct[part]
    day = day_words(answer.grid.instant(first), answer.grid.zone)
    return (
        f"{day:<16} {air_c.min():5.1f} {air_c.max():5.1f}  "
        f"{humid.min():3.0f} {humid.max():3.0f}  {dew[part].mean():5.1f}  "
        f"{room.given_off_kg[part].sum():6.1f} {room.let_in_kg[part].sum():7.1f} "
        f"{room.dried_kg[part].sum():6.1f}"
    )


def _broken(answer: AirAnswer, ticks: int) -> list[str]:
    """Return which limits are broken when, products of one limit together."""
    by_limit: dict[tuple[str, Spans], list[str]] = {}
    for product in answer.products:
        found = breaks_by_limit(
            product.limits,
            answer.room.air,
            surface_below_delta_k=answer.wall_colder_delta_k,
        )
        for words, mask in found.items():
            spans = Spans.from_mask(mask).clip(0, ticks)
            if spans:
                by_limit.setdefault((words, spans), []).append(product.title)
    lines: list[str] = []
    tick_min = answer.grid.tick_minutes
    for (words, spans), titles in by_limit.items():
        first = moment_words(answer.grid.instant(spans.items[0][0]), answer.grid.zone)
        lines += _item(
            f"{duration_words(spans.total * tick_min)} without {words}, first "
            f"{first}: {', '.join(titles)}"
        )
    return lines


def air_words(answer: AirAnswer, *, days: int) -> str:
    """Return the room's air day by day, the limits broken, and the advice asked for."""
    dew = dew_point_c(answer.room.air.air_c, answer.room.air.humidity_pct)
    shown = answer.grid.days()[:days]
    ticks = shown[-1][2]
    wet = "with the plan's wet work" if answer.wet_work else "without wet work"
    lines = [
        f"The room's air, {wet}; times in {answer.grid.zone.key}",
        *(line for words in answer.room.air.origin for line in _item(words)),
        "",
        "                  °C         RH %  dew °C  water, litres a day",
        "                  low  high  low high      given   let in  dried off",
        *(_day_row(answer, dew, first, last) for _, first, last in shown),
        "",
    ]
    broken = _broken(answer, ticks)
    lines += ["Limits broken", *broken] if broken else ["No limit is broken"]
    if answer.advice is not None:
        lines += _advice(answer)
    return "\n".join(lines) + "\n"


def _advice(answer: AirAnswer) -> list[str]:
    advice, grid = answer.advice, answer.grid
    assert advice is not None
    day = moment_words(grid.instant(advice.worst_day_starts), grid.zone)
    lines = [f"To hold {advice.target_rh_pct:.0f} %"]
    lines += _item(
        f"the worst day begins {day}; the wet work gives off "
        f"{advice.worst_day_l:.1f} l in it"
    )
    lines += _item(f"as it is, the room is above it for {advice.now_over_h:.0f} h")
    if advice.air_changes_per_h is None:
        lines += _item("airing would not do it: the air outside is too damp")
    else:
        lines += _item(
            f"air it {advice.air_changes_per_h:.1f} times an hour more (above it for "
            f"{advice.aired_over_h:.0f} h all the same, at peaks)"
        )
    if advice.rated_l_per_day is None:
        lines += _item("no dehumidifier of this kind would do it in this cold")
    else:
        lines += _item(
            f"or dehumidifiers rated at {advice.rated_l_per_day:.0f} l a day together "
            f"(above it for {advice.dried_over_h:.0f} h all the same)"
        )
    return lines


# --------------------------------------------------------------- one coat

MEANS = {
    "set": "may be coated",
    "dry": "may be sanded and primed",
    "recoat": "may be coated",
    "light feet": "may be walked on",
    "full service": "in full service",
    "hold": "holds",
    "full": "at full strength",
    "crust": "has crusted",
    "load": "may be loaded",
    "trim": "may be trimmed",
    "free of fumes": "is free of fumes",
}


def _moment(hours: float | None, since: datetime | None, zone: tzinfo | None) -> str:
    if hours is None:
        return "not within the series"
    words = duration_words(hours * 60)
    if since is None or zone is None:
        return words
    return f"{words}, {moment_words(since + timedelta(hours=hours), zone)}"


def _stage_words(s: StageTime, since: datetime | None, zone: tzinfo | None) -> str:
    means = MEANS.get(s.stage, s.stage)
    likely = _moment(s.likely_h, since, zone)
    cautious = _moment(s.cautious_h, since, zone)
    return f"{means} after {likely} (cautious: {cautious})"


def dry_words(
    answer: Answer, *, since: datetime | None = None, zone: tzinfo | None = None
) -> str:
    """Return when a coat reaches its stages: one line, then where it comes from.

    With `since`, an instant, each stage is also given as a moment in `zone`.
    """
    head = "; ".join(_stage_words(s, since, zone) for s in answer.stages)
    lines = [f"{answer.title} {head}"]
    for s in answer.stages:
        lines += _item(f"{s.stage}: {s.law}; {s.source.text} ({s.source.tag})")
    for x in answer.latest:
        within = _moment(x.hours_h, since, zone)
        lines += _item(f"{x.name}: {within}, then {x.then}; {x.source.text}")
    for words in answer.broken:
        lines += _item(f"limit broken: {words}")
    for words in answer.kept:
        lines += _item(f"limit kept: {words}")
    for words in answer.warnings:
        lines += _item(f"warning: {words}")
    lines += _item("No table is proof of dryness: check it at the wall.")
    return "\n".join(lines) + "\n"


def table_words(
    product: Product,
    tables: Mapping[str, FloatArray],
    *,
    temps_c: Sequence[float],
    rhs_pct: Sequence[float],
) -> str:
    """Return the hours of each stage by humidity and temperature, for the site hut."""
    lines = [f"{product.title}: likely hours; a dash where the law does not reach"]
    for stage, hours in tables.items():
        means = MEANS.get(stage, stage)
        lines += ["", f"{stage} ({means})"]
        warm = "".join(f"{temperature_words(t):>15}" for t in temps_c)
        lines.append(f"  RH %{warm}")
        for rh, row in zip(rhs_pct, hours, strict=True):
            cells = "".join(
                f"{'-' if np.isnan(h) else f'{h:.1f}':>15}" for h in row.tolist()
            )
            lines.append(f"  {rh:4.0f}{cells}")
    lines += ["", "No table is proof of dryness: check it at the wall."]
    return "\n".join(lines) + "\n"
