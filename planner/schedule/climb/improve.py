"""A plan improved round by round: in each, some tasks may move and the others stay.

A job of hundreds of tasks is too much for the solver at once. Each round frees the
tasks of a few places, or of a stretch of time, with a late one among them. It asks the
solver for a better plan among those that leave all other tasks where they are.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial
from random import Random

import numpy as np

from planner.schedule.climb.part import Subproblem, part_of, with_what_depends
from planner.schedule.cp.model import Model
from planner.schedule.cp.search import Verdict, run_solver
from planner.schedule.cp.variables import Expr
from planner.schedule.first.greedy import Seats
from planner.schedule.problem.limits import Watch
from planner.schedule.problem.parts import AimKind
from planner.schedule.space.narrowed import Cuts
from planner.schedule.space.search_space import SearchSpace
from planner.schedule.space.windows import narrow

# How many tasks a round frees: the least, in the first round, the most.
FREE = (24.0, 48.0, 64.0)
# Factors on that number after a round that was solved, and one that wasn't.
LARGER, SMALLER = 1.15, 0.85
ROUND_WORK = 0.06  # limit of solver work in one round
# Work counted for building a round's model, for each of its tasks.
BUILD_WORK = 0.0004
# If a task has more teams than this, a round considers only some of them.
MANY_TEAMS = 24
BY_RETURN = (AimKind.LAST_RETURN, AimKind.RETURNS, AimKind.CLOSED)


@dataclass(frozen=True, slots=True, kw_only=True)
class Better:
    """The result of the rounds: the best plan, and the work done."""

    seats: Seats
    work: float


class Rounds:
    """Rounds for one aim; the values of the aims before it are kept."""

    def __init__(
        self,
        space: SearchSpace,
        cuts: Callable[[int], Cuts],
        *,
        aim: AimKind,
        settled: tuple[tuple[AimKind, int], ...],
        value_of: Callable[[Seats], int],
        watch: Watch,
    ) -> None:
        """Take what stays the same from round to round.

        Parameters
        ----------
        space
            The instance prepared for search.
        cuts
            What earlier aims require, and the value that this aim must not exceed.
        aim
            The aim.
        settled
            Earlier aims, each with the value that it must not exceed.
        value_of
            Gives a plan's value of the aim.
        watch
            The clock, and the caller's request to stop.
        """
        self.space = space
        self.cuts = cuts
        self.aim = aim
        self.settled = settled
        self.value_of = value_of
        self.watch = watch
        self.random = Random(11)
        self.size = FREE[1]
        self.places = _places(space)
        self.names = sorted(set(self.places))
        self.terms = [
            (space.number[term.task], space.over[term.wait])
            for c in space.instance.closures
            for term in c.all_terms
        ]

    def run(
        self,
        seats: Seats,
        *,
        bound: int,
        work: float,
        idle: int,
        report: Callable[[int], None],
    ) -> Better:
        """Return the best plan that the rounds find; never a worse one than given.

        Parameters
        ----------
        seats
            The plan to begin with.
        bound
            A lower bound on the aim; the rounds end when it is reached.
        work
            The limit, in the solver's measure of work.
        idle
            How many rounds in a row may find nothing better.
        report
            Called with each better value.
        """
        left, since = work, 0
        best = self.value_of(seats), self.lateness(seats, bound)
        while best[0] > bound and left > 0 and since < idle:
            if self.watch.over():
                break
            part = self.part(seats, self.freed(seats, bound))
            run = run_solver(
                narrow(part.space, self.cuts(best[0])),
                part.seats_here(seats),
                aim=self.aim,
                settled=self.settled,
                guide=partial(self.guide, part=part, bound=bound),
                work=min(ROUND_WORK, left),
                watch=self.watch,
            )
            left -= run.work + BUILD_WORK * len(part.tasks)
            solved = run.verdict is Verdict.BEST
            self.size *= LARGER if solved else SMALLER
            self.size = min(max(self.size, FREE[0]), FREE[2])
            since += 1
            if run.seats is None:
                continue
            better = part.seats_there(seats, run.seats)
            found = self.value_of(better), self.lateness(better, bound)
            if found <= best:
                seats = better
            if found < best:
                since = 0
                if found[0] < best[0]:
                    report(found[0])
                best = found
        return Better(seats=seats, work=work - left)

    def lateness(self, seats: Seats, bound: int) -> int:
        """Return how far the terms of the returns lie behind the bound, summed.

        It distinguishes plans with the same last return: the one that is nearer to a
        better return is less late.
        """
        if self.aim is not AimKind.LAST_RETURN:
            return 0
        return sum(
            max(0, int(over[seats[t].end]) - bound)
            for t, over in self.terms
            if t in seats
        )

    def guide(self, m: Model, part: Subproblem, bound: int) -> Expr:
        """Return the lateness of a part's tasks as an expression of the model."""
        total: Expr = 0
        if self.aim is not AimKind.LAST_RETURN:
            return total
        here = {t: k for k, t in enumerate(part.tasks)}
        for t, over in self.terms:
            act = m.acts.get(here.get(t, -1))
            if act is None:
                continue
            xs = m.end_values(act.number)
            late = np.maximum(over[xs] - bound, 0)
            if not late.any():
                continue
            at = m.hinted(act.end)
            hint = None if at is None else max(0, int(over[at]) - bound)
            if act.present is not None and m.hinted(act.present) == 0:
                hint = 0
            behind = m.whole((0, int(late.max())), "", hint)
            m.at_least(behind, act.end, xs.tolist(), late.tolist(), *act.literals)
            total += behind
        return total

    def freed(self, seats: Seats, bound: int) -> set[int]:
        """Return the tasks that the next round frees."""
        most, r = round(self.size), self.random
        centre = r.randrange(self.space.size)

        def far(t: int) -> tuple[float, int]:
            seat = seats.get(t)
            return (abs(seat.start + seat.end - 2 * centre) if seat else 0.0), t

        everything = range(len(self.space.tasks))
        kind = r.random()
        if kind < 0.3 or len(self.names) < 2:
            near = sorted(everything, key=far)
        else:
            asked = most if kind < 0.75 else 2 * most
            picked = self.some_places(seats, bound, asked)
            near = sorted((t for t in everything if self.places[t] in picked), key=far)
        free = set(near[:most])
        return with_what_depends(self.space, free)

    def some_places(self, seats: Seats, bound: int, asked: int) -> set[str]:
        """Return places with so many tasks together, a late one among them."""
        late: dict[str, int] = {}
        for t, over in self.terms:
            if t in seats:
                place = self.places[t]
                late[place] = max(late.get(place, 0), int(over[seats[t].end]))
        behind = sorted(p for p in late if late[p] > bound) or self.names
        order = [self.random.choice(behind)]
        order += self.random.sample(self.names, len(self.names))
        if self.random.random() < 0.5:
            order.insert(0, max(sorted(late), key=lambda p: late[p], default=order[0]))
        picked: set[str] = set()
        for place in order:
            picked.add(place)
            if sum(p in picked for p in self.places) >= asked:
                break
        return picked

    def part(self, seats: Seats, free: set[int]) -> Subproblem:
        """Return the part of the problem in which the freed tasks may move.

        Of tasks with many teams, only some teams are considered. What counts other
        things than returns and lengths is asked of the whole plan.
        """
        space = self.space
        able = self.some_people()
        rows = list(space.options)
        for t in sorted(free):
            if len(rows[t]) > MANY_TEAMS:
                now = seats[t].team if t in seats else None
                rows[t] = tuple(
                    w
                    for w in rows[t]
                    if w.team == now or all(g in able for g, _ in w.team)
                )
        whole = any(aim not in BY_RETURN for aim, _ in self.settled)
        fewer = replace(space, options=tuple(rows))
        return part_of(fewer, seats, free, whole=whole)

    def some_people(self) -> set[int]:
        """Return half of the groups, drawn anew in each round."""
        count = len(self.space.groups)
        return set(self.random.sample(range(count), (count + 1) // 2))


def _places(space: SearchSpace) -> list[str]:
    """Return the place of each task: its first pool, or else its closure."""
    homes = {t: c.id for c in space.instance.closures for t in c.tasks}
    return [
        task.demands[0].pool if task.demands else homes.get(task.id, "")
        for task in space.tasks
    ]
