"""Futures played by a discrete-event library, with the policy written a second time.

SimPy (simpy.readthedocs.io) moves one future on from event to event: each task is a
process that waits for what comes before it, looks each tick whether its team may
begin, and works tick by tick. It shares the draws with the players in `planner.odds`,
and neither tables nor arithmetic. 200 small random plans, three futures each, must come
out tick for tick the same; 40 of them with the usual tests. Nobody steps in here; that has tests of its own.

Tests of planner/odds/clockwork.py, planner/odds/drying.py, planner/odds/play.py.
"""

from collections.abc import Generator
from dataclasses import dataclass, replace
from random import Random

import numpy as np
import pytest
import simpy

from planner.hours.spans import Spans
from planner.nouns.odds import Factor
from planner.odds.draws import Draws
from planner.odds.play import play
from planner.odds.script import Script
from tests.support.odds import DAY, STILL, Made, World, random_world, script_of_world

FUTURES = 3
WIDE = replace(
    STILL,
    pace_job=Factor(frac=0.1),
    pace_work=Factor(frac=0.3),
    pace_task=Factor(frac=0.2),
    waits_job=Factor(frac=0.2),
    waits_coat=Factor(frac=0.1),
    away_chance=0.1,
    damaged_chance=0.3,
    replaced_h=60.0,
    overrun_chance=0.4,
    overrun_h=9.0,
)


@dataclass
class _Future:
    """One future, moved on by SimPy."""

    world: World
    draws: Draws
    number: int

    def __post_init__(self) -> None:
        self.env = simpy.Environment()
        self.starts: dict[str, int] = {}
        self.ends: dict[str, int] = {}
        self.done = {t.id: self.env.event() for t in self.world.tasks}
        self.away = {
            who: self.draws.away(who, self.world.days + 2)[:, self.number]
            for who in self.world.people
        }

    def run(self) -> None:
        before: dict[str, list[str]] = {}
        last: dict[str, str] = {}  # the task before, by person and by bay
        for task in self.world.tasks:
            before[task.id] = [last[k] for k in (*task.team, task.bay) if k in last]
            last |= dict.fromkeys((*task.team, task.bay), task.id)
        for task in self.world.tasks:
            self.env.process(self.task(task, before[task.id]))
        self.env.run(until=self.world.ticks)

    def task(self, task: Made, before: list[str]) -> Generator[simpy.Event]:
        for earlier in before:
            yield self.done[earlier]
        for earlier, shares in task.after:
            yield self.done[earlier]
            yield self.env.timeout(max(self.dry(earlier, shares) - self.now, 0))
            if earlier == self.world.counts:
                there = (
                    self.ends[earlier] + DAY * self.draws.damaged_days()[self.number]
                )
                yield self.env.timeout(max(int(there) - self.now, 0))
        if task.bay == self.world.stage:
            late = int(np.ceil(self.draws.overrun_h()[self.number]))
            left = self.world.stage_from + late
            yield self.env.timeout(max(left - self.now, 0))
        ticks = self.length(task)
        while not self.may_begin(task):
            yield self.env.timeout(1)
        self.starts[task.id] = self.now
        if task.one_go:
            yield self.env.timeout(task.set_up + ticks)
        else:
            yield from self.over_days(task, ticks)
        self.ends[task.id] = self.now
        self.done[task.id].succeed()

    @property
    def now(self) -> int:
        return int(self.env.now)

    def length(self, task: Made) -> int:
        hours = task.hours * self.draws.pace(task.id, task.kind)[self.number]
        return max(1, int(np.ceil(hours - 1e-9)))

    def dry(self, task: str, shares: tuple[float, ...]) -> int:
        """Return when what a task laid has dried: shares are added up tick by tick."""
        need, tick = self.draws.wait(task, "")[self.number], self.ends[task]
        need = need if shares else 0.0
        while need > 1e-9 and tick < self.world.ticks:
            need -= shares[tick]
            tick += 1
        return tick

    def open(self, task: Made, tick: int) -> bool:
        return tick < self.world.ticks and all(
            tick in self.world.people[who] for who in task.team
        )

    def left_today(self, task: Made, tick: int) -> int:
        end = (tick // DAY + 1) * DAY
        return sum(self.open(task, t) for t in range(tick, end))

    def may_begin(self, task: Made) -> bool:
        now, day = self.now, self.now // DAY
        if not self.open(task, now) or any(self.away[who][day] for who in task.team):
            return False
        called = all((who, day) in self.world.called for who in task.team)
        if now < task.planned and not called:
            return False
        if not task.one_go:
            return self.left_today(task, now) > task.set_up
        stretch = now
        while self.open(task, stretch):
            stretch += 1
        return stretch - now >= task.set_up + task.hours

    def over_days(self, task: Made, ticks: int) -> Generator[simpy.Event]:
        """Work on open ticks; each day begins with setting up, or is left out.

        So is a later day on which one of the team is away.
        """
        first = self.now // DAY
        while True:
            setting_up = task.set_up
            today = self.now // DAY
            whole = today == first or not any(self.away[w][today] for w in task.team)
            if whole and self.left_today(task, self.now) > task.set_up:
                while self.now // DAY == today:
                    if self.open(task, self.now):
                        if setting_up:
                            setting_up -= 1
                        else:
                            ticks -= 1
                    yield self.env.timeout(1)
                    if not ticks:
                        return
            else:
                yield self.env.timeout((today + 1) * DAY - self.now)


USUAL = 40  # of 200, so that the usual run stays short


@pytest.mark.parametrize(
    "seed",
    [pytest.param(n, marks=[pytest.mark.slow] * (n >= USUAL)) for n in range(200)],
)
def test_a_discrete_event_library_plays_the_same_futures(seed: int) -> None:
    """Each task of each future begins and ends in the same tick."""
    world = random_world(Random(seed))
    script: Script = script_of_world(world)
    draws = Draws(spread=WIDE, futures=FUTURES, series=1, seed=seed)
    played = play(script, draws)
    for number in range(FUTURES):
        future = _Future(world=world, draws=draws, number=number)
        future.run()
        ended = {t for t in future.ends if future.ends[t] <= world.ticks}
        assert ended, "nothing was done within the world's days"
        for task in ended:
            assert (future.starts[task], future.ends[task]) == (
                played.starts[task][number],
                played.ends[task][number],
            ), task


def test_without_spread_the_plan_comes_true_to_the_tick() -> None:
    """Nothing differs, so every task lies where it was planned."""
    for seed in range(30):
        world = random_world(Random(seed))
        played = play(
            script_of_world(world), Draws(spread=STILL, futures=2, series=1, seed=seed)
        )
        for task in world.tasks:
            assert set(played.starts[task.id]) == {task.planned}
            assert set(played.ends[task.id]) == {task.end}


def test_spans_of_a_world_are_its_peoples_hours() -> None:
    """The world's own hours are whole days' shifts, so that the two players agree on days."""
    world = random_world(Random(1))
    for spans in world.people.values():
        assert isinstance(spans, Spans)
        assert all(a // DAY == (b - 1) // DAY for a, b in spans)
