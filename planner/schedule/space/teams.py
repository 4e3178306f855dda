"""Groups of people who are alike, and the teams that can be made of them.

If many people differ in hours or trades, a task for two or more has more possible teams
than can be considered, or all tasks together have. Then only teams of some of the people
are considered, so that the model stays small enough to solve. What depends on the other teams isn't called
proven (see `planner/schedule/cp/relaxed.py`).
"""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from planner.hours.spans import Spans
from planner.schedule.problem.instance import Instance
from planner.schedule.problem.parts import Activity, Person, Pin
from planner.schedule.space.days import Mask, shifts_of
from planner.schedule.space.starts import near_shifts

# The most teams of one size for a task: pairs of 21 people, or fours of ten.
MOST_TEAMS = 210
# The most teams of all tasks together, or for each task where there are many of them.
# Three times as many took a crew of 39 five seconds to look through, and found no better.
MOST_OPTIONS, MOST_EACH = 5000, 75
HURRIED_TEAMS = 20  # the most teams of one size for a task once time is up


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Group:
    """People whom no rule and no aim of the instance tells apart."""

    members: tuple[str, ...]
    person: Person
    open: Mask


def counted(
    groups: Sequence[Group], teams: Iterable[Sequence[str]]
) -> Iterator[dict[int, int]]:
    """Yield of each team how many of each group it has; who is in no group isn't counted."""
    group = {who: g for g, one in enumerate(groups) for who in one.members}
    for team in teams:
        yield dict(Counter(group[who] for who in team if who in group))


def find_groups(instance: Instance) -> tuple[Group, ...]:
    """Return the people in groups; those of one group are alike in all that matters.

    The search only counts how many of a group are taken. Any plan that counts them can
    be given names at no cost (see `naming`), and any plan with names gives counts, so
    nothing is lost. This holds for the rule that nobody is in two places, and for
    calls, since people of one group have the same shifts. A pin or an agreed team names
    either all of a group or none of it, so what it asks and costs depends on the count
    alone. Whether a short night leaves enough rest depends on who worked late. So
    whoever needs that rest is a group of their own.
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


def most_teams(
    tasks: tuple[Activity, ...], groups: tuple[Group, ...]
) -> tuple[int, bool]:
    """Return the most teams of one size that are made for a task.

    Also tell whether some task has more, so that not all of them are made. `tasks` are
    those whose teams aren't settled.
    """
    counts = [count_teams(t, mode.size, groups) for t in tasks for mode in t.modes]
    budget = max(MOST_OPTIONS, MOST_EACH * len(tasks))
    most = MOST_TEAMS
    while most > 1 and sum(min(n, most) for n in counts) > budget:
        most -= 1
    return most, any(n > most for n in counts)


def asked_teams(
    task: Activity, size: int, groups: tuple[Group, ...], pin: Pin | None, most: int
) -> Iterator[tuple[tuple[int, int], ...]]:
    """Yield the teams of `size` with a lead; only the team that a pin names, if it does.

    Where there are more teams than are made, that of a pin may not be among them.
    """
    if pin is None or pin.team is None:
        yield from teams_of(task, size, groups, most)
        return
    able, leads = _able(task, groups)
    # a pin names all of a group, or none of it
    named = [g for g, group in enumerate(groups) if group.members[0] in pin.team]
    team = tuple((g, len(groups[g].members)) for g in named)
    led = not team or bool(leads.intersection(named))
    if sum(n for _, n in team) == size and led and set(named) <= set(able):
        yield team


def teams_of(
    task: Activity, size: int, groups: tuple[Group, ...], most: int
) -> Iterator[tuple[tuple[int, int], ...]]:
    """Yield the teams of `size` with a lead, each as pairs (group, how many of it).

    If there are more than `most`, only teams of some people are made.
    """
    able, leads = _able(task, groups)
    if count_teams(task, size, groups) > most:
        able = _some(able, leads, size, groups, most)

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


def count_teams(task: Activity, size: int, groups: tuple[Group, ...]) -> int:
    """Return how many teams of `size` with a lead there are, without making them."""
    able, leads = _able(task, groups)
    return _count(able, leads, size, groups)


def _able(task: Activity, groups: tuple[Group, ...]) -> tuple[list[int], set[int]]:
    """Return the groups that may do a task, and those among them that may lead it."""
    able = [g for g, group in enumerate(groups) if group.members[0] in task.eligible]
    led_by = task.eligible if task.leads is None else task.leads
    return able, {g for g in able if groups[g].members[0] in led_by}


def _count(
    able: list[int], leads: set[int], size: int, groups: tuple[Group, ...]
) -> int:
    if size == 0:
        return 1

    def without_rule(chosen: list[int]) -> int:
        by_size = [1, *(0 for _ in range(size))]
        for g in chosen:
            most = len(groups[g].members)
            by_size = [sum(by_size[max(0, n - most) : n + 1]) for n in range(size + 1)]
        return by_size[size]

    return without_rule(able) - without_rule([g for g in able if g not in leads])


def _some(
    able: list[int], leads: set[int], size: int, groups: tuple[Group, ...], most: int
) -> list[int]:
    """Return groups that give few enough teams: first a lead, then by open ticks."""
    hours = {g: int(groups[g].open.sum()) * len(groups[g].members) for g in able}
    order = sorted(able, key=lambda g: (-hours[g], g))
    first = next(g for g in order if g in leads)
    order = [first, *(g for g in order if g != first)]
    count = 1
    while _count(order[: count + 1], leads, size, groups) <= most:
        count += 1
    return sorted(order[:count])
