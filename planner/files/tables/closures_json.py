"""Closures that could be, as JSON for other programs."""

import json
from datetime import UTC, datetime
from typing import Any

from planner.files.tables.compare_json import figures_json
from planner.nouns.choices.closures import ClosureChoices, ClosureOption

FORMAT = 1


def closures_json(found: ClosureChoices) -> bytes:
    """Return every gap with what it could hold: instants in UTC, chances 0 to 1."""
    kept = found.kept()
    whole = {
        "format": FORMAT,
        "job": found.job,
        "time_zone": found.zone,
        "currency": found.currency,
        "until": _utc(found.until),
        "kept_percent": found.sure_percent,
        "gaps": [
            _row(o, beaten=bool(o.figures) and o not in kept) for o in found.options
        ],
        "not_planned": found.not_reached,
    }
    return (json.dumps(whole, indent=1, ensure_ascii=False) + "\n").encode()


def _row(option: ClosureOption, *, beaten: bool) -> dict[str, Any]:
    gap = option.gap
    return {
        "free_from": _utc(gap.start),
        "free_to": _utc(gap.end),
        "before": gap.before or None,
        "after": gap.after or None,
        "if": list(option.moved),
        "plan": None if option.figures is None else figures_json(option.figures),
        "next_booking_hit": option.hits,
        "beaten": beaten,
        "not_back_before": _utc(option.needs_until),
        "no_plan": option.why or None,
    }


def _utc(when: datetime | None) -> str | None:
    return None if when is None else f"{when.astimezone(UTC):%Y-%m-%dT%H:%M:%SZ}"
