"""A first plan, found by placing task after task as early as it will go.

Each pass takes the tasks in an order of its own (latest start first, places in a
random order, some noise) and gives each the team that is done first. It keeps every
rule but the price of things; where a latest time or a gap between bookings is missed,
what was too early is moved on and the pass begins again.
"""

from collections.abc import Callable
from random import Random

from planner.schedule.instance import AimKind
from planner.schedule.placing import MissError, Placing, Seat, Seats, Table, Trial
from planner.schedule.windows import Room

__all__ = ["Seat", "Seats", "first_plan"]

REPAIRS = 60  # new beginnings of one pass
PASSES = 24  # at most, for an instance of up to 60 tasks


def first_plan(
    room: Room, *, passes: int | None = None, stop: Callable[[], bool] | None = None
) -> Seats | None:
    """Return the best plan of several passes; None when none came through."""
    search = _Passes(room)
    count = len(room.ground.tasks)
    tries = passes or max(4, min(PASSES, PASSES * 60 // max(count, 1)))
    random = Random(20)
    best: Seats | None = None
    best_score: tuple[int, ...] = ()
    floor = search.least_score()
    for number in range(tries):
        seats = search.run(search.trial(random, number))
        if seats is not None:
            score = search.score(seats)
            if best is None or score < best_score:
                best, best_score = seats, score
            if best_score[:1] <= floor:
                break
        if stop is not None and stop():
            break
    return best


class _Passes:
    """The passes over one room."""

    def __init__(self, room: Room) -> None:
        self.room = room
        self.ground = room.ground
        self.table = Table(room)

    def trial(self, random: Random, number: int) -> Trial:
        """Return the order, options and gaps for one pass."""
        ground, room = self.ground, self.room
        late = [float(x) for x in room.start_hi]
        zones = sorted({self._zone(t) for t in range(len(ground.tasks))})
        rank = {z: k for k, z in enumerate(random.sample(zones, len(zones)))}
        spread = max(late, default=0.0) - min(late, default=0.0) + 1.0
        if number % 2:
            late = [x + spread * rank[self._zone(t)] for t, x in enumerate(late)]
        noise = 0.0 if number < 2 else 0.15 * spread * random.random()
        key = [x + noise * random.random() for x in late]
        left_out = set(room.gone)
        for t, task in enumerate(ground.tasks):
            if task.optional and t not in ground.sure:
                left_out.add(t)
        for branch in ground.instance.branches:
            options = [{ground.number[t] for t in o} for o in branch.options]
            able = [o for o in options if not (o & set(room.gone))] or options
            chosen = able[number % len(able)] if number < 4 else random.choice(able)
            everything = set().union(*options)
            left_out |= everything - chosen - ground.sure
        return Trial(key, left_out, dict.fromkeys(room.gaps, 0), {})

    def _zone(self, t: int) -> str:
        task = self.ground.tasks[t]
        if task.demands:
            return task.demands[0].pool
        return self.table.closures[t][0] if self.table.closures[t] else ""

    def run(self, trial: Trial) -> Seats | None:
        """Return the plan of one pass, mended where it can be."""
        for _ in range(REPAIRS):
            try:
                return Placing(self.table, trial).place_all()
            except MissError as miss:
                if miss.mend is None:
                    return None
                miss.mend(trial)
        return None

    def score(self, seats: Seats) -> tuple[int, ...]:
        """Return the aims that hang on when tasks lie, in their order."""
        returns, begins = self._returns(seats), self._begins(seats)
        axis = self.ground.axis
        values = {
            AimKind.LAST_RETURN: max(returns.values(), default=0),
            AimKind.RETURNS: sum(returns.values()),
            AimKind.CLOSED: sum(returns[c] - begins[c] for c in returns),
            AimKind.EARLY: sum(int(axis[s.end - 1]) + 1 for s in seats.values()),
        }
        return tuple(values.get(aim, 0) for aim in self.ground.instance.aims)

    def least_score(self) -> tuple[int, ...]:
        """Return the first aim's value that nothing can beat; -1 where unknown."""
        lows = [lo for lo, _ in self.room.returns.values()]
        first = self.ground.instance.aims[:1]
        if first == (AimKind.LAST_RETURN,):
            return (max(lows, default=0),)
        if first == (AimKind.RETURNS,):
            return (sum(lows),)
        return (-1,)

    def _returns(self, seats: Seats) -> dict[str, int]:
        returns = dict.fromkeys(self.room.gaps, 0)
        for t, seat in seats.items():
            for c, over in self.table.terms[t]:
                returns[c] = max(returns[c], int(over[seat.end]))
        return returns

    def _begins(self, seats: Seats) -> dict[str, int]:
        begins: dict[str, int] = {}
        for t, seat in seats.items():
            for c in self.table.closures[t]:
                start = int(self.ground.axis[seat.start])
                begins[c] = min(begins.get(c, start), start)
        return begins
