"""Generated building jobs: hourly air, broken calendars, coats that must dry.

A zone is fifteen tasks with sixteen arcs, nine of them with drying that hangs on the
air. The numbers are invented, of the size that a small crew meets; the same seed gives
the same job, and the zones and the air don't change with the crew.
"""

import math
from dataclasses import dataclass
from itertools import accumulate
from random import Random

from planner.hours.spans import Spans
from planner.schedule.problem.instance import Instance
from planner.schedule.problem.parts import (
    Activity,
    AimKind,
    ClosedTicks,
    Closure,
    Demand,
    Link,
    LinkKind,
    Lookup,
    Mode,
    Person,
    Pool,
    Term,
)

QUARTERS_PER_HOUR = 4
QUARTERS_PER_DAY = 24 * QUARTERS_PER_HOUR
SHIFT_H = (8, 17)  # Monday to Friday
ABSENT_SHARE = 0.04  # of a person's days
EVENT_SHARE = 0.26  # of a person's days: away for one to three hours
STAGES_PER_SANDER = 2
TASKS_AT_ONCE_IN_ZONE = 2

ONE_AIM = (AimKind.LAST_RETURN,)
ALL_AIMS = (AimKind.LAST_RETURN, AimKind.CLOSED, AimKind.CALLS)

CREW = ("carp gen", "carp fin gen", "elec gen", "fin gen", "carp fin gen")
SCARCE = ("carp fin gen", "elec gen", "carp fin gen")


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """A task that each zone has: its trade, hours of work, team, and drying after it.

    `dry_h` are hours in air of 50 % humidity. `damp_pct` is the humidity above which
    it can't start. `within_h` is the time in which the step after it must start.
    """

    name: str
    trade: str
    work_h: float
    team: int = 1
    dry_h: int = 0
    after: tuple[str, ...] = ()
    damp_pct: int = 0
    within_h: int = 0


STEPS = (
    Step(name="frame", trade="carp", work_h=9, team=2),
    Step(name="cables", trade="elec", work_h=5.5, after=("frame",)),
    Step(name="boards", trade="carp", work_h=9, team=2, after=("cables",)),
    Step(name="corner", trade="carp", work_h=4, after=("frame",)),
    Step(name="tape", trade="fin", work_h=5, dry_h=12, after=("boards", "corner")),
    Step(name="fill", trade="fin", work_h=6, dry_h=18, after=("tape",)),
    Step(name="skim", trade="fin", work_h=7, dry_h=24, after=("fill",)),
    Step(name="sand", trade="gen", work_h=4, after=("skim",)),
    Step(name="seal", trade="gen", work_h=1.5, dry_h=4, after=("sand",)),
    Step(
        name="prime",
        trade="fin",
        work_h=4,
        dry_h=8,
        after=("seal",),
        damp_pct=85,
        within_h=120,
    ),
    Step(name="lamps", trade="elec", work_h=4, after=("seal",)),
    Step(
        name="colour1",
        trade="fin",
        work_h=4.5,
        dry_h=10,
        after=("prime",),
        damp_pct=85,
        within_h=72,
    ),
    Step(
        name="colour2",
        trade="fin",
        work_h=4.5,
        dry_h=12,
        after=("colour1",),
        damp_pct=85,
    ),
    Step(
        name="varnish",
        trade="fin",
        work_h=4,
        dry_h=16,
        after=("colour2", "lamps"),
        damp_pct=75,
    ),
    Step(name="panels", trade="gen", work_h=6, team=2, after=("varnish",)),
)
BY_NAME = {s.name: s for s in STEPS}


@dataclass(frozen=True, slots=True, kw_only=True)
class Size:
    """How large a job is; `days` hold a plan for it."""

    stages: int
    crew: tuple[str, ...]
    days: int
    zones_per_stage: int = 3

    @property
    def zones(self) -> int:
        """The zones of all stages."""
        return self.stages * self.zones_per_stage

    @property
    def tasks(self) -> int:
        """The tasks of all zones."""
        return self.zones * len(STEPS)


SIZES = {
    "45": Size(stages=1, crew=CREW, days=35),
    "45-scarce": Size(stages=1, crew=SCARCE, days=35),
    "90": Size(stages=2, crew=CREW, days=42),
    "180": Size(stages=4, crew=CREW * 2, days=49),
    "540": Size(stages=12, crew=CREW * 4, days=63),
}


def made_job(size: Size, seed: int, *, aims: tuple[AimKind, ...] = ONE_AIM) -> Instance:
    """Return the job of this size and seed, one closure a stage, on quarter hours."""
    humidity_pct = _humidity_pct(Random(f"air {seed}"), size.days)
    trades = {f"p{k:02d}": set(t.split()) for k, t in enumerate(size.crew)}
    tasks = [
        task
        for zone in range(size.zones)
        for task in _zone_tasks(
            Random(f"zone {zone} {seed}"), zone, trades, humidity_pct
        )
    ]
    return Instance(
        horizon=size.days * QUARTERS_PER_DAY,
        tasks=tuple(tasks),
        people=tuple(_person(Random(f"{p} {seed}"), p, size.days) for p in trades),
        pools=(
            *(
                Pool(id=_zone(z), capacity=TASKS_AT_ONCE_IN_ZONE)
                for z in range(size.zones)
            ),
            Pool(id="sander", capacity=math.ceil(size.stages / STAGES_PER_SANDER)),
        ),
        lookups=_lookups(humidity_pct),
        links=tuple(k for z in range(size.zones) for k in _zone_links(_zone(z))),
        closures=tuple(_closure(size, stage) for stage in range(size.stages)),
        aims=aims,
    )


def _zone(number: int) -> str:
    return f"z{number:02d}"


def _zone_tasks(
    r: Random, number: int, trades: dict[str, set[str]], humidity_pct: list[float]
) -> list[Activity]:
    """Return a zone's tasks, each a fifth shorter or longer, in whole half hours."""
    zone, tasks = _zone(number), []
    for step in STEPS:
        half_hours = max(1, round(2 * step.work_h * r.uniform(0.8, 1.2)))
        demands = [Demand(pool=zone)]
        if step.name == "sand":
            demands.append(Demand(pool="sander"))
        tasks.append(
            Activity(
                id=f"{zone}-{step.name}",
                modes=(
                    Mode(size=step.team, ticks=half_hours * QUARTERS_PER_HOUR // 2),
                ),
                eligible=tuple(p for p, known in trades.items() if step.trade in known),
                one_go=step.damp_pct > 0,
                no_start=_damp(humidity_pct, step.damp_pct),
                demands=tuple(demands),
            )
        )
    return tasks


def _damp(humidity_pct: list[float], limit_pct: int) -> tuple[ClosedTicks, ...]:
    """Return the hours that are too damp to start a coat; none without a limit."""
    if not limit_pct:
        return ()
    hours = [h for h, pct in enumerate(humidity_pct) if pct > limit_pct]
    ticks = [(h * QUARTERS_PER_HOUR, (h + 1) * QUARTERS_PER_HOUR) for h in hours]
    return (ClosedTicks(fact=f"damper than {limit_pct} %", ticks=Spans.of(ticks)),)


def _zone_links(zone: str) -> list[Link]:
    """Return a zone's arcs and recoat windows; an arc that dries is a user's fact."""
    links = []
    for step in STEPS:
        for name in step.after:
            before, after = f"{zone}-{name}", f"{zone}-{step.name}"
            dry_h, within_h = BY_NAME[name].dry_h, BY_NAME[name].within_h
            wait = f"dry {dry_h} h" if dry_h else ""
            fact = f"{before} dries before {step.name}" if dry_h else ""
            links.append(Link(before=before, after=after, wait=wait, fact=fact))
            if within_h:
                links.append(
                    Link(
                        before=before,
                        after=after,
                        kind=LinkKind.LATEST,
                        wait=f"within {within_h} h",
                        fact=f"{after} within {within_h} h",
                    )
                )
    return links


def _lookups(humidity_pct: list[float]) -> tuple[Lookup, ...]:
    """Return each drying time in this air, and each recoat window."""
    horizon = len(humidity_pct) * QUARTERS_PER_HOUR
    dry_h = sorted({s.dry_h for s in STEPS} - {0})
    within_h = sorted({s.within_h for s in STEPS} - {0})
    return (
        *(
            Lookup(name=f"dry {h} h", over=_dry_at(humidity_pct, h * 1000))
            for h in dry_h
        ),
        *(
            Lookup(
                name=f"within {h} h",
                over=tuple(t + h * QUARTERS_PER_HOUR for t in range(horizon + 1)),
            )
            for h in within_h
        ),
    )


def _dry_at(humidity_pct: list[float], need: int) -> tuple[int, ...]:
    """Return for each end the tick at which a coat is dry; `need` in hours/1000.

    An hour at 50 % or less dries 1000, falling in a line to 250 at 100 %.
    """
    rates = [round(1000 - 15 * max(0.0, pct - 50)) for pct in humidity_pct]
    ticks = [rate for rate in rates for _ in range(QUARTERS_PER_HOUR)]
    dried = [0, *accumulate(ticks)]  # in hours/4000
    over, at = [], 0
    for begin, had in enumerate(dried):
        while at < len(dried) and dried[at] - had < need * QUARTERS_PER_HOUR:
            at += 1
        over.append(at if at < len(dried) else len(dried) + begin)
    return tuple(over)


def _humidity_pct(r: Random, days: int) -> list[float]:
    """Return the humidity by hour: a daily swing on slowly changing weather."""
    weather, out = 0.0, []
    for hour in range(days * 24):
        weather = 0.985 * weather + r.gauss(0, 1.8)
        swing = 10 * math.cos(2 * math.pi * (hour - 4) / 24)  # dampest at four
        out.append(round(min(100.0, max(20.0, 62 + swing + weather)), 1))
    return out


def _person(r: Random, name: str, days: int) -> Person:
    """Return somebody with shifts on weekdays, days off and hours elsewhere."""
    shifts, away = [], []
    for day in range(days):
        if day % 7 >= 5:
            continue
        begin, end = (day * QUARTERS_PER_DAY + h * QUARTERS_PER_HOUR for h in SHIFT_H)
        shifts.append((begin, end))
        chance = r.random()
        if chance < ABSENT_SHARE:
            away.append((begin, end))
        elif chance < ABSENT_SHARE + EVENT_SHARE:
            long = r.randint(1, 3) * QUARTERS_PER_HOUR
            start = r.randrange(begin, end - long + 1, QUARTERS_PER_HOUR // 2)
            away.append((start, start + long))
    return Person(
        id=name,
        open=Spans.of(shifts) - Spans.of(away),
        shifts=Spans.of(shifts),
        fact=f"hours of {name}",
    )


def _closure(size: Size, stage: int) -> Closure:
    """Return the closure of a stage: all its tasks, until the last panels stand."""
    first = stage * size.zones_per_stage
    zones = [_zone(first + k) for k in range(size.zones_per_stage)]
    return Closure(
        id=f"stage{stage:02d}",
        tasks=tuple(f"{zone}-{step.name}" for zone in zones for step in STEPS),
        terms=tuple(Term(task=f"{zone}-panels") for zone in zones),
        due_fact=f"stage{stage:02d} due",
    )
