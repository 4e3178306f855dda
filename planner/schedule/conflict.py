"""Why there is no plan: a smallest set of facts that clash.

Facts are lifted from the instance itself, and what is left is asked for any plan at
all, with no aim: first by its windows and the work that must lie in them, then by the
start heuristic, then by the solver.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace
from functools import lru_cache

from planner.hours.spans import Spans
from planner.schedule.bounds import work_fits
from planner.schedule.greedy import first_plan
from planner.schedule.ground import Memory, make_ground
from planner.schedule.instance import Closure, Instance, Person, Task
from planner.schedule.limits import Limits, Watch
from planner.schedule.outcome import NoPlan
from planner.schedule.room import ImpossibleError
from planner.schedule.search import Verdict, run_solver
from planner.schedule.sound import always_present
from planner.schedule.windows import narrow

WORK_PER_QUESTION = 0.25
PASSES = 4  # of the start heuristic, for each question


def conflict(
    instance: Instance,
    *,
    limits: Limits | None = None,
    stop: Callable[[], bool] | None = None,
    certain: bool = False,
) -> NoPlan | None:
    """Return why there is no plan; None when there is one, or it can't be told.

    Parameters
    ----------
    instance
        The problem.
    limits
        How much searching is allowed for all questions together.
    stop
        Asked again and again; once it says yes, the clash found so far comes back.
    certain
        Whether it is known already that there is no plan.
    """
    structure = _structure(instance)
    if structure:
        return NoPlan(facts=structure, minimal=True)
    asker = _Asker(instance, limits or Limits(), stop)
    if certain:
        asker.known[frozenset()] = False
    if asker.plan_without(()) is not False:
        return None
    facts = all_facts(instance)
    if asker.plan_without(facts) is False:
        return NoPlan(facts=("horizon",), minimal=True)
    whole = set(facts)
    kept, by_windows = facts, asker.windows_fail(())
    if by_windows:
        kept = _smallest(
            facts, lambda keep: asker.windows_fail(whole - set(keep)), len(facts) // 2
        )
    kept = _smallest(
        kept,
        lambda keep: asker.fails(whole - set(keep)),
        1 if by_windows else len(facts) // 2,
    )
    minimal = all(
        asker.plan_without(whole - set(kept) | {fact}) is True for fact in kept
    )
    enough: tuple[tuple[str, ...], ...] = tuple(
        (fact,) for fact in kept if asker.plan_without({fact}) is True
    )
    enough = enough or _several(asker, facts, kept)
    return NoPlan(facts=tuple(sorted(kept)), minimal=minimal, enough=enough)


def _several(
    asker: "_Asker", facts: tuple[str, ...], clash: tuple[str, ...]
) -> tuple[tuple[str, ...], ...]:
    """Return one set of several facts whose lifting leaves a plan, where one is found.

    From clash after clash the fact that stands last is given up; at the end, those
    that could have stayed are taken back.
    """
    given_up = [clash[-1]]
    while asker.fails(given_up):
        rest = tuple(f for f in facts if f not in given_up)
        clash = _smallest(
            rest, lambda keep: asker.fails(set(facts) - set(keep)), len(rest) // 2
        )
        given_up.append(clash[-1])
    for fact in tuple(given_up):
        fewer = [f for f in given_up if f != fact]
        if asker.plan_without(fewer) is True:
            given_up = fewer
    return (tuple(given_up),) if asker.plan_without(given_up) is True else ()


def all_facts(instance: Instance) -> tuple[str, ...]:
    """Return every fact, those first that are tried first for being needless.

    What a user can change most easily stands last, so that it stays in a clash.
    """
    rows: list[Iterable[str]] = [
        (k.fact for k in instance.links),
        (a.fact for a in instance.apart),
        (h.fact for t in instance.tasks for h in t.holds),
        (b.fact for t in instance.tasks for b in (*t.no_work, *t.no_start)),
        (p.fact for p in instance.people),
        (p.fact for p in instance.pins),
        (b.fact for c in instance.closures for b in c.booked),
        (c.due_fact for c in instance.closures if c.due is not None),
    ]
    ordered = [fact for row in rows for fact in sorted(set(row)) if fact]
    return tuple(dict.fromkeys(ordered))


def lift(instance: Instance, facts: Iterable[str]) -> Instance:
    """Return the instance without some of its facts."""
    gone = set(facts) - {""}
    if not gone:
        return instance
    return replace(
        instance,
        tasks=tuple(_lift_task(t, gone) for t in instance.tasks),
        people=tuple(_lift_person(p, gone, instance.horizon) for p in instance.people),
        links=tuple(k for k in instance.links if k.fact not in gone),
        apart=tuple(a for a in instance.apart if a.fact not in gone),
        closures=tuple(_lift_closure(c, gone) for c in instance.closures),
        pins=tuple(p for p in instance.pins if p.fact not in gone),
    )


def _lift_task(task: Task, gone: set[str]) -> Task:
    return replace(
        task,
        no_work=tuple(b for b in task.no_work if b.fact not in gone),
        no_start=tuple(b for b in task.no_start if b.fact not in gone),
        holds=tuple(h for h in task.holds if h.fact not in gone),
    )


def _lift_person(person: Person, gone: set[str], horizon: int) -> Person:
    if person.fact not in gone:
        return person
    always = _always(horizon)
    return replace(person, open=always, shifts=always, rest=0)


@lru_cache(maxsize=8)
def _always(horizon: int) -> Spans:
    return Spans.of([(0, horizon)])


def _lift_closure(closure: Closure, gone: set[str]) -> Closure:
    return replace(
        closure,
        booked=tuple(b for b in closure.booked if b.fact not in gone),
        due=None if closure.due_fact in gone else closure.due,
    )


def _structure(instance: Instance) -> tuple[str, ...]:
    """Return what no fact can mend: nobody for a task, or too little of a pool."""
    capacity = {p.id: p.capacity for p in instance.pools}
    always = always_present(instance)
    for task in instance.tasks:
        if task.id not in always:
            continue
        led = not task.leads or set(task.leads) & set(task.eligible)
        if not any(
            m.size == 0 or (m.size <= len(task.eligible) and led) for m in task.modes
        ):
            return (f"nobody:{task.id}",)
        for demand in task.demands:
            if demand.amount > capacity[demand.pool]:
                return (f"pool:{demand.pool}",)
    return ()


@dataclass(slots=True)
class _Asker:
    """Asks whether a plan is left when some facts are lifted."""

    instance: Instance
    limits: Limits
    stop: Callable[[], bool] | None
    watch: Watch = field(init=False)
    left: float = field(init=False)
    memory: Memory = field(default_factory=Memory)
    known: dict[frozenset[str], bool | None] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.watch = Watch(self.limits, self.stop)
        self.left = self.limits.work

    def plan_without(self, facts: Iterable[str]) -> bool | None:
        """Return whether there is a plan without these facts; None if unknown."""
        key = frozenset(facts)
        if key not in self.known:
            self.known[key] = self._ask(lift(self.instance, key))
        return self.known[key]

    def fails(self, facts: Iterable[str]) -> bool:
        """Tell whether it is certain that there is no plan without these facts."""
        return self.plan_without(facts) is False

    def windows_fail(self, facts: Iterable[str]) -> bool:
        """Tell whether the windows alone show that there is no plan."""
        if self.watch.over():
            return False
        try:
            narrow(make_ground(lift(self.instance, facts), self.memory))
        except ImpossibleError:
            return True
        return False

    def _ask(self, instance: Instance) -> bool | None:
        if self.watch.over():
            return None
        try:
            room = narrow(make_ground(replace(instance, aims=()), self.memory))
        except ImpossibleError:
            return False
        if not work_fits(room):
            return False
        if first_plan(room, passes=PASSES) is not None:
            return True
        if self.left <= 0:
            return None
        run = run_solver(
            room,
            None,
            aim=None,
            settled=(),
            work=min(WORK_PER_QUESTION, self.left),
            watch=self.watch,
        )
        self.left -= run.work
        if run.verdict is Verdict.UNKNOWN:
            return None
        return run.verdict is not Verdict.NONE


def _smallest(
    facts: tuple[str, ...], clash: Callable[[tuple[str, ...]], bool], size: int
) -> tuple[str, ...]:
    """Return a subset that clashes and of which no single fact can be spared.

    All of them must clash. Facts are taken out `size` at a time while that goes, then
    half as many at a time, at last one by one.
    """
    kept = list(facts)
    size = max(1, size)
    while size >= 1:
        at = 0
        while at < len(kept):
            fewer = kept[:at] + kept[at + size :]
            if clash(tuple(fewer)):
                kept = fewer
            else:
                at += size
        size //= 2
    return tuple(kept)
