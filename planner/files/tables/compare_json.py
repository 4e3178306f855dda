"""A comparison as JSON for other programs."""

import json
from datetime import UTC, datetime
from typing import Any

from planner.nouns.choices.comparison import (
    Alternative,
    Comparison,
    Figures,
    Gain,
)

FORMAT = 1


def compare_json(found: Comparison) -> bytes:
    """Return a comparison as JSON: instants in UTC, days as fractions.

    A date kept that is null lies later than was looked at.
    """
    whole = {
        "format": FORMAT,
        "job": found.job,
        "time_zone": found.zone,
        "currency": found.currency,
        "futures": found.futures,
        "seed": found.seed,
        "kept_percent": found.sure_percent,
        "as_it_is": _row(found, found.as_it_is),
        "alternatives": [_row(found, one) for one in found.alternatives],
        "not_planned": list(found.unfinished),
    }
    return (json.dumps(whole, indent=1, ensure_ascii=False) + "\n").encode()


def _row(found: Comparison, one: Alternative) -> dict[str, Any]:
    won = None if one is found.as_it_is else found.gain(one)
    return {
        "title": one.title,
        "changes": list(one.changes),
        "plan": None if one.figures is None else figures_json(one.figures),
        "no_plan": one.why or None,
        "found": one.found.value,
        "against_as_it_is": None if won is None else _gain(won),
    }


def figures_json(figures: Figures) -> dict[str, Any]:
    """Return the figures of a plan as values of JSON."""
    return {
        "closed_from": _utc(figures.closure[0]),
        "closed_to": _utc(figures.closure[1]),
        "returns": [
            {
                "kind": r.kind.value,
                "planned": _utc(r.planned),
                "kept": None if r.kept is None else _utc(r.kept),
            }
            for r in figures.returns
        ],
        "stage_cost": figures.stage_cost,
        "labour_cost": figures.labour_cost,
        "binds": list(figures.binds),
        "earliest_return_proven": figures.proven,
    }


def _gain(won: Gain) -> dict[str, Any]:
    return {
        "days_gained": round(won.days, 3),
        "planned_days_gained": round(won.planned_days, 3),
        "costs_more": None if won.cost is None else round(won.cost, 2),
        "cost_per_day_gained": None if won.per_day is None else round(won.per_day, 2),
    }


def _utc(when: datetime) -> str:
    return f"{when.astimezone(UTC):%Y-%m-%dT%H:%M:%SZ}"
