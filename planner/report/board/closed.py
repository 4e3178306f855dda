"""Hours in which nothing is worked, and why: bookings, quiet, nights, days off."""

import itertools
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from planner.nouns.plan import Stretch, Taken
from planner.report.drawing.view import View

BOOKED, QUIET, NOBODY, OFF = "booked", "quiet hours", "nobody in", "day off"
WAITING = "waiting"  # hours in which somebody is in, but not who is needed

PAUSE_H = 3  # a shorter stretch with nobody in is a break, not a night


@dataclass(frozen=True, slots=True, kw_only=True)
class Closed:
    """A stretch without work: its kind, and its reason in words."""

    kind: str
    start: datetime
    end: datetime
    reason: str


def _merged(stretches: Iterable[Stretch]) -> list[Stretch]:
    """Return the stretches joined where they touch, in order."""
    out: list[Stretch] = []
    for start, end in sorted(stretches):
        if out and start <= out[-1][1]:
            out[-1] = (out[-1][0], max(end, out[-1][1]))
        elif end > start:
            out.append((start, end))
    return out


def _gaps(
    stretches: Sequence[Stretch], start: datetime, end: datetime
) -> list[Stretch]:
    """Return what a range has left beside joined stretches."""
    out, at = [], start
    for a, b in stretches:
        if a > at:
            out.append((at, min(a, end)))
        at = max(at, b)
        if at >= end:
            break
    if at < end:
        out.append((at, end))
    return [(a, b) for a, b in out if b > a]


def closed(view: View, days: Sequence[datetime]) -> tuple[Closed, ...]:
    """Return every stretch without work between the first midnight and the last.

    `days` are the midnights at the site, both ends included. A whole day that
    nobody works says why, where all are away for the same reason.
    """
    plan, start, end = view.plan, days[0], days[-1]
    booked = [_closed(BOOKED, t) for t in plan.stage.bookings]
    quiet = [_closed(QUIET, t) for t in plan.stage.quiet]
    present = _merged(s for c in plan.crew for s in c.open)
    out = [c for c in (*booked, *quiet) if c.end > start and c.start < end]
    free = _whole_days(present, days)
    out += [Closed(kind=OFF, start=a, end=b, reason=_why(view, a, b)) for a, b in free]
    out += [
        Closed(kind=NOBODY, start=a, end=b, reason=NOBODY)
        for a, b in _gaps(_merged([*present, *free]), start, end)
        if (b - a) >= timedelta(hours=PAUSE_H)
    ]
    return tuple(sorted(out, key=lambda c: (c.start, c.end, c.kind, c.reason)))


def _closed(kind: str, taken: Taken) -> Closed:
    return Closed(kind=kind, start=taken.start, end=taken.end, reason=taken.reason)


def _whole_days(present: Sequence[Stretch], days: Sequence[datetime]) -> list[Stretch]:
    """Return the days on which nobody is open, neighbours kept apart."""
    pairs = itertools.pairwise(days)
    return [(a, b) for a, b in pairs if not any(x < b and y > a for x, y in present)]


def _why(view: View, start: datetime, end: datetime) -> str:
    """Return what to call a day off: by its reason, where all who say one agree."""
    reasons = {
        t.reason
        for c in view.plan.crew
        for t in c.taken
        if t.start < end and t.end > start
    }
    return f"{OFF}: {reasons.pop()}" if len(reasons) == 1 else OFF
