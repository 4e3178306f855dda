"""What every plan of a job is played in: its waits, its air, its people's hours.

Nothing here hangs on a plan, so many plans of one problem share it.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.air import waits
from planner.hours.spans import Spans
from planner.nouns.kept import Kept
from planner.nouns.product import Air
from planner.nouns.work import Task, Wait
from planner.odds.clockwork import (
    TeamDays,
    TeamTime,
    person_hours,
    team_days,
    team_time,
)
from planner.odds.drying import Named, PlayedWait, all_played
from planner.planning.apart import kept_apart, kept_until
from planner.planning.problem import Problem, hardening, stacked_times, wait_name
from planner.planning.shut import DELIVERY
from planner.schedule.problem.parts import Activity, LinkKind

Mask = NDArray[np.bool_]
Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Limit:
    """Air that may not be from a task's start until its wait is over."""

    bad: Ints  # how many bad ticks lie before each tick, series after series
    last_bad: Ints  # the last bad tick before each tick, likewise; -1: none
    until: str


class Circumstances:
    """A problem on a grid that is long enough for late futures, in series of air.

    What is asked of it is worked out once; with the job's `kept`, how its coats harden
    once for all problems with the same products and air.
    """

    def __init__(
        self, problem: Problem, airs: Sequence[Air], kept: Kept | None = None
    ) -> None:
        self.problem, self.airs = problem, airs
        self.ticks = problem.grid.ticks
        self.work = {t.id: t for t in problem.work.tasks}
        self.number = {p.id: i for i, p in enumerate(problem.instance.people)}
        booked = Spans.of(s for _, spans in problem.booked for s in spans)
        self._booked = booked.mask(self.ticks)
        self._hours = [person_hours(p, self.ticks) for p in problem.instance.people]
        self._days: dict[tuple[object, ...], TeamDays] = {}
        self._times: dict[tuple[object, ...], TeamTime] = {}
        self._limits: dict[str, tuple[Limit, ...]] = {}  # by the wait it is kept for
        self._may_work: dict[str, Mask] = {}
        self._may_begin: dict[str, Mask] = {}
        self._same: dict[bytes, Mask] = {}  # of ticks that are alike, one array
        self._touch_up: dict[str, tuple[str, str]] = {}
        self.waits: Mapping[str, PlayedWait] = (kept or Kept()).large_of(
            all_played, tuple(dict(_waits(problem)).items()), tuple(airs)
        )
        self.windows: Mapping[str, Ints] = {
            x.wait: np.array(problem.lookups[x.wait].over, dtype=np.int64)
            for x in problem.instance.links
            if x.kind is LinkKind.LATEST
        }

    def touch_up(self, task: Task) -> tuple[str, str]:
        """Return the waits of the compound and of the primer that came before a task."""
        if task.id not in self._touch_up:
            self._touch_up[task.id] = self._compound_and_primer(task)
        return self._touch_up[task.id]

    def _compound_and_primer(self, task: Task) -> tuple[str, str]:
        found = {"compound": "", "primer": ""}
        tasks = [task.id]
        for name in tasks:
            for link in self.problem.work.links:
                if link.after != name:
                    continue
                if link.before not in tasks:
                    tasks.append(link.before)
                if link.wait is None:
                    continue
                kind = self.problem.products[link.wait.product].kind.split()[-1]
                if found.get(kind) == "":
                    found[kind] = wait_name(link.wait)
        return found["compound"], found["primer"]

    def limits(self, task: Task) -> tuple[Limit, ...]:
        """Return the air that a task's coat may not lie in until it is dry."""
        wait = kept_until(task)
        if wait is None:
            return ()
        name = wait_name(wait)
        if name not in self._limits:
            self._limits[name] = tuple(self._limits_until(wait))
        return self._limits[name]

    def _limits_until(self, wait: Wait) -> Iterator[Limit]:
        """Yield the air that a coat may not lie in until a wait after it is over."""
        product = self.problem.products[wait.product]
        stage = hardening(self.problem.products, wait)
        rows = [
            waits.limit_breaks(product.limits, air) | waits.beyond_range(stage, air)
            for air in self.airs
        ]
        if any(row.any() for row in rows):
            yield _limit(rows, wait_name(wait))

    def team_time(
        self, activity: Activity, team: tuple[str, ...], ticks: int
    ) -> TeamTime:
        """Return a team's time at a task of so many ticks, once for all tasks alike."""
        may_work, may_begin = self.may_work(activity), self.may_begin(activity)
        of_days = (team, activity.set_up, id(may_work))
        least = ticks if activity.one_go else 0
        key = (of_days, activity.one_go, least, id(may_begin))
        if key not in self._times:
            if of_days not in self._days:
                members = [self._hours[self.number[who]] for who in team]
                self._days[of_days] = team_days(activity.set_up, members, may_work)
            self._times[key] = team_time(
                self._days[of_days],
                one_go=activity.one_go,
                may_begin=may_begin,
                ticks=ticks,
            )
        return self._times[key]

    def may_work(self, activity: Activity) -> Mask:
        """Return the ticks in which a task may be worked on."""
        if activity.id not in self._may_work:
            may = np.ones(self.ticks, dtype=np.bool_)
            for block in activity.no_work:
                may &= ~block.ticks.mask(self.ticks)
            if self.work[activity.id].on_stage:
                may &= ~self._booked
            self._may_work[activity.id] = self._same.setdefault(may.tobytes(), may)
        return self._may_work[activity.id]

    def may_begin(self, activity: Activity) -> Mask:
        """Return the ticks in which a task may begin, whether due and closed or not."""
        if activity.id not in self._may_begin:
            may = np.ones(self.ticks, dtype=np.bool_)
            for block in activity.no_start:
                if block.fact != DELIVERY:  # played crates may come late
                    may &= ~block.ticks.mask(self.ticks)
            self._may_begin[activity.id] = self._same.setdefault(may.tobytes(), may)
        return self._may_begin[activity.id]


def _waits(problem: Problem) -> Iterator[Named]:
    """Yield every wait of the work by the name of its look-up."""
    work, products = problem.work, problem.products
    found = [x.wait for x in work.links]
    found += [w for r in work.returns for _, w in r.after]
    found += [a.until for a in kept_apart(work, products)]
    found += [kept_until(t) for t in work.tasks]
    for wait in found:
        if wait is not None:
            product = products[wait.product]
            times = stacked_times(products, wait)
            stage = hardening(products, wait)
            yield wait_name(wait), (stage, product, times)


def _limit(rows: Sequence[Mask], until: str) -> Limit:
    """Return air that may not be, from its bad ticks in each series."""
    bad, last = [], []
    for row in rows:
        bad.append(np.concatenate(([0], np.cumsum(row))))
        at = np.where(row, np.arange(len(row)), -1)
        last.append(np.concatenate(([-1], np.maximum.accumulate(at))))
    return Limit(
        bad=np.concatenate(bad).astype(np.int64),
        last_bad=np.concatenate(last).astype(np.int64),
        until=until,
    )
