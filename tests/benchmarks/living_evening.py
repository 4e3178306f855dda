"""What the crew of a played job logs on an evening: its work, and what befell the job."""

from collections.abc import Iterator
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any

import numpy as np

from planner.files.logbook.lines import with_id
from planner.nouns.happened import Happening, Logbook, What
from planner.nouns.ids import id_on
from planner.nouns.product import HardeningWay
from planner.nouns.work import Task
from planner.odds.outcome import Played
from planner.odds.script import Script, Step
from planner.planning.problem import wait_name
from tests.benchmarks.living_events import (
    AT_THE_CHECK,
    DAY,
    SINCE_MORNING,
    midnight,
)

if TYPE_CHECKING:
    from tests.benchmarks.living import OnePlay

LOOKED_AHEAD = timedelta(hours=15)  # coats that are to be dry until then are looked at


class Evenings:
    """One evening of a play: what was really done by then is logged into its events."""

    def __init__(
        self,
        one: "OnePlay",
        script: Script,
        played: Played,
        tick: int,
        now: datetime,
    ) -> None:
        self.one, self.script, self.played = one, script, played
        self.tick, self.now = tick, now
        self.grid, self.fate = one.world.grid, one.fate
        self.steps = {s.task.id: s for s in script.steps}

    def log(self, *, at_the_end: bool) -> None:
        """Log all that is known this evening."""
        before = len(self.one.events)
        self.crates()
        self.absences()
        self.work()
        if len(self.one.events) > before:
            true = self.one.air[-1]
            self.say(
                "air", "", self.now,
                air_c=round(float(true.air_c[self.tick]), 1),
                humidity_pct=round(float(true.humidity_pct[self.tick])),
            )  # fmt: skip
        if not at_the_end:
            self.befalls()
        elif ("last", "look") not in self.one.logged:
            self.one.logged.add(("last", "look"))
            for heard in self.fate.at_the_end(self.one.plan, self.now):
                self.add(heard.what, heard.about, self.now, **heard.fields)

    def say(
        self, what: str, task: str, at: datetime, *, once: bool = False, **fields: Any
    ) -> None:  # fmt: skip
        """Log one thing of a task, `once` if it isn't logged yet."""
        if once and (what, task) in self.one.logged:
            return
        self.one.logged.add((what, task))
        about = id_on(self.one.plan.stage.id, task) if task else ""
        self.add(What(what), about, at, **fields)

    def add(self, what: What, about: str, at: datetime, **fields: Any) -> None:
        """Log an event."""
        self.one.events.append(
            with_id(
                Happening(
                    id="", what=what, about=about, at=at, logged=self.now, **fields
                )
            )
        )

    # ---------------------------------------------------------------- the work

    def work(self) -> None:
        """Log what was begun and done, is under way or still waits, and looks at coats."""
        instant, tick = self.grid.instant, self.tick
        for task, step in self.steps.items():
            start = int(self.played.starts[task][0])
            if start < tick and ("begun", task) not in self.one.logged:
                self.found_dry(step, instant(start))
        for task, step in self.steps.items():
            start, end = (
                int(x[task][0]) for x in (self.played.starts, self.played.ends)
            )
            if start >= tick:
                if self.one.plan.task(task).start < self.now:
                    self.say("waiting", task, self.now)
                continue
            self.say("begun", task, instant(start), once=True)
            if end <= tick:
                exact = instant(end) - self.spare(step)
                at = max(exact, instant(start) + timedelta(minutes=1))
                if ("done", task) not in self.one.logged:
                    self.shows(step, at)
                self.say("done", task, at, once=True)
                self.look(task)
            else:
                left = max(self.left_h(step, end), 0.25)
                self.say("stopped", task, self.now, left_h=left)

    def spare(self, step: Step) -> timedelta:
        """Return how long before the end of its last tick a task was really done."""
        pace = float(self.one.draws.pace(step.task.id, step.task.phase)[0])
        ticks = step.hours * pace * 60 / self.grid.tick_minutes
        rest = max(int(np.ceil(ticks - 1e-9)), 1) - ticks
        return timedelta(minutes=min(rest, 0.9) * self.grid.tick_minutes)

    def left_h(self, step: Step, end: int) -> float:
        """Return the hours of its team that a task under way still takes."""
        days = step.teams[0].time.days
        at = days.at[:-1]
        ahead = np.flatnonzero((at >= self.tick) & (at < end))
        mornings = len(np.unique(days.day[ahead])) if len(ahead) else 0
        ticks = len(ahead) - mornings * days.set_up
        return ticks * self.grid.tick_minutes / 60

    def shows(self, step: Step, at: datetime) -> None:
        """Log the joints that the shadow check found."""
        if not step.task.touch_up_frac:
            return
        for bay in step.task.bays[: self.one.draws.shown_at(step.task)]:
            about = id_on(self.one.plan.stage.id, bay)
            self.add(What.SHOWS, about, at, words=AT_THE_CHECK)

    # --------------------------------------------------------------- the coats

    def found_dry(self, step: Step, at: datetime) -> None:
        """Log that coats were found dry, over which a task was begun, if they were wet."""
        for below, wait in step.after:
            if wait and ("wet", below) in self.one.logged:
                self.say("dry", below, at, once=True)

    def look(self, task: str) -> None:
        """Look at a coat that is to be dry soon, unless it is known to be dry."""
        one, plan = self.one.tasks[task], self.one.plan
        if one.product is None or one.covered_by or ("dry", task) in self.one.logged:
            return
        stages = self.one.setting.problem.products[one.product].stages
        if not any(
            s.stage == one.dry_stage and s.way is HardeningWay.DRIES for s in stages
        ):
            return  # nothing that shows whether it is dry
        soon = [
            w.ready
            for w in plan.waits
            if w.task == id_on(plan.stage.id, task) and w.stage == one.dry_stage
        ]
        if not soon or min(soon) > self.now + LOOKED_AHEAD:
            return
        ready = max(self.dries(one), default=self.tick)
        self.say("dry" if ready <= self.tick else "wet", task, self.now)

    def dries(self, top: Task) -> Iterator[int]:
        """Yield when a coat, and each that may be wet below it, is really dry."""
        one: Task | None = top
        while one is not None:
            stage = top.dry_stage if one is top else "dry"
            for link in self.one.work.links:
                wait = link.wait
                if link.before != one.id or wait is None or wait.stage != stage:
                    continue
                hardens = self.script.waits[wait_name(wait)]
                factor = self.one.draws.wait(one.id, hardens.product)
                over = hardens.over(
                    self.played.ends[one.id], factor, self.one.draws.air()
                )
                yield int(over[0])
            one = self.one.tasks.get(one.over or "")

    # ------------------------------------------------------- what befell the job

    def crates(self) -> None:
        """Log that the crates are late, on the day on which they were to come."""
        due = self.one.world.inputs.job.delivery
        if due is None or ("crates", "come") in self.one.logged:
            return
        late = int(self.one.draws.late_days()[0])
        told = [e.until for e in self.one.events if e.what is What.LATE and e.until]
        said, comes = (told[-1] if told else due), _working(due + late * DAY)
        if comes <= self.now:
            self.one.logged.add(("crates", "come"))
        elif said <= self.now:
            hoped = comes if told else comes - self.fate.optimism() * DAY
            until = _working(max(hoped, midnight(self.now) + DAY + timedelta(hours=10)))
            self.add(What.LATE, "", self.now, until=until)

    def absences(self) -> None:
        """Log who wasn't there today, though open."""
        day = midnight(self.now)
        number = int(self.script.day_of[self.tick])
        for person in self.one.plan.crew:
            away = self.one.draws.away(person.id, len(self.script.day_begins))
            if away[number, 0] and any(
                a < self.now and b > day for a, b in person.open
            ):
                self.add(
                    What.AWAY, person.id, self.now,
                    start=day, until=day + DAY, words=SINCE_MORNING,
                )  # fmt: skip

    def befalls(self) -> None:
        """Log what is heard of, and that bookings which can't be kept are given up."""
        book = Logbook(events=tuple(self.one.events))
        gone = {(e.start, e.until) for e in book.counting if e.what is What.RELEASED}
        counting = [
            e
            for e in book.counting
            if e.words != SINCE_MORNING and (e.start, e.until) not in gone
        ]
        for event in counting:
            if event.id in self.one.unkept:
                self.add(
                    What.RELEASED, "", self.now, start=event.start, until=event.until
                )
        for heard in self.fate.evening(self.one.plan, self.now, counting):
            self.add(heard.what, heard.about, self.now, **heard.fields)


def _working(moment: datetime) -> datetime:
    """Return a moment on the next day, from its own on, on which carriers come."""
    while moment.weekday() >= 5:
        moment += DAY
    return moment
