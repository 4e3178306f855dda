"""What is bought and which tools are needed, from `supplies.toml`."""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import cache
from importlib.resources import files
from typing import Any

from planner.measures import Units
from planner.nouns.job import OwnSupply
from planner.nouns.product import Source
from planner.units import area_m2, is_count, length_mm, volume_l


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """A number of the data with its source."""

    value: float
    source: Source

    def __post_init__(self) -> None:
        """Refuse a number below nothing."""
        if not self.value >= 0.0:
            raise ValueError(f"value: {self.value} is less than 0")


class By(StrEnum):
    """How a use turns its measure into a quantity."""

    EACH = "each"
    EVERY = "every"
    BEAD = "bead"
    COVERAGE = "coverage"
    THICKNESS = "thickness"


@dataclass(frozen=True, slots=True, kw_only=True)
class Use:
    """What some kinds of task use up of a supply.

    `figure` is the number that `by` goes with: so much for each unit, a spacing
    [mm], a bead's diameter [mm], or the share of a coat's thickness that lies on
    average; None for a product's coverage. `times` multiplies what a spacing gives.
    With a `kind`, only of tasks that lay a product of that kind.
    """

    phases: tuple[str, ...]
    measure: str
    by: By
    figure: Figure | None
    times: int = 1
    kind: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Pack:
    """How a supply is sold: what a pack holds, in the supply's unit, and in words."""

    holds: float
    words: str
    source: Source

    def __post_init__(self) -> None:
        """Refuse a pack with nothing in it."""
        if not self.holds > 0.0:
            raise ValueError(f"holds: {self.holds} is not more than 0")


@dataclass(frozen=True, slots=True, kw_only=True)
class Supply:
    """A thing to buy; `laid` where it is the product that its tasks lay.

    `nested` where its sheets are those of the cutting list.
    """

    id: str
    title: str
    unit: str
    pack: Pack
    waste: Figure
    lead_h: Figure | None
    uses: tuple[Use, ...]
    metric_pack: Pack | None = None  # where it is sold otherwise in metric countries
    laid: bool = False
    nested: bool = False

    def pack_in(self, units: Units) -> Pack:
        """Return the pack that it is sold in where people use these units."""
        return (
            self.metric_pack
            if self.metric_pack and units is Units.METRIC
            else self.pack
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Tool:
    """A tool that some kinds of task need: one a task, or one a person."""

    id: str
    title: str
    phases: tuple[str, ...]
    each: str
    hire: bool
    source: Source
    ceiling_above_mm: float = 0.0


@cache
def supplies(own: tuple[OwnSupply, ...] = ()) -> tuple[Supply, ...]:
    """Return every supply, in the order of the data; the crew's own packs come first."""
    if own:
        theirs = {o.id: o for o in own}
        return tuple(_with_own(s, theirs.get(s.id)) for s in supplies())
    said, sources = _said()
    return tuple(_supply(id_, raw, sources) for id_, raw in said["supply"].items())


def _with_own(supply: Supply, own: OwnSupply | None) -> Supply:
    if own is None:
        return supply
    source = Source(text=own.source, tag="user")
    if own.holds is not None and own.pack is not None:
        pack = Pack(holds=own.holds, words=own.pack, source=source)
        supply = replace(supply, pack=pack, metric_pack=None)
    if own.waste_frac is not None:
        waste = Figure(value=own.waste_frac, source=source)
        supply = replace(supply, waste=waste)
    return supply


def own_supply(
    id: str,
    *,
    pack: str | None,
    holds: str | None,
    waste_frac: float | None,
    source: str,
) -> OwnSupply:
    """Return how the crew buys a known supply.

    Parameters
    ----------
    id : str
        The id of a supply.
    pack, holds : str or None
        The pack as it is sold, and what it holds: "200", "75 m", "1 gal", "32 ft2";
        None keeps the data's.
    waste_frac : float or None
        The part bought on top; None keeps the data's. [1]
    source : str
        Who says so, for the report.

    Raises
    ------
    ValueError
        With words for the user: a value can't be, or nothing is given.
    """
    supply = next(s for s in supplies() if s.id == id)
    if pack is None and waste_frac is None:
        raise ValueError("give pack with holds, or waste, or both")
    if (pack is None) != (holds is None):
        raise ValueError("pack and holds go together")
    if pack is not None and supply.nested:
        raise ValueError(f"{id} comes in whole sheets, by the cutting list")
    return OwnSupply(
        id=id,
        pack=pack,
        holds=None if holds is None else _held(holds, supply.unit),
        waste_frac=waste_frac,
        source=source,
    )


def _held(text: str, unit: str) -> float:
    """Return what a pack holds in a supply's unit, from text such as "75 m"."""
    match unit:
        case "m":
            amount = length_mm(text) / 1000.0
        case "m²":
            amount = area_m2(text)
        case "l":
            amount = volume_l(text)
        case _:
            if not is_count(text):
                raise ValueError(f'holds is "{text}"; it counts {unit}, such as "200"')
            amount = float(text)
    if not amount > 0.0:
        raise ValueError(f'holds is "{text}"; it must be more than nothing')
    return amount


@cache
def tools() -> tuple[Tool, ...]:
    """Return every tool, in the order of the data."""
    said, sources = _said()
    return tuple(
        Tool(
            id=id_,
            title=raw["title"],
            phases=tuple(raw["phases"]),
            each=raw.get("each", "team"),
            hire=raw.get("hire", False),
            source=sources[raw["source"]],
            ceiling_above_mm=raw.get("ceiling_above_mm", 0.0),
        )
        for id_, raw in said["tool"].items()
    )


@cache
def hire_gap_days() -> Figure:
    """Return the longest gap between two days over which a hired tool stays."""
    said, sources = _said()
    return _figure(said["hire"]["gap_days"], sources)


@cache
def _said() -> tuple[Mapping[str, Any], Mapping[str, Source]]:
    text = (
        files("planner.trade.buying")
        .joinpath("supplies.toml")
        .read_text(encoding="utf-8")
    )
    raw = tomllib.loads(text)
    sources = {
        name: Source(text=s["text"], tag=s["tag"], dated=s["dated"].isoformat())
        for name, s in raw["source"].items()
    }
    return raw, sources


def _figure(raw: Mapping[str, Any], sources: Mapping[str, Source]) -> Figure:
    return Figure(value=float(raw["value"]), source=sources[raw["source"]])


def _supply(id_: str, raw: Mapping[str, Any], sources: Mapping[str, Source]) -> Supply:
    return Supply(
        id=id_,
        title=raw["title"],
        unit=raw["unit"],
        pack=_pack(raw["pack"], sources),
        metric_pack=_pack(raw["metric_pack"], sources)
        if "metric_pack" in raw
        else None,
        waste=_figure(raw["waste"], sources),
        lead_h=_figure(raw["lead"], sources) if "lead" in raw else None,
        uses=tuple(_use(u, sources) for u in raw["use"]),
        laid=raw.get("laid", False),
        nested=raw.get("nested", False),
    )


def _pack(raw: Mapping[str, Any], sources: Mapping[str, Source]) -> Pack:
    return Pack(
        holds=float(raw["value"]), words=raw["words"], source=sources[raw["source"]]
    )


def _use(raw: Mapping[str, Any], sources: Mapping[str, Source]) -> Use:
    if "product" in raw:
        by, said = By(raw["product"]), raw.get("share")
    else:
        by = next(b for b in (By.EACH, By.EVERY, By.BEAD) if b.value in raw)
        said = raw[by.value]
    return Use(
        phases=tuple(raw["phases"]),
        measure=raw["measure"],
        by=by,
        figure=_figure(said, sources) if said else None,
        times=said.get("times", 1) if said else 1,
        kind=raw.get("kind", ""),
    )
