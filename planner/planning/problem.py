"""Work, air and open hours become a whole-number instance with facts in words."""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from planner import units
from planner.air import waits
from planner.hours.grid import Grid
from planner.hours.open import OpenHours, person_hours
from planner.hours.spans import Spans
from planner.nouns import product as matter
from planner.nouns.calendar import Busy
from planner.nouns.inputs import Hours
from planner.nouns.job import CrewMember, Job
from planner.nouns.kept import Kept
from planner.nouns.product import Air, Product
from planner.nouns.work import (
    Pace,
    ReturnKind,
    Task,
    TaskLink,
    Team,
    Wait,
    Window,
    Work,
)
from planner.planning import shut
from planner.planning.apart import kept_apart, kept_until
from planner.planning.begun.finding import Finding
from planner.planning.shut import Shut
from planner.schedule.problem.instance import Instance
from planner.schedule.problem.outcome import Placement
from planner.schedule.problem.parts import (
    Activity,
    AimKind,
    Apart,
    ClosedTicks,
    Closure,
    Demand,
    Hold,
    Link,
    LinkKind,
    Lookup,
    Mode,
    Person,
    Pool,
    Term,
)
from planner.schedule.space.starts import near_shifts

LIMITS, PERSON = "limits:", "person:"  # how facts begin: of a product, of a person
AIMS = (AimKind.LAST_RETURN, AimKind.CLOSED, AimKind.CALLS)


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """An instance with everything needed to speak of it in people's words."""

    job: Job
    work: Work
    grid: Grid
    air: Air
    products: Mapping[str, Product]
    open: Mapping[str, OpenHours]
    booked: tuple[tuple[Busy, Spans], ...]
    quiet: tuple[tuple[Busy, Spans], ...]
    instance: Instance
    facts: Mapping[str, str]  # fact of the instance → the user's words
    lookups: Mapping[str, Lookup]  # every wait, those of returns that bind nothing too
    waits: Mapping[str, Wait]  # by the names of their look-ups
    past: Mapping[str, Placement] = field(default_factory=dict)  # as it was worked
    found: Mapping[tuple[str, str], Finding] = field(  # by task and wait
        default_factory=dict
    )
    now: int = 0  # the tick as of which a job that has begun is planned


def wait_name(wait: Wait) -> str:
    """Return the name of a wait's look-up."""
    return "+".join((f"{wait.product}:{wait.stage}", *wait.covered_by))


def window_name(window: Window) -> str:
    """Return the name of a window's look-up."""
    return f"{window.product}:{window.latest}"


def hardening(products: Mapping[str, Product], wait: Wait) -> matter.Hardening:
    """Return the stage of hardening that a wait waits for."""
    product = products[wait.product]
    return next(s for s in product.stages if s.stage == wait.stage)


def stacked_times(products: Mapping[str, Product], wait: Wait) -> float:
    """Return how many times a coat's own hours a wait is, for what lies over it wet."""
    if not wait.covered_by:
        return 1.0
    over = [products[id_] for id_ in wait.covered_by]
    return waits.stacked_times(products[wait.product], wait.stage, over)


def margin_frac(job: Job, stage: matter.Hardening) -> float:
    """Return what the job adds to a wait: its margin where the wait hangs on the air."""
    return job.margin_frac if stage.way in waits.OF_THE_AIR else 0.0


def before_frac(job: Job, stage: matter.Hardening) -> float | None:
    """Return what the job adds to the stage before a wait's, if there is one."""
    return None if stage.after is None else margin_frac(job, stage.after)


def lookup_of(
    name: str, over: Callable[..., waits.TickArray], *args: object, **named: object
) -> Lookup:
    """Return what a function of waits says as a look-up of a name."""
    return Lookup(name=name, over=tuple(over(*args, **named).tolist()))


class _Builder:
    """Gathers the parts of one instance; the facts grow with what refers to them."""

    def __init__(
        self,
        job: Job,
        work: Work,
        grid: Grid,
        air: Air,
        products: Mapping[str, Product],
        hours: Hours,
        kept: Kept,
        longer_frac: float,
    ) -> None:
        self.job, self.work, self.grid, self.air = job, work, grid, air
        self.longer_frac = longer_frac
        self.products, self.hours, self.kept = products, hours, kept
        self.facts: dict[str, str] = {}
        self.lookups: dict[str, Lookup] = {}
        self.waits: dict[str, Wait] = {}
        self.open = {
            p.id: kept.of(
                person_hours,
                p,
                grid=grid,
                busy=hours.people.get(p.id, ()),
                holidays=hours.holidays,
            )
            for p in job.crew
        }
        self.booked = self._on_grid(hours.bookings)
        self.quiet = self._on_grid(hours.quiet)

    def _on_grid(self, entries: Sequence[Busy]) -> tuple[tuple[Busy, Spans], ...]:
        placed = ((b, self.grid.outward([(b.start, b.end)])) for b in entries)
        return tuple((b, s) for b, s in placed if s)

    def fact(self, key: str, words: str) -> str:
        self.facts[key] = words
        return key

    # -- waits ---------------------------------------------------------------

    def lookup(self, wait: Wait | None) -> str:
        """Return the name of the wait's look-up, worked out on first use."""
        if wait is None:
            return ""
        name = wait_name(wait)
        if name not in self.lookups:
            product = self.products[wait.product]
            stage = hardening(self.products, wait)
            self.lookups[name] = self.kept.of(
                lookup_of,
                name,
                waits.ready_ticks,
                stage,
                self.air,
                thickness_mm=product.thickness_mm,
                margin_frac=margin_frac(self.job, stage),
                before_frac=before_frac(self.job, stage),
                times=stacked_times(self.products, wait),
                beyond=waits.Beyond.STILL,
            )
            self.waits[name] = wait
            if stage.after is not None:  # the plan shows when this one began, too
                self.lookup(Wait(product=product.id, stage=stage.after.stage))
        return name

    # -- tasks ---------------------------------------------------------------

    def task(self, task: Task) -> Activity:
        crew = self.job.crew
        leads = tuple(p.id for p in crew if set(p.trades) & set(task.lead))
        may = set(task.lead) | set(task.help)
        eligible = tuple(p.id for p in crew if set(p.trades) & may)
        return Activity(
            id=task.id,
            modes=self.modes(task),
            set_up=self.grid.ticks_up(task.set_up_h),
            eligible=eligible,
            leads=leads,
            one_go=task.pace == Pace.ONE_GO,
            no_work=self.closed(self.no_work(task)),
            no_start=self.closed(
                shut.from_starting(self.job, task, self.grid, self.products, self.air)
            ),
            holds=tuple(self.holds(task)),
            demands=tuple(Demand(pool=b) for b in task.bays if task.on_stage),
            optional=task.optional,
        )

    def modes(self, task: Task) -> tuple[Mode, ...]:
        return tuple(
            Mode(size=team.size, ticks=self.ticks_of(task, team)) for team in task.teams
        )

    def ticks_of(self, task: Task, team: Team) -> int:
        """Return the work of a team at a task, longer where the plan is protected.

        What is done in one go stays short enough for the longest stretch of anybody.
        """
        hours = task.person_hours / (team.size * team.yield_frac) + task.elapsed_h
        real = max(1, self.grid.ticks_up(hours))
        if not self.longer_frac:
            return real
        longer = self.grid.ticks_up(hours * (1.0 + self.longer_frac))
        if task.pace == Pace.ONE_GO:
            stretch = max(
                (b - a for o in self.open.values() for a, b in o.open), default=0
            )
            longer = min(longer, stretch - self.grid.ticks_up(task.set_up_h))
        return max(real, longer)

    def closed(self, reasons: Iterable[Shut]) -> tuple[ClosedTicks, ...]:
        """Return closed ticks, their reasons told as facts."""
        return tuple(
            ClosedTicks(fact=self.fact(s.key, s.words), ticks=s.ticks) for s in reasons
        )

    def no_work(self, task: Task) -> Iterator[Shut]:
        if task.on_stage or task.visit:
            yield from shut.by_the_stage(self.job, self.grid, self.kept)
        if task.visit:
            yield from shut.by_bookings(self.booked, self.grid)
        if task.loud:
            yield from shut.by_quiet_hours(self.quiet)

    def holds(self, task: Task) -> list[Hold]:
        wait = kept_until(task)
        if wait is None:
            return []
        product = self.products[wait.product]
        bad = waits.limit_breaks(product.limits, self.air)
        bad |= waits.beyond_range(hardening(self.products, wait), self.air)
        if not bad.any():
            return []
        words = f"{product.title}: {waits.limit_words(product.limits, self.job.units)} until dry"
        return [
            Hold(
                fact=self.fact(f"{LIMITS}{product.id}", words),
                bad=Spans.from_mask(bad),
                until=self.lookup(wait),
            )
        ]

    # -- links ---------------------------------------------------------------

    def link(self, link: TaskLink) -> Link:
        return Link(before=link.before, after=link.after, wait=self.lookup(link.wait))

    def window(self, window: Window) -> Link:
        product = self.products[window.product]
        latest = next(x for x in product.latest if x.name == window.latest)
        name = window_name(window)
        if name not in self.lookups:
            over = waits.latest_ticks
            self.lookups[name] = self.kept.of(lookup_of, name, over, latest, self.air)
        words = f"{product.title}: covered within its {latest.name}, or sanded again"
        if not window.unless:
            words = f"{product.title}: screwed down within its {latest.name}"
        return Link(
            before=window.before,
            after=window.after,
            kind=LinkKind.LATEST,
            wait=name,
            unless=window.unless,
            fact=self.fact(f"window:{product.id}", words),
        )

    def aparts(self) -> list[Apart]:
        return [
            Apart(task=a.task, others=a.others, until=self.lookup(a.until))
            for a in kept_apart(self.work, self.products)
        ]

    def closure(self) -> Closure:
        full = next(r for r in self.work.returns if r.kind is ReturnKind.FULL_SERVICE)
        return Closure(
            id="stage",
            tasks=tuple(t.id for t in self.work.tasks if t.on_stage),
            terms=tuple(Term(task=t, wait=self.lookup(w)) for t, w in full.after),
            booked=self.closed(shut.to_closures(self.job, self.booked, self.grid)),
        )

    def light(self) -> Closure:
        """Return the stretch from the last colour coat to light foot traffic.

        It counts in the sum of closures, so that of plans with the same closure the
        one whose stage bears light foot traffic sooner is chosen.
        """
        light = next(
            r for r in self.work.returns if r.kind is ReturnKind.LIGHT_FOOT_TRAFFIC
        )
        coat = next(t for t, w in light.after if w is not None)
        return Closure(
            id=ReturnKind.LIGHT_FOOT_TRAFFIC,
            tasks=(coat,),
            terms=tuple(Term(task=t, wait=self.lookup(w)) for t, w in light.after),
        )

    def person(self, person: CrewMember) -> Person:
        hours = self.open[person.id]
        made = Person(
            id=person.id,
            open=hours.open,
            shifts=hours.shifts,
            rest=self.grid.ticks_up(person.rest_h),
            fact=self.fact(f"{PERSON}{person.id}", f"the open hours of {person.name}"),
        )
        if not near_shifts(made):
            return made
        rest = units.duration_words(person.rest_h * 60)
        words = f"the rest of {rest} that {person.name} has between two shifts"
        return replace(made, rest_fact=self.fact(f"rest:{person.id}", words))

    def problem(self, aims: tuple[AimKind, ...]) -> Problem:
        work = self.work
        for task in work.tasks:
            words = f'"{task.title}" needs a {" or ".join(task.lead)}'
            least = min(team.size for team in task.teams)
            if least > 1:
                words += f" in a team of {least}"
            self.fact(f"nobody:{task.id}", words)
        instance = Instance(
            horizon=self.grid.ticks,
            tasks=tuple(self.task(t) for t in work.tasks),
            people=tuple(self.person(p) for p in self.job.crew),
            pools=tuple(Pool(id=b) for b in work.bays),
            links=(
                *(self.link(x) for x in work.links),
                *(self.window(x) for x in work.windows),
            ),
            apart=tuple(self.aparts()),
            closures=(self.closure(), self.light()),
            lookups=tuple(self.lookups[k] for k in sorted(self.lookups)),
            days=Spans(()),
            aims=aims,
        )
        for returning in work.returns:
            for _, wait in returning.after:
                self.lookup(wait)
        return Problem(
            job=self.job,
            work=work,
            grid=self.grid,
            air=self.air,
            products=self.products,
            open=self.open,
            booked=self.booked,
            quiet=self.quiet,
            instance=instance,
            facts=self.facts,
            lookups=self.lookups,
            waits=self.waits,
        )


def build(
    job: Job,
    work: Work,
    *,
    grid: Grid,
    air: Air,
    products: Mapping[str, Product],
    hours: Hours,
    aims: tuple[AimKind, ...] = AIMS,
    kept: Kept | None = None,
    longer_frac: float = 0.0,
) -> Problem:
    """Return the instance of a job on a grid, with its facts in words.

    `air` covers the grid, a value for each tick; `hours` holds calendar entries as
    UTC instants; `kept` is what was worked out for other problems. By `longer_frac`
    tasks are longer than the job has them, so that the plan has room.
    """
    if len(air.air_c) != grid.ticks or np.isnan(air.air_c).any():
        raise ValueError(f"air: {len(air.air_c)} values for {grid.ticks} ticks")
    known = Kept() if kept is None else kept
    builder = _Builder(job, work, grid, air, products, hours, known, longer_frac)
    return builder.problem(aims)
