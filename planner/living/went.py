"""How each task went until now: as it was logged, else as it was planned.

What nobody logged is taken as planned, as long as what it follows had been done by then and
nobody logged that it was still waiting; else it is taken as not begun. What must come before
something that was logged was done by then, whether or not anybody said so. Moments are brought
to the plan's step: a start down, an end up, so that no coat counts as finished sooner than it
was.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

from planner.nouns.case import Past, PastTask
from planner.nouns.happened import OF_TASKS, Happening, Logbook, What
from planner.nouns.ids import bare
from planner.nouns.plan import Plan, PlannedTask, Stretch
from planner.nouns.work import Work


@dataclass(frozen=True, slots=True, kw_only=True)
class Went:
    """The past of a job, and the ids of tasks of which it was taken from the plan."""

    past: Past
    taken: tuple[str, ...]


def went(
    plan: Plan, book: Logbook, work: Work, *, now: datetime, since: datetime | None
) -> Went:
    """Return how the tasks of a plan went until a moment.

    Parameters
    ----------
    plan
        The plan that stands.
    book
        What was logged.
    work
        The job's work, for how much a team gives.
    now
        The moment, on the plan's step; what was logged of later ones is left out.
    since
        When the plan was last revised: what was logged until then is in it already.
    """
    return _Telling(plan, book, work, now, since).told()


class _Telling:
    """One plan and its log, task by task in the plan's order."""

    def __init__(
        self,
        plan: Plan,
        book: Logbook,
        work: Work,
        now: datetime,
        since: datetime | None,
    ) -> None:
        self.plan, self.now, self.since = plan, now, since
        self.step = timedelta(minutes=plan.tick_minutes)
        self.yields = {
            t.id: {x.size: x.yield_frac for x in t.teams} for t in work.tasks
        }
        self.logged: dict[str, list[Happening]] = {}
        for event in book.in_time:
            if event.what in OF_TASKS and event.at <= now:
                self.logged.setdefault(event.about, []).append(event)
        self.away = [e for e in book.in_time if e.what is What.AWAY]
        self.open = {p.id: p.open for p in plan.crew}
        self.before: dict[str, list[tuple[str, bool]]] = {}
        for link in plan.links:
            waits = link.product is not None
            self.before.setdefault(link.after, []).append((link.before, waits))
        self.needed_by = self._needed()

    def told(self) -> Went:
        """Return the past, task by task."""
        out: dict[str, PastTask] = {}
        taken = []
        for task in sorted(self.plan.tasks, key=lambda t: (t.start, t.end, t.id)):
            found = self.task(task, out)
            if found is not None:
                out[task.id] = found
                if self.is_taken(task, found):
                    taken.append(task.id)
        past = Past(now=self.now, tasks=tuple(out.values()))
        return Went(past=past, taken=tuple(taken))

    def _needed(self) -> dict[str, datetime]:
        """Return by when each task had to be done for what was logged to begin."""
        out: dict[str, datetime] = {}
        for task in self.plan.tasks:
            begun = self.logged_start(task)
            ahead = [task.id] if begun is not None else []
            while ahead and begun is not None:
                for id_, _ in self.before.get(ahead.pop(), ()):
                    if id_ not in out or begun < out[id_]:
                        out[id_] = begun
                        ahead.append(id_)
        return out

    def logged_start(self, task: PlannedTask) -> datetime | None:
        """Return when a task began by the log; None where it doesn't say that it did."""
        events = self.logged.get(task.id, [])
        begun, done = _last(events, What.BEGUN), _last(events, What.DONE)
        if done is None:
            return None if begun is None else self.floor(begun.at)
        start = begun.at if begun is not None and begun.at < done.at else task.start
        return min(self.floor(start), self.ceil(done.at) - self.step)

    def is_taken(self, task: PlannedTask, found: PastTask) -> bool:
        """Tell whether the begin or the end of a task is the plan's, not the log's."""
        kinds = {e.what for e in self.logged.get(task.id, ())}
        if found.end is None:
            return not kinds & {What.BEGUN, What.STOPPED}
        return What.DONE not in kinds

    # -- one task ---------------------------------------------------------------

    def task(self, task: PlannedTask, past: Mapping[str, PastTask]) -> PastTask | None:
        """Return how a task went, None where it wasn't begun."""
        events = self.logged.get(task.id, [])
        done = _last(events, What.DONE)
        begun = _last(events, What.BEGUN)
        stopped = _last(events, What.STOPPED)
        logged = self.logged_start(task)
        if done is not None and logged is not None:
            return self.past(task, events, logged, self.ceil(done.at))
        by = self.needed_by.get(task.id)
        if by is not None:
            end = min(task.end, by)
            return self.past(task, events, min(task.start, end - self.step), end)
        if begun is None and stopped is None:
            waited = _last(events, What.WAITING)
            waits = waited is not None and waited.at > task.start
            if waits or task.start >= self.now or not self.could_begin(task, past):
                return None
            return self.as_planned(task, events, task.start, timedelta(0))
        start = logged if logged is not None else task.start
        last = max((e for e in (begun, stopped) if e is not None), key=lambda e: e.at)
        known = self.since is not None and last.logged <= self.since
        if not known and (last.left_h is not None or last is stopped):
            return self.under_way(task, events, start, last)
        late = timedelta(0) if known else start - task.start
        return self.as_planned(task, events, min(start, self.now), late)

    def could_begin(self, task: PlannedTask, past: Mapping[str, PastTask]) -> bool:
        """Tell whether what a task follows was done, and its team there, as planned."""
        for before, waits in self.before.get(task.id, ()):
            one = past.get(before)
            if one is None or one.end is None or one.end > task.start:
                return False
            if waits and _still_wet(one, task.start):
                return False
        first = task.spans[0] if task.spans else (task.start, task.end)
        return not any(
            e.about in task.team and e.start is not None and e.until is not None
            and e.start < first[1] and first[0] < e.until
            for e in self.away
        )  # fmt: skip

    def as_planned(
        self,
        task: PlannedTask,
        events: list[Happening],
        start: datetime,
        late: timedelta,
    ) -> PastTask:
        """Return a task that goes on as planned, so much later than planned."""
        if task.end + late <= self.now:
            return self.past(task, events, start, task.end + late)
        left = sum(
            (max(b - max(a, self.now - late), timedelta(0)) for a, b in task.spans),
            timedelta(0),
        )
        return self.past(task, events, start, None, left_h=self.given_h(task, left))

    def under_way(
        self,
        task: PlannedTask,
        events: list[Happening],
        start: datetime,
        last: Happening,
    ) -> PastTask:
        """Return a task of which so much was left when it was last logged."""
        if last.left_h is not None:
            left = timedelta(hours=last.left_h)
        else:
            whole = sum((b - a for a, b in task.spans), timedelta(0))
            until = min(last.at, self.now)
            worked = sum(
                (b - a for a, b in self.hours(task.team, start, until)), timedelta()
            )
            left = max(whole - worked, self.step)
        left_h = self.given_h(task, max(left, self.step))
        return self.past(task, events, start, None, left_h=left_h)

    def past(
        self,
        task: PlannedTask,
        events: Iterable[Happening],
        start: datetime,
        end: datetime | None,
        left_h: float = 0.0,
    ) -> PastTask:
        """Return a task as it went, by whom it was logged, with what its coat was."""
        found = list(events)
        dry, wet = _last(found, What.DRY), _last(found, What.WET)
        until = self.now if end is None else end
        if (start, end) == (task.start, task.end):
            spans = task.spans
        else:
            spans = tuple(self.hours(self.team(task, found), start, until))
        return PastTask(
            task=bare(task.id),
            start=start,
            end=end,
            team=self.team(task, found),
            spans=spans,
            left_h=left_h,
            found_dry=dry.at if dry else None,
            found_wet=wet.at if wet else None,
        )

    def team(self, task: PlannedTask, events: Iterable[Happening]) -> tuple[str, ...]:
        """Return who did it: as it was last logged, else as planned."""
        said = [e.by for e in events if e.by and e.what in (What.BEGUN, What.DONE)]
        return tuple(sorted(set(said[-1]))) if said else task.team

    def hours(
        self, team: Iterable[str], start: datetime, until: datetime
    ) -> Iterator[Stretch]:
        """Yield the open hours of a team in a stretch; all of it where there are none."""
        both: list[Stretch] = [(start, until)] if start < until else []
        for person in team:
            both = [
                (max(a, c), min(b, d))
                for a, b in both
                for c, d in self.open.get(person, ())
                if max(a, c) < min(b, d)
            ]
        if both:
            yield from both
        elif start < until:
            yield start, until

    def given_h(self, task: PlannedTask, left: timedelta) -> float:
        """Return the hours of work of one person that a task's team gives in a time."""
        size = len(task.team)
        frac = self.yields.get(bare(task.id), {}).get(size, 1.0)
        return left.total_seconds() / 3600 * size * frac

    # -- the plan's step --------------------------------------------------------

    def floor(self, moment: datetime) -> datetime:
        """Return the step that begins at a moment, or the last one before it."""
        first = self.plan.grid_start
        return first + (moment - first) // self.step * self.step

    def ceil(self, moment: datetime) -> datetime:
        """Return the first step from a moment on."""
        down = self.floor(moment)
        return down if down == moment else down + self.step


def _still_wet(past: PastTask, moment: datetime) -> bool:
    """Tell whether a coat was found wet at a moment or after, and not dry before."""
    wet, dry = past.found_wet, past.found_dry
    return wet is not None and wet >= moment and not (dry is not None and dry <= moment)


def _last(events: Iterable[Happening], what: What) -> Happening | None:
    found = [e for e in events if e.what is what]
    return found[-1] if found else None
