"""Why there is no plan: a smallest set of facts that contradict each other.

It begins with a set of facts that contradict each other. Facts are left out of it,
first many at a time and then fewer, as long as the rest still contradict each other.
"""

from collections.abc import Callable

from planner.schedule.cp.relaxed import without_people
from planner.schedule.problem.consistency import always_present
from planner.schedule.problem.instance import Instance
from planner.schedule.problem.limits import SearchLimits
from planner.schedule.problem.outcome import NoPlan
from planner.schedule.space.search_space import too_many_teams
from planner.schedule.why.asking import Asker
from planner.schedule.why.relaxing import all_facts

THOROUGH = 3  # for how many facts the solver is asked whether lifting one is enough
PATIENCE = 8  # after this many facts in a row that didn't help, no more are tried


def conflict(
    instance: Instance,
    *,
    limits: SearchLimits | None = None,
    stop: Callable[[], bool] | None = None,
    certain: bool = False,
) -> NoPlan | None:
    """Return why there is no plan; None if there is one, or if it can't be told.

    Parameters
    ----------
    instance
        The problem.
    limits
        How much searching is allowed for all questions together.
    stop
        Asked again and again; once it says yes, the facts found so far are returned.
    certain
        Whether it is known already that there is no plan.

    If there are too many teams to consider them all, facts clash if they do whoever
    does the work; that each of them has a part in it isn't shown then.
    """
    structure = _structure(instance)
    if structure:
        return NoPlan(facts=structure, minimal=True)
    if too_many_teams(instance):
        found = conflict(without_people(instance), limits=limits, stop=stop)
        none = NoPlan(facts=(), minimal=False) if certain else None
        if found is None:
            return none
        return NoPlan(facts=found.facts, minimal=False, some_teams=True)
    asker = Asker(instance, limits or SearchLimits(), stop)
    if certain:
        asker.rule_out(())
    if not asker.fails(()):
        return None
    facts = all_facts(instance)
    if asker.fails(facts):
        return NoPlan(facts=("horizon",), minimal=True)
    kept = _clash(asker, facts)
    gone = set(facts) - set(kept)
    minimal = all(asker.plan_without(gone | {fact}) is True for fact in kept)
    return NoPlan(
        facts=tuple(sorted(kept)),
        minimal=minimal,
        enough=_enough(asker, kept) or _several(asker, facts, kept),
    )


def _clash(asker: Asker, facts: tuple[str, ...]) -> tuple[str, ...]:
    """Return facts that clash, with none that can be left out as far as could be told.

    If it is quickly seen that some of the facts clash, only those are looked into. If a
    plan without a fact is quickly found, the fact is needed. The others are left out
    together where possible, since each proof takes time.
    """
    gone: frozenset[str] = frozenset()
    if asker.ruled_out(gone):
        gone = _with_spared(facts, asker.ruled_out, gone)
    doubtful = tuple(
        fact
        for fact in facts
        if fact not in gone and not asker.plan_without(gone | {fact}, thorough=False)
    )
    gone = _with_spared(doubtful, asker.fails, gone)
    return tuple(f for f in facts if f not in gone)


def _enough(asker: Asker, clash: tuple[str, ...]) -> tuple[tuple[str, ...], ...]:
    """Return each fact of which it was found that lifting it alone leaves a plan.

    Facts that are easiest to change are tried first, until too many in a row haven't
    helped. The solver is asked about few of them, and only while much work is left.
    """
    found: list[str] = []
    in_vain = 0
    for number, fact in enumerate(reversed(clash)):
        thorough = number < THOROUGH and asker.left > asker.limits.work / 2
        helps = asker.plan_without({fact}, thorough=thorough) is True
        in_vain = 0 if helps else in_vain + 1
        if helps:
            found.append(fact)
        if in_vain == PATIENCE:
            break
    return tuple((fact,) for fact in reversed(found))


def _several(
    asker: Asker, facts: tuple[str, ...], clash: tuple[str, ...]
) -> tuple[tuple[str, ...], ...]:
    """Return a set of several facts whose lifting leaves a plan, if one is found.

    As long as there is a clash, the last of its facts is lifted. At the end, those that
    needn't have been lifted are taken back.
    """
    given_up = [clash[-1]]
    while asker.fails(given_up):
        tell = asker.ruled_out if asker.ruled_out(given_up) else asker.fails
        gone = _with_spared(facts, tell, frozenset(given_up))
        given_up.append([f for f in facts if f not in gone][-1])
    for fact in tuple(given_up):
        fewer = [f for f in given_up if f != fact]
        if asker.plan_without(fewer) is True:
            given_up = fewer
    return (tuple(given_up),) if asker.plan_without(given_up) is True else ()


def _structure(instance: Instance) -> tuple[str, ...]:
    """Return what no change of facts helps: nobody for a task, too little of a pool."""
    capacity = {p.id: p.capacity for p in instance.pools}
    always = always_present(instance)
    for task in instance.tasks:
        if task.id not in always:
            continue
        led = task.leads is None or set(task.leads) & set(task.eligible)
        if not any(
            m.size == 0 or (m.size <= len(task.eligible) and led) for m in task.modes
        ):
            return (f"nobody:{task.id}",)
        for demand in task.demands:
            if demand.amount > capacity[demand.pool]:
                return (f"pool:{demand.pool}",)
    return ()


def _with_spared(
    facts: tuple[str, ...],
    clash: Callable[[frozenset[str]], bool],
    gone: frozenset[str],
    *,
    some_needed: bool = False,
) -> frozenset[str]:
    """Return the facts left out, with as many more as can be left out besides.

    Parameters
    ----------
    facts
        What may be left out; those first that are tried first.
    clash
        Tells whether the rest still clashes once some facts are left out.
    gone
        What is left out already; the rest still clashes without it.
    some_needed
        Whether it is known that not all of the facts can be left out.
    """
    if not facts:
        return gone
    more = gone.union(facts)
    if not some_needed and clash(more):
        return more
    if len(facts) == 1:
        return gone
    middle = len(facts) // 2
    first = _with_spared(facts[:middle], clash, gone)
    needed = first.issuperset(facts[:middle])
    return _with_spared(facts[middle:], clash, first, some_needed=needed)
