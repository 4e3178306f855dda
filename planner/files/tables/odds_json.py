"""How sure a plan is, as JSON for other programs."""

import json
from datetime import UTC, datetime
from typing import Any

from planner.nouns.odds import Odds
from planner.nouns.plan import Plan

FORMAT = 1


def odds_json(plan: Plan, odds: Odds) -> bytes:
    """Return the odds as JSON: instants in UTC, chances as fractions.

    An instant that is null lies after `looked_until`.
    """
    whole = {
        "format": FORMAT,
        "job": plan.job,
        "time_zone": plan.zone,
        "fingerprint": plan.fingerprint,
        "futures": odds.futures,
        "seed": odds.seed,
        "looked_until": _utc(odds.looked_until),
        "returns": [
            {
                "kind": r.kind.value,
                "planned": _utc(r.planned),
                "kept": round(r.kept_frac, 4),
                "late_days": round(r.late_days, 3),
                "by": {str(c.percent): _utc(c.when) for c in r.by},
            }
            for r in odds.returns
        ],
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
                "share": round(c.share_frac, 3),
                "without": _utc(c.without),
            }
            for c in odds.threats
        ],
        "held": {h.task: round(h.frac, 4) for h in odds.held},
        "late_cost": None if odds.late_cost is None else round(odds.late_cost, 2),
        "overtime_hours": round(odds.overtime_h, 2),
    }
    return (json.dumps(whole, indent=1, ensure_ascii=False) + "\n").encode()


def _utc(when: datetime | None) -> Any:
    return None if when is None else f"{when.astimezone(UTC):%Y-%m-%dT%H:%M:%SZ}"
