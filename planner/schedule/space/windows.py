"""The earliest and latest time at which each task can lie, found before any search.

Bounds on each task's start and end are propagated, forwards and backwards, through
links, waits, returns and the gaps between bookings, until none of them changes any
more. Starts outside the bounds are dropped.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np

from planner.schedule.problem.parts import Closure, LinkKind
from planner.schedule.space.days import Ints
from planner.schedule.space.narrowed import Cuts, ImpossibleError, NarrowedWindows
from planner.schedule.space.option import TeamOption
from planner.schedule.space.reach import find_reaches, ties_by_option
from planner.schedule.space.search_space import SearchSpace, Tie


@dataclass(slots=True)
class _Bounds:
    """Bounds on starts and ends while they are being propagated."""

    slo: list[int]
    shi: list[int]
    elo: list[int]
    ehi: list[int]
    gone: set[int]

    def copy(self) -> "_Bounds":
        return _Bounds(
            self.slo[:], self.shi[:], self.elo[:], self.ehi[:], set(self.gone)
        )


_Limits = dict[str, tuple[int, int]]  # closure → earliest begin, latest return
_Kept = dict[str, list[tuple[tuple[int, int], _Bounds]]]  # closure → gaps it fits in


class Tables:
    """What propagation looks up, made once for a space."""

    def __init__(self, space: SearchSpace) -> None:
        self.space = space
        self.reach = find_reaches(space)
        self.before_all = ties_by_option(space, forwards=True)
        self.after_all = ties_by_option(space, forwards=False)
        self.terms = {
            c.id: [(space.number[t.task], space.over[t.wait]) for t in c.all_terms]
            for c in space.instance.closures
        }
        # for each index of a follower: the last begin of a wait that is over by then, and
        # the first begin that leaves it time enough
        self.begins: dict[int, Ints] = {}
        index = np.arange(space.size + 1)
        for tie in space.ties:
            if id(tie.ready) not in self.begins:
                last = np.searchsorted(tie.ready, index, side="right") - 1
                self.begins[id(tie.ready)] = last
                self.begins[id(tie.still)] = np.searchsorted(tie.still, index)


def narrow(space: SearchSpace, cuts: Cuts | None = None) -> NarrowedWindows:
    """Return the window that the rules leave to each task.

    Raises
    ------
    ImpossibleError
        If no plan is left; it names the task that has no start left.
    """
    return _Push(Tables(space), cuts or Cuts()).windows()


def spans_left(tables: Tables, cuts: Cuts) -> tuple[list[int], list[int]]:
    """Return each task's first start index and last end index; the options stay whole.

    This is quicker than `narrow`, for questions that are asked many times.

    Raises
    ------
    ImpossibleError
        If no plan is left; it names the task that has no start left.
    """
    bounds, _, _ = _Push(tables, cuts).bounds()
    return bounds.slo, bounds.ehi


class _Push:
    """Propagates bounds until none of them changes any more."""

    def __init__(self, tables: Tables, cuts: Cuts) -> None:
        self.space = tables.space
        self.cuts = cuts
        self.reach = tables.reach
        self.before_all = tables.before_all
        self.after_all = tables.after_all
        self.begins = tables.begins
        self.terms = tables.terms

    def windows(self) -> NarrowedWindows:
        space = self.space
        bounds, limits, kept = self.bounds()
        returns = {
            c.id: (self.earliest_return(bounds, c), limits[c.id][1])
            for c in space.instance.closures
        }
        options = self.trimmed(bounds, kept)
        return NarrowedWindows(
            space=replace(space, options=options),
            start_lo=tuple(bounds.slo),
            start_hi=tuple(bounds.shi),
            end_lo=tuple(bounds.elo),
            end_hi=tuple(bounds.ehi),
            gone=frozenset(bounds.gone),
            gaps={c: tuple(gap for gap, _ in gaps) for c, gaps in kept.items()},
            returns=returns,
        )

    def bounds(self) -> tuple[_Bounds, _Limits, _Kept]:
        """Return the bounds, each closure's limits, and the bounds in each gap."""
        space = self.space
        size = space.size
        count = len(space.tasks)
        bounds = _Bounds(
            [0] * count, [size - 1] * count, [0] * count, [size] * count, set()
        )
        for t in range(count):
            self.settle(bounds, t)
        limits = {c.id: (0, self.latest_return(c)) for c in space.instance.closures}
        self.push(bounds, limits)
        kept: _Kept = {}
        for closure in space.instance.closures:
            bounds = self.try_gaps(bounds, closure, limits, kept)
        return bounds, limits, kept

    def try_gaps(
        self,
        bounds: _Bounds,
        closure: Closure,
        limits: _Limits,
        kept: _Kept,
    ) -> _Bounds:
        """Return bounds that cover all gaps in which the closure fits."""
        kept[closure.id] = []
        whole = (0, self.space.instance.horizon)
        if self.space.gaps[closure.id] == (whole,):
            kept[closure.id].append((whole, bounds))
            return bounds
        last: ImpossibleError | None = None
        for gap in self.space.gaps[closure.id]:
            tried = bounds.copy()
            latest = min(gap[1], limits[closure.id][1])
            try:
                self.push(tried, {**limits, closure.id: (gap[0], latest)})
            except ImpossibleError as error:
                last = error
                continue
            kept[closure.id].append((gap, tried))
        if not kept[closure.id]:
            raise last or ImpossibleError(closure.tasks[0])
        found = [b for _, b in kept[closure.id]]
        latest = min(limits[closure.id][1], max(g[1] for g, _ in kept[closure.id]))
        limits[closure.id] = (min(g[0] for g, _ in kept[closure.id]), latest)
        return _Bounds(
            [min(v) for v in zip(*(b.slo for b in found), strict=True)],
            [max(v) for v in zip(*(b.shi for b in found), strict=True)],
            [min(v) for v in zip(*(b.elo for b in found), strict=True)],
            [max(v) for v in zip(*(b.ehi for b in found), strict=True)],
            set.intersection(*(b.gone for b in found)),
        )

    def latest_return(self, closure: Closure) -> int:
        last = self.space.instance.horizon if closure.due is None else closure.due
        last = min(last, self.space.instance.horizon)
        return min(last, self.cuts.returns.get(closure.id, last))

    def earliest_return(self, bounds: _Bounds, closure: Closure) -> int:
        sure = self.space.sure
        return max(
            int(over[bounds.elo[t]]) for t, over in self.terms[closure.id] if t in sure
        )

    def settle(self, b: _Bounds, t: int) -> None:
        """Adjust a task's four bounds to each other, or find that it can't be done."""
        reach = self.reach[t]
        if t in b.gone:
            return
        if reach is None:
            self.lose(b, t)
            return
        slo, shi, elo, ehi = b.slo[t], b.shi[t], b.elo[t], b.ehi[t]
        while slo <= shi and elo <= ehi:
            old = (slo, shi, elo, ehi)
            slo = max(int(reach.start_from[slo]), int(reach.start_for[elo]))
            if slo > shi:
                break
            elo = max(elo, int(reach.end_from[slo]))
            ehi = min(ehi, int(reach.end_to[shi]))
            if elo > ehi:
                break
            shi = min(shi, int(reach.start_till[ehi]))
            if old == (slo, shi, elo, ehi):
                b.slo[t], b.shi[t], b.elo[t], b.ehi[t] = old
                return
        self.lose(b, t)

    def lose(self, b: _Bounds, t: int) -> None:
        """Record that no plan can carry out a task."""
        if t in self.space.sure:
            raise ImpossibleError(self.space.tasks[t].id)
        b.gone.add(t)
        for branch in self.space.instance.branches:
            numbers = [[self.space.number[k] for k in o] for o in branch.options]
            if all(
                any(k in b.gone and not self.space.tasks[k].optional for k in option)
                for option in numbers
            ):
                raise ImpossibleError(self.space.tasks[t].id)

    def push(self, b: _Bounds, limits: _Limits) -> None:
        """Propagate bounds through every rule until none of them changes any more."""
        moved = True
        while moved:
            moved = self.push_closures(b, limits)
            for tie in self.space.ties:
                if self.holds(b, tie, tie.after, tie.before):
                    moved |= self.push_after(b, tie)
            for tie in reversed(self.space.ties):
                if self.holds(b, tie, tie.before, tie.after):
                    moved |= self.push_before(b, tie)
            moved |= self.push_branches(b)

    def push_closures(self, b: _Bounds, limits: _Limits) -> bool:
        space, moved = self.space, False
        for closure in space.instance.closures:
            begin, latest = limits[closure.id]
            tasks = [space.number[t] for t in closure.tasks]
            length = self.cuts.lengths.get(closure.id)
            if length is not None:
                begin = max(begin, self.earliest_return(b, closure) - length)
                last = min(b.shi[t] for t in tasks if t in space.sure)
                latest = min(latest, int(space.axis[last]) + length)
            first = int(space.first[min(max(begin, 0), len(space.first) - 1)])
            end = int(space.first[min(max(latest, 0), len(space.first) - 1)])
            for t in tasks:
                moved |= self.start_from(b, t, first)
                moved |= self.end_by(b, t, end)
            for t, over in self.terms[closure.id]:
                by = int(np.searchsorted(over, latest, side="right")) - 1
                moved |= self.end_by(b, t, by)
        return moved

    def holds(self, b: _Bounds, tie: Tie, one: int, two: int) -> bool:
        """Tell whether a link bounds `one` of its tasks in every plan, by `two`."""
        if one in b.gone or two in b.gone:
            return False
        binds = tie.unless is None or tie.unless in b.gone
        return binds and self.space.implies(one, two)

    def push_after(self, b: _Bounds, tie: Tie) -> bool:
        """Bound the following task by the one before it."""
        if tie.link.kind is LinkKind.LATEST:
            return self.start_by(b, tie.after, int(tie.still[b.ehi[tie.before]]))
        begin = b.slo if tie.link.kind is LinkKind.START_START else b.elo
        return self.start_from(b, tie.after, int(tie.ready[begin[tie.before]]))

    def push_before(self, b: _Bounds, tie: Tie) -> bool:
        """Bound the task before by the one that follows it."""
        one, two = tie.before, tie.after
        if tie.link.kind is LinkKind.LATEST:
            return self.end_from(b, one, int(self.begins[id(tie.still)][b.slo[two]]))
        by = int(self.begins[id(tie.ready)][b.shi[two]])
        if tie.link.kind is LinkKind.START_START:
            return self.start_by(b, one, by)
        return self.end_by(b, one, by)

    def push_branches(self, b: _Bounds) -> bool:
        """Bound tasks before and after a branch by the least strict of its options."""
        moved = False
        for task, options in self.before_all:
            alive = self.alive(b, options, [k.before for o in options for k in o])
            if task not in b.gone and alive and all(alive):
                least = min(
                    max(
                        int(k.ready[b.elo[k.before]])
                        if k.link.kind is LinkKind.FINISH_START
                        else int(k.ready[b.slo[k.before]])
                        for k in option
                    )
                    for option in alive
                )
                moved |= self.start_from(b, task, least)
        for task, options in self.after_all:
            alive = self.alive(b, options, [k.after for o in options for k in o])
            if task not in b.gone and alive and all(alive):
                most = max(
                    min(
                        int(np.searchsorted(k.ready, b.shi[k.after], side="right")) - 1
                        for k in option
                    )
                    for option in alive
                )
                moved |= self.end_by(b, task, most)
        return moved

    def alive(
        self, b: _Bounds, options: list[list[Tie]], tasks: Iterable[int]
    ) -> list[list[Tie]]:
        """Return the options all of whose tied tasks can still be carried out."""
        lost = b.gone & set(tasks)
        return [o for o in options if not any({k.before, k.after} & lost for k in o)]

    def start_from(self, b: _Bounds, t: int, index: int) -> bool:
        if t in b.gone or index <= b.slo[t]:
            return False
        b.slo[t] = min(index, self.space.size)
        self.settle(b, t)
        return True

    def start_by(self, b: _Bounds, t: int, index: int) -> bool:
        if t in b.gone or index >= b.shi[t]:
            return False
        b.shi[t] = index
        self.settle(b, t)
        return True

    def end_from(self, b: _Bounds, t: int, index: int) -> bool:
        if t in b.gone or index <= b.elo[t]:
            return False
        b.elo[t] = min(index, self.space.size + 1)
        self.settle(b, t)
        return True

    def end_by(self, b: _Bounds, t: int, index: int) -> bool:
        if t in b.gone or index >= b.ehi[t]:
            return False
        b.ehi[t] = index
        self.settle(b, t)
        return True

    def trimmed(self, b: _Bounds, kept: _Kept) -> tuple[tuple[TeamOption, ...], ...]:
        """Return each task's options with only the starts inside its bounds."""
        rows: list[tuple[TeamOption, ...]] = []
        homes: dict[int, list[str]] = {}
        for c in self.space.instance.closures:
            for name in c.tasks:
                homes.setdefault(self.space.number[name], []).append(c.id)
        for t, options in enumerate(self.space.options):
            if t in b.gone:
                rows.append(())
                continue
            row = [_inside(option, b, t) for option in options]
            for home in homes.get(t, ()):
                row = [
                    _inside_any(option, [g for _, g in kept[home]], t) for option in row
                ]
            rows.append(tuple(option for option in row if len(option.starts)))
            if not rows[-1]:
                self.lose(b, t)
        return tuple(rows)


def _inside(option: TeamOption, b: _Bounds, t: int) -> TeamOption:
    lo = max(
        int(option.starts.searchsorted(b.slo[t])),
        int(option.ends.searchsorted(b.elo[t])),
    )
    hi = min(
        int(option.starts.searchsorted(b.shi[t], side="right")),
        int(option.ends.searchsorted(b.ehi[t], side="right")),
    )
    return option.cut(slice(lo, max(lo, hi)))


def _inside_any(option: TeamOption, bounds: list[_Bounds], t: int) -> TeamOption:
    if len(bounds) == 1:
        return option
    keep = np.zeros(len(option.starts), dtype=np.bool_)
    for b in bounds:
        if t not in b.gone:
            inside = (option.starts >= b.slo[t]) & (option.starts <= b.shi[t])
            keep |= inside & (option.ends >= b.elo[t]) & (option.ends <= b.ehi[t])
    return option.cut(keep)
