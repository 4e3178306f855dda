"""Products as a plan used them: with the laws and numbers that its waits rest on."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class UsedStage:
    """A stage of a product's hardening: law, its numbers, where they come from.

    It begins when the stage `after` is reached; where that is null, with the coat.
    """

    stage: str
    way: str
    law: str
    numbers: dict[str, float]
    margin_frac: float
    after: str | None
    source: str
    source_tag: str


@dataclass(frozen=True, slots=True, kw_only=True)
class UsedLatest:
    """A latest time of a product, by a law as above, and what to do once it has passed."""

    name: str
    law: str
    numbers: dict[str, float]
    then: str
    source: str
    source_tag: str


@dataclass(frozen=True, slots=True, kw_only=True)
class UsedProduct:
    """A product that the plan uses, with the air that it must have until dry.

    A limit that is null is none; `min_c` must also hold for `min_c_before_h` hours
    before the start.
    """

    id: str
    title: str
    kind: str
    thickness_mm: float | None
    min_c: float | None
    max_c: float | None
    max_rh_pct: float | None
    dew_margin_delta_k: float | None
    min_c_before_h: float
    limits_source: str
    stages: tuple[UsedStage, ...]
    latest: tuple[UsedLatest, ...]
