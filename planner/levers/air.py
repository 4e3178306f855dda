"""Levers of the room's air: drier, warm at night, moved over the coats."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any

from planner.air.moist_air import humidity_pct, vapour_pa
from planner.files.job.sections.schema_air import MONTHS
from planner.levers.lever import DRYING, FUMES, Lever, lever
from planner.nouns.air import Climate, DayNight
from planner.nouns.job import Job

DRIER_PCT, DRIEST_PCT = 10.0, 30.0  # points less; coats aren't hurried into drier air
WARMER_K = (1.0, 2.0, 4.0, 6.0, 8.0, 10.0, 12.0)
DRIER_BY_PCT = (5.0, 10.0, 15.0, 20.0, 30.0, 40.0)
RATED_L_PER_DAY = 30
MOVED_M_S = 0.3
EASES = (DRYING, FUMES)


def of_the_air(job: Job, file: Mapping[str, Any]) -> Iterator[Lever]:
    """Yield what drier, warmer and moved air could do; `file` says how air is said."""
    if job.climate is None:
        yield from _assumed(_airs(job, file.get("air", {})))
    else:
        yield from _machines(job.climate)
    if job.air_m_s == 0.0:
        said = {"air.moving": f"{MOVED_M_S} m/s"}
        yield lever(f"fans move the air at {MOVED_M_S} m/s", said, EASES)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Said:
    """An assumed air, where it is said, and whether day and night are said apart."""

    at: str
    air: DayNight
    apart: bool

    def anew(self, pairs: "Pairs") -> dict[str, object]:
        """Return the keys that say the air anew, in the form in which it is said."""
        rows = [
            {"temperature": f"{c:.4g} C", "humidity": f"{rh:.4g} %"} for c, rh in pairs
        ]
        if self.apart:
            return {f"{self.at}.day": rows[0], f"{self.at}.night": rows[1]}
        return {f"{self.at}.{key}": said for key, said in rows[0].items()}


def _airs(job: Job, file: Mapping[str, Any]) -> list[_Said]:
    """Return the air that is assumed all year, and that of single months."""
    months = {m["month"]: m for m in file.get("month", [])}
    named = [(MONTHS[number - 1], air) for number, air in job.air_months]
    rows = [("air", job.air, file)]
    rows += [(f"air.month.{name}", air, months[name]) for name, air in named]
    return [_Said(at=at, air=air, apart="day" in said) for at, air, said in rows]


def _assumed(airs: Sequence[_Said]) -> Iterator[Lever]:
    dry = f"a dehumidifier holds the air {DRIER_PCT:.0f} points of humidity drier"
    for title, other in ((dry, _drier), ("heat at night as by day", _warm)):
        said = {k: v for one in airs for k, v in one.anew(other(one.air)).items()}
        if any(other(one.air) != _pairs(one.air) for one in airs):
            yield lever(title, said, EASES, keys=["air"])


def warmer_or_drier(job: Job, file: Mapping[str, Any]) -> Iterator[tuple[Lever, ...]]:
    """Yield assumed air that is warmer, and air that is drier, by steps; day and night.

    Warmer air holds the same water, so that it is drier, too.
    """
    if job.climate is not None:
        return
    airs = _airs(job, file.get("air", {}))
    yield tuple(
        _by(
            airs, f"the room warmer by {job.units.kelvins(k)}", partial(_warmer, by_k=k)
        )
        for k in WARMER_K
    )
    yield tuple(
        _by(
            airs,
            f"the room drier by {p:g} points of humidity{_at(job.air, p)}",
            partial(_dried, by=p),
        )
        for p in DRIER_BY_PCT
    )


def _at(air: DayNight, by: float) -> str:
    """Return at how much humidity the room then is, by day and by night."""
    now, then = (
        tuple(dict.fromkeys(f"{rh:g} %" for _, rh in pairs))
        for pairs in (_pairs(air), _dried(air, by))
    )
    return f", at {' and '.join(then)} in place of {' and '.join(now)}"


def _by(
    airs: "Sequence[_Said]", title: str, other: "Callable[[DayNight], Pairs]"
) -> Lever:
    said = {k: v for one in airs for k, v in one.anew(other(one.air)).items()}
    return lever(title, said, EASES, keys=["air"])


def _warmer(air: DayNight, by_k: float) -> "Pairs":
    day, night = (
        (c + by_k, round(float(humidity_pct(c + by_k, vapour_pa(c, rh))), 1))
        for c, rh in _pairs(air)
    )
    return day, night


def _dried(air: DayNight, by: float) -> "Pairs":
    day, night = ((c, max(rh - by, 20.0)) for c, rh in _pairs(air))
    return day, night


Pairs = tuple[tuple[float, float], tuple[float, float]]  # day, night: °C and percent


def _pairs(air: DayNight) -> Pairs:
    return (air.day_c, air.day_rh_pct), (air.night_c, air.night_rh_pct)


def _drier(air: DayNight) -> Pairs:
    (day_c, day), (night_c, night) = _pairs(air)
    return (day_c, _less(day)), (night_c, _less(night))


def _less(rh_pct: float) -> float:
    return min(rh_pct, max(rh_pct - DRIER_PCT, DRIEST_PCT))


def _warm(air: DayNight) -> Pairs:
    """Return the air with the night as warm as the day, and no more water in it."""
    day, (night_c, night) = _pairs(air)
    if night_c >= day[0]:
        return _pairs(air)
    inside = float(humidity_pct(day[0], vapour_pa(night_c, night)))
    return day, (day[0], round(inside, 1))


def _machines(climate: Climate) -> Iterator[Lever]:
    """Yield a dehumidifier, and heat all day and night where only some hours have it."""
    machine = {"rated": f"{RATED_L_PER_DAY} l/day"}
    title = f"one more dehumidifier of {RATED_L_PER_DAY} l a day"
    yield lever(title, {"more.air.room.dehumidifier": [machine]}, EASES)
    goals = [t for t in climate.thermostats if t.heat_to_c is not None]
    if goals and all(t.hours for t in goals):
        warmest = max(t.heat_to_c for t in goals if t.heat_to_c is not None)
        heat = {"to": f"{warmest:.4g} C"}
        yield lever("heat at night as by day", {"more.air.room.heat": [heat]}, EASES)
