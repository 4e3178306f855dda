"""Small random plans to be played, without a trade behind them."""

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from datetime import datetime
from itertools import combinations
from random import Random

import numpy as np

from planner.hours.spans import Spans
from planner.nouns.inputs import Inputs
from planner.nouns.odds import Chance, Factor, Odds, ReturnOdds, Spread
from planner.nouns.plan import Plan
from planner.nouns.work import Pace, ReturnKind, Task, Team
from planner.odds.clockwork import person_hours, team_days, team_time
from planner.odds.drying import PlayedStage, PlayedWait
from planner.odds.script import PlayedTeam, Script, Step
from planner.planning.answer import Answer
from planner.schedule.problem.parts import Person
from planner.trade.data.odds import spread
from planner.usecases.odds import PlanOdds

DAY = 24  # ticks of an hour
OPENS, SHUTS, BREAK = 8, 17, 12

# A spread as in an ordinary job, in round numbers.
ORDINARY = Spread(
    pace_job=Factor(frac=0.10),
    pace_work=Factor(frac=0.20),
    pace_task=Factor(frac=0.15),
    waits_job=Factor(frac=0.15),
    waits_coat=Factor(frac=0.08),
    air_delta_k=1.0,
    air_delta_rh_pct=5.0,
    air_memory_h=72.0,
    late_chance=0.1,
    late_h=72.0,
    away_chance=0.02,
    touch_up_h=1.0,
)

# A spread of nothing; but joints still show through as often as the work says.
STILL = Spread(
    pace_job=Factor(frac=0.0),
    pace_work=Factor(frac=0.0),
    pace_task=Factor(frac=0.0),
    waits_job=Factor(frac=0.0),
    waits_coat=Factor(frac=0.0),
    air_delta_k=0.0,
    air_delta_rh_pct=0.0,
    air_memory_h=72.0,
    late_chance=0.0,
    late_h=24.0,
    away_chance=0.0,
    touch_up_h=2.0,
)


def wider_by(spread: Spread, times: float) -> Spread:
    """Return a spread in which all differs by so many times as much, or as often."""
    changed: dict[str, float | Factor] = {}
    for one in fields(Spread):
        value = getattr(spread, one.name)
        if isinstance(value, Factor):
            changed[one.name] = replace(value, frac=value.frac * times)
        elif isinstance(value, float) and one.name != "air_memory_h":
            changed[one.name] = value * times
    return replace(spread, **changed)  # type: ignore[arg-type]


@dataclass(frozen=True, slots=True, kw_only=True)
class Made:
    """A task of a small plan; `after` names tasks, each with the shares of its wait."""

    id: str
    kind: str
    team: tuple[str, ...]
    bay: str
    hours: int
    set_up: int
    one_go: bool
    after: tuple[tuple[str, tuple[float, ...]], ...]
    planned: int = 0
    end: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class World:
    """A small plan: who works when, what follows what, where it lies."""

    days: int
    people: dict[str, Spans]
    tasks: tuple[Made, ...]
    called: frozenset[tuple[str, int]]
    counts: str = ""  # the task that counts the kit in
    stage: str = ""  # the bay that is the stage, and from when it is free
    stage_from: int = 0

    @property
    def ticks(self) -> int:
        """The horizon."""
        return self.days * DAY


def kept_always(inputs: Inputs, answer: Answer) -> Odds:
    """Return odds of an answer that nobody played: it is kept in every future."""
    return always_kept({r.kind: r.when for r in answer.returns}, spread(inputs.job))


def no_odds(plan: Plan) -> PlanOdds:
    """Return odds of a plan that nobody played: it is kept in every future."""
    planned = {r.kind: r.when for r in plan.stage.returns}
    return PlanOdds(plan=plan, odds=always_kept(planned, plan.stage.sureness.spread))


def always_kept(planned: Mapping[ReturnKind, datetime], how_far: Spread) -> Odds:
    """Return odds of returns that nobody played: they are kept in every future."""
    returns = tuple(
        ReturnOdds(
            kind=kind,
            planned=when,
            kept_frac=1.0,
            by=tuple(Chance(percent=p, when=when) for p in (50, 80, 95)),
            late_days=0.0,
        )
        for kind, when in planned.items()
    )
    return Odds(
        futures=1,
        seed=0,
        sure_percent=80,
        spread=how_far,
        looked_until=max(planned.values()),
        returns=returns,
        collisions=(),
        threats=(),
        more=(),
        held=(),
        held_for=(),
        curves=(),
        late_cost=None,
        overtime_h=0.0,
    )


def random_world(random: Random) -> World:
    """Return a small plan; its tasks lie as early as their order lets them."""
    days = 40
    people = {f"p{n}": _hours(random, days) for n in range(random.randint(1, 3))}
    shares = {
        name: tuple(random.uniform(0.02, 0.2) for _ in range(days * DAY))
        for name in ("dry", "cure")
    }
    names: list[str] = []
    tasks: list[Made] = []
    for number in range(random.randint(3, 8)):
        team = random.sample(sorted(people), random.randint(1, min(2, len(people))))
        after = random.sample(names, random.randint(0, min(2, len(names))))
        one_go = random.random() < 0.4
        tasks.append(
            Made(
                id=f"t{number}",
                kind=random.choice(("coat", "fix")),
                team=tuple(sorted(team)),
                bay=random.choice(("north", "east")),
                hours=random.randint(1, 3 if one_go else 14),
                set_up=random.randint(0, 1),
                one_go=one_go,
                after=tuple(
                    (t, random.choice((shares["dry"], shares["cure"], ())))
                    for t in after
                ),
            )
        )
        names.append(f"t{number}")
    return _placed(
        World(days=days, people=people, tasks=tuple(tasks), called=frozenset())
    )


def _hours(random: Random, days: int) -> Spans:
    """Return a shift a day with a break, some days off."""
    out: list[tuple[int, int]] = []
    for day in range(days):
        if random.random() < 0.25:
            continue
        first = day * DAY
        out += [(first + OPENS, first + BREAK), (first + BREAK + 1, first + SHUTS)]
    return Spans(tuple(out))


def _placed(world: World) -> World:
    """Return the world with its tasks placed in their order, each as early as can be."""
    free = dict.fromkeys((*world.people, "north", "east"), 0)
    placed: dict[str, Made] = {}
    called: set[tuple[str, int]] = set()
    for task in world.tasks:
        since = max(free[k] for k in (*task.team, task.bay))
        for before, shares in task.after:
            since = max(since, _over(placed[before].end, shares, world.ticks))
        start, worked = _course(world, task, since)
        placed[task.id] = replace(task, planned=start, end=worked[-1] + 1)
        free |= dict.fromkeys((*task.team, task.bay), worked[-1] + 1)
        called |= {(who, t // DAY) for who in task.team for t in worked}
    tasks = sorted(placed.values(), key=lambda t: (t.planned, t.end, t.id))
    on_stage = [t.planned for t in tasks if t.bay == "north"]
    return replace(
        world,
        tasks=tuple(tasks),
        called=frozenset(called),
        counts=tasks[0].id,
        stage="north",
        stage_from=min(on_stage, default=0),
    )


def _over(tick: int, shares: tuple[float, ...], horizon: int) -> int:
    """Return when what was done by a tick has dried, as the plan expects it."""
    need = 1.0 if shares else 0.0
    while need > 1e-9 and tick < horizon:
        need -= shares[tick]
        tick += 1
    return tick


def _course(world: World, task: Made, since: int) -> tuple[int, list[int]]:
    """Return the soonest start of a task and the ticks in which it is worked."""
    for start in range(since, world.ticks):
        here = _open(world, task, start)
        if here and task.one_go:
            worked = list(range(start, start + task.set_up + task.hours))
            if all(_open(world, task, t) for t in worked):
                return start, worked
        elif here and len(_today(world, task, start)) > task.set_up:
            return start, _over_days(world, task, start)
    raise ValueError(f"{task.id} has no place")


def _open(world: World, task: Made, tick: int) -> bool:
    return all(tick in world.people[who] for who in task.team)


def _today(world: World, task: Made, tick: int) -> list[int]:
    end = (tick // DAY + 1) * DAY
    return [t for t in range(tick, end) if _open(world, task, t)]


def _over_days(world: World, task: Made, start: int) -> list[int]:
    worked: list[int] = []
    left, tick = task.hours, start
    while left:
        today = _today(world, task, tick)
        if len(today) > task.set_up:
            piece = today[: task.set_up + left]
            worked += piece
            left -= len(piece) - task.set_up
        tick = (tick // DAY + 1) * DAY
    return worked


def script_of_world(world: World, *, stand_ins: bool = False) -> Script:
    """Return a small plan as it is played; others than the team only as `stand_ins`."""
    number = {who: n for n, who in enumerate(world.people)}
    waits: dict[tuple[float, ...], str] = {}
    for task in world.tasks:
        for _, shares in task.after:
            if shares:
                waits.setdefault(shares, f"wait-{len(waits)}")
    begins = np.arange(world.days + 1) * DAY
    ticks = np.arange(world.ticks + 2)
    return Script(
        horizon=world.ticks,
        tick_minutes=60,
        steps=tuple(
            _step(world, task, number, waits, stand_ins=stand_ins)
            for task in world.tasks
        ),
        gone={},
        found={},
        spare={},
        waits={name: _wait(shares) for shares, name in waits.items()},
        windows={},
        returns={ReturnKind.FULL_SERVICE: tuple((t.id, "") for t in world.tasks)},
        people=tuple(world.people),
        rest=(0,) * len(world.people),
        shift_of=(ticks // DAY,) * len(world.people),
        day_of=np.minimum(ticks // DAY, world.days),
        day_begins=np.append(begins, world.ticks),
        delivery=0,
        closed_from=0,
        stage_from=world.stage_from,
        finds_damage=frozenset({world.counts} - {""}),
    )


def _wait(shares: tuple[float, ...]) -> PlayedWait:
    done = np.concatenate(([0.0], np.cumsum(shares)))
    return PlayedWait(
        ticks=len(shares), stages=(PlayedStage(done=done, shortens=True),)
    )


def _step(
    world: World,
    task: Made,
    number: dict[str, int],
    waits: dict[tuple[float, ...], str],
    *,
    stand_ins: bool,
) -> Step:
    due = np.arange(world.ticks) >= task.planned
    called = np.array(
        [
            all((who, t // DAY) in world.called for who in task.team)
            for t in range(world.ticks)
        ]
    )
    teams = [_played(world, task, number, task.team, may_begin=due | called)]
    if stand_ins:
        others = set(combinations(sorted(world.people), len(task.team))) - {task.team}
        by_nearness = sorted(others, key=lambda t: (-len({*t} & {*task.team}), t))
        teams += [
            _played(world, task, number, team, may_begin=due) for team in by_nearness
        ]
    return Step(
        task=_task(task, on_stage=world.stage in ("", task.bay)),
        pools=(task.bay,),
        hours=float(task.hours),
        ticks=task.hours,
        planned=task.planned,
        after=tuple((t, waits[s] if s else "") for t, s in task.after),
        clear_of=(),
        latest=(),
        limits=(),
        teams=tuple(teams),
    )


def _played(
    world: World,
    task: Made,
    number: dict[str, int],
    team: tuple[str, ...],
    *,
    may_begin: np.ndarray,
) -> PlayedTeam:
    hours = [
        person_hours(
            Person(
                id=who,
                open=world.people[who],
                shifts=Spans(
                    tuple(
                        (d * DAY + OPENS, d * DAY + SHUTS)
                        for d in range(world.days)
                        if world.people[who].clip(d * DAY, (d + 1) * DAY)
                    )
                ),
            ),
            world.ticks,
        )
        for who in team
    ]
    everywhere = np.ones(world.ticks, dtype=np.bool_)
    time = team_time(
        team_days(task.set_up, hours, everywhere),
        one_go=task.one_go,
        may_begin=may_begin,
        ticks=task.hours,
    )
    return PlayedTeam(people=tuple(number[who] for who in team), time=time)


def _task(task: Made, *, on_stage: bool) -> Task:
    size = len(task.team)
    return Task(
        id=task.id,
        title=task.id,
        how="",
        phase=task.kind,
        bays=(task.bay,),
        lead=(),
        help=(),
        person_hours=float(task.hours * size),
        set_up_h=float(task.set_up),
        elapsed_h=0.0,
        quantity="",
        teams=(Team(size=size, yield_frac=1.0),),
        pace=Pace.ONE_GO if task.one_go else Pace.PAUSABLE,
        on_stage=on_stage,
    )
