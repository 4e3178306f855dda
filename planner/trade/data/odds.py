"""How far a job may differ from its plan, each number with its source, from `odds.toml`."""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from math import exp, log, sqrt
from statistics import NormalDist

from planner.nouns.job import Job
from planner.nouns.odds import Factor, Spread


@dataclass(frozen=True, slots=True, kw_only=True)
class Assumed:
    """One number: a factor, a chance, hours, K or points of humidity, as `unit` says."""

    title: str
    unit: str  # "factor", "chance", "h", "K", "points"
    value: float | Factor
    source: str
    tag: str


@cache
def assumed() -> Mapping[str, Assumed]:
    """Return every number by its name in the job file's section `[odds]`."""
    text = files("planner.trade.data").joinpath("odds.toml").read_text(encoding="utf-8")
    out = {}
    for name, raw in tomllib.loads(text).items():
        value = raw["value"]
        if raw["unit"] == "factor":
            value = Factor(frac=value)
        out[name] = Assumed(**{**raw, "value": value})
    return out


def with_own(own: Mapping[str, float | Factor]) -> Mapping[str, Assumed]:
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


def spread(job: Job) -> Spread:
    """Return how far a job may differ from its plan."""
    value = {name: one.value for name, one in with_own(dict(job.own_odds)).items()}

    def factor(name: str) -> Factor:
        found = value[name]
        assert isinstance(found, Factor)
        return found

    def number(name: str) -> float:
        found = value[name]
        assert isinstance(found, float)
        return found

    return Spread(
        pace_job=factor("pace"),
        pace_work=factor("pace_by_work"),
        pace_task=factor("pace_by_task"),
        waits_job=factor("waits"),
        waits_coat=factor("waits_by_coat"),
        air_delta_k=number("temperature"),
        air_delta_rh_pct=number("humidity"),
        air_memory_h=number("air_memory"),
        late_chance=number("late_crates"),
        late_h=number("late_by"),
        away_chance=number("away"),
        touch_up_h=number("touch_up"),
        damaged_chance=number("damaged_pieces"),
        replaced_h=number("replaced_in"),
        overrun_chance=number("booking_late"),
        overrun_h=number("booking_late_by"),
        own_pace=job.own_pace,
        own_waits=job.own_waits,
        learned_pace=job.learned_pace,
        learned_waits=job.learned_waits,
    )


def of_points(shortest: float, usual: float, longest: float) -> Factor:
    """Return the factor with the mean and standard deviation that PERT gives it.

        mean = (shortest + 4 usual + longest) / 6;  deviation = (longest - shortest) / 6

    A log-normal distribution with this mean and deviation is taken in place of the beta
    distribution of PERT.

    Parameters
    ----------
    shortest, usual, longest
        Shares of what is planned, more than 0, in this order; the way from `usual` to
        `longest` is no shorter than that from `shortest`, as a log-normal
        distribution leans to the long side.

    Raises
    ------
    ValueError
        With words for the user: the points don't lie so.

    References
    ----------
    Malcolm, Roseboom, Clark and Fazar, "Application of a technique for research and
    development program evaluation", Operations Research 7(5), 1959 (from memory).
    """
    said = f"shortest {_pct(shortest)}, usual {_pct(usual)}, longest {_pct(longest)}"
    if not shortest <= usual <= longest:
        raise ValueError(f"{said}: they don't rise")
    if longest - usual < usual - shortest - 1e-9:
        raise ValueError(
            f"{said}: work and waits run over by more than they fall short; longest "
            f"must be {_pct(2 * usual - shortest)} at least"
        )
    mean = (shortest + 4.0 * usual + longest) / 6.0
    relative = (longest - shortest) / 6.0 / mean
    frac = sqrt(log(1.0 + relative**2))
    return Factor(frac=frac, median=mean / sqrt(1.0 + relative**2), said=said)


def of_percentiles(p10: float, p90: float) -> Factor:
    """Return the factor that is below `p10` in one case of ten and above `p90` in one.

    Both are shares of what is planned, more than 0. The median is their geometric mean.

    Raises
    ------
    ValueError
        With words for the user: they don't rise.
    """
    said = f"one in ten below {_pct(p10)}, one in ten above {_pct(p90)}"
    if not p10 <= p90:
        raise ValueError(f"p10 {_pct(p10)}, p90 {_pct(p90)}: they don't rise")
    frac = log(p90 / p10) / (2.0 * NormalDist().inv_cdf(0.9))
    return Factor(frac=frac, median=exp((log(p10) + log(p90)) / 2.0), said=said)


def _pct(share: float) -> str:
    return f"{share * 100:g} %"
