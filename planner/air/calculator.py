"""When a product reaches each of its stages in given air, and how sure that is.

`in_constant_air` answers from a thermometer and a hygrometer, `in_room_air` from a
moment in a series of the room's air, `hours_table` for a sheet on the wall.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from planner.air.drying_table import (
    SECOND_OPINION_FRAC,
    TABLE_WATER_L_PER_L,
    evaporation_h,
)
from planner.air.law_range import refuse_beyond
from planner.air.laws import LAWS, drying_table
from planner.air.limits import breaks_by_limit
from planner.air.moist_air import FloatArray
from planner.air.waits import (
    OF_THE_AIR,
    Beyond,
    TickArray,
    cautious_at,
    cautious_frac,
    hours_at,
    latest_ticks,
    ready_ticks,
    shortest_h,
)
from planner.air.wall import at_wall
from planner.errors import OutOfRangeError
from planner.measures import Units
from planner.nouns.product import Air, Hardening, HardeningWay, Latest, Product, Source


@dataclass(frozen=True, slots=True, kw_only=True)
class StageTime:
    """When a stage is reached: hours after the coat.

    `planned_h` are those that a plan reckons with, the margin included; `likely_h` are
    as likely too long as too short; before `earliest_h` it isn't reached even if law,
    air and thickness are all out in its favour; `cautious_h` if all are out against it.
    None stands for: not within the series (in a room's air only).
    """

    stage: str
    way: HardeningWay
    planned_h: float | None
    likely_h: float | None
    earliest_h: float | None
    cautious_h: float | None
    law: str  # in words
    source: Source


@dataclass(frozen=True, slots=True, kw_only=True)
class LatestTime:
    """A time that mustn't pass before what follows, and what to do once it has.

    None stands for: not within the series (in a room's air only).
    """

    name: str
    hours_h: float | None
    then: str
    source: Source


@dataclass(frozen=True, slots=True, kw_only=True)
class CoatTimes:
    """All stages of a product, the limits kept and broken, and what to mind."""

    product: str
    title: str
    kind: str
    stages: tuple[StageTime, ...]
    latest: tuple[LatestTime, ...]
    kept: tuple[str, ...]
    broken: tuple[str, ...]
    warnings: tuple[str, ...]
    ground: str = ""  # in words, what a compound lies on and what air moves over it


ON_BOARD = (
    "these hours are for board, in still air: a moulded face takes up no water, so "
    "reckon with 1.25 times as long on one (assumption)"
)
MARGIN_FRAC = 0.25  # what a plan adds where a job says nothing else


def in_constant_air(
    product: Product,
    *,
    temp_c: float,
    rh_pct: float,
    thickness_mm: float | None = None,
    margin_frac: float = MARGIN_FRAC,
    units: Units = Units.US,
) -> CoatTimes:
    """Return when the product's stages are reached in constant air.

    Raises
    ------
    OutOfRangeError
        Where a law's source doesn't cover the air.
    """
    layer_mm = product.thickness_mm if thickness_mm is None else thickness_mm
    air = Air(
        tick_minutes=60,
        air_c=np.array([temp_c]),
        humidity_pct=np.array([rh_pct]),
        units=units,
    )
    for stage in product.stages:
        refuse_beyond(stage, air)

    def hours(stage: Hardening, margin: _Margin) -> float:
        own_h = hours_at(replace(stage, after=None), temp_c, rh_pct, layer_mm)
        own_h *= 1.0 + float(np.mean(margin(stage, air)))
        return own_h + (hours(stage.after, margin) if stage.after else 0.0)

    stages = tuple(
        _stage_time(s, *(hours(s, m) for m in _margins(margin_frac)))
        for s in product.stages
    )
    latest = tuple(_latest_time(x, shortest_h(x, air)) for x in product.latest)
    return _answer(product, stages, latest, air, layer_mm)


_Margin = Callable[[Hardening, Air], float | FloatArray]


def _margins(planned_frac: float) -> tuple[_Margin, ...]:
    """Return what is added to a stage's hours: as planned, likely, at least, cautiously."""
    return (
        lambda stage, _: planned_frac if stage.way in OF_THE_AIR else 0.0,
        lambda *_: 0.0,
        lambda stage, air: 1.0 / (1.0 + cautious_frac(stage, air)) - 1.0,
        cautious_frac,
    )


def in_room_air(
    product: Product,
    air: Air,
    *,
    tick: int,
    thickness_mm: float | None = None,
    margin_frac: float = MARGIN_FRAC,
) -> CoatTimes:
    """Return when a coat that is finished at `tick` of a series reaches its stages.

    The limits are looked at from `tick` until the first stage is cautiously over.
    """
    layer_mm = product.thickness_mm if thickness_mm is None else thickness_mm
    rest = replace(
        air,
        air_c=air.air_c[tick:],
        humidity_pct=air.humidity_pct[tick:],
        start=None,
        changes_per_h=None if air.changes_per_h is None else air.changes_per_h[tick:],
    )

    def ticks(stage: Hardening, margin: _Margin) -> TickArray:
        own = ready_ticks(
            replace(stage, after=None),
            rest,
            thickness_mm=layer_mm,
            margin_frac=margin(stage, rest),
            beyond=Beyond.STILL,
        )
        if stage.after is None:
            return own
        return np.asarray(np.append(own, len(rest) + 1)[ticks(stage.after, margin)])

    stages: list[StageTime] = []
    until = len(rest)
    for i, s in enumerate(product.stages):
        reached = [int(ticks(s, m)[0]) for m in _margins(margin_frac)]
        stages.append(_stage_time(s, *(_hours_of(k, rest) for k in reached)))
        if i == 0:
            until = min(reached[-1], len(rest))
    lain = replace(
        rest,
        air_c=rest.air_c[: max(until, 1)],
        humidity_pct=rest.humidity_pct[: max(until, 1)],
        changes_per_h=None,
    )
    closes = {x: int(latest_ticks(x, rest)[0]) for x in product.latest}
    latest = tuple(
        _latest_time(x, _hours_of(k, rest) if k < len(rest) else None)
        for x, k in closes.items()
    )
    return _answer(product, tuple(stages), latest, lain, layer_mm)


def _hours_of(tick: int, air: Air) -> float | None:
    return None if tick > len(air) else tick * air.tick_minutes / 60.0


def _stage_time(
    s: Hardening,
    planned_h: float | None,
    likely_h: float | None,
    earliest_h: float | None,
    cautious_h: float | None,
) -> StageTime:
    return StageTime(
        stage=s.stage,
        way=s.way,
        planned_h=planned_h,
        likely_h=likely_h,
        # nobody goes below a data sheet's own hours for a cure
        earliest_h=likely_h if s.law == "film_cure" else earliest_h,
        cautious_h=cautious_h,
        law=LAWS[s.law].words,
        source=s.source,
    )


def _latest_time(latest: Latest, hours_h: float | None) -> LatestTime:
    return LatestTime(
        name=latest.name, hours_h=hours_h, then=latest.then, source=latest.source
    )


def _answer(
    product: Product,
    stages: tuple[StageTime, ...],
    latest: tuple[LatestTime, ...],
    air: Air,
    layer_mm: float | None,
) -> CoatTimes:
    broken = {w: bool(b.any()) for w, b in breaks_by_limit(product.limits, air).items()}
    here = at_wall(air)
    warnings = tuple(
        w
        for s in product.stages
        if (w := second_opinion(s, float(here.air_c[0]), float(here.humidity_pct[0])))
    )
    thin = product.thickness_mm
    if thin is not None and layer_mm is not None and layer_mm > 2.0 * thin:
        warnings += (
            f"a coat of {layer_mm:.1f} mm is more than twice the {thin:.1f} mm that "
            "the times are known for: lay it in two",
        )
    return CoatTimes(
        product=product.id,
        title=product.title,
        kind=product.kind,
        stages=stages,
        latest=latest,
        kept=tuple(w for w, b in broken.items() if not b),
        broken=tuple(w for w, b in broken.items() if b),
        warnings=warnings,
        ground=_ground_words(product),
    )


def _ground_words(product: Product) -> str:
    """Return what a compound's hours are for; nothing of what dries by another law."""
    numbers = (dict(s.numbers) for s in product.stages if s.law == "drying_table")
    said = next(numbers, None)
    if said is None:
        return ""
    if "ground_times" not in said:
        return ON_BOARD
    still = (
        "still air" if not said.get("air_m_s") else f"{said['air_m_s']:g} m/s of air"
    )
    return (
        f"{said['ground_times']:g} times as long as on board, for the moulded faces, "
        f"which take up no water; {still} (both as the job says)"
    )


def second_opinion(stage: Hardening, temp_c: float, rh_pct: float) -> str:
    """Return a warning where a drying time is 15 % off the law of evaporation.

    The shipped table never is; a data sheet's hours or an edited table may be.
    Empty where they agree or the stage doesn't dry by the table.
    """
    law = LAWS[stage.law]
    if law.hours is not drying_table:
        return ""
    if not (law.low_c <= temp_c <= law.high_c and rh_pct <= law.high_rh_pct):
        return ""
    numbers = dict(stage.numbers)
    numbers.pop("layer_mm", None)
    for of_the_room in ("class_min", "ground_times", "air_m_s"):
        numbers.pop(of_the_room, None)
    said_h = float(drying_table(np.array([temp_c]), np.array([rh_pct]), **numbers)[0])
    water = numbers.get("water_l_per_l", TABLE_WATER_L_PER_L)
    leaves = water * (1.0 - numbers.get("bound_frac", 0.0)) / TABLE_WATER_L_PER_L
    known_h = float(evaporation_h(temp_c, rh_pct)) * leaves
    off = said_h / known_h - 1.0
    if abs(off) <= SECOND_OPINION_FRAC:
        return ""
    return (
        f"{stage.stage}: {said_h:.1f} h is {abs(off) * 100:.0f} % "
        f"{'over' if off > 0 else 'under'} the {known_h:.1f} h that evaporation "
        f"gives in this air; see {stage.source.text}"
    )


def hours_table(
    stage: Hardening,
    *,
    temps_c: Sequence[float],
    rhs_pct: Sequence[float],
    thickness_mm: float | None = None,
    cautious: bool = False,
) -> FloatArray:
    """Return a stage's hours by humidity (rows) and temperature (columns).

    NaN where the law's source doesn't cover the air.
    """
    ask = cautious_at if cautious else hours_at
    out = np.full((len(rhs_pct), len(temps_c)), np.nan)
    for i, rh in enumerate(rhs_pct):
        for j, t in enumerate(temps_c):
            try:
                out[i, j] = ask(stage, t, rh, thickness_mm)
            except OutOfRangeError:
                continue
    return out
