"""What `dry` prints: when a coat is ready, how sure that is, and what to mind.

Light on what it loads: the answer at the wall comes at once.
"""

from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta, tzinfo

import numpy as np

from planner.air.calculator import CoatTimes, StageTime
from planner.air.moist_air import FloatArray
from planner.measures import Units
from planner.nouns.product import Product
from planner.nouns.work import ReturnKind
from planner.report.columns import item
from planner.trade.data.proofs import proofs
from planner.units import duration_words, moment_words

MEANS = {
    "set": "may be coated",
    "dry": "may be sanded and primed",
    "recoat": "may be coated",
    ReturnKind.LIGHT_FOOT_TRAFFIC: "may be walked on",
    ReturnKind.FULL_SERVICE: "in full service",
    "hold": "holds",
    "full": "at full strength",
    "crust": "has crusted",
    "load": "may be loaded",
    "trim": "may be trimmed",
    "free of fumes": "is free of fumes",
}


def _moment(hours: float | None, since: datetime | None, zone: tzinfo | None) -> str:
    if hours is None:
        return "not within the series"
    words = duration_words(hours * 60)
    if since is None or zone is None:
        return words
    return f"{words}, {moment_words(since + timedelta(hours=hours), zone)}"


def _stage_words(s: StageTime, since: datetime | None, zone: tzinfo | None) -> str:
    means = MEANS.get(s.stage, s.stage)
    planned, likely, earliest = (
        _moment(h, since, zone) for h in (s.planned_h, s.likely_h, s.earliest_h)
    )
    if s.planned_h == 0.0:
        return f"{means} at once"
    return f"{means}: plan on {planned} (likely {likely}, not before {earliest})"


def dry_words(
    answer: CoatTimes, *, since: datetime | None = None, zone: tzinfo | None = None
) -> str:
    """Return when a coat reaches its stages: one line, then where it comes from.

    With `since`, an instant, each stage is also given as a moment in `zone`.
    """
    head = "; ".join(_stage_words(s, since, zone) for s in answer.stages)
    lines = item(f"{answer.title} {head}", "", hang=2)
    if answer.broken:
        broken = "; ".join(answer.broken)
        lines = [*item(f"NOT IN THIS AIR: without {broken}", "", hang=2), *lines]
    for s in answer.stages:
        proof = proofs().get((answer.kind, s.stage))
        if proof is not None:
            lines += item(f"check, {s.stage}: {proof.how} [{proof.tag}]")
    for s in answer.stages:
        cautious = _moment(s.cautious_h, None, None)
        lines += item(
            f"{s.stage}: {s.law}; {s.source.text} ({s.source.tag}); {cautious} if law, "
            "air and thickness are all out"
        )
    for x in answer.latest:
        within = _moment(x.hours_h, since, zone)
        lines += item(f"{x.name}: {within}, then {x.then}; {x.source.text}")
    for words in answer.kept:
        lines += item(f"limit kept: {words}")
    if answer.ground:
        lines += item(answer.ground)
    for words in answer.warnings:
        lines += item(f"warning: {words}")
    lines += item("No hour is proof of dryness: the check at the wall decides.")
    return "\n".join(lines) + "\n"


def table_words(
    product: Product,
    tables: Mapping[str, FloatArray],
    *,
    temps_c: Sequence[float],
    rhs_pct: Sequence[float],
    units: Units,
) -> str:
    """Return the hours of each stage by humidity and temperature, for the site hut."""
    lines = [f"{product.title}: likely hours; a dash where the law does not reach"]
    for stage, hours in tables.items():
        means = MEANS.get(stage, stage)
        lines += ["", f"{stage} ({means})"]
        warm = "".join(f"{units.temperature(t):>14}" for t in temps_c)
        lines.append(f"  RH %{warm}")
        for rh, row in zip(rhs_pct, hours, strict=True):
            cells = "".join(
                f"{'-' if np.isnan(h) else f'{h:.1f}':>14}" for h in row.tolist()
            )
            lines.append(f"  {rh:4.0f}{cells}")
    lines += ["", "No table is proof of dryness: check it at the wall."]
    return "\n".join(lines) + "\n"
