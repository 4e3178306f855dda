"""A lower bound on how often people must be called, by the work of each run of days.

Days are divided at ticks that no shift goes across. Some work must lie within a run of
days and can't be done without somebody of a set of people. Divided by the longest shift
in that run, it says how often at least they are called there. Bounds of runs that don't
overlap may be added up, and so may bounds of sets that share nobody.
"""

from itertools import combinations

import numpy as np

from planner.hours.spans import Spans
from planner.schedule.cp.model import Act, Model
from planner.schedule.space.days import Ints, shifts_of
from planner.schedule.space.teams import Group

MOST_SETS = 60  # the most sets of people whose work is added up

People = frozenset[int]


def least_calls(m: Model, called: set[tuple[int, int]]) -> dict[People, int]:
    """Return, for sets of people, how often at least one of them must be called.

    Parameters
    ----------
    m
        The model.
    called
        The pairs (group, shift) that the model can call.
    """
    days = _days(m, called)
    asked = {s: _asked(m, called, days, s) for s in _sets_of_people(m)}
    if not asked:
        return {}
    everybody = max(asked, key=len)
    together = asked[everybody]
    for one, two in combinations(asked, 2):
        if not one & two:
            together = np.maximum(together, asked[one] + asked[two])
    asked[everybody] = together
    return {people: _chained(runs) for people, runs in asked.items()}


def open_ticks(group: Group, first: int, last: int) -> int:
    """Return how many ticks one person of a group can work in [first, last)."""
    return int(group.open[first:last].sum())


def _days(m: Model, called: set[tuple[int, int]]) -> Ints:
    """Return the first ticks of the days: spans that no shift goes beyond."""
    shifts = Spans.of(_shift(m, g, number) for g, number in called)
    return np.array([start for start, _ in shifts], dtype=np.int64)


def _shift(m: Model, g: int, number: int) -> tuple[int, int]:
    return shifts_of(m.space.groups[g].person).items[number]


def _asked(m: Model, called: set[tuple[int, int]], days: Ints, people: People) -> Ints:
    """Return how many calls of the set each run of days needs, by first and last."""
    size = len(days)
    work = np.zeros((size, size), dtype=np.int64)
    most = np.zeros((size, size), dtype=np.int64)
    for act in m.acts.values():
        if act.present is None and (least := _least_work(act, people))[0]:
            begin = int(m.space.axis[m.windows.start_lo[act.number]])
            end = int(m.space.axis[m.windows.end_hi[act.number] - 1])
            a, b = np.searchsorted(days, [begin, end], side="right") - 1
            work[a, b] += least[0]
            most[a, b] = max(most[a, b], least[1])
    work = np.cumsum(np.cumsum(work[::-1], axis=0)[::-1], axis=1)
    most = np.maximum.accumulate(most[::-1], axis=0)[::-1]
    most = np.maximum.accumulate(most, axis=1)
    longest = np.zeros(size, dtype=np.int64)
    for g, number in called:
        if g in people:
            first, last = _shift(m, g, number)
            day = int(np.searchsorted(days, first, side="right")) - 1
            ticks = open_ticks(m.space.groups[g], first, last)
            longest[day] = max(longest[day], ticks)
    runs = np.broadcast_to(longest, (size, size)) * np.tri(size, dtype=np.int64).T
    room = np.maximum(np.maximum.accumulate(runs, axis=1), 1)
    return np.triu(np.maximum(-(-work // room), most))


def _least_work(act: Act, people: People) -> tuple[int, int]:
    """Return the least that a task needs of the set: ticks, and people at a time."""
    teams = [
        (c.option.ticks, [n for g, n in c.option.team if g in people])
        for c in act.choices
    ]
    least = min(ticks * sum(counts) for ticks, counts in teams)
    return least, min(sum(counts) for _, counts in teams)


def _chained(runs: Ints) -> int:
    """Return the largest sum of calls over runs of days that don't overlap."""
    best = [0]
    for last in range(len(runs)):
        best.append(
            max(best[first] + int(runs[first, last]) for first in range(last + 1))
        )
    return best[-1]


def _sets_of_people(m: Model) -> list[People]:
    """Return the sets that tasks need, unions of two of these, and everybody."""
    able = {
        frozenset(g for c in act.choices for g, _ in c.option.team)
        for act in m.acts.values()
    } - {frozenset()}
    found = set(able)
    for one, two in combinations(sorted(able, key=sorted), 2):
        if len(found) >= MOST_SETS:
            break
        found.add(one | two)
    if able:
        found.add(frozenset().union(*able))
    return sorted(found, key=sorted)
