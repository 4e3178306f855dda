"""A plan as rows of words, which the text reports and the page share."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from planner.languages.language import ENGLISH, Language
from planner.nouns.plan import Plan, PlannedTask, PlannedWait
from planner.nouns.product import POT_LIFE, HardeningWay
from planner.nouns.told.saying import marked
from planner.nouns.work import ReturnKind
from planner.report.drawing.telling import Telling
from planner.units import duration_words


@dataclass(frozen=True, slots=True, kw_only=True)
class WaitRow:
    """A wait in words: how long, how sure, in which air, ready when.

    `hours` are planned with the job's margin, `likely` without it.
    """

    verb: str
    product: str
    hours: str
    likely: str
    air: str
    ready: str
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BeforeRow:
    """One thing that a task waits for; `id` is as people say it."""

    id: str
    title: str
    reason: str
    ended: str
    wait: WaitRow | None


@dataclass(frozen=True, slots=True, kw_only=True)
class TaskRow:
    """A task in words with everything that it waits for.

    `id` is as people say it, without the stage where only one has such a task.
    `held` says what held it, where it is one of those that hold the date; else it is
    empty. `binding` tells whether any slip of it moves full service, and `hidden` what
    comes after a task that holds the date and yet has slack. `covers` says
    within which time it must cover the coat before; empty where there is none.
    """

    id: str
    title: str
    bay: str
    when: str
    team: str
    work: str
    slack: str
    free: str
    held: str
    binding: bool
    hidden: str
    before: tuple[BeforeRow, ...]
    covers: str
    pauses: int


def passes(way: str) -> str:
    """Return what a coat or a test does during its wait, as a verb with a duration.

    Examples
    --------
    >>> passes("dries"), passes("lies")
    ('dries', 'awaits its result')
    """
    return marked("awaits its result") if way == HardeningWay.LIES else way


def minutes_between(a: datetime, b: datetime) -> float:
    """Return the minutes from `a` to `b`."""
    return (b - a).total_seconds() / 60


WaitKey = tuple[str, str, str]
MIDNIGHT = "00:00"


def _binding(plan: Plan, waits: Mapping[WaitKey, PlannedWait]) -> Iterator[WaitKey]:
    """Yield the waits that what holds the date goes through: task, product, stage."""
    named = {
        "link": [(x.before, x.after, x.product, x.stage) for x in plan.links],
        "apart": [(x.task, x.other, x.product, x.stage) for x in plan.apart],
    }
    for stage in plan.stages:
        for step in stage.chain:
            found = [
                waits[(by, product, until)]
                for by, held, product, until in named.get(step.cause, ())
                if (by, held) == (step.by, step.task) and product and until
            ]
            last = max(found, key=lambda w: w.ready, default=None)
            if last is not None:
                yield last.task, last.product, last.stage
        for term in stage.return_terms:
            if term.product is None or term.stage is None:
                continue
            key = (term.task, term.product, term.stage)
            if waits[key].ready == stage.closure[1]:
                yield key


def labour_words(task: PlannedTask, language: Language = ENGLISH) -> str:
    """Return the work of a task in hours, and what setting up takes each day."""
    say, labour = language.say, language.duration(task.person_hours * 60)
    if not task.set_up_h:
        return say("{labour} of labour", labour=labour)
    told = {"labour": labour, "set_up": language.duration(task.set_up_h * 60)}
    if len(task.bays) == 1:
        return say(
            "{labour} of labour, {set_up} each day to set up in this bay", **told
        )
    return say("{labour} of labour, {set_up} each day to set up", **told)


class View:
    """A plan with the look-ups that every report needs.

    With `year_said`, dates of the plan's first year leave it out: whoever shows them says
    it once.
    """

    def __init__(
        self, plan: Plan, language: Language = ENGLISH, *, year_said: bool = False
    ) -> None:
        self.plan = plan
        self.language, self.say = language, language.say
        self._telling = Telling(plan.units, plan.sayings, language)
        self.told, self.named = self._telling.told, self._telling.named
        self.zone = ZoneInfo(plan.zone)
        self.year = plan.grid_start.astimezone(self.zone).year
        self._year_said = year_said
        self.tasks = {t.id: t for t in plan.tasks}
        self.names = {c.id: c.name for c in plan.crew}
        self.waits = {(w.task, w.product, w.stage): w for w in plan.waits}
        self.chain = frozenset(s.task for stage in plan.stages for s in stage.chain)
        self.binding = frozenset(t.id for t in plan.tasks if not t.total_slack_min)
        self.bays = {
            b.id: self.named(b.name) for stage in plan.stages for b in stage.bays
        }
        self._gating = frozenset(
            (x.before, x.product, x.stage) for x in plan.links if x.product
        )
        self._binding = frozenset(_binding(plan, self.waits))

    def when(self, moment: datetime) -> str:
        """Return a moment in the site's zone."""
        if self._is_said(moment):
            return self.language.moment_of_year(moment, self.zone)
        return self.language.moment(moment, self.zone)

    def day(self, moment: datetime) -> str:
        """Return the day of a moment in the site's zone."""
        if self._is_said(moment):
            return self.language.day_of_year(moment, self.zone)
        return self.language.day(moment, self.zone)

    def _is_said(self, moment: datetime) -> bool:
        """Tell whether the year of a moment was said before."""
        return self._year_said and moment.astimezone(self.zone).year == self.year

    def clock(self, moment: datetime) -> str:
        """Return the time of day of a moment in the site's zone."""
        return self.language.clock(moment, self.zone)

    def clocks(self, start: datetime, end: datetime) -> str:
        """Return from when to when, on one day."""
        say = self.say
        return say("{start} to {end}", start=self.clock(start), end=self.clock(end))

    def title(self, task: str) -> str:
        """Return what a task is called, by its id."""
        return self.told(self.tasks[task].title)

    def gates(self, wait: PlannedWait) -> bool:
        """Return whether a task must wait for this, and not a return only."""
        return (wait.task, wait.product, wait.stage) in self._gating

    def binds(self, wait: PlannedWait) -> bool:
        """Return whether a wait holds the date, no slip before it being hidden."""
        key = (wait.task, wait.product, wait.stage)
        return key in self._binding and wait.task in self.binding

    def span(self, start: datetime, end: datetime) -> str:
        """Return a stretch, its year said once, and its day where it is the same.

        What ends as a day ends is said to end at midnight of that day; whole days are
        said as days.
        """
        say, last = self.say, end - timedelta(microseconds=1)
        first, day = self.day(start), self.day(last)
        years = {m.astimezone(self.zone).year for m in (start, last)}
        same_year = len(years) == 1 and first != day
        opens = self.language.day_of_year(start, self.zone) if same_year else first
        begins, clock = self.clock(start), self.clock(end)
        one = {"day": opens, "start": begins, "end": clock}
        two = {"first": opens, "last": day, "start": begins, "end": clock}
        if begins == clock == MIDNIGHT and end > start:
            if first == day:
                return say("{day}, all day", **one)
            return say("{first} to {last}, all day", **two)
        if clock != MIDNIGHT or end <= start:
            if first == day:
                return say("{day}, {start} to {end}", **one)
            return say("{first}, {start} to {last}, {end}", **two)
        if first == day:
            return say("{day}, {start} to midnight", **one)
        return say("{first}, {start} to midnight {last}", **two)

    def team(self, task: PlannedTask) -> str:
        """Return the names of a team."""
        return ", ".join(self.names[p] for p in task.team)

    def wait_row(self, wait: PlannedWait) -> WaitRow:
        """Return a wait in words."""
        planned = minutes_between(wait.begins, wait.ready)
        likely = minutes_between(wait.begins, wait.likely)
        return WaitRow(
            verb=wait.way,
            product=wait.product_title,
            hours=duration_words(planned),
            likely=duration_words(likely),
            air=f"{self.plan.units.temperature(wait.air_c)}, {wait.humidity_pct:.0f} % humidity",
            ready=self.when(wait.ready),
            source=f"{wait.source} ({wait.source_tag})",
        )

    def task_row(self, task: PlannedTask) -> TaskRow:
        """Return a task in words."""
        rows = []
        for link in self.plan.links:
            if link.after != task.id:
                continue
            before = self.tasks[link.before]
            wait = None
            if link.product is not None and link.stage is not None:
                wait = self.waits[(link.before, link.product, link.stage)]
            rows.append(
                BeforeRow(
                    id=self.plan.short_id(before.id),
                    title=before.title,
                    reason=link.reason,
                    ended=self.when(before.end),
                    wait=self.wait_row(wait) if wait else None,
                )
            )
        return TaskRow(
            id=self.plan.short_id(task.id),
            title=task.title,
            bay=", ".join(self.bays[b] for b in task.bays) or "off the stage",
            when=self.span(task.start, task.end),
            team=self.team(task),
            work=f"{task.quantity}, {labour_words(task)}",
            slack=duration_words(task.total_slack_min),
            free=duration_words(task.free_slack_min),
            held=task.held_by if task.id in self.chain else "",
            binding=task.id in self.binding,
            hidden=self.hidden(task),
            before=tuple(rows),
            covers=self.covers(task),
            pauses=len(task.spans) - 1,
        )

    def covers(self, task: PlannedTask) -> str:
        """Return within which time a task must cover the coat before, in words."""
        window = next((w for w in self.plan.windows if w.after == task.id), None)
        if window is None:
            return ""
        say, coat = self.say, self.title(window.before)
        closes = say("after the plan's end")
        if window.closes is not None:
            closes = self.when(window.closes)
        told = {"latest": self.told(window.latest), "coat": coat, "closes": closes}
        if window.latest == POT_LIFE:
            return say(
                "begins within the {latest} of {coat}, which closes {closes}", **told
            )
        if window.sanded_again is None:
            return say(
                "covers {coat} within its {latest}, which closes {closes}", **told
            )
        return say(
            "the {latest} of {coat} closes {closes}: it is sanded again first ({sanding})",
            sanding=self.title(window.sanded_again),
            **told,
        )

    def task_rows(self) -> tuple[TaskRow, ...]:
        """Return every task in words, in order of start."""
        return tuple(self.task_row(t) for t in self.plan.tasks)

    def chain_rows(self) -> Sequence[tuple[PlannedTask, str]]:
        """Return the tasks that hold the date with what held each, in order."""
        order = dict.fromkeys(s.task for s in self.plan.stage.chain)
        return [(self.tasks[t], self.tasks[t].held_by) for t in order]

    def hidden(self, task: PlannedTask) -> str:
        """Return how far a task that holds the date may slip, and what hides the slip.

        Empty for a binding task, and for one that doesn't hold the date.
        """
        if task.id not in self.chain or task.id in self.binding:
            return ""
        chain = self.plan.stage.chain
        last = max(i for i, s in enumerate(chain) if s.task == task.id)
        follower = chain[last + 1].task if last + 1 < len(chain) else ""
        closed = [s.because for s in chain[last + 2 :] if s.task == follower]
        words = f"may slip {duration_words(task.total_slack_min)}"
        return f"{words}, absorbed by what comes next: {closed[0]}" if closed else words

    def return_terms(
        self, kind: ReturnKind
    ) -> Sequence[tuple[PlannedTask, PlannedWait | None]]:
        """Return what a return waits for, the last to be over first."""
        found: list[tuple[PlannedTask, PlannedWait | None]] = []
        for term in self.plan.stage.return_terms:
            if term.returning is not kind:
                continue
            wait = None
            if term.product is not None and term.stage is not None:
                wait = self.waits[(term.task, term.product, term.stage)]
            found.append((self.tasks[term.task], wait))
        return sorted(
            found, key=lambda f: f[1].ready if f[1] else f[0].end, reverse=True
        )
