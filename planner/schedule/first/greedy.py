"""A first plan, found by placing one task after another as early as possible.

Each pass takes the tasks in an order of its own (see `orders`) and gives each task the
team that ends it soonest. It keeps every rule; only prices are ignored. If a closure
doesn't fit into a gap between bookings, it is moved on to the next gap and the pass
begins again.
"""

from collections.abc import Callable, Mapping, Sequence
from random import Random

from planner.schedule.first.orders import Key, Orders
from planner.schedule.first.placing import MissError, Placing
from planner.schedule.first.tables import PassTables, Seat, Seats, Trial
from planner.schedule.problem.parts import AimKind
from planner.schedule.space.narrowed import NarrowedWindows

__all__ = ["Passes", "Seat", "Seats", "best_in_order", "first_plan"]

REPAIRS = 60  # how often one pass may be corrected and begun again
EFFORT = 40_000  # limit on `Passes.effort`, summed over all passes: about five seconds
# Looking at this many options takes as long as the rest of placing a task.
OPTIONS_LOOKED_AT = 20
# The least number of passes in a row without a better plan before giving up.
PATIENCE = 24
DRAWN = 0.3  # the share of passes whose order is drawn anew instead of varied


def first_plan(
    windows: NarrowedWindows,
    *,
    passes: int | None = None,
    floor: int | None = None,
    stop: Callable[[], bool] | None = None,
) -> Seats | None:
    """Return the best plan of several passes; None if no pass found one.

    Parameters
    ----------
    windows
        The starts that are left.
    passes
        The most passes to make; by default as many as the size of the job allows.
    floor
        A lower bound on the first aim; a plan that reaches it is good enough.
    stop
        Asked after each pass; once it says yes, the best plan so far is returned.
    """
    search = Passes(windows)
    spreads = len(search.orders.weights)
    most = passes or max(spreads + 1, EFFORT // search.effort())
    patience = max(PATIENCE, len(windows.space.tasks) // 3)
    random = Random(20)
    best: Seats | None = None
    best_score: tuple[int, ...] = ()
    best_key = search.orders.first()
    low = search.least_score() if floor is None else max(floor, search.least_score())
    since = 0
    for number in range(most):
        if number == 0:
            key = best_key
        elif search.orders.many and number <= spreads:
            key = search.orders.spread(number - 1, random)
        elif best is None or random.random() < DRAWN:
            key = search.orders.drawn(random)
        else:
            key = search.orders.varied(best_key, random)
        seats = search.run(search.trial(key, random, number))
        since += 1
        if seats is not None:
            score = search.score(seats)
            if best is None or score < best_score:
                best, best_score, best_key, since = seats, score, key, 0
            elif score == best_score:
                best_key = key
            if best_score[:1] <= (low,):
                break
        if since >= patience or (stop is not None and stop()):
            break
    return best


def best_in_order(
    windows: NarrowedWindows, orders: Sequence[Mapping[str, int]]
) -> Seats | None:
    """Return the best plan of one pass for each order, given as starts by task's name."""
    if not orders:
        return None
    space, search = windows.space, Passes(windows)
    found = []
    for starts in orders:
        key = [
            float(starts.get(t.id, space.axis[windows.start_hi[k]]))
            for k, t in enumerate(space.tasks)
        ]
        seats = search.run(search.trial(key, Random(20), 0))
        found += [] if seats is None else [seats]
    return min(found, key=search.score, default=None)


class Passes:
    """The passes over one set of narrowed windows."""

    def __init__(self, windows: NarrowedWindows) -> None:
        self.windows = windows
        self.space = windows.space
        self.table = PassTables(windows)
        zones = [self._zone(t) for t in range(len(self.space.tasks))]
        self.orders = Orders(list(windows.start_hi), zones)

    def trial(self, key: Key, random: Random, number: int) -> Trial:
        """Return the order with the options and gaps for one pass."""
        space, windows = self.space, self.windows
        left_out = set(windows.gone)
        for t, task in enumerate(space.tasks):
            if task.optional and t not in space.sure:
                left_out.add(t)
        for branch in space.instance.branches:
            options = [{space.number[t] for t in o} for o in branch.options]
            able = [o for o in options if not (o & set(windows.gone))] or options
            chosen = able[number % len(able)] if number < 4 else random.choice(able)
            everything = set().union(*options)
            left_out |= everything - chosen - space.sure
        return Trial(key, left_out, dict.fromkeys(windows.gaps, 0), {})

    def _zone(self, t: int) -> str:
        task = self.space.tasks[t]
        if task.demands:
            return task.demands[0].pool
        return self.table.closures[t][0] if self.table.closures[t] else ""

    def run(self, trial: Trial) -> Seats | None:
        """Return the plan of one pass, corrected where that is possible."""
        for _ in range(REPAIRS):
            try:
                return Placing(self.table, trial).place_all()
            except MissError as miss:
                if miss.mend is None:
                    return None
                miss.mend(trial)
        return None

    def score(self, seats: Seats) -> tuple[int, ...]:
        """Return the values of the aims that depend on when tasks lie, in order."""
        returns, begins = self._returns(seats), self._begins(seats)
        axis = self.space.axis
        values = {
            AimKind.LAST_RETURN: max(returns.values(), default=0),
            AimKind.RETURNS: sum(returns.values()),
            AimKind.CLOSED: sum(returns[c] - begins[c] for c in returns),
            AimKind.EARLY: sum(int(axis[s.end - 1]) + 1 for s in seats.values()),
        }
        aims = [values.get(aim, 0) for aim in self.space.instance.aims]
        return (*aims, values[AimKind.RETURNS], values[AimKind.EARLY])

    def effort(self) -> int:
        """Return how long a pass takes, in placings of a task with few options."""
        options = sum(len(row) for row in self.space.options)
        return max(1, len(self.space.options) + options // OPTIONS_LOOKED_AT)

    def least_score(self) -> int:
        """Return a lower bound on the first aim; -1 if none is known."""
        lows = [lo for lo, _ in self.windows.returns.values()]
        first = self.space.instance.aims[:1]
        if first == (AimKind.LAST_RETURN,):
            return max(lows, default=0)
        if first == (AimKind.RETURNS,):
            return sum(lows)
        return -1

    def _returns(self, seats: Seats) -> dict[str, int]:
        returns = dict.fromkeys(self.windows.gaps, 0)
        for t, seat in seats.items():
            for c, over in self.table.terms[t]:
                returns[c] = max(returns[c], int(over[seat.end]))
        return returns

    def _begins(self, seats: Seats) -> dict[str, int]:
        begins: dict[str, int] = {}
        for t, seat in seats.items():
            for c in self.table.closures[t]:
                start = int(self.space.axis[seat.start])
                begins[c] = min(begins.get(c, start), start)
        return begins
