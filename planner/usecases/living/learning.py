"""What a job's log teaches: tasks logged from begin to end, and coats looked at.

How long people take who are none of the crew, such as a surveyor whom one of it lets in,
says nothing of the crew's pace; nor does the crew's pace say how long they will take.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from math import inf
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from planner.living.went import Went
from planner.nouns.case import PastTask
from planner.nouns.happened import Happening, Logbook, What
from planner.nouns.ids import id_on
from planner.nouns.odds import NOTHING, Learned
from planner.nouns.plan import Plan, Stretch
from planner.nouns.work import Task, Wait
from planner.odds.drying import PlayedWait, played
from planner.odds.learning import CoatSeen, WorkedTask, learned_pace, learned_waits
from planner.planning.problem import Problem, stacked_times
from planner.trade.data.labour import rates
from planner.trade.data.odds import spread

SLOW = 1.25  # times its hours that a coat below is given before it counts as dry
AS_IT_WAS = np.zeros(1, dtype=np.int64)  # the one series of air

IntArray = NDArray[np.int64]


def learned(plan: Plan, book: Logbook, told: Went, problem: Problem) -> Learned:
    """Return what was learned until the moment of a past.

    `problem` is the job's own, before anything was learned, in the air as it was read.
    """
    tasks = {t.id: t for t in problem.work.tasks}
    counting = [e for e in book.in_time if e.at <= told.past.now]
    by_task: dict[str, list[Happening]] = {}
    for event in counting:
        by_task.setdefault(event.about, []).append(event)
    past = [
        (p, by_task.get(id_on(plan.stage.id, p.task), []))
        for p in told.past.tasks
        if p.task in tasks and p.end is not None
    ]
    spans = {p.id: p.open for p in plan.crew}
    worked = [
        one
        for p, events in past
        if _is_the_crew_s(tasks[p.task])
        for one in _worked(tasks[p.task], p, events, spans, plan)
    ]
    coats = _Coats(told, problem)
    seen = [one for p, events in past for one in coats.seen(tasks[p.task], events)]
    if not worked and not seen:
        return NOTHING
    far = spread(problem.job)
    kinds = {t.phase for t in tasks.values() if _is_the_crew_s(t)}
    return Learned(
        pace=learned_pace(worked, kinds, far), waits=learned_waits(seen, far)
    )


def _is_the_crew_s(task: Task) -> bool:
    """Tell whether how long a task takes hangs on the crew alone."""
    return not rates()[task.phase].outsiders


def _worked(
    task: Task,
    past: PastTask,
    events: list[Happening],
    open_: Mapping[str, tuple[Stretch, ...]],
    plan: Plan,
) -> Iterator[WorkedTask]:
    """Yield the hours of a task that was logged from begin to end without a stop."""
    kinds = [e.what for e in events]
    once = kinds.count(What.BEGUN) == kinds.count(What.DONE) == 1
    team = next((t for t in task.teams if t.size == len(past.team)), None)
    if not once or What.STOPPED in kinds or team is None:
        return
    begun, done = (
        next(e.at for e in events if e.what is what) for what in (What.BEGUN, What.DONE)
    )
    if begun >= done:
        return
    zone = ZoneInfo(plan.zone)
    spans = list(_shared([open_.get(p, ()) for p in past.team], begun, done))
    last = max((b for _, b in spans), default=begun)
    if last < done and last.astimezone(zone).date() == done.astimezone(zone).date():
        spans.append((last, done))  # they stayed until it was done
    days = len({a.astimezone(zone).date() for a, _ in spans})
    worked = sum((b - a for a, b in spans), timedelta(0)) / timedelta(hours=1)
    yield WorkedTask(
        work=task.phase,
        planned_h=task.person_hours / (team.size * team.yield_frac) + task.elapsed_h,
        worked_h=worked - days * task.set_up_h,
    )


def _shared(
    open_: list[tuple[Stretch, ...]], start: datetime, end: datetime
) -> Iterator[Stretch]:
    """Yield the stretches in which all of a team could work."""
    both = [(start, end)]
    for one in open_:
        both = [
            (max(a, c), min(b, d))
            for a, b in both
            for c, d in one
            if max(a, c) < min(b, d)
        ]
    yield from both


@dataclass(frozen=True, slots=True, kw_only=True)
class _Coat:
    """A coat that dries, and the tick at which it was finished."""

    dries: PlayedWait
    end: IntArray

    def least_factor(self, seen: int) -> float:
        return float(self.dries.least_factor(self.end, seen, AS_IT_WAS)[0])

    def dry_by(self, tick: int) -> bool:
        """Tell whether it was dry by a tick even if it took well longer than planned."""
        slow = np.array([SLOW])
        return int(self.dries.over(self.end, slow, AS_IT_WAS)[0]) <= tick


class _Coats:
    """The coats of a job until now, each with those that it may lie on while wet."""

    def __init__(self, told: Went, problem: Problem) -> None:
        self.problem, self.grid = problem, problem.grid
        self.past = {p.task: p for p in told.past.tasks}
        self.tasks = {t.id: t for t in problem.work.tasks}

    def seen(self, task: Task, events: list[Happening]) -> Iterator[CoatSeen]:
        """Yield what is known of a coat that was looked at, and of all wet below it.

        They are dry together once each is: the soonest of their factors binds.
        """
        past = self.past[task.id]
        done = any(e.what is What.DONE for e in events)
        if past.end is None or not done or task.covered_by:
            return
        stack = list(self.stack(task))
        dry, wet = past.found_dry, past.found_wet
        if dry is not None and wet is not None and wet >= dry:
            dry = None  # it wasn't, after all
        more_than = self.factor(stack, past.end, wet, 0.0)
        at_most = self.factor(stack, past.end, dry, inf)
        if more_than > 0.0 or at_most < inf:
            for product in dict.fromkeys(c.dries.product for c in stack):
                yield CoatSeen(product=product, more_than=more_than, at_most=at_most)

    def factor(
        self,
        stack: list[_Coat],
        end: datetime,
        seen: datetime | None,
        otherwise: float,
    ) -> float:
        """Return the factor at which coats would just be dry when they were looked at."""
        if seen is None or not stack or self.grid.floor(seen) <= self.grid.ceil(end):
            return otherwise
        return min(c.least_factor(self.grid.floor(seen)) for c in stack)

    def stack(self, task: Task) -> Iterator[_Coat]:
        """Yield a coat and those below it that may have been wet when it was laid."""
        over: tuple[str, ...] = ()
        one: Task | None = task
        while one is not None:
            coat = self.coat(one, over)
            above = self.past[task.id].start
            if coat is None or (over and coat.dry_by(self.grid.floor(above))):
                return
            yield coat
            over = (one.product or "", *over)
            one = self.tasks.get(one.over or "")

    def coat(self, task: Task, over: tuple[str, ...]) -> _Coat | None:
        """Return a coat with others over it; None: it lays nothing that dries alone."""
        past, products = self.past.get(task.id), self.problem.products
        if past is None or past.end is None or task.product is None:
            return None
        product = products[task.product]
        name = "dry" if over else task.dry_stage
        stage = next((s for s in product.stages if s.stage == name), None)
        if stage is None:
            return None
        times = stacked_times(
            products, Wait(product=product.id, stage=stage.stage, covered_by=over)
        )
        return _Coat(
            dries=played(stage, [self.problem.air], product, times),
            end=np.array([self.grid.ceil(past.end)]),
        )
