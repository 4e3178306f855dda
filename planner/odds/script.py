"""What is played: the plan's tasks in its order, with all that each may wait for."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from planner.air import waits
from planner.hours.spans import Spans
from planner.nouns.product import Air, Hardening, Product
from planner.nouns.work import ReturnKind, Task, Wait
from planner.odds.clockwork import (
    TeamDays,
    TeamTime,
    person_hours,
    team_days,
    team_time,
)
from planner.odds.drying import PlayedWait, played
from planner.planning.apart import kept_apart, kept_until
from planner.planning.problem import (
    Problem,
    hardening,
    stacked_times,
    wait_name,
)
from planner.planning.shut import DELIVERY
from planner.schedule.problem.outcome import Placement
from planner.schedule.problem.parts import Activity, LinkKind, Mode, Person
from planner.schedule.space.days import shifts_of
from planner.schedule.space.starts import near_shifts

Mask = NDArray[np.bool_]
Ints = NDArray[np.int64]

MOST_TEAMS = 12  # teams that may do a task: its own, and those nearest to it


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PlayedTeam:
    """A team that may do a task: who, by number, and when it works."""

    people: tuple[int, ...]
    time: TeamTime


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Limit:
    """Air that may not be from a task's start until its wait is over."""

    bad: Ints  # how many bad ticks lie before each tick, series after series
    last_bad: Ints  # the last bad tick before each tick, likewise; -1: none
    until: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PlayedWindow:
    """A step must begin in time after `before`, or `unless` is played first.

    With an empty `unless`, `before` is done again.
    """

    before: str
    wait: str
    unless: str


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Step:
    """A task as it is played."""

    task: Task
    pools: tuple[str, ...]
    hours: float  # of the team, as the plan has them
    ticks: int  # of progress, as the plan has them
    planned: int  # tick
    after: tuple[tuple[str, str], ...]  # task, name of its wait or ""
    clear_of: tuple[tuple[str, str], ...]  # tasks whose wait must be over: fumes, dust
    latest: tuple[PlayedWindow, ...]
    limits: tuple[Limit, ...]
    teams: tuple[PlayedTeam, ...]
    touch_up: tuple[str, str] | None = None  # waits of compound, primer, if looked for


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Script:
    """A plan as it is played."""

    horizon: int
    tick_minutes: int
    steps: tuple[Step, ...]
    spare: Mapping[str, Step]  # tasks that are done only where a window is missed
    waits: Mapping[str, PlayedWait]
    windows: Mapping[str, Ints]  # latest start for each end tick
    returns: Mapping[ReturnKind, tuple[tuple[str, str], ...]]
    people: tuple[str, ...]
    rest: tuple[int, ...]  # 0 where each night is longer anyway
    shift_of: tuple[Ints, ...]  # number of each person's shift in or before each tick
    day_of: Ints  # day of each tick, and of the horizon
    day_begins: Ints  # first tick of each day, and the horizon
    delivery: int  # tick at which the crates are to come
    closed_from: int


def script_of(
    problem: Problem, placements: Sequence[Placement], airs: Sequence[Air]
) -> Script:
    """Return a plan as it is played.

    `problem` lies on a grid that is long enough for late futures; the plan's ticks are
    those of this grid. `airs` are series of air on it.
    """
    return _Writer(problem, placements, airs).script()


class _Writer:
    def __init__(
        self, problem: Problem, placements: Sequence[Placement], airs: Sequence[Air]
    ) -> None:
        self.problem, self.airs = problem, airs
        self.grid, self.instance = problem.grid, problem.instance
        self.plan = {p.task: p for p in placements}
        self.work = {t.id: t for t in problem.work.tasks}
        self.number = {p.id: i for i, p in enumerate(self.instance.people)}
        self.named = dict(_waits(problem))
        called = {p.id: _called(p, placements) for p in self.instance.people}
        ticks = self.grid.ticks
        self.called = {who: spans.mask(ticks) for who, spans in called.items()}
        booked = Spans.of(s for _, spans in problem.booked for s in spans)
        self.booked = booked.mask(ticks)
        on_stage = [p.start for p in placements if self.work[p.task].on_stage]
        self.closed_from = min(on_stage)
        self.hours = [person_hours(p, ticks) for p in self.instance.people]
        self.days: dict[tuple[tuple[str, ...], int, bytes], TeamDays] = {}
        self.kept: dict[str, tuple[Limit, ...]] = {}  # by the wait that it is kept for

    def script(self) -> Script:
        days = self.grid.days()
        begins = np.array([*(a for _, a, _ in days), self.grid.ticks], dtype=np.int64)
        ticks = np.arange(self.grid.ticks + 2)
        tasks = {t.id: t for t in self.instance.tasks}
        order = sorted(self.plan.values(), key=lambda p: (p.start, p.end, p.task))
        return Script(
            horizon=self.grid.ticks,
            tick_minutes=self.grid.tick_minutes,
            steps=tuple(self.step(tasks[p.task]) for p in order),
            spare={
                t.id: self.step(t) for t in self.instance.tasks if t.id not in self.plan
            },
            waits={
                name: played(stage, self.airs, product, times)
                for name, (stage, product, times) in self.named.items()
            },
            windows={
                x.wait: np.array(self.problem.lookups[x.wait].over, dtype=np.int64)
                for x in self.instance.links
                if x.kind is LinkKind.LATEST
            },
            returns={
                r.kind: tuple((t, wait_name(w) if w else "") for t, w in r.after)
                for r in self.problem.work.returns
            },
            people=tuple(p.id for p in self.instance.people),
            rest=tuple(p.rest if near_shifts(p) else 0 for p in self.instance.people),
            shift_of=tuple(
                np.searchsorted([a for a, _ in shifts_of(p)], ticks, side="right")
                for p in self.instance.people
            ),
            day_of=np.searchsorted(begins, ticks, side="right") - 1,
            day_begins=np.append(begins, self.grid.ticks),
            delivery=(
                0
                if self.problem.job.delivery is None
                else self.grid.ceil(self.problem.job.delivery)
            ),
            closed_from=self.closed_from,
        )

    def step(self, activity: Activity) -> Step:
        """Return a task as it is played."""
        task = self.work[activity.id]
        placed = self.plan.get(task.id)
        planned = self.grid.ticks if placed is None else placed.start
        mode = _mode(activity, placed)
        team = next(t for t in task.teams if t.size == mode.size)
        links = [x for x in self.instance.links if x.after == task.id]
        return Step(
            task=task,
            pools=tuple(d.pool for d in activity.demands),
            hours=task.person_hours / (team.size * team.yield_frac) + task.elapsed_h,
            ticks=mode.ticks,
            planned=planned,
            after=tuple(
                (x.before, x.wait) for x in links if x.kind is LinkKind.FINISH_START
            ),
            clear_of=tuple(self.clear_of(task.id)),
            latest=tuple(
                PlayedWindow(before=x.before, wait=x.wait, unless=x.unless)
                for x in links
                if x.kind is LinkKind.LATEST
            ),
            limits=self.limits(task),
            teams=tuple(self.teams(activity, placed, mode)),
            touch_up=self.touch_up(task) if task.touch_up_frac > 0.0 else None,
        )

    def touch_up(self, task: Task) -> tuple[str, str]:
        """Return the waits of the compound and of the primer that came before a task."""
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

    def clear_of(self, task: str) -> Iterator[tuple[str, str]]:
        """Yield the tasks before it from which a task keeps away, with their waits."""
        mine = self.plan.get(task)
        for apart in self.instance.apart:
            other = self.plan.get(apart.task)
            if mine is None or other is None:
                continue
            if task in apart.others and other.start < mine.start:
                yield apart.task, apart.until
            if task == apart.task:
                for name in apart.others:
                    one = self.plan.get(name)
                    if one is not None and one.start < mine.start:
                        yield name, ""

    def limits(self, task: Task) -> tuple[Limit, ...]:
        """Return the air that a task's coat may not lie in until it is dry."""
        wait = kept_until(task)
        if wait is None:
            return ()
        name = wait_name(wait)
        if name not in self.kept:
            self.kept[name] = tuple(self.limits_until(wait))
        return self.kept[name]

    def limits_until(self, wait: Wait) -> Iterator[Limit]:
        """Yield the air that a coat may not lie in until a wait after it is over."""
        product = self.problem.products[wait.product]
        stage = hardening(self.problem.products, wait)
        rows = [
            waits.limit_breaks(product.limits, air) | waits.beyond_range(stage, air)
            for air in self.airs
        ]
        if any(row.any() for row in rows):
            yield _limit(rows, wait_name(wait))

    def teams(
        self, activity: Activity, placed: Placement | None, mode: Mode
    ) -> Iterator[PlayedTeam]:
        """Yield the teams that may do a task: its own first, then the nearest to it.

        The task's own team may begin it before it was planned, in shifts for which all
        of it are called; others step in once it was due.
        """
        own = set(placed.team) if placed else set()
        leads = activity.leads
        options = [
            team
            for team in combinations(sorted(activity.eligible), mode.size)
            if leads is None or not team or set(team) & set(leads)
        ]
        options.sort(key=lambda team: (-len(own & set(team)), team))
        may_begin, may_work = self.may_begin(activity), self.may_work(activity)
        due = np.ones(self.grid.ticks, dtype=np.bool_)
        if placed is not None:
            due[: placed.start] = False
        for team in options[:MOST_TEAMS]:
            now = due.copy()
            if placed is not None and team == placed.team:
                now |= np.logical_and.reduce([self.called[who] for who in team])
            time = team_time(
                self.team_days(activity.set_up, team, may_work),
                one_go=activity.one_go,
                may_begin=may_begin & now,
                ticks=mode.ticks,
            )
            yield PlayedTeam(people=tuple(self.number[w] for w in team), time=time)

    def team_days(self, set_up: int, team: tuple[str, ...], may_work: Mask) -> TeamDays:
        """Return the days of a team, worked out once for all tasks alike."""
        key = (team, set_up, may_work.tobytes())
        if key not in self.days:
            members = [self.hours[self.number[who]] for who in team]
            self.days[key] = team_days(set_up, members, may_work)
        return self.days[key]

    def may_work(self, activity: Activity) -> Mask:
        """Return the ticks in which a task may be worked on."""
        may = np.ones(self.grid.ticks, dtype=np.bool_)
        for block in activity.no_work:
            may &= ~block.ticks.mask(len(may))
        if self.work[activity.id].on_stage:
            may &= ~self.booked
        return may

    def may_begin(self, activity: Activity) -> Mask:
        """Return the ticks in which a task may begin, whether due or not."""
        may = np.ones(self.grid.ticks, dtype=np.bool_)
        if self.work[activity.id].on_stage:
            may[: self.closed_from] = False
        for block in activity.no_start:
            if block.fact != DELIVERY:  # played crates may come late
                may &= ~block.ticks.mask(len(may))
        return may


def _mode(activity: Activity, placed: Placement | None) -> Mode:
    """Return the size of team that plays a task: as planned, else what the crew can make."""
    if placed is not None:
        return next(m for m in activity.modes if m.size == len(placed.team))
    few = [m for m in activity.modes if m.size <= len(activity.eligible)]
    return max(few or activity.modes, key=lambda m: m.size)


def _waits(
    problem: Problem,
) -> Iterator[tuple[str, tuple[Hardening, Product, float]]]:
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


def _called(person: Person, placements: Sequence[Placement]) -> Spans:
    """Return the shifts in which the plan has a person work."""
    worked = Spans.of(s for p in placements if person.id in p.team for s in p.worked)
    return Spans.of(s for s in shifts_of(person) if worked.clip(*s))


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
