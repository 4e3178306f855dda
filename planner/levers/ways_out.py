"""Small changes that may make a job fit that has no plan, the smallest of a kind first."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import time, timedelta
from typing import Any

from planner import units
from planner.levers.air import warmer_or_drier
from planner.levers.crew import longer_days, more_people, saturdays, stand_in
from planner.levers.lever import Lever, lever
from planner.levers.methods import of_methods
from planner.nouns.job import Job

DAYS = 10  # after the crates' day, tried one by one
LONGER_H = (0.5, 1, 2, 3, 4)
OPEN = (("06:00", "23:00"), ("00:00", "24:00"))


@dataclass(frozen=True, slots=True, kw_only=True)
class WayOut:
    """Changes of a kind, the smallest first; `of` are the facts that they may ease.

    With `rising`, each does what those before it do and more, so that the largest
    tells whether any does.
    """

    levers: tuple[Lever, ...]
    of: tuple[str, ...]
    rising: bool = True

    def may_ease(self, facts: tuple[str, ...]) -> bool:
        """Tell whether it may ease one of the facts that clash; none known: perhaps."""
        return not facts or any(f.startswith(self.of) for f in facts)


def ways_out(
    job: Job,
    file: Mapping[str, Any],
    named: tuple[str, ...],
    called: Mapping[str, str] | None = None,
) -> Iterator[WayOut]:
    """Yield what may make a job fit, by kinds; what costs least is first.

    `file` are the values of the job file; `named` are facts that clash, and `called` what
    people call those of them that are bookings.
    """
    yield WayOut(levers=tuple(_later_crates(job)), of=("delivery",), rising=False)
    for one in of_methods(job):
        if one.keys & {"methods.lifting"}:
            yield WayOut(levers=(one,), of=("lifts",))
        elif one.keys & {"methods.primer_in"}:
            yield WayOut(levers=(one,), of=("too long", "limits", "person:"))
        elif one.keys & {"methods.fill", "methods.setting", "methods.primer"}:
            yield WayOut(levers=(one,), of=("limits", "window:"))
    hours = ("too long", "person:", "rest:")
    yield WayOut(levers=tuple(_stage_open(job)), of=("stage-hours", "too long"))
    yield WayOut(levers=tuple(longer_days(job, LONGER_H)), of=hours)
    for group in more_people(job):
        of = ("nobody", "lifts", *hours)
        yield WayOut(levers=group, of=of)
    for person in job.crew:
        yield WayOut(levers=(stand_in(person),), of=(f"person:{person.id}",))
    yield WayOut(levers=tuple(saturdays(job)), of=(*hours, "delivery"))
    for group in warmer_or_drier(job, file):
        yield WayOut(levers=group, of=("limits",))
    yield from _calendars(file, named, called or {})


def _later_crates(job: Job) -> Iterator[Lever]:
    """Yield the crates on each of the days after the one on which they come."""
    if job.delivery is None:
        return
    for days in range(1, DAYS + 1):
        when = job.delivery.replace(tzinfo=None) + timedelta(days=days)
        words = units.moment_words(when.replace(tzinfo=job.zone), job.zone)
        said = f"job.delivery={when.isoformat()}"
        yield Lever(
            title=f"the crates come {words}",
            say=said,
            keys=frozenset(["job.delivery"]),
            eases=frozenset(),
        )


def _stage_open(job: Job) -> Iterator[Lever]:
    """Yield longer hours of the building."""
    if job.stage_hours is None:
        return
    first, last = job.stage_hours
    end = time.max if last == time() else last
    for since, until in OPEN:
        begins = min(first, time.fromisoformat(since))
        ends = time.max if until == "24:00" else max(end, time.fromisoformat(until))
        if (begins, ends) != (first, end):
            words = f"{begins:%H:%M}-{'24:00' if ends == time.max else f'{ends:%H:%M}'}"
            yield lever(f"the building open {words}", {"stage.hours": words}, ())


def _calendars(
    file: Mapping[str, Any], named: tuple[str, ...], called: Mapping[str, str]
) -> Iterator[WayOut]:
    """Yield the quiet hours and the bookings that clash, each left out."""
    stage = file.get("stage", {})
    quiet = stage.get("quiet", [])
    for number, one in enumerate(quiet, 1):
        title = f"without the quiet hours of {_name(one)}"
        way = lever(title, {"without": [f"stage.quiet.{number}"]}, ())
        yield WayOut(levers=(way,), of=(f"quiet:{_name(one)}",))
    for fact in named:
        kind, _, rest = fact.partition(":")
        of, _, uid = rest.partition(":")
        files = [x for x in stage.get("bookings", []) if _name(x) == of]
        if kind == "booking" and files:
            entry = {"file": files[0], "uid": uid}
            title = f"without the booking {called.get(fact, f'{uid} of {of}')}"
            way = lever(title, {"more.calendars.leave_out": [entry]}, ())
            yield WayOut(levers=(way,), of=(fact,))


def _name(path: str) -> str:
    return path.rpartition("/")[2]
