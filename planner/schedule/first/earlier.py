"""The same plan a little earlier: what no aim holds back begins as soon as it can.

It needs no search and no proof. Teams and orders stay, one task moves at a time, and
nobody is called to a shift for it. In the end no task could begin earlier by itself.
"""

from collections.abc import Callable, Iterator

import numpy as np

from planner.schedule.first.naming import worked_in
from planner.schedule.first.placing import begins_of, lying
from planner.schedule.first.tables import PassTables, Seat, Seats
from planner.schedule.space.days import Mask, shifts_of
from planner.schedule.space.narrowed import NarrowedWindows
from planner.schedule.space.option import TeamOption
from planner.schedule.space.search_space import Tie


def moved_up(
    windows: NarrowedWindows,
    seats: Seats,
    keeps: Callable[[Seats], bool],
    stop: Callable[[], bool] = lambda: False,
) -> Seats:
    """Return a plan in which no task can begin earlier while the others stay.

    What is done only where a time isn't kept is left out where it is kept.

    Each task keeps its team, and its people work in no shift in which nobody of their
    group works yet. No closure begins earlier.

    Parameters
    ----------
    windows
        The starts that are left when the aims are kept.
    seats
        The plan.
    keeps
        Tells whether a plan is as good as this one in the aims that an earlier start
        can make worse; returns and the lengths of closures are not among them.
    stop
        Asked before each task; once it says yes, no other task moves.
    """
    shifting = _Shifting(windows, seats, keeps)
    for t in shifting.by_start():
        shifting.drop(t)
    while sum(shifting.move(t) for t in shifting.by_start() if not stop()):
        pass
    return shifting.placing.seats


class _Shifting:
    """A plan whose tasks move, one at a time."""

    def __init__(
        self, windows: NarrowedWindows, seats: Seats, keeps: Callable[[Seats], bool]
    ) -> None:
        self.space = windows.space
        self.table = PassTables(windows)
        self.keeps = keeps
        self.placing = lying(self.table, seats)
        self.begins = begins_of(self.space, seats)
        self.called = self._called()

    def by_start(self) -> list[int]:
        """Return the tasks in the order of their starts."""
        seats = self.placing.seats
        return sorted(seats, key=lambda t: (seats[t].start, t))

    def move(self, t: int) -> bool:
        """Move a task to its first possible start; tell whether it was another one."""
        now = self.placing.seats.pop(t)
        self.placing.free_again(t, now)
        seat = min(self._earlier(t, now), key=lambda s: s.start, default=now)
        self.placing.take(t, seat)
        return seat != now

    def drop(self, t: int) -> None:
        """Leave out what is done only where a time isn't kept, if it can be kept."""
        space, seats = self.space, self.placing.seats
        task = space.tasks[t]
        ties = [x for x in space.ties if x.unless == t]
        settled = any(p.task == task.id for p in space.instance.pins)
        if not (task.optional and ties) or settled:
            return
        now = seats.pop(t)
        self.placing.free_again(t, now)
        was = {x.after: seats[x.after] for x in ties if self._late(x)}
        for after in was:
            self.move(after)
        if any(self._late(x) for x in ties) or not self.keeps(seats):
            for after, seat in was.items():
                self.placing.free_again(after, seats.pop(after))
                self.placing.take(after, seat)
            self.placing.take(t, now)

    def _late(self, tie: Tie) -> bool:
        """Tell whether a task follows later than it must, where both are done."""
        seats = self.placing.seats
        if not {tie.before, tie.after} <= seats.keys():
            return False
        return bool(seats[tie.after].start > tie.still[seats[tie.before].end])

    def _earlier(self, t: int, now: Seat) -> Iterator[Seat]:
        """Yield the first earlier seat that each option of the team has."""
        begins = [self.begins[c] for c in self.table.closures[t]]
        begin = max([self.placing.earliest(t), *begins])
        for option, starts, ends in self.table.options[t]:
            if (option.team, option.ticks) != (now.team, now.ticks):
                continue
            called = self._within_called(option)
            at = int(np.searchsorted(option.starts, begin))
            while True:
                found = self.placing.first_fit(t, option, starts, ends, at, now.end)
                if found is None or found[0] >= now.start:
                    break
                seat = Seat(
                    team=now.team, ticks=now.ticks, start=found[0], end=found[1]
                )
                at = int(np.searchsorted(option.starts, seat.start))
                if called[at] and self._covered(t, seat) and self._kept(t, seat):
                    yield seat
                    break
                at += 1

    def _covered(self, t: int, seat: Seat) -> bool:
        """Tell whether what must follow within a time still does."""
        seats = self.placing.seats
        return all(
            seats[tie.after].start <= tie.still[seat.end]
            for tie in self.table.latest_of[t]
            if tie.after in seats and (tie.unless is None or tie.unless not in seats)
        )

    def _kept(self, t: int, seat: Seat) -> bool:
        return self.keeps({**self.placing.seats, t: seat})

    def _within_called(self, option: TeamOption) -> Mask:
        """Tell for each start whether all its work lies in shifts that are called."""
        free = np.ones(len(option.workable), dtype=np.bool_)
        for g, _ in option.team:
            free &= self.called[g]
        count = np.concatenate(([0], np.cumsum(option.workable & ~free)))
        axis = self.space.axis
        within: Mask = count[axis[option.ends - 1] + 1] == count[axis[option.starts]]
        return within

    def _called(self) -> list[Mask]:
        """Return for each group the ticks of the shifts in which it works."""
        horizon = self.space.instance.horizon
        worked = np.zeros((len(self.space.groups), horizon), dtype=np.bool_)
        for t, seat in self.placing.seats.items():
            for first, last in worked_in(self.space, t, seat) if seat.team else ():
                for g, _ in seat.team:
                    worked[g, first:last] = True
        called = np.zeros_like(worked)
        for g, group in enumerate(self.space.groups):
            for first, last in shifts_of(group.person):
                called[g, first:last] = worked[g, first:last].any()
        return list(called)
