"""Generated building jobs: zones that go through the same coats, a crew, damp air.

The shape: fifteen steps a zone in order, some with drying that hangs on the air,
people with trades, absences and short events, two-person tasks, one team a tick in
places of a zone, one sander, coats that can't start in damp air, recoat windows.
"""

from random import Random

import numpy as np

from planner.hours.spans import Spans
from planner.schedule.instance import (
    AimKind,
    Block,
    Closure,
    Demand,
    Instance,
    Link,
    LinkKind,
    Lookup,
    Mode,
    Person,
    Pool,
    Task,
    Term,
)

CREW = (
    ("carpenter", "general"),
    ("carpenter", "finisher", "general"),
    ("electrician", "general"),
    ("finisher", "general"),
    ("carpenter", "finisher", "general"),
)

# step, trade, half hours, people, drying hours at 50 %, steps before, recoat window h
STEPS = (
    ("frame", "carpenter", 16, 2, 0, (), 0),
    ("cables", "electrician", 10, 1, 0, ("frame",), 0),
    ("board", "carpenter", 14, 2, 0, ("frame", "cables"), 0),
    ("corner", "carpenter", 6, 1, 0, ("board",), 0),
    ("tape", "finisher", 8, 1, 12, ("board", "corner"), 0),
    ("fill", "finisher", 10, 1, 18, ("tape",), 0),
    ("skim", "finisher", 12, 1, 24, ("fill",), 0),
    ("sand", "general", 8, 1, 0, ("skim",), 0),
    ("wipe", "general", 4, 1, 3, ("sand",), 0),
    ("prime", "finisher", 6, 1, 8, ("wipe",), 120),
    ("lamps", "electrician", 8, 1, 0, ("wipe",), 0),
    ("colour1", "finisher", 8, 1, 10, ("prime",), 72),
    ("colour2", "finisher", 8, 1, 12, ("colour1",), 0),
    ("varnish", "finisher", 6, 1, 16, ("colour2", "lamps"), 0),
    ("panels", "general", 8, 2, 0, ("varnish",), 0),
)
DAMP_LIMIT = {"prime": 85.0, "colour1": 85.0, "colour2": 85.0, "varnish": 75.0}


def built_job(
    seed: int,
    *,
    zones: int = 3,
    crew: int = 5,
    days: int = 35,
    tick_min: int = 15,
    aims: tuple[AimKind, ...] = (AimKind.LAST_RETURN,),
) -> Instance:
    """Return a job of fifteen tasks a zone; `crew` people, the trades repeating."""
    r = Random(seed)
    per_hour = 60 // tick_min
    horizon = days * 24 * per_hour
    humidity = _humidity(seed, days)
    half_hour = 30 // tick_min
    people = tuple(_worker(r, k, days, per_hour) for k in range(crew))
    trades = {f"p{k}": CREW[k % len(CREW)] for k in range(crew)}
    if crew == 3:
        trades = {f"p{k}": CREW[j] for k, j in enumerate((1, 2, 4))}
    tasks, links = [], []
    for zone in range(zones):
        stretch = r.choice((0.8, 1.0, 1.2))
        for name, trade, half_hours, size, _dry, before, _window in STEPS:
            able = tuple(p for p, known in trades.items() if trade in known)
            ticks = max(1, round(half_hours * stretch)) * half_hour
            damp = _damp(humidity, DAMP_LIMIT.get(name), per_hour)
            tools = (Demand(pool="sander"),) if name == "sand" else ()
            tasks.append(
                Task(
                    id=f"z{zone:02d}-{name}",
                    modes=(Mode(size=min(size, len(able)), ticks=ticks),),
                    eligible=able,
                    one_go=name in DAMP_LIMIT,
                    no_start=(Block(fact=f"damp for {name}", ticks=damp),)
                    if damp
                    else (),
                    demands=(Demand(pool=f"zone{zone:02d}"), *tools),
                )
            )
            for earlier in before:
                wait = next(s[4] for s in STEPS if s[0] == earlier)
                links.append(
                    Link(
                        before=f"z{zone:02d}-{earlier}",
                        after=f"z{zone:02d}-{name}",
                        wait=f"dry{wait}" if wait else "",
                        fact=f"{earlier} before {name}",
                    )
                )
                limit = next(s[6] for s in STEPS if s[0] == earlier)
                if limit and name.startswith("colour"):
                    links.append(
                        Link(
                            before=f"z{zone:02d}-{earlier}",
                            after=f"z{zone:02d}-{name}",
                            kind=LinkKind.LATEST,
                            wait=f"within{limit}",
                            fact=f"{name} within {limit} h",
                        )
                    )
    lookups = [
        _drying(f"dry{hours}", hours, humidity, per_hour)
        for hours in sorted({s[4] for s in STEPS} - {0})
    ]
    for limit in sorted({s[6] for s in STEPS} - {0}):
        over = tuple(t + limit * per_hour for t in range(horizon + 1))
        lookups.append(Lookup(name=f"within{limit}", over=over))
    pools = [Pool(id=f"zone{z:02d}", capacity=2) for z in range(zones)]
    pools.append(Pool(id="sander", capacity=max(1, zones // 6)))
    return Instance(
        horizon=horizon,
        tasks=tuple(tasks),
        people=people,
        pools=tuple(pools),
        lookups=tuple(lookups),
        links=tuple(links),
        closures=(
            Closure(
                id="stage",
                tasks=tuple(t.id for t in tasks),
                terms=tuple(Term(task=f"z{z:02d}-panels") for z in range(zones)),
                due_fact="due",
            ),
        ),
        days=Spans(),
        aims=aims,
    )


def _humidity(seed: int, days: int) -> np.ndarray:
    """Return relative humidity by hour: a daily swing and slow weather."""
    noise = np.random.default_rng(seed)
    weather, out = 0.0, []
    for hour in range(days * 24):
        weather = 0.985 * weather + noise.normal(0, 1.8)
        swing = 10 * np.cos(2 * np.pi * (hour - 4) / 24)
        out.append(min(98.0, max(25.0, 62 + swing + weather)))
    return np.array(out)


def _drying(name: str, hours: int, humidity: np.ndarray, per_hour: int) -> Lookup:
    """Return when a coat is dry that takes `hours` at 50 %."""
    rate = np.clip(1 - 0.75 * (humidity - 50) / 50, 0.25, 1.2)
    dried = np.concatenate(([0.0], np.cumsum(np.repeat(rate, per_hour) / per_hour)))
    over = np.searchsorted(dried, dried + hours - 1e-9)
    beyond = len(dried)
    ready = [int(t) if t < beyond else beyond + k for k, t in enumerate(over)]
    return Lookup(name=name, over=tuple(int(t) for t in np.maximum.accumulate(ready)))


def _damp(humidity: np.ndarray, limit: float | None, per_hour: int) -> Spans:
    if limit is None:
        return Spans()
    return Spans.from_mask(np.repeat(humidity > limit, per_hour))


def _worker(r: Random, number: int, days: int, per_hour: int) -> Person:
    """Return a person who works eight to five on weekdays, with gaps."""
    shifts, away = [], []
    for day in range(days):
        if day % 7 >= 5:
            continue
        begin, end = (day * 24 + 8) * per_hour, (day * 24 + 17) * per_hour
        shifts.append((begin, end))
        if r.random() < 0.04:
            away.append((begin, end))
        elif r.random() < 0.26:
            start = begin + r.randrange(0, (end - begin) - per_hour, per_hour // 2 or 1)
            away.append((start, min(end, start + r.randint(1, 3) * per_hour)))
    hulls = Spans.of(shifts)
    return Person(
        id=f"p{number}",
        open=hulls - Spans.of(away),
        shifts=hulls,
        rest=11 * per_hour,
        price=30,
        call_price=0,
        fact=f"hours of p{number}",
    )
