"""Levers of the crew: one person more, Saturdays, a later end of the day."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import time

from planner.files.job.sections.shift_words import shift_line
from planner.levers.lever import HOURS, Lever, address, lever
from planner.nouns.job import CrewMember, Job, Shift
from planner.units import duration_words

TRADES = ("carpenter", "finisher", "labourer", "painter")
SATURDAY = 5
LONGER_H = 2.0  # by which everybody quits later
LATEST = time(22)  # nobody is asked to stay longer than this


def of_the_crew(job: Job) -> Iterator[Lever]:
    """Yield what more people and more hours could do."""
    for group in more_people(job):
        if any(_trade(group[0]) in p.trades for p in job.crew):
            yield group[0]
    yield from saturdays(job)
    yield from longer_days(job, (LONGER_H,))


def more_people(job: Job) -> Iterator[tuple[Lever, ...]]:
    """Yield one more of each trade, and two, with the hours of one who is there."""
    called = {p.name for p in job.crew}
    for trade in TRADES:
        name = f"one more {trade}"
        if name in called:
            continue
        one = _person(job, trade, name)
        two = _person(job, trade, f"another {trade}")
        yield (
            lever(name, {"more.crew": [one]}, HOURS, keys=[name]),
            lever(f"two more {trade}s", {"more.crew": [one, two]}, HOURS, keys=[name]),
        )


def _trade(one_more: Lever) -> str:
    return one_more.title.rpartition(" ")[2]


def _person(job: Job, trade: str, name: str) -> dict[str, object]:
    """Return one of the crew as the job file says it."""
    person: dict[str, object] = {"name": name, "trades": [trade]}
    same = sorted((p for p in job.crew if trade in p.trades), key=lambda p: p.name)
    for like in same[:1]:
        person["shifts"] = [shift_line(s) for s in like.shifts]
        if like.rate_per_h is not None:
            person["rate"] = like.rate_per_h
    return person


def stand_in(person: CrewMember) -> Lever:
    """Return somebody with the trades and shifts of one of the crew, and no calendar."""
    name = f"a stand-in for {person.name}"
    said: dict[str, object] = {
        "name": name,
        "trades": list(person.trades),
        "shifts": _lines(person.shifts),
    }
    if person.rate_per_h is not None:
        said["rate"] = person.rate_per_h
    return lever(name, {"more.crew": [said]}, HOURS, keys=[name])


def saturdays(job: Job) -> Iterator[Lever]:
    """Yield Saturdays for everybody, in the hours of their last weekday."""
    said: dict[str, object] = {}
    for person in job.crew:
        days = {d: s for s in person.shifts for d in s.weekdays}
        if SATURDAY not in days and (week := [d for d in days if d < SATURDAY]):
            more = Shift(weekdays=(SATURDAY,), hours=days[max(week)].hours)
            said[f"{address(job, person)}.shifts"] = _lines((*person.shifts, more))
    if said:
        yield lever("Saturdays for all of the crew", said, HOURS, keys=["shifts"])


def longer_days(job: Job, hours: Sequence[float]) -> Iterator[Lever]:
    """Yield later ends of the day for everybody, within the stage's own hours. [h]."""
    last = job.stage_hours[1] if job.stage_hours else LATEST
    latest = min(LATEST, last) if last != time() else LATEST
    for more_h in hours:
        said: dict[str, object] = {}
        for person in job.crew:
            longer = tuple(_longer(s, latest, more_h) for s in person.shifts)
            if longer != person.shifts:
                said[f"{address(job, person)}.shifts"] = _lines(longer)
        if said:
            title = f"all of the crew stay up to {duration_words(more_h * 60)} longer"
            yield lever(title, said, HOURS, keys=["shifts"])


def _longer(shift: Shift, latest: time, more_h: float) -> Shift:
    """Return a shift that ends later; one that reaches into the night stays."""
    start, end = shift.hours[-1]
    if end <= start or end >= latest:
        return shift
    minutes = min(end.hour * 60 + end.minute + round(more_h * 60), 24 * 60 - 1)
    later = min(time(*divmod(minutes, 60)), latest)
    return replace(shift, hours=(*shift.hours[:-1], (start, later)))


def _lines(shifts: tuple[Shift, ...]) -> list[str]:
    return [shift_line(s) for s in shifts]
