"""Products from `materials.toml` and from the user's own data sheets."""

import difflib
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import replace
from functools import cache
from importlib.resources import files
from typing import Any

from planner.errors import PlannerError
from planner.nouns.product import (
    RECOAT_WINDOW,
    AirLimits,
    Hardening,
    HardeningWay,
    Latest,
    Product,
    Source,
)

# Which stage a data sheet's recoat time stands for, by the law that can scale it.
_SHEET_STAGES = ("recoat", "set", "dry")
_SHEET_LAWS = ("water_film", "thermal_doubling", "set_class", "drying_table")
# What the drying table covers; a sheet's own air must lie in it.
_SHEET_C, _SHEET_RH_PCT = (0.0, 100.0 / 1.8 - 32.0 / 1.8), (0.0, 98.0)
SAND_AGAIN = "sand the surface again before the next coat"
_PLAIN_NUMBERS = ("thickness_mm", "coverage_m2_per_l", "water_l_per_l", "bound_frac")


@cache
def load() -> Mapping[str, Product]:
    """Return every product that ships with the program, by id."""
    text = (
        files("planner.trade.data")
        .joinpath("materials.toml")
        .read_text(encoding="utf-8")
    )
    raw = tomllib.loads(text)
    sources = {
        name: Source(text=s["text"], tag=s["tag"], dated=s["dated"].isoformat())
        for name, s in raw["source"].items()
    }
    said = raw["product"]
    return {id_: _product(id_, _whole(id_, said), sources) for id_ in said}


def product(id_: str, own: Iterable[Product] = ()) -> Product:
    """Return a product by id, the user's own first.

    Raises
    ------
    PlannerError
        When there is none, with the nearest id.
    """
    known = merged(own)
    if id_ in known:
        return known[id_]
    near = difflib.get_close_matches(id_, known, n=1)
    raise PlannerError(
        f'"{id_}" is not a product known here',
        hint=f'did you mean "{near[0]}"?' if near else f"known: {', '.join(known)}",
    )


def merged(own: Iterable[Product]) -> Mapping[str, Product]:
    """Return all products by id; the user's own stand in for those of the same id."""
    return {**load(), **{p.id: p for p in own}}


def from_sheet(
    like: Product,
    *,
    id: str,
    title: str,
    recoat_h: float | None,
    at_c: float,
    at_rh_pct: float,
    sheet: str,
    cover_within_h: float | None = None,
    coverage_m2_per_l: float | None = None,
    pack_l: float | None = None,
) -> Product:
    """Return a user's product: like a known one, its times to recoat from a data sheet.

    Parameters
    ----------
    like : Product
        The known product whose laws, limits and later stages it takes.
    id, title : str
        How the job file and the reports call it.
    recoat_h : float or None
        Hours until the next coat; None keeps those of `like`. [h]
    at_c, at_rh_pct : float
        The air for which the sheet gives them. [°C], 0 to 37.8; [%], 0 to 98
    sheet : str
        Which data sheet, for the report.
    cover_within_h : float or None
        Hours at `at_c` after which the surface must be sanded again before the next
        coat; None keeps the window of `like`, if it has one. [h]
    coverage_m2_per_l, pack_l : float or None
        How far a litre goes and how much a pack holds; None keeps those of `like`.
        [m²/l], more than 0; [l], more than 0

    Raises
    ------
    ValueError
        With words for the user: the product has no such time, or a value can't be.
    """
    source = Source(text=sheet, tag="user")
    like = _measured(like, source, coverage_m2_per_l, pack_l)
    if cover_within_h is not None:
        if cover_within_h <= (recoat_h or 0.0):
            raise ValueError(
                f"cover_within is {cover_within_h:g} h; it must be longer than recoat"
            )
        window = _window(like, cover_within_h, at_c, source)
        others = tuple(x for x in like.latest if x.name != RECOAT_WINDOW)
        like = replace(like, latest=(*others, window))
    if recoat_h is None:
        return _renamed(like, id=id, title=title, stages=like.stages, source=source)
    if recoat_h <= 0.0:
        raise ValueError(f"recoat is {recoat_h:g} h; it must be more than none")
    for name, seen, (low, high), unit in (
        ("at", at_c, _SHEET_C, "°C"),
        ("humidity", at_rh_pct, _SHEET_RH_PCT, "%"),
    ):
        if not low <= seen <= high:
            raise ValueError(
                f"{name} is {seen:g} {unit}; the drying times are known for "
                f"{low:.0f} to {high:.0f} {unit}"
            )
    stage = next(
        (s for name in _SHEET_STAGES for s in like.stages if s.stage == name), None
    )
    if stage is None or stage.law not in _SHEET_LAWS:
        raise ValueError(f'"{like.id}" has no time to recoat; leave recoat out')
    given = _sheet_numbers(stage, recoat_h, at_c, at_rh_pct)
    new = Hardening(
        stage=stage.stage,
        way=stage.way,
        law=stage.law,
        numbers=tuple(given.items()),
        error_frac=stage.error_frac,
        source=source,
    )
    stages = tuple(
        new if s is stage else _following(s, given, new) if s.after == stage else s
        for s in like.stages
    )
    if stage.law == "set_class":
        stages = tuple(_with_numbers(s, class_min=given["class_min"]) for s in stages)
    return _renamed(like, id=id, title=title, stages=stages, source=source)


def _measured(
    like: Product, source: Source, coverage_m2_per_l: float | None, pack_l: float | None
) -> Product:
    """Return a product with the coverage and the pack of a data sheet."""
    if coverage_m2_per_l is not None and like.coverage_m2_per_l is None:
        raise ValueError(f'"{like.id}" is not laid by the area; leave coverage out')
    given = {"coverage_m2_per_l": coverage_m2_per_l, "pack_l": pack_l}
    new = tuple(name for name, value in given.items() if value is not None)
    for name, value in given.items():
        if value is not None and not value > 0.0:
            raise ValueError(f"{name} is {value:g}; it must be more than 0")
    kept = tuple(s for s in like.sources if s[0] not in new)
    return replace(
        like,
        coverage_m2_per_l=coverage_m2_per_l or like.coverage_m2_per_l,
        pack_l=pack_l or like.pack_l,
        sources=(*kept, *((name, source) for name in new)),
    )


def _window(like: Product, hours_h: float, at_c: float, source: Source) -> Latest:
    """Return a recoat window by the law of `like`; without one, the same in any air."""
    known = next((x for x in like.latest if x.name == RECOAT_WINDOW), None)
    if known is None:
        law, numbers, then = "fixed", {"hours_h": hours_h}, SAND_AGAIN
    else:
        law, then = known.law, known.then
        numbers = {**dict(known.numbers), "hours_h": hours_h, "at_c": at_c}
    return Latest(
        name=RECOAT_WINDOW,
        law=law,
        numbers=tuple(numbers.items()),
        then=then,
        source=source,
    )


def _sheet_numbers(
    stage: Hardening, recoat_h: float, at_c: float, at_rh_pct: float
) -> dict[str, float]:
    """Return a stage's numbers with the sheet's hours and air in their place."""
    kept = dict(stage.numbers)
    match stage.law:
        case "set_class":
            return kept | {"class_min": recoat_h * 60.0, "at_c": at_c}
        case "thermal_doubling":
            return kept | {"hours_h": recoat_h, "at_c": at_c}
        case _:
            least = {"least_h": recoat_h} if "least_h" in kept else {}
            said = {"hours_h": recoat_h, "at_c": at_c, "at_rh_pct": at_rh_pct}
            return kept | said | least


def _following(
    later: Hardening, given: dict[str, float], first: Hardening
) -> Hardening:
    """Return a stage that begins when the sheet's is reached, the sheet's time in it."""
    if later.law != "film_cure":
        return replace(later, after=first)
    own = dict(later.numbers) | {"water_h": given["hours_h"]}
    return replace(later, after=first, numbers=tuple(own.items()))


def _with_numbers(stage: Hardening, **numbers: float) -> Hardening:
    """Return a drying stage with some of its numbers changed; another as it is."""
    if stage.law != "drying_table":
        return stage
    return Hardening(
        stage=stage.stage,
        way=stage.way,
        law=stage.law,
        numbers=tuple((dict(stage.numbers) | numbers).items()),
        error_frac=stage.error_frac,
        source=stage.source,
    )


def _renamed(
    like: Product, *, id: str, title: str, stages: tuple[Hardening, ...], source: Source
) -> Product:
    return Product(
        id=id,
        title=title,
        kind=like.kind,
        stages=stages,
        limits=like.limits,
        fumes=like.fumes,
        thickness_mm=like.thickness_mm,
        coverage_m2_per_l=like.coverage_m2_per_l,
        pack_l=like.pack_l,
        cautions=like.cautions,
        latest=like.latest,
        water_l_per_l=like.water_l_per_l,
        bound_frac=like.bound_frac,
        sources=(*like.sources, ("sheet", source)),
    )


# ------------------------------------------------------------- reading the data


def _whole(id_: str, said: Mapping[str, Any]) -> dict[str, Any]:
    """Return what is said of a product, with what it takes from another."""
    own = said[id_]
    if "like" not in own:
        return dict(own)
    base: dict[str, Any] = _whole(own["like"], said)
    nested = {
        part: base.get(part, {}) | own.get(part, {})
        for part in ("stage", "latest")
        if part in base or part in own
    }
    for name in own.get("without", ()):
        nested["latest"].pop(name)
    return {**base, **own, **nested}


def _product(id_: str, raw: dict[str, Any], sources: Mapping[str, Source]) -> Product:
    numbers = {k: float(raw[k]["value"]) for k in _PLAIN_NUMBERS if k in raw}
    limits = raw.get("limits")
    return Product(
        id=id_,
        title=raw["title"],
        kind=raw["kind"],
        stages=tuple(_stage(raw, name, sources) for name in raw["stage"]),
        limits=AirLimits(**(limits | {"source": sources[limits["source"]]}))
        if limits
        else AirLimits(),
        fumes=raw.get("fumes", False),
        thickness_mm=numbers.get("thickness_mm"),
        coverage_m2_per_l=numbers.get("coverage_m2_per_l"),
        cautions=tuple(raw["cautions"]),
        latest=tuple(
            Latest(
                name=name,
                law=w["law"],
                numbers=_numbers(raw, w),
                then=w["then"],
                source=sources[w["source"]],
            )
            for name, w in raw.get("latest", {}).items()
        ),
        water_l_per_l=numbers.get("water_l_per_l", 0.0),
        bound_frac=numbers.get("bound_frac", 0.0),
        sources=tuple((k, sources[raw[k]["source"]]) for k in numbers),
    )


def _stage(raw: dict[str, Any], name: str, sources: Mapping[str, Source]) -> Hardening:
    said = raw["stage"][name]
    return Hardening(
        stage=name,
        way=HardeningWay(said["way"]),
        law=said["law"],
        numbers=_numbers(raw, said),
        error_frac=float(said["error_frac"]),
        source=sources[said["source"]],
        after=_stage(raw, said["after"], sources) if "after" in said else None,
    )


def _numbers(
    raw: dict[str, Any], stage: dict[str, Any]
) -> tuple[tuple[str, float], ...]:
    """Return a law's numbers; a drying stage takes the product's water and class."""
    own = {k: float(v) for k, v in stage["numbers"].items()}
    if stage["law"] == "drying_table":
        for name in ("water_l_per_l", "bound_frac"):
            if name in raw:
                own.setdefault(name, float(raw[name]["value"]))
        if "set" in raw["stage"]:
            own.setdefault(
                "class_min", float(raw["stage"]["set"]["numbers"]["class_min"])
            )
    return tuple(own.items())
