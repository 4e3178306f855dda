"""Who comes when: for each person the days called, shift by shift, and the sums."""

from dataclasses import dataclass
from datetime import datetime

from planner.nouns.plan import Crewmate, PlannedTask, Stretch
from planner.report.drawing.view import View, minutes_between


@dataclass(frozen=True, slots=True, kw_only=True)
class CalledDay:
    """A day on which a person is needed: the shift given, the hours at work, on what."""

    day: str
    shift: str
    at_work: str
    hours: str
    tasks: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PersonRows:
    """A person's days and sums, in words."""

    id: str
    name: str
    trades: str
    days: tuple[CalledDay, ...]
    hours: str
    idle: str
    called: int
    free: tuple[str, ...]


def person_rows(view: View, person: Crewmate) -> PersonRows:
    """Return a person's called days; `free` are shifts not needed before the return."""
    work = [
        (a, b, t) for t in view.plan.tasks if person.id in t.team for a, b in t.spans
    ]
    days: dict[str, list[tuple[datetime, datetime, PlannedTask]]] = {}
    for a, b, task in sorted(work, key=lambda w: (w[0], w[2].id)):
        days.setdefault(view.day(a), []).append((a, b, task))
    last = view.plan.stage.closure[1]
    first = min((t.start for t in view.plan.tasks), default=last)
    free = dict.fromkeys(
        view.day(a)
        for a, b in person.shifts
        if b > first and a < last and _open_in(person, a, b)
    )
    return PersonRows(
        id=person.id,
        name=person.name,
        trades=", ".join(map(view.told, person.trades)),
        days=tuple(
            CalledDay(
                day=day,
                shift=_shift(view, person, found[0][0]),
                at_work=view.clocks(found[0][0], max(b for _, b, _ in found)),
                hours=view.language.duration(
                    sum(minutes_between(a, b) for a, b, _ in found)
                ),
                tasks=tuple(dict.fromkeys(view.title(t.id) for _, _, t in found)),
            )
            for day, found in days.items()
        ),
        hours=view.language.duration(person.worked_min),
        idle=view.language.duration(person.idle_min),
        called=person.days_called,
        free=tuple(d for d in free if d not in days),
    )


def _open_in(person: Crewmate, start: datetime, end: datetime) -> bool:
    """Return whether anything of a shift is left beside what closes the person."""
    return any(a < end and b > start for a, b in person.open)


def _shift(view: View, person: Crewmate, moment: datetime) -> str:
    """Return the shifts of a moment's day, from the first start to the last end."""
    day = view.day(moment)
    own: list[Stretch] = [s for s in person.shifts if view.day(s[0]) == day]
    if not own:
        return ""
    return view.clocks(min(a for a, _ in own), max(b for _, b in own))
