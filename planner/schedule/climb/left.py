"""What tasks that stay where they are leave to others: people, pools, starts."""

from collections.abc import Iterable
from dataclasses import replace
from itertools import pairwise

import numpy as np

from planner.schedule.first.greedy import Seat, Seats
from planner.schedule.problem.parts import LinkKind, Pool
from planner.schedule.space.days import Ints, Mask
from planner.schedule.space.option import TeamOption
from planner.schedule.space.search_space import SearchSpace, Tie


def people_taken(space: SearchSpace, seats: Seats) -> tuple[Ints, ...]:
    """Return for each group how many of it the seats take, by index."""
    taken = [np.zeros(space.size, dtype=np.int64) for _ in space.groups]
    for seat in seats.values():
        for g, count in seat.team:
            taken[g][seat.start : seat.end] += count
    return tuple(taken)


def pools_taken(space: SearchSpace, seats: Seats) -> dict[str, Ints]:
    """Return for each pool how much of it the seats take, by index."""
    taken = {p.id: np.zeros(space.size, dtype=np.int64) for p in space.instance.pools}
    for t, seat in seats.items():
        for d in space.tasks[t].demands:
            taken[d.pool][seat.start : seat.end] += d.amount
    return taken


def capacity_left(space: SearchSpace, seats: Seats) -> tuple[Pool, ...]:
    """Return the pools with what the seats leave of them."""
    taken = pools_taken(space, seats)
    out = []
    for pool in space.instance.pools:
        if not taken[pool.id].any():
            out.append(pool)
            continue
        left = pool_profile(space, pool) - taken[pool.id]
        edges = [0, *(np.flatnonzero(np.diff(left)) + 1).tolist(), space.size]
        less = tuple(
            (int(space.axis[a]), int(space.axis[b - 1]) + 1, int(left[a]))
            for a, b in pairwise(edges)
            if left[a] < pool.capacity
        )
        out.append(replace(pool, less=less))
    return tuple(out)


def pool_profile(space: SearchSpace, pool: Pool) -> Ints:
    """Return what there is of a pool, by index."""
    profile = np.full(space.instance.horizon, pool.capacity, dtype=np.int64)
    for start, end, less in pool.less:
        profile[start:end] = np.minimum(profile[start:end], less)
    here: Ints = profile[space.axis]
    return here


class StartsLeft:
    """The starts that tasks which stay leave to each of the others."""

    def __init__(self, space: SearchSpace, still: Seats, ties: Iterable[Tie]) -> None:
        """Take the tasks that stay.

        Parameters
        ----------
        space
            The whole problem.
        still
            Where the tasks that stay lie.
        ties
            The ties that bind other tasks.
        """
        self.space = space
        self.still = still
        taken = people_taken(space, still)
        self.gone = [
            _count(row >= len(group.members))
            for row, group in zip(taken, space.groups, strict=True)
        ]
        self.used = pools_taken(space, still)
        self.there = {p.id: pool_profile(space, p) for p in space.instance.pools}
        self.short: dict[tuple[str, int], Ints] = {}
        self.into: dict[int, list[Tie]] = {}
        self.from_: dict[int, list[Tie]] = {}
        for tie in ties:
            if tie.before in still:
                self.into.setdefault(tie.after, []).append(tie)
            if tie.after in still:
                self.from_.setdefault(tie.before, []).append(tie)
        self.apart: dict[int, list[tuple[Seat, Ints, bool]]] = {}
        for apart in space.instance.apart:
            ready = space.index(space.over[apart.until])
            one = space.number[apart.task]
            for two in (space.number[name] for name in apart.others):
                if two in still:
                    row = (still[two], ready, True)
                    self.apart.setdefault(one, []).append(row)
                if one in still:
                    row = (still[one], ready, False)
                    self.apart.setdefault(two, []).append(row)

    def left(self, t: int) -> tuple[TeamOption, ...]:
        """Return a task's options with the starts that are left to it."""
        counts = [self.shortage(d.pool, d.amount) for d in self.space.tasks[t].demands]
        row = []
        for option in self.space.options[t]:
            keep = self.in_order(t, option)
            for count in (*counts, *(self.gone[g] for g, _ in option.team)):
                keep &= count[option.ends] == count[option.starts]
            if keep.any():
                row.append(option.cut(keep))
        return tuple(row)

    def shortage(self, pool: str, amount: int) -> Ints:
        """Return how often, before each index, a pool has less than the amount left."""
        key = (pool, amount)
        if key not in self.short:
            left = self.there[pool] - self.used[pool]
            self.short[key] = _count(left < amount)
        return self.short[key]

    def in_order(self, t: int, option: TeamOption) -> Mask:
        """Return for each start whether it keeps the task's ties with those that stay."""
        starts, ends = option.starts, option.ends
        keep = np.ones(len(starts), dtype=np.bool_)
        for tie in self.into.get(t, ()):
            seat = self.still[tie.before]
            match tie.link.kind:
                case LinkKind.LATEST:
                    keep &= starts <= tie.still[seat.end]
                case LinkKind.START_START:
                    keep &= starts >= tie.ready[seat.start]
                case LinkKind.FINISH_START:
                    keep &= starts >= tie.ready[seat.end]
        for tie in self.from_.get(t, ()):
            begin = self.still[tie.after].start
            match tie.link.kind:
                case LinkKind.LATEST:
                    keep &= begin <= tie.still[ends]
                case LinkKind.START_START:
                    keep &= begin >= tie.ready[starts]
                case LinkKind.FINISH_START:
                    keep &= begin >= tie.ready[ends]
        for seat, ready, owner in self.apart.get(t, ()):
            if owner:
                keep &= (seat.end <= starts) | (seat.start >= ready[ends])
            else:
                keep &= (ends <= seat.start) | (starts >= ready[seat.end])
        return keep


def _count(mask: Mask) -> Ints:
    """Return how often the mask holds before each index."""
    return np.concatenate(([0], np.cumsum(mask, dtype=np.int64)))
