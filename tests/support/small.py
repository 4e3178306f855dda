"""Small random instances, and the best plan of one by trying everything."""

from dataclasses import replace
from itertools import combinations, groupby, pairwise, product
from math import prod
from random import Random

from planner.hours.spans import Spans
from planner.schedule.check.verify import values, verify
from planner.schedule.problem.instance import Instance
from planner.schedule.problem.outcome import Placement
from planner.schedule.problem.parts import (
    Activity,
    AimKind,
    Apart,
    Before,
    Branch,
    ClosedTicks,
    Closure,
    Demand,
    Hold,
    Link,
    LinkKind,
    Lookup,
    Mode,
    Person,
    Pin,
    Pool,
    Term,
)

HORIZON = 13


def small_instance(seed: int) -> Instance:
    """Return an instance of three or four tasks in which any rule may appear.

    Setting up each day, and rest that is longer than a night, are drawn last, so that
    the rest of an instance hangs on the seed alone.
    """
    r = Random(seed)
    people = tuple(
        _person(r, name) for name in ("ann", "bo", "cy")[: r.choice((2, 2, 3))]
    )
    names = ["a", "b", "c", "d"][: r.choice((3, 3, 4))]
    lookups = (_lookup(r, "dry"), _lookup(r, "window"))
    pools = (
        Pool(id="bay", capacity=r.choice((1, 2)), less=_less(r), day_price=_some(r, 5)),
    )
    tasks = tuple(_task(r, name, people) for name in names)
    branches: tuple[Branch, ...] = ()
    optional = ""
    if len(names) == 4 and r.random() < 0.5:
        branches = (Branch(id="method", options=(("b",), ("c",))),)
    elif len(names) == 4 and r.random() < 0.6:
        optional = "c"
        tasks = tuple(_as_optional(t) if t.id == "c" else t for t in tasks)
    last = names[-1]
    made = Instance(
        horizon=HORIZON,
        tasks=tasks,
        people=people,
        pools=pools,
        lookups=lookups,
        links=_links(r, names, optional),
        apart=_apart(r, names),
        closures=_closures(r, last),
        branches=branches,
        pins=(Pin(task="a", start=r.randrange(6), fact="pin"),)
        if r.random() < 0.1
        else (),
        agreed=tuple(
            Before(task=n, start=r.randrange(8), team=(r.choice(people).id,))
            for n in names
            if r.random() < 0.5
        ),
        days=Spans(((0, 4), (5, 8), (9, 13))),
        aims=_aims(r),
    )
    return replace(
        made,
        tasks=tuple(replace(t, set_up=r.choice((0, 0, 0, 1))) for t in made.tasks),
        people=tuple(
            replace(p, rest=r.choice((p.rest,) * 4 + (4,)), rest_fact=f"rest of {p.id}")
            for p in made.people
        ),
    )


def _some(r: Random, top: int) -> int:
    return r.choice((0, 0, r.randint(1, top)))


def _aims(r: Random) -> tuple[AimKind, ...]:
    aims = list(AimKind)
    r.shuffle(aims)
    return tuple(aims[: r.choice((1, 2, 3))])


def _spans(r: Random, count: int, longest: int) -> Spans:
    starts = [r.randrange(HORIZON) for _ in range(count)]
    return Spans.of((s, min(s + r.randint(1, longest), HORIZON)) for s in starts)


def _person(r: Random, name: str) -> Person:
    shifts = Spans(((0, 4), (5, 8), (9, 13)))
    present = Spans.of([(0, HORIZON)]) - _spans(r, r.choice((0, 1, 1)), 3)
    return Person(
        id=name,
        open=shifts & present,
        shifts=shifts,
        rest=r.choice((0, 0, 2, 3)),
        price=_some(r, 3),
        dear=Spans(((6, 8),)) & present,
        dear_price=_some(r, 4),
        call_price=_some(r, 6),
        fact=f"hours of {name}",
    )


def _lookup(r: Random, name: str) -> Lookup:
    over, last = [], 0
    for tick in range(HORIZON + 1):
        last = max(last, tick + r.choice((0, 1, 1, 3)))
        over.append(last)
    return Lookup(name=name, over=tuple(over))


def _less(r: Random) -> tuple[tuple[int, int, int], ...]:
    if r.random() < 0.7:
        return ()
    start = r.randrange(HORIZON - 2)
    return ((start, start + 2, 0),)


def _task(r: Random, name: str, people: tuple[Person, ...]) -> Activity:
    ids = [p.id for p in people]
    eligible = tuple(r.sample(ids, r.choice((1, 2, len(ids)))))
    modes = [Mode(size=1, ticks=r.randint(1, 4))]
    if r.random() < 0.4:
        modes.append(Mode(size=2, ticks=max(1, modes[0].ticks // 2)))
    if r.random() < 0.1:
        modes = [Mode(size=0, ticks=r.randint(1, 4))]
    blocks = [
        (ClosedTicks(fact=f"{kind} of {name}", ticks=_spans(r, 1, 4)),)
        if r.random() < 0.3
        else ()
        for kind in ("quiet", "start")
    ]
    hold = Hold(
        fact=f"damp at {name}", bad=_spans(r, 1, 2), until=r.choice(("", "dry"))
    )
    return Activity(
        id=name,
        modes=tuple(modes),
        eligible=eligible,
        leads=tuple(r.sample(eligible, 1)) if r.random() < 0.3 else None,
        one_go=r.random() < 0.3,
        no_work=blocks[0],
        no_start=blocks[1],
        holds=(hold,) if r.random() < 0.3 else (),
        demands=(Demand(pool="bay"),) if r.random() < 0.5 else (),
        pays=_some(r, 9),
    )


def _as_optional(task: Activity) -> Activity:
    return Activity(
        id=task.id,
        modes=task.modes,
        eligible=task.eligible,
        leads=task.leads,
        demands=task.demands,
        optional=True,
        pays=task.pays,
    )


def _links(r: Random, names: list[str], optional: str) -> tuple[Link, ...]:
    links = []
    for one, two in combinations(names, 2):
        if r.random() < 0.45:
            kind = r.choice((LinkKind.FINISH_START,) * 3 + (LinkKind.START_START,))
            wait = r.choice(("", "dry"))
            links.append(
                Link(before=one, after=two, kind=kind, wait=wait, fact=f"{one}-{two}")
            )
        if r.random() < 0.15:
            unless = optional if optional not in (one, two) else ""
            links.append(
                Link(
                    before=one,
                    after=two,
                    kind=LinkKind.LATEST,
                    wait="window",
                    unless=unless,
                    fact=f"{two} soon after {one}",
                )
            )
    return tuple(links)


def _apart(r: Random, names: list[str]) -> tuple[Apart, ...]:
    if r.random() < 0.7:
        return ()
    one, two = r.sample(names, 2)
    return (Apart(task=one, others=(two,), until=r.choice(("", "dry")), fact="fumes"),)


def _closures(r: Random, last: str) -> tuple[Closure, ...]:
    booked = (
        (ClosedTicks(fact="booking", ticks=_spans(r, 1, 2)),)
        if r.random() < 0.4
        else ()
    )
    first = (Term(task="a", wait="dry"),) if r.random() < 0.5 else ()
    return (
        Closure(
            id="stage",
            tasks=("a", last),
            terms=(Term(task=last, wait=r.choice(("", "dry"))), *first),
            booked=booked,
            soft=((6, 8, r.randint(1, 5)),),
            due=r.choice((None, None, 11)),
            due_fact="due",
            tick_price=_some(r, 2),
        ),
    )


def best_by_trial(instance: Instance) -> tuple[int, ...] | None:
    """Return the least values of the aims over every plan; None when there is none."""
    best: tuple[int, ...] | None = None
    for plan in every_plan(instance):
        found = values(instance, plan)
        reached = tuple(found[aim] for aim in instance.aims)
        best = reached if best is None or reached < best else best
    return best


def seats_to_try(instance: Instance) -> int:
    """Return how many plans there are before any rule between tasks is looked at."""
    return prod(len(list(_every_seat(instance, t))) + 1 for t in instance.tasks)


def every_plan(instance: Instance):
    """Yield every plan of the instance: each way to do each task, if at all."""
    rows = []
    for task in instance.tasks:
        seats: list[Placement | None] = list(_every_seat(instance, task))
        branched = any(task.id in o for b in instance.branches for o in b.options)
        if task.optional or branched:
            seats.append(None)
        rows.append(seats)

    def extend(at: int, chosen: list[Placement]):
        if at == len(rows):
            plan = tuple(chosen)
            if not verify(instance, plan):
                yield plan
            return
        for seat in rows[at]:
            if seat is None:
                yield from extend(at + 1, chosen)
            elif not any(_clash(instance, seat, other) for other in chosen):
                yield from extend(at + 1, [*chosen, seat])

    yield from extend(0, [])


def _clash(instance: Instance, one: Placement, two: Placement) -> bool:
    """Tell whether the two can't both be in a plan, to try fewer plans in vain."""
    if set(one.team) & set(two.team) and one.start < two.end and two.start < one.end:
        return True
    over = {k.name: k.over for k in instance.lookups}
    over[""] = tuple(range(instance.horizon + 1))
    for a, b in ((one, two), (two, one)):
        for link in instance.links:
            if (link.before, link.after) != (a.task, b.task) or link.unless:
                continue
            begin = a.start if link.kind is LinkKind.START_START else a.end
            limit = over[link.wait][begin]
            late = b.start > limit if link.kind is LinkKind.LATEST else b.start < limit
            if late:
                return True
    return False


def _every_seat(instance: Instance, task: Activity):
    """Yield each team and start of a task; rules are left to `verify`."""
    people = {p.id: p for p in instance.people}
    for mode in task.modes:
        for team in combinations(sorted(task.eligible), mode.size):
            workable = [
                tick
                for tick in range(instance.horizon)
                if all(tick in people[p].open for p in team)
                and not any(tick in b.ticks for b in task.no_work)
            ]
            for start in workable:
                worked = course(
                    [people[p] for p in team], task, mode.ticks, workable, start
                )
                if worked is None:
                    continue
                placement = Placement(
                    task=task.id,
                    team=team,
                    start=worked[0],
                    end=worked[-1] + 1,
                    worked=Spans.of((t, t + 1) for t in worked),
                )
                if not _own_faults(instance, task, placement):
                    yield placement


def course(
    team: list[Person], task: Activity, ticks: int, workable: list[int], start: int
) -> list[int] | None:
    """Return the ticks that a task works from a start on, by trying every course.

    A course is a run of workable ticks in each day, or none.
    """
    if task.one_go:
        run = [start + k for k in range(ticks + task.set_up)]
        return run if set(run) <= set(workable) else None

    def shift(person: Person, tick: int) -> tuple[int, int]:
        return next(s for s in person.shifts or person.open if s[0] <= tick < s[1])

    def day(tick: int) -> tuple[tuple[int, int], ...]:
        return tuple(shift(p, tick) for p in team)

    def rested(one: int, two: int) -> bool:
        return all(
            two - one - 1 >= p.rest for p in team if shift(p, one) != shift(p, two)
        )

    days = [list(ticks) for _, ticks in groupby(workable, day)]
    rows: list[list[list[int]]] = []
    for open_ticks in days:
        runs = [
            open_ticks[a:b]
            for a in range(len(open_ticks))
            for b in range(a + task.set_up + 1, len(open_ticks) + 1)
        ]
        if start in open_ticks:
            rows.append([run for run in runs if run[0] == start])
        elif open_ticks[0] > start:
            rows.append([[], *runs])
    found = []
    for chosen in product(*rows):
        pieces = [run for run in chosen if run]
        progress = sum(len(run) - task.set_up for run in pieces)
        nights = pairwise(pieces)
        if progress == ticks and all(rested(one[-1], two[0]) for one, two in nights):
            mornings = [-run[0] for run in reversed(pieces)]
            found.append((pieces[-1][-1], mornings, [t for run in pieces for t in run]))
    return min(found)[2] if found else None


def _own_faults(instance: Instance, task: Activity, placement: Placement) -> bool:
    alone = Instance(
        horizon=instance.horizon,
        tasks=(
            Activity(
                id=task.id,
                modes=task.modes,
                eligible=task.eligible,
                leads=task.leads,
                set_up=task.set_up,
                one_go=task.one_go,
                no_work=task.no_work,
                no_start=task.no_start,
                holds=task.holds,
            ),
        ),
        people=instance.people,
        lookups=instance.lookups,
        aims=(),
    )
    return bool(verify(alone, (placement,)))
