"""What a pass over the tasks looks up, what it is asked, and what it returns."""

from dataclasses import dataclass

import numpy as np

from planner.schedule.problem.parts import LinkKind
from planner.schedule.space.days import Ints
from planner.schedule.space.narrowed import NarrowedWindows
from planner.schedule.space.search_space import Tie
from planner.schedule.space.starts import near_shifts


@dataclass(frozen=True, slots=True, kw_only=True)
class Seat:
    """Where a task lies, by index; the team as in `TeamOption`."""

    team: tuple[tuple[int, int], ...]
    ticks: int
    start: int
    end: int


Seats = dict[int, Seat]


@dataclass(slots=True)
class Trial:
    """What one pass is asked to do."""

    key: list[float]
    left_out: set[int]
    gap: dict[str, int]
    end_floor: dict[int, int]


class PassTables:
    """What a pass looks up about each task, by number."""

    def __init__(self, windows: NarrowedWindows) -> None:
        self.windows = windows
        self.space = space = windows.space
        # views give plain numbers as lists do, without taking any memory
        self.options = [
            [(w, w.starts.data, w.ends.data) for w in row] for row in space.options
        ]
        self.able = [
            sorted({g for w in row for g, _ in w.team}) for row in space.options
        ]
        self.least_ticks = [
            min((w.ticks for w in row), default=0) for row in space.options
        ]
        count = len(space.tasks)
        self.into: list[list[Tie]] = [[] for _ in range(count)]
        self.latest_of: list[list[Tie]] = [[] for _ in range(count)]
        self.before: list[list[int]] = [[] for _ in range(count)]
        self.after: list[list[int]] = [[] for _ in range(count)]
        for tie in space.ties:
            self.into[tie.after].append(tie)
            if tie.link.kind is LinkKind.LATEST:
                self.latest_of[tie.before].append(tie)
            else:
                self.before[tie.after].append(tie.before)
                self.after[tie.before].append(tie.after)
        self.closures: list[list[str]] = [[] for _ in range(count)]
        self.terms: list[list[tuple[str, Ints]]] = [[] for _ in range(count)]
        for c in space.instance.closures:
            for name in c.tasks:
                self.closures[space.number[name]].append(c.id)
            for term in c.all_terms:
                over = space.over[term.wait]
                self.terms[space.number[term.task]].append((c.id, over))
        self.apart: list[list[tuple[int, Ints, bool]]] = [[] for _ in range(count)]
        for a in space.instance.apart:
            ready = space.index(space.over[a.until])
            one = space.number[a.task]
            for two in (space.number[o] for o in a.others):
                self.apart[one].append((two, ready, True))
                self.apart[two].append((one, ready, False))
        self.wanted = self._how_wanted()
        self.resting = {
            g for g, group in enumerate(space.groups) if near_shifts(group.person)
        }
        self.capacity = self._capacities()
        pools = {p.id: i for i, p in enumerate(space.instance.pools)}
        self.takes = [
            [(pools[d.pool], d.amount) for d in t.demands] for t in space.tasks
        ]

    def _how_wanted(self) -> list[int]:
        """Return how much work each group could be asked for."""
        wanted = [0] * len(self.space.groups)
        for row in self.space.options:
            for g, ticks in sorted({(g, w.ticks) for w in row for g, _ in w.team}):
                wanted[g] += ticks
        return wanted

    def _capacities(self) -> list[Ints]:
        """Return what there is of each pool, by index."""
        out = []
        for pool in self.space.instance.pools:
            profile = np.full(self.space.instance.horizon, pool.capacity)
            for start, end, less in pool.less:
                profile[start:end] = np.minimum(profile[start:end], less)
            out.append(profile[self.space.axis])
        return out
