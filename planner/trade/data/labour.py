"""Labour rates from `labour.toml`: person-hours, teams, trades, what to bring.

Rules that hold for every rate:

- work slows above ten feet and in the coves, by the allowances that the rate names;
- setting up and cleaning up is apart from the work: it is due each day that a team
  works on a task, and how many days those are only the plan knows.
"""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache
from importlib.resources import files
from typing import Any

from planner.nouns.job import OwnRate
from planner.nouns.work import Pace, Team
from planner.units import area_m2, is_count, length_mm


@dataclass(frozen=True, slots=True, kw_only=True)
class Allowance:
    """How much longer work takes where it is high or curved, and who says so."""

    factor: float
    source: str
    above_mm: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Rate:
    """One kind of task: hours per unit, to set up, elapsed, who and how.

    `portion` is what is used up or covered within the product's working or open
    time ("batch", "bead", or "" where nothing runs out); each takes `portion_h` more.
    `high` and `curve` say how much longer the work takes above a height and in the
    coves, where it does. `touch_up_frac` is the chance, for each bay, that what the
    task looks at needs one more touch-up coat. `reach` is how high the work goes
    ("ceiling", "edges", "seams" or ""), `leaves` the state in which it leaves a bay's
    surface; what is `loose` after it is so until what `fastens` it begins. `in_bays`
    names the method that splits it where a bay ends; where a lap shows, nothing does.
    What is done `at_wall` is told what lies behind it. What `opens` waits for its gates;
    a `visit` is paid between the stage's bookings. The hours of what `outsiders` take
    part in, such as a surveyor or the carrier, say nothing of the crew's pace.
    """

    id: str
    title: str
    how: str
    unit: str
    hours: float
    set_up_h: float
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
    reach: str = ""
    leaves: str = ""
    loose: bool = False
    fastens: bool = False
    in_bays: str = ""
    lap_shows: bool = False
    visit: bool = False
    outsiders: bool = False
    opens: bool = False
    at_wall: bool = False

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


@cache
def rates(own: tuple[OwnRate, ...] = ()) -> Mapping[str, Rate]:
    """Return every labour rate by id; the crew's own hours come first."""
    if own:
        return {**rates(), **{o.work: _with_own(rates()[o.work], o) for o in own}}
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


def _with_own(rate: Rate, own: OwnRate) -> Rate:
    return replace(
        rate,
        hours=rate.hours if own.hours is None else own.hours,
        set_up_h=rate.set_up_h if own.set_up_h is None else own.set_up_h,
        source=own.source,
    )


def own_rate(
    work: str, *, hours: float | None, per: str, set_up_h: float | None, source: str
) -> OwnRate:
    """Return the crew's own hours for a known kind of work.

    Parameters
    ----------
    work : str
        The id of a labour rate.
    hours : float or None
        Hours of one person for each `per`; None keeps the data's. [h], more than 0
    per : str
        So much of the work's unit: "10 ft", "1 m2", "4"; empty for one unit.
    set_up_h : float or None
        Setting up and cleaning up, each day; None keeps the data's. [h]
    source : str
        Who says so, for the report.

    Raises
    ------
    ValueError
        With words for the user: a value can't be, or neither is given.
    """
    rate = rates()[work]
    if hours is None and set_up_h is None:
        raise ValueError("give hours, or set_up, or both, or spread alone")
    if hours is not None and not hours > 0.0:
        raise ValueError(f"hours is {hours:g} h; it must be more than none")
    if set_up_h is not None and not set_up_h <= rate.shift_h / 2:
        raise ValueError(
            f"set_up is {set_up_h:g} h; it can be half a shift at most, "
            f"{rate.shift_h / 2:g} h"
        )
    units_ = _units_in(per, rate.unit) if per else 1.0
    return OwnRate(
        work=work,
        hours=None if hours is None else hours / units_,
        set_up_h=set_up_h,
        source=source,
    )


def _units_in(per: str, unit: str) -> float:
    """Return how many of a rate's units a measure such as "10 ft" holds."""
    kind = unit.split()[0]
    if kind == "m":
        amount = length_mm(per) / 1000.0
    elif kind == "m²":
        amount = area_m2(per)
    else:
        number, _, noun = per.partition(" ")
        if not is_count(number) or noun.removesuffix("s") not in ("", unit[:-1]):
            raise ValueError(f'per is "{per}"; it counts {unit}, such as "1"')
        amount = float(number)
    if not amount > 0.0:
        raise ValueError(f'per is "{per}"; it must be more than nothing')
    return amount


@cache
def _said() -> Mapping[str, Any]:
    text = (
        files("planner.trade.data").joinpath("labour.toml").read_text(encoding="utf-8")
    )
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
        set_up_h=raw["set_up"],
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
        reach=raw.get("reach", ""),
        leaves=raw.get("leaves", ""),
        loose=raw.get("loose", False),
        fastens=raw.get("fastens", False),
        in_bays=raw.get("in_bays", ""),
        lap_shows=raw.get("lap_shows", False),
        visit=raw.get("visit", False),
        outsiders=raw.get("outsiders", False),
        opens=raw.get("opens", False),
        at_wall=raw.get("at_wall", False),
    )
