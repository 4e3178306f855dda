"""How far a job may differ from its plan, each number with its source, from `odds.toml`."""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from planner.nouns.odds import Spread


@dataclass(frozen=True, slots=True, kw_only=True)
class Assumed:
    """One number: a fraction, hours, K or points of humidity, as `unit` says."""

    title: str
    unit: str  # "factor", "chance", "h", "K", "points"
    value: float
    source: str
    tag: str


@cache
def assumed() -> Mapping[str, Assumed]:
    """Return every number by its name in the job file's section `[odds]`."""
    text = files("planner.trade.data").joinpath("odds.toml").read_text(encoding="utf-8")
    return {name: Assumed(**raw) for name, raw in tomllib.loads(text).items()}


def with_own(own: Mapping[str, float]) -> Mapping[str, Assumed]:
    """Return every number, the job's own in the place of ours."""
    return {
        name: one
        if name not in own
        else Assumed(
            title=one.title,
            unit=one.unit,
            value=own[name],
            source="the job file",
            tag="user",
        )
        for name, one in assumed().items()
    }


def spread(own: Mapping[str, float]) -> Spread:
    """Return how far a job may differ from its plan."""
    value = {name: one.value for name, one in with_own(own).items()}
    return Spread(
        pace_job_frac=value["pace"],
        pace_work_frac=value["pace_by_work"],
        pace_task_frac=value["pace_by_task"],
        waits_job_frac=value["waits"],
        waits_coat_frac=value["waits_by_coat"],
        air_delta_k=value["temperature"],
        air_delta_rh_pct=value["humidity"],
        air_memory_h=value["air_memory"],
        late_chance=value["late_crates"],
        late_h=value["late_by"],
        away_chance=value["away"],
        touch_up_h=value["touch_up"],
    )
