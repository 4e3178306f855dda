"""What no plan can promise: the returns of a few futures, everything known beforehand.

In each future the instance is made anew: tasks are as long as they turn out, waits as
they turn out in that future's air, the crates come when they come, joints show through
where they do. What any crew could do there by any policy keeps the rules that are left;
so a return before which the engine proves none of the instance is one for all of them.

To stay true, rules are left out that a late job may overstep: latest times, bookings
that the closure runs into (work on the stage still rests during them), rest between
shifts, absences; the booking before the closure that ends late, for another plan may lie
after another booking; and limits of the air where coats make the room's. Work in one go ends
when it ends, its people free as soon as they were planned to be.

What any working plan keeps is kept: the stage isn't closed before a plan by the rates can
close it, between bookings, and nothing is promised before such a plan can be over.
"""

from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from planner.hours.spans import Spans
from planner.nouns.case import Case
from planner.nouns.odds import HindsightBound
from planner.nouns.work import Task
from planner.odds.draws import Draws
from planner.odds.setting import Circumstances
from planner.odds.tally import SEED
from planner.odds.weather import series_of
from planner.planning.least import bounds_hold, least
from planner.planning.posing import posed
from planner.planning.problem import Problem
from planner.planning.searching import Search, solved
from planner.promise.judging import late_weeks
from planner.schedule.cp.relaxed import without_people
from planner.schedule.problem.instance import Instance
from planner.schedule.problem.limits import SearchLimits, StoppedError
from planner.schedule.problem.outcome import NoPlan, Planned, TimeUp
from planner.schedule.problem.parts import (
    Activity,
    AimKind,
    ClosedTicks,
    Closure,
    LinkKind,
    Lookup,
    Mode,
)
from planner.schedule.space.search_space import make_space, too_many_teams
from planner.schedule.space.windows import narrow
from planner.trade.data.odds import spread

Ints = NDArray[np.int64]
Mask = NDArray[np.bool_]

KNOWN = 32  # futures that are looked at
# Limits of work for a proof: of each future, and of a plan by the rates.
WORK, WORK_BY_RATES = 0.2, 1.0


def hindsight_bound(
    case: Case,
    last: datetime,
    *,
    percent: int,
    seed: int = SEED,
    futures: int = KNOWN,
    over: Callable[[], bool] = lambda: False,
) -> HindsightBound | None:
    """Return what no plan can promise; None where readings make the plan's own weeks.

    `last` is the last return of any plan of the case; it says how far is looked. Takes
    half a second to two for each future of a job of 70 tasks.

    Raises
    ------
    StoppedError
        Once it is `over`, which is asked again and again.
    """
    known = Hindsight(case, last, seed=seed, futures=futures, over=over)
    if not known.holds:
        return None
    return bound_of(known, known.least_returns(), percent=percent)


def bound_of(known: "Hindsight", least: Ints, *, percent: int) -> HindsightBound:
    """Return what no plan can promise, of the least return in each known future. [ticks]."""
    back, futures = np.sort(least), len(least)
    at = int(np.ceil(percent / 100 * futures)) - 1
    low, high = _interval(futures, percent / 100)
    grid = known.problem.grid

    def moment(place: int) -> datetime | None:
        if not 0 <= place < futures or back[place] > grid.ticks:
            return None
        return grid.instant(int(back[place]))

    return HindsightBound(
        percent=percent,
        futures=futures,
        when=moment(at),
        low=moment(low),
        high=moment(high),
    )


class Hindsight:
    """A few futures of a case, each with everything known."""

    def __init__(
        self,
        case: Case,
        last: datetime,
        *,
        seed: int,
        futures: int,
        over: Callable[[], bool] = lambda: False,
    ) -> None:
        self.over = over
        self.problem = posed(case, weeks=late_weeks(last, case))
        self.holds = bounds_hold(case.inputs, self.problem)
        far = spread(case.inputs.job)
        air = series_of(case.inputs, self.problem, (), far, seed)
        self.draws = Draws(spread=far, futures=futures, series=len(air), seed=seed)
        # where coats make the room's air, what hardens sooner in damp may be sooner yet
        damp = [replace(a, humidity_pct=np.full(len(a), 100.0)) for a in air]
        made = case.inputs.job.climate is not None
        self.rooms = [Circumstances(self.problem, air)]
        self.rooms += [Circumstances(self.problem, damp)] if made else []
        by_rates = least(case.inputs, self.problem) if made else self.problem
        self.closed_from = _closed_from(by_rates)
        self.planned = self.proven(by_rates, WORK_BY_RATES)

    def least_returns(self) -> Ints:
        """Return a tick of each future before which no plan has the stage back there.

        No plan promises to be back before it plans to be.
        """
        found = [self.least_return(future) for future in range(self.draws.futures)]
        return np.maximum(np.array(found, dtype=np.int64), self.planned)

    def least_return(self, future: int) -> int:
        """Return a tick before which full service can't come in a future."""
        instance = _Future(self, future).instance()
        return self.proven(replace(self.problem, instance=instance), WORK)

    def proven(self, problem: Problem, work: float) -> int:
        """Return a tick before which it is proven that no plan of a problem returns."""
        instance = replace(problem.instance, aims=(AimKind.LAST_RETURN,))
        search = Search(limits=SearchLimits(work=work), stop=self.over, explain=False)
        found = solved(replace(problem, instance=instance), search)
        if self.over():
            raise StoppedError
        match found:
            case Planned():
                return found.aims[0].bound
            case NoPlan():
                return self.problem.grid.ticks + 1
            case TimeUp():
                return 0  # the work was done before anything was found


def _closed_from(problem: Problem) -> int:
    """Return from when a working plan can close the stage. [tick]."""
    instance = problem.instance
    if too_many_teams(instance):  # a team that wasn't weighed could close it sooner
        instance = without_people(instance)
    space = make_space(instance)
    windows = narrow(space)
    on_stage = [space.number[t.id] for t in problem.work.tasks if t.on_stage]
    return min(
        int(space.axis[windows.start_lo[t]]) for t in on_stage if t not in windows.gone
    )


class _Future:
    """One future as an instance, with the rules that hold whatever the crew does."""

    def __init__(self, known: Hindsight, future: int) -> None:
        self.known, self.problem, self.draws = known, known.problem, known.draws
        self.future = future
        self.series = int(self.draws.air()[future])
        self.ticks = self.problem.grid.ticks
        self.work = {t.id: t for t in self.problem.work.tasks}
        self.lookups: dict[str, Lookup] = {}
        self.over_time: dict[str, int] = {}  # by task: ticks past its planned length
        self.touched: dict[str, Ints] = {}  # by task: when it is, touched up, over

    def instance(self) -> Instance:
        stated = self.problem.instance
        tasks = tuple(self.task(t) for t in stated.tasks if not t.optional)
        there = {t.id for t in tasks}
        for task in tasks:
            self.touch_up(task)
        first = stated.closures[0]
        return Instance(
            horizon=self.ticks,
            tasks=tasks,
            people=tuple(replace(p, rest=0) for p in stated.people),
            pools=stated.pools,
            links=tuple(
                replace(x, wait=self.wait(x.before, x.wait))
                for x in stated.links
                if x.kind is LinkKind.FINISH_START and {x.before, x.after} <= there
            ),
            closures=(self.closure(first, there),),
            lookups=tuple(self.lookups.values()),
            aims=(AimKind.LAST_RETURN,),
        )

    def closure(self, closure: Closure, there: set[str]) -> Closure:
        return replace(
            closure,
            tasks=tuple(t for t in closure.tasks if t in there),
            terms=tuple(
                replace(x, wait=self.wait(x.task, x.wait))
                for x in closure.all_terms
                if x.task in there
            ),
            booked=(),
            due=None,
        )

    def task(self, task: Activity) -> Activity:
        """Return a task as long as it turns out, begun when the crates are there."""
        work, tick_h = self.work[task.id], self.problem.grid.tick_minutes / 60
        pace = float(self.draws.pace(task.id, work.phase)[self.future])
        past, modes = [], []
        for mode in task.modes:
            team = next(t for t in work.teams if t.size == mode.size)
            hours = work.person_hours / (team.size * team.yield_frac) + work.elapsed_h
            ticks = max(int(np.ceil(hours * pace / tick_h - 1e-9)), 1)
            past.append(max(ticks - mode.ticks, 0) if task.one_go else 0)
            modes.append(Mode(size=mode.size, ticks=ticks - past[-1]))
        self.over_time[task.id] = min(past)
        room = self.known.rooms[0]
        shut = ~room.may_begin(task)
        least = task.set_up + min(m.ticks for m in modes) + min(past)
        shut |= self.in_bad_air(work, least)
        if work.on_stage:
            shut[: self.known.closed_from] = True
        if work.on_delivery_day:
            day, per_day = self.problem.job.delivery, round(24 / tick_h)
            due = 0 if day is None else self.problem.grid.ceil(day)
            late = int(self.draws.late_days()[self.future]) * per_day
            shut[: due + late] = True
        return replace(
            task,
            modes=tuple(modes),
            no_start=(ClosedTicks(fact="", ticks=Spans.from_mask(shut)),),
            no_work=(
                ClosedTicks(fact="", ticks=Spans.from_mask(~room.may_work(task))),
            ),
            holds=(),
        )

    def in_bad_air(self, work: Task, ticks: int) -> Mask:
        """Return the starts whose coat, laid in so many ticks, bad air meets until dry."""
        shut = np.zeros(self.ticks, dtype=np.bool_)
        if len(self.known.rooms) > 1:
            return shut
        row = self.series * (self.ticks + 1)
        start = np.arange(self.ticks)
        for limit in self.known.rooms[0].limits(work):
            end = np.minimum(start + ticks, self.ticks)
            over = np.minimum(self.hardened(end, limit.until, work.id), self.ticks)
            shut |= limit.bad[row + over] > limit.bad[row + start]
        return shut

    def wait(self, task: str, wait: str) -> str:
        """Return the name of a wait after a task as it turns out; "" for none."""
        later, touched = self.over_time[task], self.touched.get(task)
        if not wait and not later and touched is None:
            return ""
        name = f"{wait}@{task}"
        if name not in self.lookups:
            end = np.minimum(np.arange(self.ticks + 1) + later, self.ticks)
            over = end if touched is None else touched[end]
            over = self.hardened(over, wait, task) if wait else over
            self.lookups[name] = Lookup(name=name, over=tuple(over.tolist()))
        return name

    def hardened(self, end: Ints, wait: str, task: str) -> Ints:
        """Return when a wait from each end is over, in the room where it is sooner."""
        product = self.known.rooms[0].waits[wait].product
        factor = np.full(len(end), self.draws.wait(task, product)[self.future])
        series = np.full(len(end), self.series)
        over = np.minimum.reduce(
            [room.waits[wait].over(end, factor, series) for room in self.known.rooms]
        )
        rising: Ints = np.maximum.accumulate(np.minimum(over, self.ticks + 1))
        return rising

    def touch_up(self, task: Activity) -> None:
        """Note when a task whose joints show through is over, whoever touches them up.

        So of a task that finds a piece damaged, when another one has come.
        """
        work = self.work[task.id]
        if work.finds_damage:
            days = int(self.draws.damaged_days()[self.future])
            over = np.arange(self.ticks + 1)
            over += days * round(24 * 60 / self.problem.grid.tick_minutes)
            self.touched[task.id] = np.minimum(over, self.ticks + 1)
        if work.touch_up_frac <= 0.0:
            return
        drawn = self.draws.touched_up(task.id, len(work.bays), work.touch_up_frac)
        bays = int(drawn[self.future])
        if not bays:
            return
        hours = bays * self.draws.spread.touch_up_h / max(m.size for m in task.modes)
        pace = float(self.draws.pace("touch-up", work.phase)[self.future])
        ticks = int(np.ceil(hours * pace * 60 / self.problem.grid.tick_minutes - 1e-9))
        over = np.arange(self.ticks + 1)
        for wait in self.known.rooms[0].touch_up(work):
            over = np.array(list(self.worked(task, over, max(ticks, 1))))
            if wait:
                over = self.hardened(over, wait, "touch-up")
        self.touched[task.id] = np.minimum(over, self.ticks + 1)

    def worked(self, task: Activity, since: Ints, ticks: int) -> Iterator[int]:
        """Yield when so much work is done at the soonest, whoever does it."""
        people = [p for p in self.problem.instance.people if p.id in task.eligible]
        anybody = Spans.of(s for p in people for s in p.open).mask(self.ticks)
        at = np.flatnonzero(anybody & self.known.rooms[0].may_work(task))
        for tick in since:
            place = int(np.searchsorted(at, tick))
            if place >= len(at):
                yield self.ticks + 1
            elif task.one_go:
                yield min(int(at[place]) + ticks, self.ticks + 1)
            elif place + ticks > len(at):
                yield self.ticks + 1
            else:
                yield int(at[place + ticks - 1]) + 1


def _interval(count: int, share: float) -> tuple[int, int]:
    """Return the places of the sorted values that hold a quantile 19 times in 20.

    How many of `count` values lie below the quantile is binomial; the places are those
    beyond which at most one time in forty lies.
    """
    chance = (1.0 - share) ** count
    below, low, high = 0.0, -1, count
    for number in range(count + 1):
        below += chance
        if below <= 0.025:
            low = number
        if below >= 0.975 and high == count:
            high = number
        if number < count and share < 1.0:
            chance *= (count - number) / (number + 1) * share / (1.0 - share)
    return low, high
