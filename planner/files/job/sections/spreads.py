"""How far pace or a wait may differ, as a job file says it in one of three ways.

A single percentage is the standard deviation of the logarithm of a factor with median
1. Three points, or the two between which 8 of 10 cases lie, are shares of what is
planned.
"""

from collections.abc import Mapping
from typing import Annotated, Any

from pydantic import BeforeValidator

from planner import units
from planner.nouns.odds import Factor
from planner.trade.data.odds import of_percentiles, of_points

POINTS = ("shortest", "usual", "longest")
PERCENTILES = ("p10", "p90")
MOST_PCT = 100.0  # of a spread
SHARE_PCT = (10.0, 1000.0)  # of a point
EXAMPLE = (
    '"20 %", { shortest = "90 %", usual = "100 %", longest = "160 %" } or '
    '{ p10 = "85 %", p90 = "130 %" }'
)


def factor_of(value: object) -> Factor:
    """Return how far something differs, or say in words what is wrong with it."""
    if isinstance(value, str):
        return Factor(frac=_percent(value, "", 0.0, MOST_PCT) / 100.0)
    if not isinstance(value, Mapping) or set(value) not in (
        set(POINTS),
        set(PERCENTILES),
    ):
        raise ValueError(f"{value!r} is not a spread such as {EXAMPLE}")
    keys = POINTS if "usual" in value else PERCENTILES
    points = [_percent(value[key], key, *SHARE_PCT) / 100.0 for key in keys]
    made = of_points(*points) if keys is POINTS else of_percentiles(*points)
    if made.frac > MOST_PCT / 100.0:
        raise ValueError(
            f"{made.said} is a spread of {made.frac * 100:.0f} %; it can be "
            f"{MOST_PCT:.0f} % at most"
        )
    return made


def _percent(value: Any, key: str, low: float, high: float) -> float:
    where = f"{key} = " if key else ""
    if not isinstance(value, str):
        raise ValueError(f"{where}{value!r} has no unit; write it in quotes with one")
    number = units.percent(value)
    if not low <= number <= high:
        raise ValueError(
            f'{where}"{value}" is not between {low:.0f} % and {high:.0f} %'
        )
    return number


FactorOf = Annotated[
    Factor, BeforeValidator(factor_of, json_schema_input_type=str | dict[str, str])
]
