"""What is judged: a job's facts and a finished plan, on a time line of their own.

Places on the time line are whole seconds since the grid's start; a tick is the step
of the job's grid. Spans are half-open.
"""

from collections.abc import Iterable, Iterator
from datetime import UTC, date, datetime, time, timedelta
from functools import cached_property
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from planner.nouns.case import Past
from planner.nouns.inputs import Inputs
from planner.nouns.plan import Plan, PlannedTask, PlannedWait, Stretch
from planner.units import moment_words

Mask = NDArray[np.bool_]
Seconds = tuple[int, int]
MINUTE = 60


class JudgedPlan:
    """A plan beside the facts of its job, with what every rule looks up."""

    def __init__(self, inputs: Inputs, plan: Plan, past: Past | None = None) -> None:
        self.inputs, self.job, self.plan = inputs, inputs.job, plan
        self.zone = inputs.job.zone
        self.start = datetime.combine(
            inputs.job.earliest, time(), tzinfo=self.zone
        ).astimezone(UTC)
        self.step = inputs.job.tick_minutes * MINUTE
        self.ticks = plan.grid_ticks
        self.tasks = {t.id: t for t in plan.tasks}
        self.people = {p.id: p for p in inputs.job.crew}
        self.waits: dict[tuple[str, str, str], PlannedWait] = {
            (w.task, w.product, w.stage): w for w in plan.waits
        }

        self.past = {self.own(p.task): p for p in (past.tasks if past else ())}
        self.now: datetime | None = None if past is None else past.now

    def happened(self, task: PlannedTask) -> bool:
        """Tell whether a task was begun before the plan was revised."""
        return task.id in self.past

    def own(self, name: str) -> str:
        """Return the id that a task or a bay of this job's stage has in the plan."""
        return f"{self.job.stage.id}:{name}"

    # ---------------------------------------------------------------- words

    def when(self, moment: datetime) -> str:
        """Return a moment in the site's zone, in words."""
        return moment_words(moment, self.zone)

    def span(self, stretch: Stretch) -> str:
        """Return a stretch in the site's zone, in words."""
        return f"{self.when(stretch[0])} to {self.when(stretch[1])}"

    def title(self, task: str) -> str:
        """Return a task's title in quotes, its id where there is no such task."""
        return f'"{self.tasks[task].title}"' if task in self.tasks else f'"{task}"'

    def name(self, person: str) -> str:
        """Return a person's name, the id where nobody of the crew has it."""
        return self.people[person].name if person in self.people else person

    # ------------------------------------------------------------ time line

    def at(self, moment: datetime) -> int:
        """Return the seconds from the grid's start to a moment."""
        return round((moment.astimezone(UTC) - self.start).total_seconds())

    def moment(self, seconds: float) -> datetime:
        """Return the moment so many seconds after the grid's start."""
        return self.start + timedelta(seconds=seconds)

    def tick(self, moment: datetime) -> int:
        """Return the tick that begins at a moment, or the last one before it."""
        return self.at(moment) // self.step

    def of_tick(self, tick: int) -> datetime:
        """Return the moment at which a tick begins."""
        return self.moment(tick * self.step)

    def within(self, stretches: Iterable[Seconds]) -> Mask:
        """Return the ticks that lie wholly in the union of stretches."""
        out = np.zeros(self.ticks, dtype=np.bool_)
        for start, end in joined(stretches):
            out[max(-(-start // self.step), 0) : max(end // self.step, 0)] = True
        return out

    def touched(self, stretches: Iterable[Seconds]) -> Mask:
        """Return the ticks of which any part lies in one of the stretches."""
        out = np.zeros(self.ticks, dtype=np.bool_)
        for start, end in stretches:
            if start < end:
                out[max(start // self.step, 0) : max(-(-end // self.step), 0)] = True
        return out

    def seconds(self, stretches: Iterable[Stretch]) -> list[Seconds]:
        """Return stretches of moments on the time line."""
        return [(self.at(a), self.at(b)) for a, b in stretches]

    def local_days(self) -> Iterator[tuple[date, int, int]]:
        """Yield each day at the site with the seconds at which it begins and ends.

        The day before the first is among them: a night shift may reach in.
        """
        day = self.job.earliest - timedelta(days=1)
        last = self.ticks * self.step
        begin = self.clock(day, time())
        while begin < last:
            after = day + timedelta(days=1)
            end = self.clock(after, time())
            yield day, begin, end
            day, begin = after, end

    def clock(self, day: date, hour: time) -> int:
        """Return the seconds at which the site's clock shows an hour of a day."""
        return self.at(datetime.combine(day, hour, tzinfo=self.zone))

    def daily(self, hours: tuple[time, time]) -> list[Seconds]:
        """Return the stretches in which the site's clock is between two hours."""
        start, end = hours
        return [
            (
                self.clock(day, start),
                self.clock(day if start < end else day + timedelta(days=1), end),
            )
            for day, _, _ in self.local_days()
        ]

    @cached_property
    def local_minutes(self) -> NDArray[np.int64]:
        """What the site's clock shows as each tick begins, in minutes since 1970."""
        minutes = np.arange(self.ticks, dtype=np.int64) * (self.step // MINUTE)
        first = int(self.start.timestamp()) // MINUTE
        every = max(6 * 60 * MINUTE // self.step, 1)
        marks = [*range(0, self.ticks, every), self.ticks]
        out = np.empty(self.ticks, dtype=np.int64)
        for a, b in pairwise(marks):
            if self._offset(a) == self._offset(b):
                out[a:b] = self._offset(a)
            else:  # the clock changes in here
                out[a:b] = [self._offset(i) for i in range(a, b)]
        return out + minutes + first

    def _offset(self, tick: int) -> int:
        ahead = self.of_tick(tick).astimezone(self.zone).utcoffset()
        return round(ahead.total_seconds()) // MINUTE if ahead else 0

    # ---------------------------------------------------------------- tasks

    def of(self, phase: str, bay: str | None = None) -> list[PlannedTask]:
        """Return the tasks of a kind of work, in one bay or anywhere, in their order."""
        found = (t for t in self.plan.tasks if t.phase == phase)
        kept = [t for t in found if bay is None or bay in t.bays]
        return sorted(kept, key=lambda t: (number(t), t.start))


def number(task: PlannedTask) -> int:
    """Return which coat a task is, by its id; 0 where it isn't numbered."""
    head = task.id.rpartition(":")[2].partition(".")[0]
    tail = head.removeprefix(task.phase).removeprefix("-")
    return int(tail) if tail.isdecimal() else 0


def joined(stretches: Iterable[Seconds]) -> list[Seconds]:
    """Return the union of stretches, which may touch and overlap."""
    out: list[Seconds] = []
    for start, end in sorted(stretches):
        if start >= end:
            continue
        if out and start <= out[-1][1]:
            out[-1] = (out[-1][0], max(out[-1][1], end))
        else:
            out.append((start, end))
    return out


def runs_of(mask: Mask) -> list[tuple[int, int]]:
    """Return the stretches of ticks in which a mask is true."""
    edges = np.flatnonzero(np.diff(np.concatenate(([False], mask, [False]))))
    return [(int(a), int(b)) for a, b in zip(edges[::2], edges[1::2], strict=True)]
