"""The purchase list as CSV and as JSON."""

import csv
import io
import json
from collections.abc import Sequence

from pydantic import TypeAdapter

from planner.nouns.purchase import PlannedSupply, ToolDays

COLUMNS = (
    "kind",
    "id",
    "title",
    "buy",
    "pack",
    "pack_holds",
    "unit",
    "net",
    "waste_pct",
    "with_waste",
    "on_site_by",
    "first_use_utc",
    "needed_until",
    "tasks",
    "reckoned",
)
FORMAT_VERSION = 1
_SUPPLIES = TypeAdapter(tuple[PlannedSupply, ...])
_TOOLS = TypeAdapter(tuple[ToolDays, ...])


def quantities_csv(
    supplies: Sequence[PlannedSupply], tools: Sequence[ToolDays]
) -> bytes:
    """Return supplies and tools as CSV, a row each; days are those of the site."""
    out = io.StringIO(newline="")
    writer = csv.DictWriter(out, COLUMNS, restval="", lineterminator="\n")
    writer.writeheader()
    for s in supplies:
        writer.writerow(
            {
                "kind": "supply",
                "id": s.id,
                "title": s.title,
                "buy": s.packs,
                "pack": s.pack,
                "pack_holds": f"{s.pack_holds:g}",
                "unit": s.unit,
                "net": f"{s.net:g}",
                "waste_pct": f"{s.waste_frac * 100:g}",
                "with_waste": f"{s.with_waste:g}",
                "on_site_by": s.on_site.isoformat() if s.on_site else "",
                "first_use_utc": f"{s.first_use:%Y-%m-%dT%H:%M:%SZ}"
                if s.first_use
                else "",
                "tasks": " ".join(u.task for u in s.uses),
                "reckoned": "; ".join(s.reckoned),
            }
        )
    for t in tools:
        for first, last in t.periods or ((None, None),):
            writer.writerow(
                {
                    "kind": "hired tool" if t.hire else "tool",
                    "id": t.id,
                    "title": t.title,
                    "buy": "" if t.count is None else t.count,
                    "on_site_by": first.isoformat() if first else "",
                    "needed_until": last.isoformat() if last else "",
                    "tasks": " ".join(t.tasks),
                    "reckoned": t.source,
                }
            )
    return out.getvalue().encode()


def quantities_json(
    supplies: Sequence[PlannedSupply], tools: Sequence[ToolDays], *, job: str, plan: str
) -> bytes:
    """Return supplies and tools as JSON; `plan` is the plan's fingerprint, if any."""
    whole = {
        "format_version": FORMAT_VERSION,
        "job": job,
        "plan": plan or None,
        "supplies": _SUPPLIES.dump_python(tuple(supplies), mode="json"),
        "tools": _TOOLS.dump_python(tuple(tools), mode="json"),
    }
    return json.dumps(whole, ensure_ascii=False, indent=1).encode() + b"\n"
