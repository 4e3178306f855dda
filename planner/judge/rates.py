"""The labour data for each kind of work: who does it, how many, how and how long."""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache
from importlib.resources import files

from planner.nouns.job import OwnRate


@dataclass(frozen=True, slots=True, kw_only=True)
class JudgedRate:
    """One kind of work; `teams` gives for each size what counts of an hour. [h]."""

    unit: str
    hours: float
    set_up_h: float
    elapsed: float
    teams: Mapping[int, float]
    lead: frozenset[str]
    help: frozenset[str]
    one_go: bool
    on_stage: bool
    visit: bool
    loud: bool
    dusty: bool
    in_batches: bool
    in_portions: bool  # batches, or beads of adhesive


@cache
def _shipped() -> Mapping[str, JudgedRate]:
    text = (
        files("planner.trade.data").joinpath("labour.toml").read_text(encoding="utf-8")
    )
    return {
        work: JudgedRate(
            unit=row["unit"],
            hours=row["hours"],
            set_up_h=row["set_up"],
            elapsed=row.get("elapsed", 0.0),
            teams=dict(row["teams"]),
            lead=frozenset(row["lead"]),
            help=frozenset(row["help"]),
            one_go=row["pace"] == "one go",
            on_stage=row.get("stage", True),
            visit=row.get("visit", False),
            loud=row.get("loud", False),
            dusty=row.get("dusty", False),
            in_batches=row.get("portion") == "batch",
            in_portions="portion" in row,
        )
        for work, row in tomllib.loads(text).items()
        if work != "allowance"
    }


def rates(own: tuple[OwnRate, ...]) -> Mapping[str, JudgedRate]:
    """Return every kind of work by its name, with the crew's own hours in place."""
    out = dict(_shipped())
    for said in own:
        known = out[said.work]
        out[said.work] = replace(
            known,
            hours=known.hours if said.hours is None else said.hours,
            set_up_h=known.set_up_h if said.set_up_h is None else said.set_up_h,
        )
    return out
