"""A plan whose teams and orders stay fixed: what each task alone could still do."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from planner.hours.spans import Spans
from planner.schedule.check.tally import closure_span
from planner.schedule.problem.instance import Instance
from planner.schedule.problem.outcome import Placement
from planner.schedule.problem.parts import Activity, Closure, Person, Pool
from planner.schedule.space.days import Courses, Ints, Mask, shifts_of
from planner.schedule.space.starts import (
    allowed_courses,
    lookup_arrays,
    open_courses,
    useful_mask,
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Fixed:
    """A plan by task, with tables of what is looked up many times."""

    instance: Instance
    plan: dict[str, Placement]
    tasks: dict[str, Activity]
    people: dict[str, Person]
    open: dict[str, Mask]
    lookups: dict[str, Ints]

    def team(self, task: str) -> list[Person]:
        """Return the people of a task's team."""
        return [self.people[p] for p in self.plan[task].team]

    def workable(self, task: str) -> Mask:
        """Return the ticks that the task's team could work, without days too short."""
        opens = (self.open[p] for p in self.plan[task].team)
        return useful_mask(
            self.tasks[task], opens, self.team(task), self.instance.horizon
        )

    def ticks(self, task: str) -> int:
        """Return the ticks of progress that the task needs with its team."""
        size = len(self.plan[task].team)
        return next(m.ticks for m in self.tasks[task].modes if m.size == size)

    def open_courses(self, task: str) -> Courses:
        """Return the courses that the hours of the task's team allow."""
        return open_courses(
            self.tasks[task],
            self.ticks(task),
            self.workable(task),
            self.team(task),
        )

    def courses(self, task: str) -> Courses:
        """Return the courses that its own rules allow the task's team."""
        found = allowed_courses(
            self.tasks[task],
            self.ticks(task),
            self.workable(task),
            self.lookups,
            self.team(task),
        )
        for pin in self.instance.pins:
            if pin.task == task and (pin.start is not None or pin.end is not None):
                return found.cut(found.starts == self.plan[task].start)
        return found

    def worked(self, task: str, start: int) -> Spans:
        """Return the ticks that the task's team works from one of its starts on."""
        found = self.open_courses(task)
        at = int(np.searchsorted(found.starts, start))
        ticks = Spans.from_mask(self.workable(task)).clip(start, int(found.ends[at]))
        if found.rests is None:
            return ticks
        return ticks - Spans.of((int(a), int(b)) for a, b in found.rests[at])

    def allowed(self, task: str) -> tuple[Ints, Ints]:
        """Return the starts that its own rules allow the task's team, and the ends."""
        found = self.courses(task)
        return found.starts, found.ends

    def of_person(self, person: str) -> list[Placement]:
        """Return the person's tasks in order."""
        mine = (p for p in self.plan.values() if person in p.team)
        return sorted(mine, key=lambda p: p.start)

    def gap(self, closure: Closure) -> tuple[int, int]:
        """Return the span between bookings in which the closure lies."""
        span = closure_span(self.instance, closure, self.plan)
        booked = Spans.of(s for block in closure.booked for s in block.ticks)
        last = self.instance.horizon
        last = last if closure.due is None else min(last, closure.due)
        for start, end in Spans.of([(0, last)]) - booked:
            if span is not None and start <= span[0] and span[1] <= end:
                return start, end
        raise AssertionError(f"closure {closure.id} doesn't lie between bookings")

    def takers(self, pool: Pool) -> Iterator[tuple[Placement, int]]:
        """Yield the tasks that take the pool, and how much each takes."""
        for task in self.instance.tasks:
            for demand in task.demands:
                if demand.pool == pool.id and task.id in self.plan:
                    yield self.plan[task.id], demand.amount


def fix(instance: Instance, placements: tuple[Placement, ...]) -> Fixed:
    """Return the plan with its teams and orders fixed."""
    horizon = instance.horizon
    return Fixed(
        instance=instance,
        plan={p.task: p for p in placements},
        tasks={t.id: t for t in instance.tasks},
        people={p.id: p for p in instance.people},
        open={p.id: p.open.mask(horizon)[:horizon] for p in instance.people},
        lookups=lookup_arrays(instance.lookups, horizon),
    )


def shift_at(person: Person, tick: int) -> int:
    """Return the number of a tick's shift, or of the last before it; else -1."""
    begins = np.array([start for start, _ in shifts_of(person)], dtype=np.int64)
    return int(np.searchsorted(begins, tick, side="right")) - 1


def capacity_profile(pool: Pool, horizon: int) -> Ints:
    """Return how much of the pool there is at each tick."""
    profile = np.full(horizon, pool.capacity, dtype=np.int64)
    for start, end, capacity in pool.less:
        profile[start:end] = np.minimum(profile[start:end], capacity)
    return profile
