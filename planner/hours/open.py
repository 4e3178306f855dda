"""Who and what is open when: shifts, without days off and what calendars take."""

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from planner.hours.grid import Grid
from planner.hours.spans import Spans
from planner.nouns.calendar import Busy
from planner.nouns.job import CrewMember
from planner.nouns.told.saying import Saying, name, saying

# The longest break within a shift, the afternoon of a split shift say; nobody has
# slept in less. Common practice, no source.
BREAK = timedelta(hours=6)


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenHours:
    """Open ticks, the shifts they lie in, and what was taken out of the shifts.

    `taken` holds, for each reason in words, the shift ticks that it closes; the
    reasons are a public holiday or the entry of a calendar.
    """

    open: Spans
    shifts: Spans
    taken: tuple[tuple[str, Spans], ...]


def local_span(
    day: date, start: time, end: time, zone: ZoneInfo
) -> tuple[datetime, datetime]:
    """Return [start, end) of local clock times; an end not after start is next day."""
    last = day if end > start else day + timedelta(days=1)
    return (
        datetime.combine(day, start, tzinfo=zone),
        datetime.combine(last, end, tzinfo=zone),
    )


def shift_spans(
    day: date, hours: Sequence[tuple[time, time]], zone: ZoneInfo
) -> list[tuple[datetime, datetime]]:
    """Return the stretches of a shift that begins on a day.

    What follows a stretch past midnight lies on the next day: "Mon 20:00-02:00
    02:30-06:00" ends on Tuesday.
    """
    out: list[tuple[datetime, datetime]] = []
    for start, end in hours:
        out.append(local_span(day, start, end, zone))
        if end <= start:
            day += timedelta(days=1)
    return out


def entry_words(busy: Busy) -> str:
    """Return the reason of a taken stretch: title and file, no title if private."""
    return entry_saying(busy).text


def entry_saying(busy: Busy) -> Saying:
    """Return the same as a sentence that other languages can say."""
    file = name("file", busy.file)
    if not busy.title:
        return saying("a private entry ({file})", file)
    return saying('"{title}" ({file})', name("title", busy.title), file)


def person_hours(
    person: CrewMember,
    *,
    grid: Grid,
    busy: Sequence[Busy],
    holidays: Sequence[tuple[date, str]],
) -> OpenHours:
    """Return a person's open ticks on the grid.

    An open tick lies wholly inside a shift and is touched by no busy stretch; on a
    public holiday no shift begins. Hours less than `BREAK` apart are one shift, also
    where the job file has them on two lines.
    """
    free_days = dict(holidays)
    lines: list[list[tuple[datetime, datetime]]] = []
    off: dict[str, list[tuple[datetime, datetime]]] = {}
    days = grid.days()
    first = days[0][0] - timedelta(days=1)  # a night shift may reach in
    for day in (first, *(d for d, _, _ in days)):
        for shift in person.shifts:
            if day.weekday() not in shift.weekdays:
                continue
            spans = shift_spans(day, shift.hours, grid.zone)
            if day in free_days:
                off.setdefault(f"{free_days[day]} (public holiday)", []).extend(spans)
            else:
                lines.append(spans)
    worked = [span for spans in lines for span in spans]
    inside = [grid.inward(spans) for spans in _together(lines)]
    hulls = [(s.items[0][0], s.items[-1][1]) for s in inside if s]
    ordinary = grid.inward(worked)
    taken = [
        (reason, ticks)
        for reason, spans in off.items()
        if (ticks := grid.inward(spans))  # a holiday before the grid closes nothing
    ]
    left = ordinary.mask(grid.ticks)
    starts = [start for start, _ in ordinary]
    for entry in busy:
        closed = grid.outward([(entry.start, entry.end)])
        cut = _part(ordinary, starts, closed)
        if cut:
            taken.append((entry_words(entry), cut))
            for start, end in cut:
                left[start:end] = False
    return OpenHours(
        open=Spans.from_mask(left), shifts=_apart(hulls, left), taken=tuple(taken)
    )


def _part(whole: Spans, starts: Sequence[int], one: Spans) -> Spans:
    """Return what `whole`, whose spans begin at `starts`, has in a single span.

    A calendar may hold thousands of entries: only the spans that it meets are seen.
    """
    if not one:
        return one
    ((first, last),) = one.items
    begin = max(bisect_right(starts, first) - 1, 0)
    end = bisect_left(starts, last)
    return Spans(whole.items[begin:end]) & one


def _together(
    lines: Iterable[list[tuple[datetime, datetime]]],
) -> list[list[tuple[datetime, datetime]]]:
    """Return the stretches of each shift: lines less than a break apart are one."""
    out: list[list[tuple[datetime, datetime]]] = []
    over = datetime.min.replace(tzinfo=UTC)
    for spans in sorted(lines, key=lambda line: line[0][0].astimezone(UTC)):
        if out and spans[0][0].astimezone(UTC) - over < BREAK:
            out[-1] += spans
        else:
            out.append(list(spans))
        over = max(over, spans[-1][1].astimezone(UTC))
    return out


def _apart(hulls: list[tuple[int, int]], opened: NDArray[np.bool_]) -> Spans:
    """Return the shifts that have an open tick; shifts that touch count as one."""
    return Spans(tuple((a, b) for a, b in Spans.of(hulls) if opened[a:b].any()))


def daily(grid: Grid, hours: tuple[time, time] | None) -> Spans:
    """Return the ticks inside the same hours of every day; None: all ticks."""
    if hours is None:
        return Spans(((0, grid.ticks),))
    start = grid.days()[0][0] - timedelta(days=1)
    spans = [
        local_span(day, *hours, grid.zone)
        for day in (start, *(d for d, _, _ in grid.days()))
    ]
    return grid.inward(spans)
