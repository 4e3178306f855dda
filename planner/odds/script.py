"""What is played: the plan's tasks in its order, with all that each may wait for."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations, islice

import numpy as np
from numpy.typing import NDArray

from planner.hours.spans import Spans
from planner.nouns.kept import Kept
from planner.nouns.product import Air
from planner.nouns.work import ReturnKind, Task
from planner.odds.clockwork import TeamTime
from planner.odds.drying import PlayedWait
from planner.odds.setting import Circumstances, Limit
from planner.planning.begun.finding import Finding, plain_name
from planner.planning.problem import Problem, wait_name
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
    gone: Mapping[str, tuple[int, int]]  # start and end of tasks that are done
    found: Mapping[tuple[str, str], Finding]  # by task and wait: coats looked at
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
    stage_from: int = 0  # tick at which the booking before the closure is to end
    finds_damage: frozenset[str] = frozenset()  # tasks ahead that count the kit in


def script_of(
    problem: Problem,
    placements: Sequence[Placement],
    airs: Sequence[Air],
    kept: Kept | None = None,
) -> Script:
    """Return a plan as it is played.

    `problem` lies on a grid that is long enough for late futures; the plan's ticks are
    those of this grid. `airs` are series of air on it, `kept` what was worked out for
    the job before.
    """
    return script_in(Circumstances(problem, airs, kept), placements)


def script_in(setting: Circumstances, placements: Sequence[Placement]) -> Script:
    """Return a plan as it is played in a setting, which many plans may share."""
    return _Writer(setting, placements).script()


class _Writer:
    def __init__(self, setting: Circumstances, placements: Sequence[Placement]) -> None:
        self.setting, self.problem = setting, setting.problem
        self.grid, self.instance = self.problem.grid, self.problem.instance
        self.plan = {p.task: p for p in placements}
        self.work, self.number = setting.work, setting.number
        called = {p.id: shifts_called(p, placements) for p in self.instance.people}
        ticks = self.grid.ticks
        self.called = {who: spans.mask(ticks) for who, spans in called.items()}
        on_stage = [p.start for p in placements if self.work[p.task].on_stage]
        self.closed_from = min(on_stage)

    def script(self) -> Script:
        days = self.grid.days()
        begins = np.array([*(a for _, a, _ in days), self.grid.ticks], dtype=np.int64)
        ticks = np.arange(self.grid.ticks + 2)
        tasks = {t.id: t for t in self.instance.tasks}
        order = sorted(self.plan.values(), key=lambda p: (p.start, p.end, p.task))
        return Script(
            horizon=self.grid.ticks,
            tick_minutes=self.grid.tick_minutes,
            steps=tuple(self.step(tasks[p.task]) for p in order if self.is_ahead(p)),
            gone={p.task: (p.start, p.end) for p in order if not self.is_ahead(p)},
            found=self.problem.found,
            spare={
                t.id: self.step(t) for t in self.instance.tasks if t.id not in self.plan
            },
            waits=self.setting.waits,
            windows=self.setting.windows,
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
            stage_from=self.stage_from(),
            finds_damage=frozenset(
                p.task
                for p in order
                if self.work[p.task].finds_damage and self.is_ahead(p)
            ),
        )

    def stage_from(self) -> int:
        """Return when the booking before the closure is to end; 0: it has, or none is."""
        now = self.problem.now
        ends = [s.items[-1][1] for _, s in self.problem.booked if s.items]
        return max((e for e in ends if now < e <= self.closed_from), default=0)

    def is_ahead(self, placed: Placement) -> bool:
        """Tell whether a task is still to be done, in whole or in part."""
        return bool(placed.team) or placed.task not in self.problem.past

    def hours(self, task: Task, mode: Mode) -> float:
        """Return the hours of a team at a task; of one under way, what is left."""
        if task.id in self.problem.past:
            return mode.ticks * self.grid.tick_minutes / 60
        team = next(t for t in task.teams if t.size == mode.size)
        return task.person_hours / (team.size * team.yield_frac) + task.elapsed_h

    def step(self, activity: Activity) -> Step:
        """Return a task as it is played."""
        task = self.work[activity.id]
        placed = self.plan.get(task.id)
        planned = self.grid.ticks if placed is None else placed.start
        mode = _mode(activity, placed)
        links = [x for x in self.instance.links if x.after == task.id]
        return Step(
            task=task,
            pools=tuple(d.pool for d in activity.demands),
            hours=self.hours(task, mode),
            ticks=mode.ticks,
            planned=planned,
            after=tuple(
                (x.before, plain_name(x.before, x.wait))
                for x in links
                if x.kind is LinkKind.FINISH_START
            ),
            clear_of=tuple(self.clear_of(task.id)),
            latest=tuple(
                PlayedWindow(before=x.before, wait=x.wait, unless=x.unless)
                for x in links
                if x.kind is LinkKind.LATEST
            ),
            limits=self.setting.limits(task),
            teams=tuple(self.teams(activity, placed, mode)),
            touch_up=self.setting.touch_up(task) if task.touch_up_frac > 0.0 else None,
        )

    def clear_of(self, task: str) -> Iterator[tuple[str, str]]:
        """Yield the tasks before it from which a task keeps away, with their waits."""
        mine = self.plan.get(task)
        for apart in self.instance.apart:
            other = self.plan.get(apart.task)
            if mine is None or other is None:
                continue
            if task in apart.others and other.start < mine.start:
                yield apart.task, plain_name(apart.task, apart.until)
            if task == apart.task:
                for name in apart.others:
                    one = self.plan.get(name)
                    if one is not None and one.start < mine.start:
                        yield name, ""

    def teams(
        self, activity: Activity, placed: Placement | None, mode: Mode
    ) -> Iterator[PlayedTeam]:
        """Yield the teams that may do a task: its own first, then the nearest to it.

        The task's own team may begin it before it was planned, in shifts for which all
        of it are called; others step in once it was due.
        """
        own = placed.team if placed else ()
        due = 0 if placed is None else placed.start
        if self.work[activity.id].on_stage:
            due = max(due, self.closed_from)
        for team in stand_ins(own, activity.eligible, mode.size, activity.leads):
            called = None
            if placed is not None and team == placed.team:
                called = self.all_called(activity, team)
            time = self.setting.team_time(activity, team, mode.ticks)
            yield PlayedTeam(
                people=tuple(self.number[w] for w in team),
                time=time.beginning(due, called=called),
            )

    def all_called(self, activity: Activity, team: Sequence[str]) -> Mask:
        """Return the ticks for which all of a task's own team are called."""
        called = np.ones(self.grid.ticks, dtype=np.bool_)
        for who in team:
            called &= self.called[who]
        if self.work[activity.id].on_stage:
            called[: self.closed_from] = False
        return called


@lru_cache(maxsize=10_000)
def stand_ins(
    own: tuple[str, ...],
    eligible: tuple[str, ...],
    size: int,
    leads: tuple[str, ...] | None,
) -> tuple[tuple[str, ...], ...]:
    """Return the teams that are weighed for a task, the nearest to its `own` first."""
    led = (
        team
        for team in nearest_teams(own, eligible, size)
        if leads is None or not team or set(team) & set(leads)
    )
    return tuple(islice(led, MOST_TEAMS))


def nearest_teams(
    own: Sequence[str], eligible: Sequence[str], size: int
) -> Iterator[tuple[str, ...]]:
    """Yield the teams of `size` among `eligible`, those with most of `own` first.

    Teams with as many of `own` come in the order of their names. A large crew makes many
    thousand teams, so they are made as they are asked for.
    """
    mine = sorted(set(own) & set(eligible))
    others = sorted(set(eligible) - set(own))
    for kept in range(min(size, len(mine)), -1, -1):
        rest = size - kept
        if kept == 0:
            yield from combinations(others, rest)
            continue
        yield from sorted(
            tuple(sorted((*a, *b)))
            for a in combinations(mine, kept)
            for b in combinations(others, rest)
        )


def _mode(activity: Activity, placed: Placement | None) -> Mode:
    """Return the size of team that plays a task: as planned, else what the crew can make."""
    if placed is not None:
        return next(m for m in activity.modes if m.size == len(placed.team))
    few = [m for m in activity.modes if m.size <= len(activity.eligible)]
    return max(few or activity.modes, key=lambda m: m.size)


def shifts_called(person: Person, placements: Sequence[Placement]) -> Spans:
    """Return the shifts in which the plan has a person work."""
    worked = [s for p in placements if person.id in p.team for s in p.worked]
    shifts = np.array(shifts_of(person).items, dtype=np.int64).reshape(-1, 2)
    begun = np.searchsorted(np.sort([a for a, _ in worked]), shifts[:, 1])
    over = np.searchsorted(np.sort([b for _, b in worked]), shifts[:, 0], side="right")
    return Spans.of((int(a), int(b)) for a, b in shifts[begun > over])
