"""A long job in rows of weeks: which stretch of time each row of a picture shows."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from planner.report.drawing.view import View

WEEK = 7


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """A stretch of whole days at the site; `days` holds every midnight, both ends.

    In an `idle` row nothing of the plan happens; it may be as long as it likes. A `tail`
    lies after the plan's end, where it is told how sure the return is.
    """

    days: tuple[datetime, ...]
    idle: bool = False
    tail: bool = False

    @property
    def start(self) -> datetime:
        """The first midnight."""
        return self.days[0]

    @property
    def end(self) -> datetime:
        """The midnight that the row ends before."""
        return self.days[-1]

    def meets(self, start: datetime, end: datetime) -> bool:
        """Return whether a stretch reaches into the row."""
        return start < self.end and end > self.start


def midnight(day: date, zone: ZoneInfo) -> datetime:
    """Return the instant at which a day begins at the site."""
    return datetime.combine(day, time(), tzinfo=zone).astimezone(UTC)


def _midnights(first: date, count: int, zone: ZoneInfo) -> tuple[datetime, ...]:
    return tuple(midnight(first + timedelta(days=n), zone) for n in range(count + 1))


def reach(view: View) -> tuple[date, date]:
    """Return the first day of anything in the plan and the last, both included."""
    plan = view.plan
    starts = [t.start for t in plan.tasks] + [plan.stage.closure[0]]
    ends = [t.end for t in plan.tasks] + [r.when for r in plan.stage.returns]
    return (
        min(starts).astimezone(view.zone).date(),
        (max(ends) - timedelta(seconds=1)).astimezone(view.zone).date(),
    )


def rows(
    view: View, days_a_row: int, *, until: datetime | None = None
) -> tuple[Row, ...]:
    """Return the rows of a plan.

    A job that fits one row gets just its own days. Weeks begin on Monday, so that
    the same days stand under each other; shorter rows begin with the job. What lies
    after the plan's last row, to `until`, comes in tails of a week.
    """
    first, last = reach(view)
    end = last
    if until is not None:
        shown = (until - timedelta(seconds=1)).astimezone(view.zone).date()
        end = max(last, shown)
    length = (last - first).days + 1
    if length <= days_a_row:
        length = min(days_a_row, (end - first).days + 1)
        found = [Row(days=_midnights(first, length, view.zone))]
    else:
        found = _weeks(view, first, last, days_a_row)
    at = found[-1].end.astimezone(view.zone).date()
    while at <= end:
        length = min(WEEK, (end - at).days + 1) if days_a_row != WEEK else WEEK
        found.append(Row(days=_midnights(at, length, view.zone), tail=True))
        at += timedelta(days=length)
    return tuple(found)


def _weeks(view: View, first: date, last: date, days_a_row: int) -> list[Row]:
    """Return the rows of a job that doesn't fit one, those without anything joined."""
    at = first - timedelta(days=first.weekday()) if days_a_row == WEEK else first
    out: list[Row] = []
    while at <= last:
        row = Row(days=_midnights(at, days_a_row, view.zone))
        out.append(row if _busy(view, row) else Row(days=row.days, idle=True))
        at += timedelta(days=days_a_row)
    return _joined(out)


def _busy(view: View, row: Row) -> bool:
    plan = view.plan
    return (
        row.meets(*plan.stage.closure)
        or any(row.meets(a, b) for t in plan.tasks for a, b in t.spans)
        or any(row.meets(w.begins, w.ready) for w in plan.waits)
    )


def _joined(found: Sequence[Row]) -> list[Row]:
    """Return the rows with idle neighbours joined into one."""
    out: list[Row] = []
    for row in found:
        if out and out[-1].idle and row.idle:
            out[-1] = Row(days=(*out[-1].days, *row.days[1:]), idle=True)
        else:
            out.append(row)
    return out
