"""A plan that goes back to what was agreed, without a search and without a proof.

One task moves at a time, while the others stay.
"""

from collections.abc import Callable

import numpy as np

from planner.schedule.first.placing import begins_of, lying
from planner.schedule.first.tables import PassTables, Seat, Seats
from planner.schedule.problem.parts import PER_CHANGED_PERSON, LinkKind
from planner.schedule.space.days import Ints
from planner.schedule.space.narrowed import NarrowedWindows
from planner.schedule.space.option import TeamOption

LOOKED_AT = 100  # the most seats of a task that are tried each time, the best first


def moved_back(
    windows: NarrowedWindows,
    seats: Seats,
    keeps: Callable[[Seats], bool],
    stop: Callable[[], bool] = lambda: False,
) -> Seats:
    """Return a plan in which no task can lie nearer to what was agreed by itself.

    No closure begins earlier, and none returns later.

    Parameters
    ----------
    windows
        The starts that are left when the aims that count more are kept.
    seats
        The plan.
    keeps
        Tells whether a plan is as good as this one in the aims that count more;
        returns and the lengths of closures are not among them.
    stop
        Asked before each task; once it says yes, no other task moves.
    """
    returning = _Returning(windows, seats, keeps)
    while sum(returning.move(t) for t in returning.farthest() if not stop()):
        pass
    return returning.placing.seats


class _Returning:
    """A plan whose tasks go back, one at a time."""

    def __init__(
        self, windows: NarrowedWindows, seats: Seats, keeps: Callable[[Seats], bool]
    ) -> None:
        self.space = space = windows.space
        self.table = PassTables(windows)
        self.keeps = keeps
        self.placing = lying(self.table, seats)
        self.agreed = {space.number[a.task]: a for a in space.instance.agreed}
        self.out_of = {t: [x for x in space.ties if x.before == t] for t in self.agreed}
        self.begins = begins_of(space, seats)
        self.returns = dict.fromkeys(self.begins, 0)
        for t, seat in seats.items():
            for c, over in self.table.terms[t]:
                self.returns[c] = max(self.returns[c], int(over[seat.end]))

    def farthest(self) -> list[int]:
        """Return the tasks that aren't as agreed, those that differ most first."""
        seats = self.placing.seats
        far = {t: self._change(t, seats[t]) for t in self.agreed if t in seats}
        return sorted((t for t in far if far[t]), key=lambda t: (-far[t], t))

    def move(self, t: int) -> bool:
        """Move a task to the best seat that it can have; tell whether it was another."""
        seats = self.placing.seats
        now = seats.pop(t)
        self.placing.free_again(t, now)
        seat = self._better(t, self._change(t, now)) or now
        self.placing.take(t, seat)
        return seat != now

    def _better(self, t: int, change: int) -> Seat | None:
        """Return the first seat, by its change, that breaks no rule and no aim."""
        rows = self.table.options[t]
        begin, last_start, last_end = self._room(t)
        found = []
        for number, (option, _, _) in enumerate(rows):
            cost = self._changes(t, option, option.starts)
            fits = (option.starts >= begin) & (cost < change)
            fits &= (option.starts <= last_start) & (option.ends <= last_end)
            at = np.flatnonzero(fits)
            found += [(c, number, k) for c, k in zip(cost[at], at, strict=True)]
        for _, number, k in sorted(found)[:LOOKED_AT]:
            option, starts, ends = rows[number]
            seat = Seat(
                team=option.team, ticks=option.ticks, start=starts[k], end=ends[k]
            )
            if self._fits(t, option, seat):
                return seat
        return None

    def _room(self, t: int) -> tuple[int, int, int]:
        """Return the first start that other tasks leave, the last start, the last end."""
        seats, size = self.placing.seats, self.space.size
        begins = [self.begins[c] for c in self.table.closures[t]]
        last_start, last_end = size, size
        for tie in self.out_of[t]:
            after = seats.get(tie.after)
            if after is None or tie.link.kind is LinkKind.LATEST:
                continue
            last = int(np.searchsorted(tie.ready, after.start, side="right")) - 1
            if tie.link.kind is LinkKind.START_START:
                last_start = min(last_start, last)
            else:
                last_end = min(last_end, last)
        for c, over in self.table.terms[t]:
            last = int(np.searchsorted(over, self.returns[c], side="right")) - 1
            last_end = min(last_end, last)
        return max([self.placing.earliest(t), *begins]), last_start, last_end

    def _fits(self, t: int, option: TeamOption, seat: Seat) -> bool:
        """Tell whether a seat breaks no rule while the others stay, and no aim."""
        if self.placing.clash(t, option, seat.start, seat.end) >= 0:
            return False
        seats = {**self.placing.seats, t: seat}
        in_time = all(
            seats[tie.after].start <= tie.still[seats[tie.before].end]
            for tie in (*self.table.latest_of[t], *self.table.into[t])
            if tie.link.kind is LinkKind.LATEST
            and tie.before in seats
            and tie.after in seats
            and (tie.unless is None or tie.unless not in seats)
        )
        return in_time and self.keeps(seats)

    def _change(self, t: int, seat: Seat) -> int:
        """Return by how much a seat differs from what was agreed for its task."""
        row = (w for w, _, _ in self.table.options[t] if w.team == seat.team)
        return int(self._changes(t, next(row), np.array([seat.start]))[0])

    def _changes(self, t: int, option: TeamOption, starts: Ints) -> Ints:
        """Return by how much an option differs at each start from what was agreed."""
        agreed = self.agreed[t]
        people = {
            who
            for g, count in option.team
            for who in self.space.groups[g].members[:count]
        }
        swapped = PER_CHANGED_PERSON * len(people ^ set(agreed.team))
        far: Ints = np.abs(self.space.axis[starts] - agreed.start) + swapped
        return far
