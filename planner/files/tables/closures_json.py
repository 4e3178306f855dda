"""Closures that could be, as JSON for other programs."""

import json
from datetime import UTC, datetime
from typing import Any

from planner.files.tables.compare_json import figures_json
from planner.nouns.choices.closures import (
    ClosureChoices,
    ClosureOption,
    StandingClosure,
)

FORMAT = 2


def closures_json(found: ClosureChoices) -> bytes:
    """Return every gap with what it could hold: instants in UTC, chances 0 to 1.

    `rank` counts from 1, as the closures are printed; null where there is none, or
    another one is better in every way.
    """
    whole = {**closures_said(found), "plan_that_stands": _standing(found.standing)}
    return (json.dumps(whole, indent=1, ensure_ascii=False) + "\n").encode()


def closures_said(found: ClosureChoices) -> dict[str, Any]:
    """Return the same before it is written."""
    ranked = found.ranked()
    return {
        "format": FORMAT,
        "job": found.job,
        "time_zone": found.zone,
        "currency": found.currency,
        "until": _utc(found.until),
        "since": _utc(found.since),
        "kept_percent": found.sure_percent,
        "wanted_back": _utc(found.back_by),
        "gaps": [
            _row(o, ranked.index(o) + 1 if o in ranked else None) for o in found.options
        ],
        "not_planned": found.not_reached,
    }


def _standing(plan: StandingClosure | None) -> dict[str, Any] | None:
    if plan is None:
        return None
    return {
        "closed_from": _utc(plan.start),
        "kept": _utc(plan.kept),
        "stage_cost": plan.stage_cost,
        "labour_cost": plan.labour_cost,
        "next_booking_hit": plan.hits,
    }


def _row(option: ClosureOption, rank: int | None) -> dict[str, Any]:
    gap, figures = option.gap, option.figures
    return {
        "free_from": _utc(gap.start),
        "free_to": _utc(gap.end),
        "before": gap.before or None,
        "after": gap.after or None,
        "if": list(option.moved),
        "moves": [
            {
                "file": b.file,
                "uid": b.uid,
                "from": _utc(b.start),
                "to": _utc(b.end),
                "costs": b.moving_cost,
            }
            for b in gap.moving
        ],
        "rank": rank,
        "costs": option.cost,
        "plan": None if figures is None else figures_json(figures),
        "back_when_wanted": None if figures is None else figures.wanted_frac,
        "next_booking_hit": option.hits,
        "beaten": figures is not None and rank is None,
        "too_short": option.too_short,
        "not_planned_because_late": option.too_late,
        "not_back_before": _utc(option.needs_until),
        "no_plan": option.why or None,
    }


def _utc(when: datetime | None) -> str | None:
    return None if when is None else f"{when.astimezone(UTC):%Y-%m-%dT%H:%M:%SZ}"
