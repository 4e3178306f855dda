"""A job that has begun: what happened stands in the instance, and binds what is to come.

What is done is a task of nobody, settled where it was: no rule is asked of it any more,
and its waits and its place in the closure count as ever. Of a task under way, the rest
is planned. Nothing else begins before now.
"""

from collections.abc import Iterator, Mapping
from dataclasses import replace
from datetime import timedelta

import numpy as np

from planner import units
from planner.hours.grid import Grid
from planner.hours.spans import Spans
from planner.nouns.case import Past, PastTask
from planner.planning.apart import kept_until
from planner.planning.begun.finding import FOUND, Finding
from planner.planning.problem import Problem, hardening, wait_name
from planner.planning.shut import DELIVERY
from planner.schedule.problem.outcome import Placement
from planner.schedule.problem.parts import (
    Activity,
    Apart,
    ClosedTicks,
    Closure,
    Link,
    LinkKind,
    Lookup,
    Mode,
    Person,
    Pin,
)

FINISH_START = LinkKind.FINISH_START
NOW = "now"
REACHED_IF_DRY = ("set", "recoat", "dry")
LATE_IF_WET = ("recoat", "dry")
LEAST_LONGER_H = 1.0  # a coat found wet isn't looked at again sooner
SOON_H = 72.0  # who isn't there for so long doesn't keep a task that is under way


def with_past(problem: Problem, past: Past) -> Problem:
    """Return the problem of a job that has come as far as `past` says.

    What the job's work has no longer is left out.
    """
    known = {t.id for t in problem.work.tasks}
    return _Begun(problem, past, {p.task: p for p in past.tasks if p.task in known})()


def as_worked(
    problem: Problem, placed: Mapping[str, Placement]
) -> dict[str, Placement]:
    """Return placements with what happened as it was worked, by the teams that did it."""
    out = {}
    for task, one in placed.items():
        before = problem.past.get(task)
        if before is None:
            out[task] = one
        elif one.team:  # under way: the rest of it is planned
            worked = before.worked | one.worked
            out[task] = replace(one, start=before.start, worked=worked)
        else:
            out[task] = before
    return out


class _Begun:
    """One problem and its past, in ticks."""

    def __init__(
        self, problem: Problem, past: Past, tasks: Mapping[str, PastTask]
    ) -> None:
        self.problem, self.grid, self.tasks = problem, problem.grid, tasks
        self.now = min(self.grid.ceil(past.now), self.grid.ticks)
        self.done = {k for k, p in tasks.items() if p.end is not None}
        self.begun = set(tasks) - self.done
        self.found = dict(self._found())

    def __call__(self) -> Problem:
        instance = self.problem.instance
        words = units.moment_words(self.grid.instant(self.now), self.grid.zone)
        facts = {**self.problem.facts, NOW: f"it is {words} already"}
        for task in self.problem.work.tasks:
            if task.id in self.tasks:
                facts[f"happened:{task.id}"] = f'"{task.title}" was begun'
        found = replace(
            instance,
            tasks=tuple(map(self.task, instance.tasks)),
            people=tuple(map(self.person, instance.people)),
            links=(*self.links(instance.links), *self.first_in_their_bays()),
            apart=tuple(self.aparts(instance.apart)),
            closures=tuple(map(self.closure, instance.closures)),
            lookups=(*instance.lookups, *self.lookups()),
            pins=(
                *(p for p in instance.pins if p.task not in self.tasks),
                *self.pins(),
            ),
            agreed=tuple(a for a in instance.agreed if a.task not in self.tasks),
        )
        return replace(
            self.problem,
            instance=found,
            facts=facts,
            past={k: _placed(self.grid, p) for k, p in self.tasks.items()},
            found=self.found,
            now=self.now,
        )

    # -- tasks and people ------------------------------------------------------

    def task(self, task: Activity) -> Activity:
        """Return a task as what is left of it: of one that is done, its time alone."""
        before_now = ClosedTicks(fact=NOW, ticks=Spans.of([(0, self.now)]))
        past = self.tasks.get(task.id)
        if past is None:
            shut = (b for b in task.no_start if not self.is_missed(task, b))
            return replace(task, no_start=(*shut, before_now))
        if past.end is not None:
            ticks = self.grid.ceil(past.end) - self.grid.floor(past.start)
            return Activity(id=task.id, modes=(Mode(size=0, ticks=ticks),))
        work = next(t for t in self.problem.work.tasks if t.id == task.id)
        teams = {t.size: t for t in work.teams}
        modes = tuple(
            Mode(
                size=m.size,
                ticks=max(
                    1,
                    self.grid.ticks_up(
                        past.left_h / (m.size * teams[m.size].yield_frac)
                    ),
                ),
            )
            for m in task.modes
        )
        return replace(
            task, modes=modes, set_up=0, no_start=(before_now,), optional=False
        )

    def is_missed(self, task: Activity, block: ClosedTicks) -> bool:
        """Tell whether crates came and weren't opened that day: they are all the same."""
        if block.fact != DELIVERY or not self.has_come():
            return False
        left = Spans.of([(self.now, self.grid.ticks)]) - block.ticks
        eligible = [p for p in self.problem.instance.people if p.id in task.eligible]
        there = np.sum([p.open.mask(self.grid.ticks) for p in eligible], axis=0)
        least = min(m.size for m in task.modes)
        could = (there >= least) & left.mask(self.grid.ticks)
        return int(could.sum()) <= task.set_up

    def has_come(self) -> bool:
        """Tell whether the crates were to be there by now."""
        come = self.problem.job.delivery
        return come is not None and self.grid.ceil(come) <= self.now

    def person(self, person: Person) -> Person:
        """Return somebody who rests after the last work of the past, where it is due."""
        worked = Spans.of(
            s
            for p in self.tasks.values()
            if person.id in p.team
            for s in _placed(self.grid, p).worked.clip(0, self.now)
        )
        if not worked or not person.rest:
            return person
        last = worked.items[-1][1]
        shifts = person.shifts or person.open
        own = next((b for a, b in shifts if a < last <= b), last)
        return replace(person, open=person.open - Spans.of([(own, last + person.rest)]))

    def pins(self) -> Iterator[Pin]:
        people = {p.id: p for p in self.problem.instance.people}
        soon = self.now + self.grid.ticks_up(SOON_H)
        able = {t.id: t for t in self.problem.instance.tasks}
        for id_, past in self.tasks.items():
            fact = f"happened:{id_}"
            if past.end is not None:
                yield Pin(task=id_, start=self.grid.floor(past.start), fact=fact)
            elif (
                set(past.team) <= set(able[id_].eligible)
                and len(past.team) in {m.size for m in able[id_].modes}
                and all(people[p].open.clip(self.now, soon) for p in past.team)
            ):
                yield Pin(task=id_, team=tuple(sorted(past.team)), fact=fact)

    # -- what ties tasks together ----------------------------------------------

    def links(self, links: tuple[Link, ...]) -> Iterator[Link]:
        """Yield the links that still bind, with waits that were looked at as found."""
        over = {k.name: k.over for k in self.problem.instance.lookups}
        for link in links:
            if link.after in self.tasks:
                continue
            past = self.tasks.get(link.before)
            if link.kind is LinkKind.LATEST and past is not None and not link.unless:
                end = past.end
                if end is not None and over[link.wait][self.grid.ceil(end)] < self.now:
                    continue  # it is too late for that, whatever is done
            if link.kind is LinkKind.LATEST:
                yield link
            else:
                yield replace(link, wait=self.wait(link.before, link.wait))

    def wait(self, task: str, name: str) -> str:
        """Return the name of a task's wait: its own one where its coat was looked at."""
        return f"{FOUND}{task}:{name}" if (task, name) in self.found else name

    def first_in_their_bays(self) -> Iterator[Link]:
        """Yield that what is under way in a bay is ended before others work there."""
        places = {
            t.id: {d.pool for d in t.demands} for t in self.problem.instance.tasks
        }
        for one in sorted(self.begun):
            for other, bays in places.items():
                if other not in self.tasks and bays & places[one]:
                    yield Link(before=one, after=other)

    def aparts(self, aparts: tuple[Apart, ...]) -> Iterator[Apart]:
        for apart in aparts:
            if apart.task in self.tasks:
                others = tuple(o for o in apart.others if o not in self.tasks)
            else:
                others = tuple(o for o in apart.others if o not in self.done)
            if others:
                until = self.wait(apart.task, apart.until)
                yield replace(apart, others=others, until=until)

    def closure(self, closure: Closure) -> Closure:
        """Return a closure that bookings of the past no longer forbid."""
        gone = Spans.of([(0, self.now)])
        left = (replace(b, ticks=b.ticks - gone) for b in closure.booked)
        return replace(closure, booked=tuple(b for b in left if b.ticks))

    # -- coats that were looked at ---------------------------------------------

    def _found(self) -> Iterator[tuple[tuple[str, str], Finding]]:
        """Yield when each wait after a coat that was looked at is over."""
        instance = self.problem.instance
        known = (*self.problem.lookups.values(), *instance.lookups)
        over = {k.name: k.over for k in known}
        waited = {(x.before, x.wait) for x in instance.links if x.kind is FINISH_START}
        waited |= {(a.task, a.until) for a in instance.apart}
        for coat in self.problem.work.tasks:
            if (until := kept_until(coat)) and wait_name(until) in over:
                waited.add((coat.id, wait_name(until)))
        for task, name in sorted(waited):
            past = self.tasks.get(task)
            if past is None or past.end is None or not name:
                continue
            stage = hardening(self.problem.products, self.problem.waits[name]).stage
            if is_dry(past) and past.found_dry is not None:
                if stage in REACHED_IF_DRY:
                    over_at = self.grid.ceil(past.found_dry)
                    yield (
                        (task, name),
                        Finding(over=over_at, dry=True, seen=over_at),
                    )
            elif past.found_wet is not None and stage in LATE_IF_WET:
                had_h = (past.found_wet - past.end).total_seconds() / 3600
                more_h = max(LEAST_LONGER_H, self.problem.job.margin_frac * had_h)
                again = self.grid.ceil(past.found_wet + timedelta(hours=more_h))
                by_law = over[name][self.grid.ceil(past.end)]
                seen = self.grid.floor(past.found_wet)
                yield (
                    (task, name),
                    Finding(over=max(again, by_law), dry=False, seen=seen),
                )

    def lookups(self) -> Iterator[Lookup]:
        ticks = tuple(range(self.grid.ticks + 1))
        for (task, name), finding in self.found.items():
            over = min(max(finding.over, 0), len(ticks))
            yield Lookup(
                name=f"{FOUND}{task}:{name}", over=(finding.over,) * over + ticks[over:]
            )


def is_dry(past: PastTask) -> bool:
    """Tell whether a task's coat was found dry, and not wet after that."""
    dry, wet = past.found_dry, past.found_wet
    return dry is not None and (wet is None or dry >= wet)


def _placed(grid: Grid, past: PastTask) -> Placement:
    return Placement(
        task=past.task,
        team=past.team,
        start=grid.floor(past.start),
        end=grid.ceil(past.end) if past.end is not None else grid.floor(past.start) + 1,
        worked=Spans.of((grid.floor(a), grid.ceil(b)) for a, b in past.spans),
    )
