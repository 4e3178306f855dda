"""Shifts and clock times as people write them: 'Mon-Fri 08:00-12:00 13:00-17:00'."""

import re
from collections.abc import Sequence
from datetime import time
from typing import Annotated

from pydantic import Field

from planner.nouns.job import Shift

_DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
ClockSpan = Annotated[
    str, Field(pattern=r"^\s*\d{1,2}:\d{2}\s*[-\u2013]\s*\d{1,2}:\d{2}\s*$")
]
_SPAN = re.compile(r"(\d{1,2}):(\d{2})\s*[-\N{EN DASH}]\s*(\d{1,2}):(\d{2})")


def _clock(hour: str, minute: str, text: str) -> time:
    if hour == "24" and minute == "00":
        return time(0)
    if int(hour) > 23 or int(minute) > 59:
        raise ValueError(f'"{text}" has no such time as {hour}:{minute}')
    return time(int(hour), int(minute))


def clock_span(value: object) -> tuple[time, time]:
    """Return the two local times of '07:00-22:00'; an end at 24:00 is midnight.

    The whole day, '00:00-24:00', is midnight twice.
    """
    match = _SPAN.fullmatch(value.strip()) if isinstance(value, str) else None
    if match is None or not isinstance(value, str):
        raise ValueError(f'{value!r} is not a span of hours such as "07:00-22:00"')
    h1, m1, h2, m2 = match.groups()
    start, end = _clock(h1, m1, value), _clock(h2, m2, value)
    if start == end and (h1, h2) not in (("00", "24"), ("0", "24")):
        raise ValueError(f'"{value}" ends when it begins')
    return start, end


def _weekdays(text: str, line: str) -> tuple[int, ...]:
    """Return the weekday numbers of 'Mon-Thu,Sat' (0 is Monday)."""
    out: set[int] = set()
    for part in text.split(","):
        ends = [p.strip().lower()[:3] for p in re.split(r"[-\N{EN DASH}]", part)]
        if len(ends) > 2 or any(e not in _DAYS for e in ends):
            raise ValueError(
                f'"{line}": "{part.strip()}" is not a weekday or a span of weekdays '
                "such as Mon-Fri"
            )
        first, last = _DAYS.index(ends[0]), _DAYS.index(ends[-1])
        if first > last:
            out.update(range(first, 7), range(last + 1))
        else:
            out.update(range(first, last + 1))
    return tuple(sorted(out))


def shift_of(line: str) -> Shift:
    """Return the shift of a line such as 'Mon-Fri 08:00-12:00 13:00-17:00'.

    A span whose end is not after its start runs past midnight into the next day, and
    what follows it lies there.

    Raises
    ------
    ValueError
        When the line names no weekday or no hours, or its hours overlap.
    """
    spans = list(_SPAN.finditer(line))
    if not spans:
        raise ValueError(
            f'"{line}" names no hours; write "Mon-Fri 08:00-12:00 13:00-17:00"'
        )
    rest = _SPAN.sub(" ", line[spans[0].start() :]).strip(" ,")
    days = line[: spans[0].start()].strip(" ,")
    if rest or not days:
        raise ValueError(
            f'"{line}" is not weekdays and then hours, such as '
            '"Mon-Fri 08:00-12:00 13:00-17:00"'
        )
    hours = tuple(clock_span(m.group(0)) for m in spans)
    if not _in_order(hours):
        raise ValueError(f'"{line}": the hours overlap or are out of order')
    return Shift(weekdays=_weekdays(days, line), hours=hours)


def shift_line(shift: Shift) -> str:
    """Return a shift as the line that says it.

    Examples
    --------
    >>> shift_line(shift_of("Mon-Thu,Sat 22:00-24:00"))
    'Mon,Tue,Wed,Thu,Sat 22:00-24:00'
    >>> shift_line(shift_of("mon-fri 8:00-12:00 13:00-17:00"))
    'Mon-Fri 08:00-12:00 13:00-17:00'
    """
    first, last = shift.weekdays[0], shift.weekdays[-1]
    days = ",".join(_DAYS[d].capitalize() for d in shift.weekdays)
    if shift.weekdays == tuple(range(first, last + 1)) and last > first + 1:
        days = f"{_DAYS[first].capitalize()}-{_DAYS[last].capitalize()}"
    hours = " ".join(
        f"{a:%H:%M}-{'24:00' if b == time(0) else f'{b:%H:%M}'}" for a, b in shift.hours
    )
    return f"{days} {hours}"


def _in_order(hours: Sequence[tuple[time, time]]) -> bool:
    """Tell whether hours follow each other, and are over before a day has passed."""
    day, moments = 0, []
    for start, end in hours:
        moments.append((day, start))
        day += end <= start
        moments.append((day, end))
    return moments == sorted(moments) and moments[-1] <= (1, hours[0][0])
