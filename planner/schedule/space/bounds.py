"""Lower bounds on an aim, shown without the solver.

A value of the aim is ruled out if it would leave some task too little time, or too
little time for the work of several: for any two times, the work of the tasks that must
lie between them is compared with the ticks in which people are open there.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from itertools import combinations

import numpy as np

from planner.schedule.problem.parts import AimKind
from planner.schedule.space.days import Ints
from planner.schedule.space.narrowed import Cuts, ImpossibleError, NarrowedWindows
from planner.schedule.space.search_space import SearchSpace
from planner.schedule.space.windows import Tables, spans_left

MOST_SETS = 60  # the most sets of people whose work is added up


def least_at_once(windows: NarrowedWindows, aim: AimKind) -> int:
    """Return a lower bound on the aim that follows from the windows alone."""
    lows = [lo for lo, _ in windows.returns.values()]
    match aim:
        case AimKind.LAST_RETURN:
            return max(lows, default=0)
        case AimKind.RETURNS:
            return sum(lows)
        case AimKind.EARLY:
            ends = (windows.end_lo[t] for t in windows.space.sure)
            return sum(int(windows.space.axis[e - 1]) + 1 for e in ends)
        case _:
            return 0


class Floor:
    """Rules out values of aims for one space; its look-up tables are made once."""

    def __init__(self, space: SearchSpace) -> None:
        self.space = space
        self.tables = Tables(space)
        self.tasks = sorted(space.sure)
        self.demands = [*_by_people(space, self.tasks), *_by_pool(space, self.tasks)]

    def least(self, cuts: Cuts, aim: AimKind, low: int, high: int) -> int:
        """Return the least value in low..high that isn't ruled out.

        Parameters
        ----------
        cuts
            What is already required because of earlier aims.
        aim
            The aim; for one that depends on more than returns the answer is `low`.
        low
            A lower bound that is known.
        high
            The value of a plan that is known.
        """
        closures = [c.id for c in self.space.instance.closures]
        if low >= high or not closures:
            return low

        def by_return(*names: str) -> Callable[[int], bool]:
            return lambda value: self.possible(_returning(cuts, names, value))

        def by_length(name: str) -> Callable[[int], bool]:
            return lambda value: self.possible(
                replace(cuts, lengths={**cuts.lengths, name: value})
            )

        match aim:
            case AimKind.LAST_RETURN:
                return _first(by_return(*closures), low, high)
            case AimKind.RETURNS:
                least = sum(_first(by_return(c), 0, high) for c in closures)
            case AimKind.CLOSED:
                least = sum(_first(by_length(c), 0, high) for c in closures)
            case _:
                return low
        return min(high, max(low, least))

    def possible(self, cuts: Cuts) -> bool:
        """Tell whether a plan with these cuts is not ruled out."""
        try:
            first, last = spans_left(self.tables, cuts)
        except ImpossibleError:
            return False
        return _all_fit(self.tasks, first, last, self.demands)


def _all_fit(
    tasks: list[int],
    first: Sequence[int],
    last: Sequence[int],
    demands: list[tuple[Ints, Ints]],
) -> bool:
    begin = np.array([first[t] for t in tasks], dtype=np.int64)
    end = np.array([last[t] for t in tasks], dtype=np.int64)
    return all(_fits(begin, end, need, there) for need, there in demands)


def _returning(cuts: Cuts, closures: Iterable[str], value: int) -> Cuts:
    asked = {c: min(value, cuts.returns.get(c, value)) for c in closures}
    return replace(cuts, returns={**cuts.returns, **asked})


def _first(holds: Callable[[int], bool], low: int, high: int) -> int:
    """Return the least value that holds, if all values from it to `high` hold."""
    if low < high and not holds(high - 1):
        return high
    while low < high:
        middle = (low + high) // 2
        if holds(middle):
            high = middle
        else:
            low = middle + 1
    return low


def _by_people(space: SearchSpace, tasks: list[int]) -> list[tuple[Ints, Ints]]:
    """Return, for each set of people, what each task needs and the ticks they have."""
    opens = [
        group.open[space.axis].astype(np.int64) * len(group.members)
        for group in space.groups
    ]
    out = []
    for people in _sets_of_people(space, tasks):
        row = [_least_work(space, t, people) for t in tasks]
        there = sum((opens[g] for g in sorted(people)), np.zeros(space.size, np.int64))
        out.append((np.array(row, dtype=np.int64), there))
    return out


def _least_work(space: SearchSpace, t: int, people: frozenset[int]) -> int:
    """Return the least work that a task needs of these people, in person-ticks."""
    return min(
        sum(n for g, n in w.team if g in people) * w.ticks for w in space.options[t]
    )


def _sets_of_people(space: SearchSpace, tasks: list[int]) -> list[frozenset[int]]:
    """Return everybody, each set eligible for a task, and unions of two such sets."""
    base = {frozenset(g for w in space.options[t] for g, _ in w.team) for t in tasks}
    ordered = sorted(base - {frozenset()}, key=lambda s: (-len(s), sorted(s)))
    found = dict.fromkeys([frozenset().union(*ordered), *ordered])
    for one, two in combinations(ordered, 2):
        if len(found) >= MOST_SETS:
            break
        found[one | two] = None
    return list(found)


def _by_pool(space: SearchSpace, tasks: list[int]) -> list[tuple[Ints, Ints]]:
    """Return, for each pool, what each task needs of it and its capacity."""
    length = [
        min(int((w.ends - w.starts).min()) for w in space.options[t]) for t in tasks
    ]
    out = []
    for pool in space.instance.pools:
        profile = np.full(space.instance.horizon, pool.capacity, dtype=np.int64)
        for start, end, less in pool.less:
            profile[start:end] = np.minimum(profile[start:end], less)
        amount = [
            sum(d.amount for d in space.tasks[t].demands if d.pool == pool.id)
            for t in tasks
        ]
        need = np.array(amount, dtype=np.int64) * np.array(length, dtype=np.int64)
        out.append((need, profile[space.axis]))
    return out


def _fits(begin: Ints, end: Ints, need: Ints, there: Ints) -> bool:
    """Tell whether, between any two times, no more is needed than is available."""
    used = np.flatnonzero(need)
    if not len(used):
        return True
    order = used[np.argsort(end[used], kind="stable")]
    begin, end, need = begin[order], end[order], need[order]
    count = np.concatenate(([0], np.cumsum(there)))
    since = np.unique(begin)
    inside = np.where(begin[None, :] >= since[:, None], need[None, :], 0)
    asked = np.cumsum(inside, axis=1)
    given = count[end][None, :] - count[since][:, None]
    return bool((asked <= np.maximum(given, 0)).all())
