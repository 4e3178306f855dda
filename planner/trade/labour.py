"""Labour rates from `labour.toml`: person-hours, teams, trades, what to bring."""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from planner.records import Pace, Team


@dataclass(frozen=True, slots=True, kw_only=True)
class Rate:
    """One kind of task: hours per unit, fixed hours, elapsed hours, who and how.

    `portion` is what is used up or covered within the product's working or open
    time ("batch", "bead", or "" where nothing runs out); each takes `portion_h` more.
    """

    id: str
    title: str
    how: str
    unit: str
    hours: float
    fixed: float
    elapsed: float
    teams: tuple[Team, ...]
    lead: tuple[str, ...]
    help: tuple[str, ...]
    pace: Pace
    stage: bool
    loud: bool
    dusty: bool
    bring: tuple[str, ...]
    cautions: tuple[str, ...]
    source: str
    portion: str = ""
    portion_h: float = 0.0


@cache
def rates() -> Mapping[str, Rate]:
    """Return every labour rate by id."""
    text = files("planner.trade").joinpath("labour.toml").read_text(encoding="utf-8")
    return {
        id_: Rate(
            id=id_,
            title=raw["title"],
            how=raw["how"],
            unit=raw["unit"],
            hours=raw["hours"],
            fixed=raw["fixed"],
            elapsed=raw.get("elapsed", 0.0),
            teams=tuple(Team(size=n, yield_frac=y) for n, y in raw["teams"]),
            lead=tuple(raw["lead"]),
            help=tuple(raw["help"]),
            pace=Pace(raw["pace"]),
            stage=raw.get("stage", True),
            loud=raw.get("loud", False),
            dusty=raw.get("dusty", False),
            bring=tuple(raw["bring"]),
            cautions=tuple(raw["cautions"]),
            source=raw["source"],
            portion=raw.get("portion", ""),
            portion_h=raw.get("portion_h", 0.0),
        )
        for id_, raw in tomllib.loads(text).items()
    }
