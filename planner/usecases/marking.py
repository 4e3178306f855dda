"""Which mark a plan gets as it is written: that of the plan that stands, or the next."""

from dataclasses import replace
from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo

from planner.errors import PlannerError
from planner.files.folder import outdir, planfile
from planner.nouns.plan import Plan
from planner.nouns.told.mark import following


def standing_in(folder: Path) -> Plan | None:
    """Return the plan that stands in a folder; None where none can be read."""
    stored = outdir.read(folder, "plan.json")
    if stored is None:
        return None
    try:
        return planfile.read_plan(stored, file=str(folder / "plan.json"))
    except PlannerError:  # damaged, or of another version: it gives no mark
        return None


def marked(plan: Plan, before: Plan | None, now: datetime) -> Plan:
    """Return a plan with its mark: that of the one before it if they are the same.

    So a job that is planned again without any change gives the same bytes, on whatever
    day that is done.
    """
    last = None if before is None else before.mark
    if before is not None and last is not None and _bare(before) == _bare(plan):
        return replace(plan, mark=last)
    day = now.astimezone(ZoneInfo(plan.zone)).date()
    return replace(plan, mark=following(last, day))


def _bare(plan: Plan) -> bytes:
    return planfile.plan_bytes(replace(plan, mark=None))
