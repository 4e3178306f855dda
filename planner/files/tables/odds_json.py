"""How sure a plan is, as JSON for other programs."""

import json
from datetime import UTC, datetime
from typing import Any

from planner.nouns.odds import (
    HindsightBound,
    Holder,
    Odds,
    ReturnOdds,
    tentative_percent,
)
from planner.nouns.plan import Plan

FORMAT = 2


def odds_json(
    plan: Plan,
    odds: Odds,
    bound: HindsightBound | None = None,
    as_of: datetime | None = None,
) -> bytes:
    """Return the odds as JSON: instants in UTC, chances as fractions.

    Of a job that has begun, they are those of what is left `as_of` a moment.
    An instant that is null lies after `looked_until`; so does a bound that is null, or
    none was asked for.
    """
    whole = {
        "format": FORMAT,
        "job": plan.job,
        "time_zone": plan.zone,
        "fingerprint": plan.fingerprint,
        "left_as_of": _utc(as_of),
        "futures": odds.futures,
        "seed": odds.seed,
        "sure_percent": odds.sure_percent,
        "looked_until": _utc(odds.looked_until),
        "returns": [_return(r, odds.sure_percent) for r in odds.returns],
        "no_plan_promises_before": None if bound is None else _bound(bound),
        "collisions": [
            {
                "booking": c.words,
                "start": _utc(c.start),
                "end": _utc(c.end),
                "chance": round(c.frac, 4),
            }
            for c in odds.collisions
        ],
        "causes": [
            {
                "cause": c.threat.value,
                "share": round(c.share_frac or 0.0, 3),
                "without": _utc(c.without),
                "days": round(c.days, 3),
                "cost": _money(c.cost),
            }
            for c in odds.threats
        ],
        "one_more": [
            {
                "like": m.like,
                "by_80": _utc(m.when),
                "days": round(m.days, 3),
                "cost": _money(m.cost),
            }
            for m in odds.more
        ],
        "held": {h.task: round(h.frac, 4) for h in odds.held},
        "held_by_people": _held(odds, Holder.PERSON),
        "held_by_waits": _held(odds, Holder.WAIT),
        "late_cost": _money(odds.late_cost),
        "overtime_hours": round(odds.overtime_h, 2),
    }
    return (json.dumps(whole, indent=1, ensure_ascii=False) + "\n").encode()


def _held(odds: Odds, holder: Holder) -> dict[str, float]:
    return {h.name: round(h.frac, 4) for h in odds.held_for if h.holder is holder}


def _money(value: float | None) -> float | None:
    return None if value is None else round(value, 2)


def _utc(when: datetime | None) -> Any:
    return None if when is None else f"{when.astimezone(UTC):%Y-%m-%dT%H:%M:%SZ}"


def _return(r: ReturnOdds, sure: int) -> dict[str, Any]:
    return {
        "kind": r.kind.value,
        "working_plan": _utc(r.planned),
        "promise": _utc(r.promised(sure)),
        "tentative_until": _utc(r.promised(tentative_percent(sure))),
        "kept": round(r.kept_frac, 4),
        "late_days": round(r.late_days, 3),
        "by": {str(c.percent): _utc(c.when) for c in r.by},
    }


def _bound(bound: HindsightBound) -> dict[str, Any]:
    return {
        "futures": bound.futures,
        "when": _utc(bound.when),
        "low": _utc(bound.low),
        "high": _utc(bound.high),
    }
