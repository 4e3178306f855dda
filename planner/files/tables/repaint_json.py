"""When floor and coves could be painted again, as JSON for other programs."""

import json
from typing import Any

from planner.files.tables.closures_json import closures_said
from planner.nouns.choices.repaints import RepaintChoices

FORMAT = 1


def repaint_json(found: RepaintChoices) -> bytes:
    """Return every gap as `closures` does, and how worn the colour is by each.

    `rank` counts from 1, as the gaps are printed: in order of time.
    """
    repaint, wear = found.repaint, found.wear
    worn = {o.closure.gap.start: o.worn_days for o in found.options}
    gaps: list[dict[str, Any]] = closures_said(found.closures)["gaps"]
    for row, option in zip(gaps, found.closures.options, strict=True):
        row["worn_days"] = worn.get(option.gap.start) if option.figures else None
    whole = {
        **closures_said(found.closures),
        "format": FORMAT,
        "repaint": {
            "area": repaint.area,
            "colour": repaint.colour,
            "coats": repaint.coats,
            "product": found.product,
        },
        "wear": {
            "painted": None if wear.painted is None else wear.painted.isoformat(),
            "lasts_days": wear.lasts_days,
            "due": None if wear.due is None else wear.due.isoformat(),
            "days": [
                {
                    "day": d.day.isoformat(),
                    "share": d.share_frac,
                    "logged": d.is_logged,
                    "words": d.words,
                }
                for d in wear.days
            ],
        },
        "gaps": gaps,
    }
    return (json.dumps(whole, indent=1, ensure_ascii=False) + "\n").encode()
