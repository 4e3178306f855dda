"""What is bought and which tools are needed, from `supplies.toml`."""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from importlib.resources import files
from typing import Any

from planner.matter import Source


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
    """

    phases: tuple[str, ...]
    measure: str
    by: By
    figure: Figure | None
    times: int = 1


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
    laid: bool = False
    nested: bool = False


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
def supplies() -> tuple[Supply, ...]:
    """Return every supply, in the order of the data."""
    said, sources = _said()
    return tuple(_supply(id_, raw, sources) for id_, raw in said["supply"].items())


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
    text = files("planner.trade").joinpath("supplies.toml").read_text(encoding="utf-8")
    raw = tomllib.loads(text)
    sources = {
        name: Source(text=s["text"], tag=s["tag"], dated=s["dated"].isoformat())
        for name, s in raw["source"].items()
    }
    return raw, sources


def _figure(raw: Mapping[str, Any], sources: Mapping[str, Source]) -> Figure:
    return Figure(value=float(raw["value"]), source=sources[raw["source"]])


def _supply(id_: str, raw: Mapping[str, Any], sources: Mapping[str, Source]) -> Supply:
    pack = raw["pack"]
    return Supply(
        id=id_,
        title=raw["title"],
        unit=raw["unit"],
        pack=Pack(
            holds=float(pack["value"]),
            words=pack["words"],
            source=sources[pack["source"]],
        ),
        waste=_figure(raw["waste"], sources),
        lead_h=_figure(raw["lead"], sources) if "lead" in raw else None,
        uses=tuple(_use(u, sources) for u in raw["use"]),
        laid=raw.get("laid", False),
        nested=raw.get("nested", False),
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
    )
