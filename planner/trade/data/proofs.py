"""How to tell at the wall that a coat is ready, by kind and stage, from `proofs.toml`."""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadinessTest:
    """What to look for, and where that comes from."""

    how: str
    source: str
    tag: str


@cache
def proofs() -> Mapping[tuple[str, str], ReadinessTest]:
    """Return every proof by the product's kind and the stage of its hardening."""
    text = (
        files("planner.trade.data").joinpath("proofs.toml").read_text(encoding="utf-8")
    )
    return {
        (raw["kind"], raw["stage"]): ReadinessTest(
            how=raw["how"], source=raw["source"], tag=raw["tag"]
        )
        for raw in tomllib.loads(text)["proof"]
    }
