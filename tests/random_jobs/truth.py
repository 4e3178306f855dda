"""A plan against what its job was made of: hours, calendars, holidays, the delivery.

Nothing here has been read from a calendar or a shift's line: whoever drew the job
knows what they stand for.
"""

from collections.abc import Iterable, Sequence
from datetime import UTC, date, datetime, time, timedelta
from itertools import pairwise
from typing import Any

from tests.random_jobs import crews
from tests.random_jobs.calendars import Stretch
from tests.random_jobs.crews import Mate
from tests.random_jobs.jobs import RandomJob


def at(text: str) -> datetime:
    """Return an instant of plan.json."""
    return datetime.fromisoformat(text)


def spans_of(task: dict[str, Any]) -> list[Stretch]:
    """Return the stretches in which a task is worked."""
    return [(at(a), at(b)) for a, b in task["spans"]]


def faults_of(job: RandomJob, plan: dict[str, Any]) -> list[str]:
    """Return, in words, each thing of the plan that the job doesn't allow."""
    first = at(plan["grid_start"]) - timedelta(days=2)
    last = at(plan["grid_start"]) + timedelta(days=7 * 53 + 2)
    days = [first.date() + timedelta(days=n) for n in range((last - first).days + 1)]
    out: list[str] = []
    for mate in job.mates:
        out += _person(job, plan, mate, days)
    out += _stage(job, plan, days)
    begin = datetime.combine(job.table["job"]["earliest"], time(), tzinfo=job.zone)
    starts = {t["id"]: at(t["start"]) for t in plan["tasks"]}
    out += [f"{t} before the earliest day" for t, s in starts.items() if s < begin]
    return [*out, *_delivery(job, plan)]


def _person(
    job: RandomJob, plan: dict[str, Any], mate: Mate, days: Sequence[date]
) -> list[str]:
    name = mate.table["name"]
    (id_,) = (c["id"] for c in plan["crew"] if c["name"] == name)
    holidays = job.takes["holidays.ics"].days if "holidays.ics" in job.takes else ()
    open_ = _merged(
        s
        for day in days
        if day not in holidays
        for shift in mate.shifts
        for s in shift.on(day, job.zone)
    )
    taken = _taken(job, [mate.table.get("calendar", "")])
    out: list[str] = []
    for task in plan["tasks"]:
        if id_ not in task["team"]:
            continue
        for span in spans_of(task):
            if not any(a <= span[0] and span[1] <= b for a, b in open_):
                out.append(f"{name} at {task['id']} outside of every shift, {span[0]}")
            out += (
                f"{name} at {task['id']} while the calendar has {a} to {b}"
                for a, b in taken
                if span[0] < b and a < span[1]
            )
    return out


def _stage(job: RandomJob, plan: dict[str, Any], days: Sequence[date]) -> list[str]:
    stage, out = job.table["stage"], []
    hours = stage.get("hours", "00:00-24:00")
    open_ = _merged(crews.span(hours, day, job.zone) for day in days)
    loud = _taken(job, stage.get("quiet", []))
    for task in plan["tasks"]:
        for span in spans_of(task):
            if task["on_stage"] and not any(
                a <= span[0] and span[1] <= b for a, b in open_
            ):
                out.append(f"{task['id']} while the building is shut, {span[0]}")
            if task["loud"] and any(span[0] < b and a < span[1] for a, b in loud):
                out.append(f"{task['id']} is loud in quiet hours, {span[0]}")
    start, end = (at(x) for x in plan["stages"][0]["closure"])
    out += (
        f"the closure meets the booking of {a}"
        for a, b in _taken(job, stage.get("bookings", []))
        if start < b and a < end
    )
    return out


def _delivery(job: RandomJob, plan: dict[str, Any]) -> list[str]:
    come = job.table["job"].get("delivery")
    if come is None:
        return []
    come = come if come.tzinfo else come.replace(tzinfo=job.zone)
    intake = next(t for t in plan["tasks"] if t["phase"] == "intake")
    start = at(intake["start"])
    day = come.astimezone(job.zone).date()
    if start >= come and start.astimezone(job.zone).date() == day:
        return []
    return [f"crates that come at {come} are opened at {start}"]


def _taken(job: RandomJob, names: Sequence[str]) -> list[Stretch]:
    """Return what some calendars take, tentative stretches too unless they count free."""
    free = job.table.get("calendars", {}).get("tentative") == "free"
    found: list[Stretch] = []
    for name in names:
        if name in job.takes:
            made = job.takes[name]
            found += [*made.busy, *(() if free else made.tentative)]
    return found


def _merged(stretches: Iterable[Stretch]) -> list[Stretch]:
    """Return stretches in order, those that touch as one."""
    out: list[Stretch] = []
    for a, b in sorted(stretches):
        if out and a <= out[-1][1]:
            out[-1] = (out[-1][0], max(out[-1][1], b))
        else:
            out.append((a, b))
    assert all(a[1] < b[0] for a, b in pairwise(out))
    return [(a.astimezone(UTC), b.astimezone(UTC)) for a, b in out]
