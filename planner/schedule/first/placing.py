"""One pass over the tasks, in which each is placed as early as possible.

Every rule is kept; only prices are ignored. If a latest time is missed, or a gap
between bookings, the pass ends and says what would correct that: a task that must be
later, or a surface that must be sanded again.
"""

from bisect import bisect_left, bisect_right, insort
from collections.abc import Callable, Sequence
from heapq import heapify, heappop, heappush

import numpy as np

from planner.schedule.first.tables import PassTables, Seat, Seats, Trial
from planner.schedule.problem.parts import LinkKind
from planner.schedule.space.days import shifts_of
from planner.schedule.space.option import TeamOption
from planner.schedule.space.search_space import SearchSpace, Tie

PUTS_OFF = 4  # how often a pass may put off tasks, for each task that it has


class LateError(Exception):
    """A task came too late after `before`, which must not end before `floor` then."""

    def __init__(self, before: int, floor: int) -> None:
        super().__init__()
        self.before = before
        self.floor = floor


class MissError(Exception):
    """The pass went wrong; `mend` corrects the trial, and is None if nothing can."""

    def __init__(self, mend: Callable[[Trial], None] | None) -> None:
        super().__init__()
        self.mend = mend


class Placing:
    """One pass over the tasks."""

    def __init__(self, table: PassTables, trial: Trial) -> None:
        self.table = table
        self.trial = trial
        self.space = table.space
        self.seats: Seats = {}
        self.busy: list[list[tuple[int, int]]] = [[] for _ in self.space.groups]
        self.size = size = self.space.size
        self.free = [
            np.full(size, len(g.members)) if len(g.members) > 1 else None
            for g in self.space.groups
        ]
        self.left = [capacity.copy() for capacity in table.capacity]
        self.missing: dict[int, int] = {}
        self.ready: list[tuple[float, int]] = []
        self.puts_off = 0

    def place_all(self) -> Seats:
        """Return a seat for each task that is carried out."""
        out, key = self.trial.left_out, self.trial.key
        todo = [t for t in range(len(self.space.tasks)) if t not in out]
        self.missing = {
            t: sum(before not in out for before in self.table.before[t]) for t in todo
        }
        self.ready = [(key[t], t) for t in todo if self.missing[t] == 0]
        heapify(self.ready)
        while True:
            try:
                self.place_ready()
                self.check_latest()
            except LateError as late:
                self.put_off(late)
            else:
                return self.seats

    def place_ready(self) -> None:
        """Place each task once all that comes before it is placed."""
        while self.ready:
            entry = heappop(self.ready)
            t = entry[1]
            if t in self.seats or self.missing[t]:
                continue  # it was put off meanwhile
            try:
                self.place(t)
            except LateError:
                heappush(self.ready, entry)
                raise
            for follower in self.table.after[t]:
                if follower in self.missing:
                    self.missing[follower] -= 1
                    if self.missing[follower] == 0:
                        heappush(self.ready, (self.trial.key[follower], follower))

    def put_off(self, late: LateError) -> None:
        """Take an early task and all that follows it out again, to place them later."""
        self.puts_off += 1
        if self.puts_off > PUTS_OFF * len(self.missing):
            raise MissError(None)
        self.trial.end_floor[late.before] = late.floor
        rest = [late.before]
        while rest:
            t = rest.pop()
            seat = self.seats.pop(t, None)
            if seat is None:
                continue
            self.free_again(t, seat)
            for follower in self.table.after[t]:
                if follower in self.missing:
                    self.missing[follower] += 1
                    rest.append(follower)
        heappush(self.ready, (self.trial.key[late.before], late.before))

    def free_again(self, t: int, seat: Seat) -> None:
        """Make free again what a seat took."""
        for g, count in seat.team:
            free = self.free[g]
            if free is None:
                self.busy[g].remove((seat.start, seat.end))
            else:
                free[seat.start : seat.end] += count
        for pool, amount in self.table.takes[t]:
            self.left[pool][seat.start : seat.end] += amount

    def place(self, t: int) -> None:
        """Give the task the team with which it ends soonest."""
        begin = self.earliest(t)
        last_end = self.space.size
        for c in self.table.closures[t]:
            gap = self.table.windows.gaps[c][self.trial.gap[c]]
            begin = max(begin, int(self.space.first[gap[0]]))
        floor = self.trial.end_floor.get(t, 0)
        best: tuple[int, float, int] | None = None
        chosen: tuple[TeamOption, int, int] | None = None
        for free_at, number in self.by_freedom(t, begin):
            option, starts, ends = self.table.options[t][number]
            if free_at + option.ticks > last_end:
                if option.ticks == self.table.least_ticks[t]:
                    break
                continue
            at = max(bisect_left(starts, free_at), bisect_left(ends, floor))
            seat = self.first_fit(t, option, starts, ends, at, last_end)
            if seat is None:
                continue
            load = sum(self.table.wanted[g] * n for g, n in option.team)
            rank = (seat[1], load, number)
            if best is None or rank < best:
                best, chosen, last_end = rank, (option, *seat), seat[1]
        if chosen is None:
            raise MissError(self.next_gap(t))
        self.settle(t, *chosen)

    def by_freedom(self, t: int, begin: int) -> list[tuple[int, int]]:
        """Return (when all of its team are free, number) of each option, sorted."""
        free = {g: self.free_from(g, begin) for g in self.table.able[t]}
        return sorted(
            (max((free[g] for g, _ in option.team), default=begin), number)
            for number, (option, _, _) in enumerate(self.table.options[t])
        )

    def free_from(self, g: int, index: int) -> int:
        """Return the first index, from this one on, at which a person isn't taken."""
        busy = self.busy[g]
        k = bisect_right(busy, (index, self.size + 1))
        if k and busy[k - 1][1] > index:
            index = busy[k - 1][1]
        while k < len(busy) and busy[k][0] <= index:
            index = max(index, busy[k][1])
            k += 1
        return index

    def earliest(self, t: int) -> int:
        """Return the first index that the tasks before it allow."""
        begin = self.table.windows.start_lo[t]
        for tie in self.table.into[t]:
            seat = self.seats.get(tie.before)
            if seat is None or tie.link.kind is LinkKind.LATEST:
                continue
            from_start = tie.link.kind is LinkKind.START_START
            at = seat.start if from_start else seat.end
            begin = max(begin, int(tie.ready[at]))
        return begin

    def first_fit(
        self,
        t: int,
        option: TeamOption,
        starts: Sequence[int],
        ends: Sequence[int],
        at: int,
        last_end: int,
    ) -> tuple[int, int] | None:
        """Return the first seat, from position `at` on, that breaks no rule."""
        while at < len(starts):
            start, end = starts[at], ends[at]
            if end > last_end:
                return None
            after = self.clash(t, option, start, end)
            if after <= start:
                return start, end
            at = bisect_left(starts, after, at + 1)
        return None

    def clash(self, t: int, option: TeamOption, start: int, end: int) -> int:
        """Return at which index to look next if a rule is broken here, else -1."""
        for g, count in option.team:
            free = self.free[g]
            if free is not None:
                short = np.flatnonzero(free[start:end] < count)
                if len(short):
                    return start + int(short[-1]) + 1
                continue
            busy = self.busy[g]
            k = bisect_right(busy, (start, self.size + 1))
            if k and busy[k - 1][1] > start:
                return busy[k - 1][1]
            if k < len(busy) and busy[k][0] < end:
                return busy[k][1]
            if g in self.table.resting and not self.rested(g, k, start, end):
                return start + 1
        for pool, amount in self.table.takes[t]:
            short = np.flatnonzero(self.left[pool][start:end] < amount)
            if len(short):
                return start + int(short[-1]) + 1
        for other, ready, owner in self.table.apart[t]:
            seat = self.seats.get(other)
            if seat is None:
                continue
            if owner and seat.end > start and seat.start < ready[end]:
                return max(seat.end, start + 1)
            if not owner and seat.start < end and start < ready[seat.end]:
                return max(int(ready[seat.end]), start + 1)
        return -1

    def rested(self, g: int, k: int, start: int, end: int) -> bool:
        """Tell whether the person rests enough before and after a task at place k."""
        person, busy, axis = (
            self.space.groups[g].person,
            self.busy[g],
            self.space.axis,
        )
        begins = [a for a, _ in shifts_of(person)]

        def enough(last: int, first: int) -> bool:
            one, two = int(axis[last - 1]), int(axis[first])
            same = bisect_right(begins, one) == bisect_right(begins, two)
            return same or two - one - 1 >= person.rest

        before = k == 0 or enough(busy[k - 1][1], start)
        return before and (k == len(busy) or enough(end, busy[k][0]))

    def settle(self, t: int, option: TeamOption, start: int, end: int) -> None:
        """Enter the seat into the plan; raise if that breaks a rule."""
        self.check_late(t, start)
        for c, over in self.table.terms[t]:
            gap = self.table.windows.gaps[c][self.trial.gap[c]]
            limit = min(gap[1], self.table.windows.returns[c][1])
            if over[end] > limit:
                raise MissError(self.next_gap(t, c))
        for c in self.table.closures[t]:
            gap = self.table.windows.gaps[c][self.trial.gap[c]]
            if self.space.axis[end - 1] + 1 > gap[1]:
                raise MissError(self.next_gap(t, c))
        self.take(t, Seat(team=option.team, ticks=option.ticks, start=start, end=end))

    def take(self, t: int, seat: Seat) -> None:
        """Enter a seat that breaks no rule."""
        self.seats[t] = seat
        for g, count in seat.team:
            free = self.free[g]
            if free is None:
                insort(self.busy[g], (seat.start, seat.end))
            else:
                free[seat.start : seat.end] -= count
        for pool, amount in self.table.takes[t]:
            self.left[pool][seat.start : seat.end] -= amount

    def next_gap(
        self, t: int, closure: str | None = None
    ) -> Callable[[Trial], None] | None:
        """Return what moves a closure of the task to its next gap, or None."""
        homes = [closure] if closure else self.table.closures[t]
        for c in homes:
            if self.trial.gap[c] + 1 < len(self.table.windows.gaps[c]):

                def mend(trial: Trial, c: str = c) -> None:
                    trial.gap[c] += 1
                    trial.end_floor.clear()

                return mend
        return None

    def check_late(self, t: int, start: int) -> None:
        """Raise if the task comes too late after one that must be covered in time."""
        for tie in self.table.into[t]:
            seat = self.seats.get(tie.before)
            if seat is not None and tie.link.kind is LinkKind.LATEST:
                self.check_tie(tie, seat, start)

    def check_latest(self) -> None:
        """Raise if any latest time is missed in the complete plan."""
        for ties in self.table.latest_of:
            for tie in ties:
                seat, after = self.seats.get(tie.before), self.seats.get(tie.after)
                if seat is not None and after is not None:
                    self.check_tie(tie, seat, after.start)

    def check_tie(self, tie: Tie, seat: Seat, start: int) -> None:
        """Raise if a start lies too late after the seat that it must cover in time."""
        unless = tie.unless
        if start <= tie.still[seat.end]:
            return
        if unless is not None and unless not in self.trial.left_out:
            return
        floor = int(np.searchsorted(tie.still, start))
        again = self.trial.end_floor.get(tie.before, 0)
        out_of_reach = floor > self.table.windows.end_hi[tie.before] or floor <= again
        if unless is not None and (out_of_reach or again):
            raise MissError(lambda trial: trial.left_out.discard(unless))
        if out_of_reach:
            raise MissError(self.next_gap(tie.after))
        raise LateError(tie.before, floor)


def lying(table: PassTables, seats: Seats) -> Placing:
    """Return a pass in which the tasks of a plan lie where they are."""
    placing = Placing(table, Trial([], set(), {}, {}))
    for t, seat in seats.items():
        placing.take(t, seat)
    return placing


def begins_of(space: SearchSpace, seats: Seats) -> dict[str, int]:
    """Return the first start index of each closure; 0 where none of its tasks is done."""
    number = space.number
    return {
        c.id: min(
            (seats[number[t]].start for t in c.tasks if number[t] in seats), default=0
        )
        for c in space.instance.closures
    }
