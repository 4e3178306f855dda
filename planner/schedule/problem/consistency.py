"""What an instance must satisfy before it is solved: names, numbers, no loops."""

from collections import Counter
from collections.abc import Iterable, Iterator
from graphlib import CycleError as LoopError
from graphlib import TopologicalSorter

from planner.errors import CycleError
from planner.hours.spans import Spans
from planner.schedule.problem.parts import (
    Activity,
    Closure,
    LinkKind,
    Person,
    Pool,
    Stated,
)


def require_consistency(instance: Stated) -> None:
    """Return nothing if the instance is consistent.

    Raises
    ------
    CycleError
        If tasks wait for each other in a loop.
    ValueError
        For every other fault; the message lists all of them.
    """
    faults = [*_names(instance), *_numbers(instance), *_presence(instance)]
    if faults:
        raise ValueError("; ".join(faults))
    _refuse_loops(instance)


def always_present(instance: Stated) -> set[str]:
    """Return the tasks that every plan carries out."""
    branched = {t for b in instance.branches for option in b.options for t in option}
    free = {t.id for t in instance.tasks if t.optional} | branched
    return {t.id for t in instance.tasks} - free | {p.task for p in instance.pins}


def _names(instance: Stated) -> Iterator[str]:
    """Yield a fault for each name that is used twice, and each that names nothing."""
    kinds = {
        "task": [t.id for t in instance.tasks],
        "person": [p.id for p in instance.people],
        "pool": [p.id for p in instance.pools],
        "lookup": [k.name for k in instance.lookups],
        "closure": [c.id for c in instance.closures],
        "branch": [b.id for b in instance.branches],
        "pin of": [p.task for p in instance.pins],
        "agreed": [b.task for b in instance.agreed],
    }
    for kind, names in kinds.items():
        for name, count in Counter(names).items():
            if count > 1:
                yield f"{kind} {name!r} stands {count} times"
            if not name:
                yield f"{kind} without a name"
    known = {kind: set(names) for kind, names in kinds.items()}
    known["lookup"].add("")
    for place, kind, used in _uses(instance):
        for name in used:
            if name not in known[kind]:
                yield f"{place}: unknown {kind} {name!r}"


def _uses(instance: Stated) -> Iterator[tuple[str, str, Iterable[str]]]:
    """Yield each place where names are used: the place, the kind of name, the names."""
    for t in instance.tasks:
        place = f"task {t.id}"
        yield place, "person", (*t.eligible, *(t.leads or ()))
        yield place, "pool", [d.pool for d in t.demands]
        yield place, "lookup", [h.until for h in t.holds]
    for k in instance.links:
        place = f"link {k.before} to {k.after}"
        unless = (k.unless,) if k.unless else ()
        yield place, "task", (k.before, k.after, *unless)
        yield place, "lookup", (k.wait,)
    for a in instance.apart:
        yield f"apart {a.task}", "task", (a.task, *a.others)
        yield f"apart {a.task}", "lookup", (a.until,)
    for c in instance.closures:
        yield f"closure {c.id}", "task", (*c.tasks, *(t.task for t in c.terms))
        yield f"closure {c.id}", "lookup", [t.wait for t in c.terms]
    for b in instance.branches:
        yield f"branch {b.id}", "task", [t for option in b.options for t in option]
    for p in instance.pins:
        yield "pin", "task", (p.task,)
        yield f"pin of {p.task}", "person", p.team or ()
    for g in instance.agreed:
        yield "agreed", "task", (g.task,)
        yield f"agreed {g.task}", "person", g.team


def _numbers(instance: Stated) -> Iterator[str]:
    """Yield a fault for each length, span or price that is impossible."""
    horizon = instance.horizon
    if horizon < 1:
        yield f"horizon: {horizon} is not positive"
    for k in instance.lookups:
        if len(k.over) != horizon + 1:
            yield f"lookup {k.name}: {len(k.over)} entries, not {horizon + 1}"
    for t in instance.tasks:
        yield from _task_faults(t)
    for p in instance.people:
        yield from _person_faults(p, horizon)
    for q in instance.pools:
        yield from _pool_faults(q, horizon)
    for c in instance.closures:
        yield from _closure_faults(c, horizon)
    for a in instance.apart:
        if a.task in a.others:
            yield f"apart {a.task}: kept apart from itself"
    if _outside(instance.days, horizon):
        yield "days: outside the horizon"


def _task_faults(t: Activity) -> Iterator[str]:
    if not t.modes:
        yield f"task {t.id}: no mode"
    sizes = [m.size for m in t.modes]
    if len(set(sizes)) < len(sizes):
        yield f"task {t.id}: two modes of one size"
    for kind, names in (
        ("eligible", t.eligible),
        ("leads", t.leads or ()),
        ("demands", tuple(d.pool for d in t.demands)),
    ):
        if len(set(names)) < len(names):
            yield f"task {t.id}: a name twice in {kind}"
    if t.pays < 0:
        yield f"task {t.id}: pays {t.pays} is below 0"
    if t.set_up < 0:
        yield f"task {t.id}: set_up {t.set_up} is below 0"


def _person_faults(p: Person, horizon: int) -> Iterator[str]:
    prices = (p.price, p.dear_price, p.call_price, p.rest)
    if min(prices) < 0:
        yield f"person {p.id}: a price or rest below 0"
    if _outside(p.open, horizon):
        yield f"person {p.id}: open outside the horizon"
    if p.shifts and (p.open - p.shifts):
        yield f"person {p.id}: open outside every shift"
    if p.dear - p.open:
        yield f"person {p.id}: dear ticks that aren't open"


def _pool_faults(q: Pool, horizon: int) -> Iterator[str]:
    if q.capacity < 0 or q.day_price < 0:
        yield f"pool {q.id}: capacity or day_price below 0"
    for start, end, capacity in q.less:
        if not (0 <= start < end <= horizon and 0 <= capacity <= q.capacity):
            yield f"pool {q.id}: less {(start, end, capacity)}"


def _closure_faults(c: Closure, horizon: int) -> Iterator[str]:
    if c.tick_price < 0 or any(price < 0 for _, _, price in c.soft):
        yield f"closure {c.id}: a price below 0"
    if any(not 0 <= start < end for start, end, _ in c.soft):
        yield f"closure {c.id}: a soft booking that ends before it starts"
    if c.due is not None and not 0 <= c.due <= horizon:
        yield f"closure {c.id}: due {c.due} is not within 0..{horizon}"


def _outside(spans: Spans, horizon: int) -> bool:
    return bool(spans) and (spans.items[0][0] < 0 or spans.items[-1][1] > horizon)


def _presence(instance: Stated) -> Iterator[str]:
    """Yield a fault for each task in two branches or closure that could be empty."""
    home: dict[str, str] = {}
    for b in instance.branches:
        if not b.options:
            yield f"branch {b.id}: no options"
        for task in {t for option in b.options for t in option}:
            if task in home:
                yield f"task {task}: in branches {home[task]} and {b.id}"
            home[task] = b.id
    always = always_present(instance)
    for c in instance.closures:
        for what, tasks in (("tasks", c.tasks), ("terms", [t.task for t in c.terms])):
            if not always & set(tasks):
                yield f"closure {c.id}: none of its {what} is always carried out"


def _refuse_loops(instance: Stated) -> None:
    """Raise CycleError if links that can apply together form a loop."""
    options: dict[str, tuple[str, set[int]]] = {}
    for b in instance.branches:
        for number, option in enumerate(b.options):
            for task in option:
                options.setdefault(task, (b.id, set()))[1].add(number)

    def exclude(one: str, two: str) -> bool:
        a, b = options.get(one), options.get(two)
        return a is not None and b is not None and a[0] == b[0] and not a[1] & b[1]

    before: dict[str, set[str]] = {t.id: set() for t in instance.tasks}
    for k in instance.links:
        if k.kind is not LinkKind.LATEST and not exclude(k.before, k.after):
            before[k.after].add(k.before)
    try:
        TopologicalSorter({k: sorted(v) for k, v in sorted(before.items())}).prepare()
    except LoopError as loop:
        words = " → ".join(loop.args[1])
        raise CycleError(f"tasks wait for each other in a loop: {words}") from None
