"""The instance prepared for search: an axis of useful ticks, and each task's options.

A tick is useful if somebody could work in it. Useful ticks are numbered; the number is
called an *index*. So nights in which nobody works vanish from the axis, and work that
pauses over them has the same length whenever it starts. A start index runs from 0 to N
- 1, an end index e from 0 to N; the tick after the last one worked is `axis[e - 1] +
1`.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from planner.schedule.problem.consistency import always_present
from planner.schedule.problem.instance import Instance
from planner.schedule.problem.parts import (
    Activity,
    AimKind,
    Link,
    LinkKind,
    Pin,
)
from planner.schedule.space.axis import gaps_between_bookings, useful_ticks
from planner.schedule.space.days import Ints, rising, shift_numbers, undominated
from planner.schedule.space.memory import Found, Memory
from planner.schedule.space.needless import (
    must_be_covered,
    with_all_teams,
    without_needless,
)
from planner.schedule.space.option import TeamOption
from planner.schedule.space.starts import (
    allowed_courses,
    lookup_arrays,
    useful_mask,
)
from planner.schedule.space.teams import (
    HURRIED_TEAMS,
    Group,
    asked_teams,
    count_teams,
    find_groups,
    most_teams,
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Tie:
    """A link between two tasks, by number; its wait as arrays by index of its begin.

    `over` is the tick at which the wait is over, `ready` the first index at or after
    that tick, and `still` the last index at or before it.
    """

    link: Link
    before: int
    after: int
    unless: int | None
    over: Ints
    ready: Ints
    still: Ints


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SearchSpace:
    """The instance with its parts sorted by name, and all tables for a search."""

    instance: Instance
    tasks: tuple[Activity, ...]
    number: dict[str, int]
    sure: frozenset[int]
    branched: dict[int, tuple[str, frozenset[int]]]
    groups: tuple[Group, ...]
    axis: Ints
    first: Ints  # tick → first index at or after it; one entry for 0..horizon + 1
    options: tuple[tuple[TeamOption, ...], ...]
    ties: tuple[Tie, ...]
    over: dict[str, Ints]  # wait → end index → tick at which it is over
    gaps: dict[str, tuple[tuple[int, int], ...]]  # closure → free [start, end)
    some_teams: bool = False  # whether some teams have no option
    taken: tuple[Ints, ...] = ()  # group → how many are taken already, by index

    @property
    def size(self) -> int:
        """The number of useful ticks."""
        return len(self.axis)

    def index(self, ticks: Ints) -> Ints:
        """Return the first index at or after each tick."""
        return self.first[np.minimum(ticks, len(self.first) - 1)]

    def implies(self, one: int, two: int) -> bool:
        """Tell whether every plan with task `one` carries out task `two` as well."""
        if two in self.sure or one == two:
            return True
        a, b = self.branched.get(one), self.branched.get(two)
        if a is None or b is None or a[0] != b[0] or self.tasks[two].optional:
            return False
        return a[1] <= b[1]


def make_space(
    instance: Instance,
    memory: Memory | None = None,
    check: Callable[[], None] = lambda: None,
    hurry: Callable[[], bool] = lambda: False,
) -> SearchSpace:
    """Return the instance prepared for search.

    Parameters
    ----------
    instance
        The problem.
    memory
        What was worked out for other instances that share its parts.
    check
        Called again and again; raises an error when it is time to stop.
    hurry
        Asked again and again; once it says yes, tasks that come after have few teams.
    """
    memory = memory or Memory()
    tasks = tuple(sorted(instance.tasks, key=lambda t: t.id))
    number = {t.id: i for i, t in enumerate(tasks)}
    groups = find_groups(instance)
    axis = useful_ticks(instance, tasks)
    first = np.searchsorted(axis, np.arange(instance.horizon + 2)).astype(np.int64)
    lookups = lookup_arrays(instance.lookups, instance.horizon)
    end_ticks = np.concatenate(([0], axis + 1))
    over = {name: values[end_ticks] for name, values in lookups.items()}
    gaps = {c.id: gaps_between_bookings(c, instance.horizon) for c in instance.closures}
    branched = {
        number[task]: (b.id, frozenset(k for k, o in enumerate(b.options) if task in o))
        for b in instance.branches
        for o in b.options
        for task in o
    }
    bare = SearchSpace(
        instance=instance,
        tasks=tasks,
        number=number,
        sure=frozenset(number[t] for t in always_present(instance)),
        branched=branched,
        groups=groups,
        axis=axis,
        first=first,
        options=(),
        ties=(),
        over=over,
        gaps=gaps,
    )
    return _with_ties(_with_options(bare, lookups, memory, check, hurry), lookups)


def _with_options(
    space: SearchSpace,
    lookups: dict[str, Ints],
    memory: Memory,
    check: Callable[[], None],
    hurry: Callable[[], bool],
) -> SearchSpace:
    """Return the space with each task's options, limited by bookings and pins."""
    pins = {p.task: p for p in space.instance.pins}
    early = _early_may_help(space.instance)
    whole = with_all_teams(space.instance)
    to_cover = must_be_covered(space.instance)
    shifts = [shift_numbers(g.person, space.axis) for g in space.groups]
    hours = [memory.hours_of(g.person) for g in space.groups]
    here: dict[int, tuple[Ints, Ints]] = {}
    rows: list[tuple[TeamOption, ...]] = []
    most, some = _most_teams(space.instance, space.groups)
    for task in space.tasks:
        options: list[TeamOption] = []
        pin = pins.get(task.id)
        for mode in task.modes:
            check()
            few = min(most, HURRIED_TEAMS) if hurry() else most
            if few < most and (pin is None or pin.team is None):
                some |= count_teams(task, mode.size, space.groups) > few
            for team in asked_teams(task, mode.size, space.groups, pin, few):
                groups = [space.groups[g] for g, _ in team]
                found = _remembered(
                    task,
                    mode.ticks,
                    groups,
                    lookups,
                    space,
                    memory,
                    hours=frozenset(hours[g] for g, _ in team),
                    every=task.id in early,
                )
                for part in found.parts:
                    if id(part) not in here:
                        here[id(part)] = (
                            space.first[part.starts],
                            space.first[part.ends - 1] + 1,
                        )
                    option = TeamOption(
                        team=team,
                        size=mode.size,
                        ticks=mode.ticks + task.set_up,
                        workable=found.useful,
                        starts=here[id(part)][0],
                        ends=here[id(part)][1],
                        rests=part.rests,
                    )
                    option = _pinned(option, pin, space)
                    option = _between_bookings(option, task, space)
                    if len(option.starts):
                        options.append(option)
        if task.id not in whole:
            options = without_needless(options, shifts, alike=task.id in to_cover)
        rows.append(tuple(options))
    return replace(space, options=tuple(rows), some_teams=some)


def too_many_teams(instance: Instance) -> bool:
    """Tell whether some teams will have no option, without making the space."""
    return _most_teams(instance, find_groups(instance))[1]


def _most_teams(instance: Instance, groups: tuple[Group, ...]) -> tuple[int, bool]:
    settled = {p.task for p in instance.pins if p.team is not None}
    free = tuple(t for t in instance.tasks if t.id not in settled)
    return most_teams(free, groups)


def _remembered(
    task: Activity,
    ticks: int,
    groups: list[Group],
    lookups: dict[str, Ints],
    space: SearchSpace,
    memory: Memory,
    *,
    hours: frozenset[int],
    every: bool,
) -> Found:
    """Return a team's useful ticks and its courses, worked out only once.

    Teams whose people have the same hours have the same ones.
    Courses that others make needless are left out, unless `every` course is asked for.
    """
    people = [g.person for g in groups]
    parts = (
        *task.no_work,
        None,
        *task.no_start,
        None,
        *task.holds,
    )
    key = (
        ticks,
        task.set_up,
        task.one_go,
        every,
        tuple(id(x) for x in parts),
        hours,
    )
    if key not in memory.starts:
        opens = (g.open for g in groups)
        useful = useful_mask(task, opens, people, space.instance.horizon)
        found = allowed_courses(task, ticks, useful, lookups, people)
        if (np.diff(found.ends) <= 0).any() and not every:
            found = undominated(found, people)
        memory.starts[key] = Found(
            kept=parts, useful=useful, parts=tuple(rising(found))
        )
    return memory.starts[key]


def _early_may_help(instance: Instance) -> set[str]:
    """Return the tasks for which an early start may be worth more than an early end."""
    if AimKind.COST in instance.aims:
        return {t.id for t in instance.tasks}
    found = {p.task for p in instance.pins} | {b.task for b in instance.agreed}
    found |= {k.before for k in instance.links if k.kind is LinkKind.START_START}
    return found | {k.after for k in instance.links if k.kind is LinkKind.LATEST}


def _pinned(option: TeamOption, pin: Pin | None, space: SearchSpace) -> TeamOption:
    """Return the option with only the starts that the pin allows."""
    if pin is None or (pin.start is None and pin.end is None):
        return option
    keep = np.ones(len(option.starts), dtype=np.bool_)
    if pin.start is not None:
        keep &= space.axis[option.starts] == pin.start
    if pin.end is not None:
        keep &= space.axis[option.ends - 1] + 1 == pin.end
    return option.cut(keep)


def _between_bookings(
    option: TeamOption, task: Activity, space: SearchSpace
) -> TeamOption:
    """Return the option without starts that no gap between bookings has room for."""
    for c in space.instance.closures:
        if task.id not in c.tasks:
            continue
        if space.gaps[c.id] == ((0, space.instance.horizon),):
            continue  # no bookings; windows take care of the returns
        waits = {"", *(t.wait for t in c.terms if t.task == task.id)}
        gaps = np.array(space.gaps[c.id] or [(0, 0)], dtype=np.int64)
        starts = space.axis[option.starts]
        gap = np.searchsorted(gaps[:, 0], starts, side="right") - 1
        keep = gap >= 0
        for wait in waits:
            keep &= space.over[wait][option.ends] <= gaps[np.maximum(gap, 0), 1]
        option = option.cut(keep)
    return option


def _with_ties(space: SearchSpace, lookups: dict[str, Ints]) -> SearchSpace:
    """Return the space with its links as arrays."""
    horizon = space.instance.horizon
    cache: dict[tuple[str, bool], tuple[Ints, Ints, Ints]] = {}
    ties = []
    links = space.instance.links
    rank = _ranks(space)
    for link in sorted(
        links, key=lambda k: (rank[k.before], k.before, k.after, k.kind, k.wait)
    ):
        from_start = link.kind is LinkKind.START_START
        key = (link.wait, from_start)
        if key not in cache:
            over = (
                lookups[link.wait][space.axis] if from_start else space.over[link.wait]
            )
            after = space.index(np.minimum(over, horizon) + 1) - 1
            cache[key] = (over, space.index(over), after)
        over, ready, still = cache[key]
        ties.append(
            Tie(
                link=link,
                before=space.number[link.before],
                after=space.number[link.after],
                unless=space.number[link.unless] if link.unless else None,
                over=over,
                ready=ready,
                still=still,
            )
        )
    return replace(space, ties=tuple(ties))


def _ranks(space: SearchSpace) -> dict[str, int]:
    """Return each task's place in an order in which predecessors come first."""
    before: dict[str, set[str]] = {t.id: set() for t in space.tasks}
    for k in space.instance.links:
        if k.kind is not LinkKind.LATEST:
            before[k.after].add(k.before)
    rank: dict[str, int] = {}
    rest = [t.id for t in space.tasks]
    while rest:
        ready = [t for t in rest if all(b in rank for b in before[t])] or rest[:1]
        for task in ready:
            rank[task] = len(rank)
        rest = [t for t in rest if t not in rank]
    return rank
