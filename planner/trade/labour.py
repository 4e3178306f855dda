"""Labour rates from `labour.toml`: person-hours, teams, trades, what to bring.

Rules that hold for every rate:

- work slows above ten feet and in the coves, by the allowances that the rate names;
- setting up and cleaning up is paid once for each shift's worth of work of one person,
  as nobody knows before planning how many shifts a task will take; work in one go
  pays it once.
"""

import math
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from planner.records import Pace, Team


@dataclass(frozen=True, slots=True, kw_only=True)
class Allowance:
    """How much longer work takes where it is high or curved, and who says so."""

    factor: float
    source: str
    above_mm: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Rate:
    """One kind of task: hours per unit, fixed hours, elapsed hours, who and how.

    `portion` is what is used up or covered within the product's working or open
    time ("batch", "bead", or "" where nothing runs out); each takes `portion_h` more.
    `high` and `curve` say how much longer the work takes above a height and in the
    coves, where it does. `touch_up_frac` is the chance, for each bay, that what the
    task looks at needs one more touch-up coat.
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
    high: Allowance | None = None
    curve: Allowance | None = None
    shift_h: float = 8.0
    touch_up_frac: float = 0.0

    def laying_h(self, amount: float, *, high: float, curved: float) -> float:
        """Return the person-hours of an amount, setting up and cleaning up apart.

        `high` and `curved` are the parts of `amount` that lie above the height of
        the allowance and that are curved.
        """
        slower = 0.0
        if self.high is not None:
            slower += (self.high.factor - 1.0) * high
        if self.curve is not None:
            slower += (self.curve.factor - 1.0) * curved
        return self.hours * (amount + slower)

    def fixed_h(self, work_h: float, *, one_go: bool) -> float:
        """Return the person-hours of setting up and cleaning up around `work_h`."""
        if one_go:
            return self.fixed
        shifts = math.ceil(work_h / (self.shift_h - self.fixed) - 1e-9)
        return self.fixed * max(1, shifts)


@cache
def rates() -> Mapping[str, Rate]:
    """Return every labour rate by id."""
    said = _said()
    known = {
        name: Allowance(
            factor=raw["factor"],
            source=raw["source"],
            above_mm=raw.get("above_mm", 0.0),
        )
        for name, raw in said["allowance"].items()
        if "factor" in raw
    }
    shift_h = said["allowance"]["shift"]["hours"]
    return {
        id_: _rate(id_, raw, known, shift_h)
        for id_, raw in said.items()
        if id_ != "allowance"
    }


@cache
def _said() -> Mapping[str, Any]:
    text = files("planner.trade").joinpath("labour.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


def _rate(
    id_: str, raw: Mapping[str, Any], known: Mapping[str, Allowance], shift_h: float
) -> Rate:
    return Rate(
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
        high=known[raw["high"]] if "high" in raw else None,
        curve=known[raw["curve"]] if "curve" in raw else None,
        shift_h=shift_h,
        touch_up_frac=raw.get("touch_up_chance", 0.0),
    )
