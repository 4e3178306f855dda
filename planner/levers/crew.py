"""Levers of the crew: one person more, Saturdays, a later end of the day."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import time

from planner.files.job.shift_words import shift_line
from planner.levers.lever import HOURS, Lever, address, lever
from planner.nouns.job import Job, Shift

SATURDAY = 5
LONGER_H = 2  # by which everybody quits later
LATEST = time(22)  # nobody is asked to stay longer than this


def of_the_crew(job: Job) -> Iterator[Lever]:
    """Yield what more people and more hours could do."""
    yield from _one_more(job)
    yield from _saturdays(job)
    yield from _later(job)


def _one_more(job: Job) -> Iterator[Lever]:
    """Yield one more of each trade, with the hours and rate of one who is there."""
    for trade in sorted({t for p in job.crew for t in p.trades}):
        like = min((p for p in job.crew if trade in p.trades), key=lambda p: p.name)
        name = f"one more {trade}"
        if any(name in (p.name, p.id) for p in job.crew):
            continue
        person: dict[str, object] = {
            "name": name,
            "trades": [trade],
            "shifts": [shift_line(s) for s in like.shifts],
        }
        if like.rate_per_h is not None:
            person["rate"] = like.rate_per_h
        yield lever(name, {"more.crew": [person]}, HOURS, keys=[name])


def _saturdays(job: Job) -> Iterator[Lever]:
    """Yield Saturdays for everybody, in the hours of their last weekday."""
    said: dict[str, object] = {}
    for person in job.crew:
        days = {d: s for s in person.shifts for d in s.weekdays}
        if SATURDAY not in days and (week := [d for d in days if d < SATURDAY]):
            more = Shift(weekdays=(SATURDAY,), hours=days[max(week)].hours)
            said[f"{address(job, person)}.shifts"] = _lines((*person.shifts, more))
    if said:
        yield lever("Saturdays for all of the crew", said, HOURS, keys=["shifts"])


def _later(job: Job) -> Iterator[Lever]:
    """Yield a later end of the day for everybody, within the stage's own hours."""
    last = job.stage_hours[1] if job.stage_hours else LATEST
    latest = min(LATEST, last) if last != time() else LATEST
    said: dict[str, object] = {}
    for person in job.crew:
        longer = tuple(_longer(s, latest) for s in person.shifts)
        if longer != person.shifts:
            said[f"{address(job, person)}.shifts"] = _lines(longer)
    if said:
        title = f"all of the crew stay up to {LONGER_H} h longer"
        yield lever(title, said, HOURS, keys=["shifts"])


def _longer(shift: Shift, latest: time) -> Shift:
    """Return a shift that ends later; one that reaches into the night stays."""
    start, end = shift.hours[-1]
    if end <= start or end >= latest:
        return shift
    later = min(time(min(end.hour + LONGER_H, 23), end.minute), latest)
    return replace(shift, hours=(*shift.hours[:-1], (start, later)))


def _lines(shifts: tuple[Shift, ...]) -> list[str]:
    return [shift_line(s) for s in shifts]
