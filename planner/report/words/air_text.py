"""What `air` prints: the room day by day, the limits broken, the advice asked for."""

from collections.abc import Sequence
from dataclasses import dataclass

from planner.air.advice import Advice
from planner.air.limits import breaks_by_limit
from planner.air.moist_air import FloatArray, dew_point_c
from planner.hours.grid import Grid
from planner.hours.spans import Spans
from planner.nouns.air import RoomAir
from planner.nouns.product import Product
from planner.report.columns import item
from planner.units import day_words, duration_words, moment_words


@dataclass(frozen=True, slots=True, kw_only=True)
class AirAnswer:
    """The room's air with what `air` was asked of it.

    `broken` holds, by product, the ticks that break each of its limits.
    """

    room: RoomAir
    grid: Grid
    products: Sequence[Product]
    wet_work: bool
    advice: Advice | None


def _day_row(answer: AirAnswer, dew: FloatArray, first: int, last: int) -> str:
    room, part = answer.room, slice(first, last)
    said = room.air.units.degrees
    air_c, humid = room.air.air_c[part], room.air.humidity_pct[part]
    day = day_words(answer.grid.instant(first), answer.grid.zone)
    return (
        f"{day:<16} {said(air_c.min()):5.1f} {said(air_c.max()):5.1f}  "
        f"{humid.min():3.0f} {humid.max():3.0f}  {said(dew[part].mean()):5.1f}  "
        f"{room.given_off_kg[part].sum():6.1f} {room.let_in_kg[part].sum():7.1f} "
        f"{room.dried_kg[part].sum():6.1f}"
    )


def _broken(answer: AirAnswer, ticks: int) -> list[str]:
    """Return which limits are broken when, products of one limit together."""
    by_limit: dict[tuple[str, Spans], list[str]] = {}
    for product in answer.products:
        found = breaks_by_limit(product.limits, answer.room.air)
        for words, mask in found.items():
            spans = Spans.from_mask(mask).clip(0, ticks)
            if spans:
                by_limit.setdefault((words, spans), []).append(product.title)
    lines: list[str] = []
    tick_min = answer.grid.tick_minutes
    for (words, spans), titles in by_limit.items():
        first = moment_words(answer.grid.instant(spans.items[0][0]), answer.grid.zone)
        lines += item(
            f"{duration_words(spans.total * tick_min)} without {words}, first "
            f"{first}: {', '.join(titles)}"
        )
    return lines


def air_words(answer: AirAnswer, *, days: int) -> str:
    """Return the room's air day by day, the limits broken, and the advice asked for."""
    dew = dew_point_c(answer.room.air.air_c, answer.room.air.humidity_pct)
    shown = answer.grid.days()[:days]
    ticks = shown[-1][2]
    degree = answer.room.air.units.degree
    wet = "with the plan's wet work" if answer.wet_work else "without wet work"
    lines = [
        f"The room's air, {wet}; times in {answer.grid.zone.key}",
        *(line for words in answer.room.air.origin for line in item(words)),
        *_wall(answer),
        "",
        f"                  {degree}         RH %  dew {degree}  water, litres a day",
        "                  low  high  low high      given   let in  dried off",
        *(_day_row(answer, dew, first, last) for _, first, last in shown),
        "",
    ]
    broken = _broken(answer, ticks)
    lines += ["Limits broken", *broken] if broken else ["No limit is broken"]
    if answer.advice is not None:
        lines += _advice(answer)
    return "\n".join(lines) + "\n"


def _wall(answer: AirAnswer) -> list[str]:
    """Return by what coats dry and limits go, where a wall is colder than the room."""
    colder_k = answer.room.air.wall_colder_delta_k
    if colder_k == 0.0:
        return []
    return item(
        f"the coldest wall is {answer.room.air.units.kelvins(colder_k)} colder than the room: drying, lowest "
        "temperatures and dew point go by it"
    )


def _advice(answer: AirAnswer) -> list[str]:
    advice, grid = answer.advice, answer.grid
    assert advice is not None
    day = moment_words(grid.instant(advice.worst_day_starts), grid.zone)
    lines = [f"To hold {advice.target_rh_pct:.0f} %"]
    lines += item(
        f"the worst day begins {day}; the wet work gives off "
        f"{advice.worst_day_l:.1f} l in it"
    )
    lines += item(f"as it is, the room is above it for {advice.now_over_h:.0f} h")
    if advice.air_changes_per_h is None:
        lines += item("airing would not do it: the air outside is too damp")
    else:
        lines += item(
            f"air it {advice.air_changes_per_h:.1f} times an hour more (above it for "
            f"{advice.aired_over_h:.0f} h all the same, at peaks)"
        )
    if advice.rated_l_per_day is None:
        lines += item("no dehumidifier of this kind would do it in this cold")
    else:
        lines += item(
            f"or dehumidifiers rated at {advice.rated_l_per_day:.0f} l a day together "
            f"(above it for {advice.dried_over_h:.0f} h all the same)"
        )
    return lines
