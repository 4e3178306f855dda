"""The nouns of what is laid, frozen: products, how they harden, the air they lie in."""

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from planner.measures import Units


class HardeningWay(StrEnum):
    """How a wait passes."""

    DRIES = "dries"
    SETS = "sets"
    CURES = "cures"
    CLEARS = "clears"  # fumes, by air changes
    LIES = "lies"  # a test, as long as its method says


RECOAT_WINDOW = "recoat window"  # the latest time by which the next coat must be on
POT_LIFE = "pot life"  # the latest time by which what is mixed must be pressed home
CLEARED = "free of fumes"  # the stage from which others may come in again


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """Where a number comes from.

    `tag` is "read", "read, weak page", "from memory", "computed", "assumption",
    "common practice" or "user"; `dated` is the day on which it was written down.
    """

    text: str
    tag: str
    dated: str = ""  # ISO 8601 day


@dataclass(frozen=True, slots=True, kw_only=True)
class Hardening:
    """One stage of a product's hardening: the way, the law and the law's numbers.

    `law` names a function of `planner.air.laws`; `numbers` are its arguments, with
    the unit as last word of each name. `error_frac` is the law's stated error, as
    a fraction of the hours. A stage with `after` begins when that one is reached. On a
    job whose log taught it, it takes so many `times` the hours of its law.
    """

    stage: str  # "set", "recoat", "sand", "light foot traffic", "full service", ...
    way: HardeningWay
    law: str
    numbers: tuple[tuple[str, float], ...]
    error_frac: float
    source: Source
    after: "Hardening | None" = None
    times: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Latest:
    """A time that must not be exceeded after a coat or a batch, by a law as above."""

    name: str  # "working time", "open time", "recoat window"
    law: str
    numbers: tuple[tuple[str, float], ...]
    then: str  # what has to be done when it is exceeded
    source: Source


@dataclass(frozen=True, slots=True, kw_only=True)
class AirLimits:
    """Air that a coat must have from its start until it is dry; None: no limit."""

    min_c: float | None = None
    max_c: float | None = None
    max_rh_pct: float | None = None
    dew_margin_delta_k: float | None = None
    min_c_before_h: float = 0.0  # hours before the start in which min_c must hold
    source: Source | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Product:
    """A material: how it hardens, what air it must have, how far it goes."""

    id: str
    title: str
    kind: str  # "compound", "primer", "colour", "adhesive", "mortar", "foam", ...
    stages: tuple[Hardening, ...]
    limits: AirLimits
    fumes: bool = False
    thickness_mm: float | None = None  # wet thickness of one coat, where it counts
    coverage_m2_per_l: float | None = None
    pack_l: float | None = None  # how it is sold, where a user says so
    cautions: tuple[str, ...] = ()
    latest: tuple[Latest, ...] = ()
    water_l_per_l: float = 0.0  # water in a litre of it as laid
    bound_frac: float = 0.0  # share of that water that it keeps for good
    sources: tuple[tuple[str, Source], ...] = ()  # by the name of the number above

    def reaches(self, stage: str) -> bool:
        """Tell whether the product's hardening has a stage of this name."""
        return any(s.stage == stage for s in self.stages)


# -------------------------------------------------------------------- air

SHUT_ROOM_PER_H = 0.3  # air changes of a shut room of ordinary build, from memory


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Air:
    """The room's air: one value for each tick, all arrays of the grid's length.

    `start` is the instant at which the first tick begins, where it is known: it
    lets an error name the hour. `changes_per_h` is how often the room's air is
    changed in an hour, where that is known. What is laid on the coldest wall lies
    `wall_colder_delta_k` colder than the room. [K]. `units` are those in which it is
    spoken of.
    """

    tick_minutes: int
    air_c: NDArray[np.float64]
    humidity_pct: NDArray[np.float64]
    origin: tuple[str, ...] = ()  # in words, what the series was built from
    start: datetime | None = None
    zone: ZoneInfo | None = None
    changes_per_h: NDArray[np.float64] | None = None
    wall_colder_delta_k: float = 0.0
    units: Units = Units.US

    def __post_init__(self) -> None:
        """Refuse arrays that don't match and values that are no air."""
        if self.air_c.shape != self.humidity_pct.shape or self.air_c.ndim != 1:
            raise ValueError(
                f"air_c and humidity_pct: shapes {self.air_c.shape} and "
                f"{self.humidity_pct.shape} are not one length"
            )
        if not np.isfinite(self.air_c).all():
            raise ValueError("air_c: a value is missing")
        if not ((self.humidity_pct >= 0) & (self.humidity_pct <= 100)).all():
            raise ValueError("humidity_pct: a value is not between 0 and 100")
        changes = self.changes_per_h
        if changes is not None and (
            changes.shape != self.air_c.shape or not (changes >= 0).all()
        ):
            raise ValueError("changes_per_h: not one value of 0 or more for each tick")

    def __len__(self) -> int:
        """Return the number of ticks."""
        return int(self.air_c.size)
