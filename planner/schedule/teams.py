"""People who are alike taken together, and the teams that can be made of them.

Every team is named, none is left out: with many people who differ in hours or trades,
a task for three or more has many.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from planner.hours.spans import Spans
from planner.schedule.instance import Instance, Person, Task
from planner.schedule.starts import Mask, near_shifts, shifts_of


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Group:
    """People whom no rule and no aim of the instance tells apart."""

    members: tuple[str, ...]
    person: Person
    open: Mask


def find_groups(instance: Instance) -> tuple[Group, ...]:
    """Return the people, those together who are alike in every respect that counts.

    A plan that counts them can be given to them by name at no cost, whoever is taken
    (see `naming`); a plan by name gives the counts. So nothing is lost. That holds
    for who is in two places and, with the shifts alike, for calls. Pins and agreed
    teams name either all of a group or none of it, so that what they ask and cost
    hangs on the count alone. Rest that a night may be too short for hangs on who
    worked late, so whoever needs it stays alone.
    """
    named: dict[str, list[tuple[str, str]]] = {p.id: [] for p in instance.people}
    for pin in instance.pins:
        for p in pin.team or ():
            named[p].append(("pin", pin.task))
    for before in instance.agreed:
        for p in before.team:
            named[p].append(("agreed", before.task))
    eligible: dict[str, list[str]] = {p.id: [] for p in instance.people}
    leads: dict[str, list[str]] = {p.id: [] for p in instance.people}
    for t in sorted(instance.tasks, key=lambda t: t.id):
        for p in t.eligible:
            eligible[p].append(t.id)
        for p in t.eligible if t.leads is None else t.leads:
            leads[p].append(t.id)
    families: dict[Any, list[Person]] = {}
    for person in sorted(instance.people, key=lambda p: p.id):
        key = (
            person.id if near_shifts(person) else "",
            person.open,
            shifts_of(person),
            tuple(sorted(named[person.id])),
            person.price,
            person.call_price,
            person.dear if person.dear_price else Spans(),
            person.dear_price,
            tuple(eligible[person.id]),
            tuple(leads[person.id]),
        )
        families.setdefault(key, []).append(person)
    return tuple(
        Group(
            members=tuple(p.id for p in family),
            person=family[0],
            open=family[0].open.mask(instance.horizon)[: instance.horizon],
        )
        for family in families.values()
    )


def teams_of(task: Task, size: int, groups: tuple[Group, ...]) -> Iterator[Any]:
    """Yield each team of `size` with a lead, as (group, how many of it)."""
    able = [g for g, group in enumerate(groups) if group.members[0] in task.eligible]
    led_by = task.eligible if task.leads is None else task.leads
    leads = {g for g in able if groups[g].members[0] in led_by}

    def choose(rest: int, at: int) -> Iterator[tuple[tuple[int, int], ...]]:
        if rest == 0:
            yield ()
            return
        for k in range(at, len(able)):
            for count in range(min(rest, len(groups[able[k]].members)), 0, -1):
                for tail in choose(rest - count, k + 1):
                    yield ((able[k], count), *tail)

    for team in choose(size, 0):
        if size == 0 or any(g in leads for g, _ in team):
            yield team
