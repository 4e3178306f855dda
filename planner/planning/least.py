"""A bound for all plans: each coat dries as if nothing else in the room were wet.

Wet work only dampens the room, and damp air dries more slowly and breaks limits sooner.
So a plan whose coats make their own air keeps all the rules of this problem too. What
this one rules out no plan can do, and a bound proven for it holds for every plan.
"""

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from planner.air import waits
from planner.air.alone import Alone, Awaited, Coat, alone
from planner.air.laws import LAWS
from planner.air.waits import TickArray
from planner.air.wet_work import coat_water_kg, drying_stage
from planner.hours.spans import Spans
from planner.nouns.inputs import Inputs
from planner.nouns.product import Air, Hardening
from planner.planning.apart import kept_until
from planner.planning.begun.finding import FOUND
from planner.planning.inside import dry_air_kg
from planner.planning.problem import (
    Problem,
    hardening,
    margin_frac,
    stacked_times,
    wait_name,
)
from planner.schedule.problem.instance import Instance
from planner.schedule.problem.parts import Activity, ClosedTicks, LinkKind, Lookup
from planner.schedule.space.starts import near_shifts

_Seen = dict[tuple[Coat, int, tuple[str, ...], tuple[ClosedTicks, ...]], Alone]
OWN_DAMP = "own-damp:"  # how facts begin that close starts by a coat's own water


def least(inputs: Inputs, dry: Problem) -> Problem:
    """Return the problem that every plan of the job keeps, whatever its own air.

    `dry` is the problem in the room's air without wet work.
    """
    quick = _quickest(dry)
    lookups = dict(quick)
    facts, closed = dict(dry.facts), dict[str, ClosedTicks]()
    own: dict[tuple[str, str], str] = {}
    climate = inputs.job.climate
    if climate is not None and not climate.dehumidifiers and bounds_hold(inputs, dry):
        room_kg = dry_air_kg(inputs, dry.grid)
        seen: _Seen = {}
        for task in dry.instance.tasks:
            coat = None if task.id in dry.past else _coat(dry, task)
            if coat is None or _rests_between(dry.instance, task):
                continue
            over, shut = _alone(dry, task, coat, quick, room_kg, seen)
            for name, ticks in over.items():
                own[(task.id, name)] = f"{name}@{task.id}"
                lookups[f"{name}@{task.id}"] = ticks
            if shut:
                fact = f"{OWN_DAMP}{task.id}"
                facts[fact] = _words(dry, task.id, coat)
                closed[task.id] = ClosedTicks(fact=fact, ticks=shut)
    instance = _with(dry.instance, own, lookups, closed)
    return replace(dry, instance=instance, facts=facts)


def bounds_hold(inputs: Inputs, dry: Problem) -> bool:
    """Tell whether what is proven for `least` holds for every plan.

    Readings that lie in the grid pull the hours after them by what the room was
    damper than worked out; with wet work before them they pull less. Where the room
    isn't described, coats change nothing in its air.
    """
    if inputs.job.climate is None:
        return True
    first, last = dry.grid.start, dry.grid.instant(dry.grid.ticks)
    return not any(first <= r.when < last for r in inputs.readings)


# ------------------------------------------------------ waits, whatever the damp


def _quickest(problem: Problem) -> dict[str, TickArray]:
    """Return each wait at its shortest, each latest time at its longest, in any damp."""
    airs = (
        problem.air,
        replace(problem.air, humidity_pct=np.full(len(problem.air), 100.0)),
    )
    latest = {k.wait for k in problem.instance.links if k.kind is LinkKind.LATEST}
    out: dict[str, TickArray] = {}
    for lookup in problem.instance.lookups:
        if lookup.name in latest:
            of, _, name = lookup.name.partition(":")
            product = problem.products[of]
            one = next(x for x in product.latest if x.name == name)
            out[lookup.name] = np.maximum(*(waits.latest_ticks(one, a) for a in airs))
        elif lookup.name.startswith(FOUND):  # it was looked at
            out[lookup.name] = np.array(lookup.over)
        else:
            wait = problem.waits[lookup.name]
            out[lookup.name] = _quick(
                problem,
                hardening(problem.products, wait),
                problem.products[wait.product].thickness_mm,
                airs,
                stacked_times(problem.products, wait),
            )
    return out


def _quick(
    problem: Problem,
    stage: Hardening,
    thickness_mm: float | None,
    airs: tuple[Air, ...],
    times: float = 1.0,
) -> TickArray:
    """Return when a stage is reached at the earliest: in damp air foam cures sooner."""
    own = np.minimum(
        *(
            waits.ready_ticks(
                replace(stage, after=None),
                air,
                thickness_mm=thickness_mm,
                margin_frac=margin_frac(problem.job, stage),
                times=times,
                beyond=waits.Beyond.STILL,
            )
            for air in airs
        )
    )
    if stage.after is None:
        return own
    before = _quick(problem, stage.after, thickness_mm, airs)
    return np.asarray(np.append(own, len(problem.air) + 1)[before])


# ----------------------------------------------------------- a coat by itself


def _coat(problem: Problem, task: Activity) -> Coat | None:
    """Return a task's coat, where it has water to give."""
    work = next(t for t in problem.work.tasks if t.id == task.id)
    until = kept_until(work)
    if until is None:
        return None
    product = problem.products[until.product]
    drying = drying_stage(product)
    water_kg = coat_water_kg(product, work.wet_m2)
    if drying is None or water_kg == 0.0:
        return None
    waited = {n: problem.waits[n] for n in _waits_after(problem.instance, task.id)}
    waited[wait_name(until)] = until
    awaited = tuple(
        Awaited(
            name=name,
            stage=stage,
            margin_frac=margin_frac(problem.job, stage),
            times=stacked_times(problem.products, waited[name]),
        )
        for name in sorted(waited)
        for stage in (hardening(problem.products, waited[name]),)
        if stage.after is None and LAWS[stage.law].damp
    )
    return Coat(
        drying=drying,
        water_kg=water_kg,
        thickness_mm=product.thickness_mm,
        awaited=awaited,
        dry=next((a for a in awaited if a.name == wait_name(until)), None),
        limits=product.limits,
    )


def _waits_after(instance: Instance, task: str) -> set[str]:
    """Return the waits that begin at the end of a task; those that must end, not must not."""
    found = {
        k.wait
        for k in instance.links
        if k.before == task and k.kind is LinkKind.FINISH_START
    }
    found |= {a.until for a in instance.apart if a.task == task}
    found |= {t.wait for c in instance.closures for t in c.terms if t.task == task}
    found |= {h.until for t in instance.tasks if t.id == task for h in t.holds}
    return found - {""}


def _alone(
    problem: Problem,
    task: Activity,
    coat: Coat,
    quick: Mapping[str, TickArray],
    room_kg: np.ndarray,
    seen: _Seen,
) -> tuple[dict[str, TickArray], Spans]:
    """Return a coat's waits by itself, and the starts at which it breaks its limits."""
    count = problem.grid.ticks
    ends, least_run, most_run = ends_of(problem.instance, task)
    found: dict[int, tuple[TickArray, Alone]] = {}
    shut = np.ones(count + 1, dtype=np.bool_)
    for ticks in {m.ticks + task.set_up for m in task.modes}:
        # In one go it is laid whole; where it may pause, at least the last stretch. A
        # stretch that is long enough holds all of it; else each earlier one sets up too.
        kept = most_run >= ticks if task.one_go else ends >= ticks
        mine = ends[kept]
        if not len(mine):
            continue
        laid = np.minimum(most_run if task.one_go else least_run, ticks)[kept]
        earlier = np.where(laid < ticks, ticks - np.maximum(laid, task.set_up), 0)
        whole = ticks + task.set_up * earlier
        key = (coat, ticks, task.eligible, task.no_work)
        if key not in seen:
            seen[key] = alone(coat, mine, laid, whole, air=problem.air, room_kg=room_kg)
        one = seen[key]
        found[ticks] = mine, one
        shut[(mine - ticks)[~one.broken]] = False
    over: dict[str, TickArray] = {}
    for name in _waits_after(problem.instance, task.id):
        if not any(a.name == name for a in coat.awaited):
            continue
        # No end between those looked at is used; a later end is never earlier ready.
        least = np.full(count + 1, count + 1, dtype=np.int64)
        for mine, one in found.values():
            least[mine] = np.minimum(least[mine], one.over[name])
        least = np.minimum.accumulate(least[::-1])[::-1]
        over[name] = np.maximum(least, quick[name])
    possible = np.zeros(count + 1, dtype=np.bool_)
    for ticks, (mine, _) in found.items() if task.one_go else ():
        possible[mine - ticks] = True
    return over, Spans.from_mask((shut & possible)[:count])


def _rests_between(instance: Instance, task: Activity) -> bool:
    """Tell whether rest may cut the stretches in which a task that pauses is worked."""
    return not task.one_go and any(
        near_shifts(p) for p in instance.people if p.id in task.eligible
    )


def ends_of(
    instance: Instance, task: Activity
) -> tuple[TickArray, TickArray, TickArray]:
    """Return the ticks at which a task may end, the shortest and longest run to each.

    A run is a stretch without a pause; a team's is that of its member whose hours
    opened last.
    """
    count = instance.horizon
    least = np.full(count, count, dtype=np.int64)
    most = np.zeros(count, dtype=np.int64)
    for person in instance.people:
        if person.id in task.eligible:
            hours = person.open
            for block in task.no_work:
                hours -= block.ticks
            for start, end in hours:
                run = np.arange(1, min(end, count) - start + 1)
                least[start:end] = np.minimum(least[start:end], run)
                most[start:end] = np.maximum(most[start:end], run)
    at = np.flatnonzero(most)
    return at + 1, least[at], most[at]


def _words(problem: Problem, task: str, coat: Coat) -> str:
    """Return the limits that a coat breaks by itself, in words."""
    title = next(t.title for t in problem.work.tasks if t.id == task)
    return (
        f'"{title}": {waits.limit_words(coat.limits, problem.job.units)} until dry, in the air that its '
        "own water makes"
    )


def _with(
    instance: Instance,
    own: Mapping[tuple[str, str], str],
    lookups: Mapping[str, TickArray],
    closed: Mapping[str, ClosedTicks],
) -> Instance:
    """Return the instance with other look-ups, some of them a task's own, and starts."""

    def of(task: str, wait: str) -> str:
        return own.get((task, wait), wait)

    return replace(
        instance,
        lookups=tuple(
            Lookup(name=name, over=tuple(lookups[name].tolist()))
            for name in sorted(lookups)
        ),
        tasks=tuple(
            replace(
                t,
                holds=tuple(replace(h, until=of(t.id, h.until)) for h in t.holds),
                no_start=(*t.no_start, *([closed[t.id]] if t.id in closed else [])),
            )
            for t in instance.tasks
        ),
        links=tuple(
            replace(k, wait=of(k.before, k.wait))
            if k.kind is LinkKind.FINISH_START
            else k
            for k in instance.links
        ),
        apart=tuple(replace(a, until=of(a.task, a.until)) for a in instance.apart),
        closures=tuple(
            replace(
                c, terms=tuple(replace(t, wait=of(t.task, t.wait)) for t in c.terms)
            )
            for c in instance.closures
        ),
    )
