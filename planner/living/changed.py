"""Two plans of one job → what changes for each person from a moment on.

What lies before that moment is past in both plans, and nobody is told of it.
"""

from collections.abc import Iterable, Iterator
from datetime import date, datetime
from zoneinfo import ZoneInfo

from planner.nouns.living.changed import (
    ChangedDay,
    ChangedTask,
    PersonChanges,
    Stretch,
)
from planner.nouns.plan import Plan, PlannedTask


def changes(before: Plan, after: Plan, *, now: datetime) -> tuple[PersonChanges, ...]:
    """Return what changes for each person, in the order of the crew.

    Nothing is returned of a person for whom no stretch of work to come and no team
    is another one.
    """
    names = {p.id: p.name for p in (*before.crew, *after.crew)}
    found = (_person(before, after, id_, name, now) for id_, name in names.items())
    return tuple(one for one in found if one.days or one.tasks)


def _person(
    before: Plan, after: Plan, id_: str, name: str, now: datetime
) -> PersonChanges:
    zone = ZoneInfo(after.zone)
    old, new = (_to_come(p.tasks, id_, now) for p in (before, after))
    tasks = {t.id: t for t in (*before.tasks, *after.tasks)}
    done = {t.id for t in after.tasks if t.happened == "done"}
    rows = []
    for task in dict.fromkeys((*old, *new)):
        was, is_ = old.get(task, ()), new.get(task, ())
        with_was, with_is = (
            _others(p, task, id_, part) for p, part in ((before, was), (after, is_))
        )
        if (was, with_was) != (is_, with_is):
            rows.append(
                ChangedTask(
                    id=task,
                    title=tasks[task].title,
                    before=was,
                    after=is_,
                    with_before=with_was,
                    with_after=with_is,
                    is_done=task in done,
                )
            )
    return PersonChanges(
        id=id_,
        name=name,
        days=tuple(_days(old, new, zone)),
        tasks=tuple(sorted(rows, key=lambda r: ((*r.after, *r.before)[0], r.id))),
    )


Parts = dict[str, tuple[Stretch, ...]]


def _to_come(tasks: Iterable[PlannedTask], person: str, now: datetime) -> Parts:
    """Return the stretches of a person's tasks that lie after a moment, by task."""
    out: Parts = {}
    for task in tasks:
        parts = tuple((max(a, now), b) for a, b in task.spans if b > now)
        if person in task.team and parts:
            out[task.id] = parts
    return out


def _others(
    plan: Plan, task: str, person: str, parts: tuple[Stretch, ...]
) -> tuple[str, ...]:
    """Return who else is at a task, where the person is at all."""
    if not parts:
        return ()
    team = next(t.team for t in plan.tasks if t.id == task)
    return tuple(sorted(p for p in team if p != person))


def _days(old: Parts, new: Parts, zone: ZoneInfo) -> Iterator[ChangedDay]:
    """Yield each day that begins or ends at another time, or is one no more."""
    was, is_ = _called(old, zone), _called(new, zone)
    for day in sorted({*was, *is_}):
        if was.get(day) != is_.get(day):
            yield ChangedDay(day=day, before=was.get(day), after=is_.get(day))


def _called(parts: Parts, zone: ZoneInfo) -> dict[date, Stretch]:
    """Return the first and the last moment of work of each day."""
    out: dict[date, Stretch] = {}
    for begin, end in sorted(s for found in parts.values() for s in found):
        day = begin.astimezone(zone).date()
        first, last = out.get(day, (begin, end))
        out[day] = (min(first, begin), max(last, end))
    return out
