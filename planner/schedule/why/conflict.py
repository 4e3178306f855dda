"""Why there is no plan: a smallest set of facts that clash.

Facts are taken out of those that clash, many at a time and then fewer, as long as
what is left still clashes.
"""

from collections.abc import Callable

from planner.schedule.problem.consistency import always_present
from planner.schedule.problem.instance import Instance
from planner.schedule.problem.limits import SearchLimits
from planner.schedule.problem.outcome import NoPlan
from planner.schedule.why.asking import Asker
from planner.schedule.why.relaxing import all_facts

THOROUGH = 3  # facts about which the solver is asked whether one is enough
PATIENCE = 8  # facts in vain in a row, after which no more are asked about


def conflict(
    instance: Instance,
    *,
    limits: SearchLimits | None = None,
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
        Whether it is known already that there is no plan. Where there are too many
        teams to weigh them all, no facts are named then.
    """
    structure = _structure(instance)
    if structure:
        return NoPlan(facts=structure, minimal=True)
    asker = Asker(instance, limits or SearchLimits(), stop)
    if asker.some_teams:
        return NoPlan(facts=(), minimal=False) if certain else None
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
    """Return facts that clash, none of which can be spared as far as could be told.

    Where it shows quickly that some of the facts clash, only those are looked into. A
    plan that is soon found without a fact shows that it is needed; the others are
    taken out together where they can be, for each proof takes its time.
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
    """Return each fact found whose lifting alone leaves a plan.

    Those that are changed most easily are asked about first, until too many in a row
    haven't helped; the solver is asked about few, and only while much work is left.
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
    """Return one set of several facts whose lifting leaves a plan, where one is found.

    From clash after clash the fact that stands last is given up; at the end, those
    that could have stayed are taken back.
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
    """Return what no fact can mend: nobody for a task, or too little of a pool."""
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
    """Return what is gone with those of the facts that can be spared besides.

    Parameters
    ----------
    facts
        What may be spared, those first that are tried first.
    clash
        Tells whether what is left clashes once some facts are gone.
    gone
        What is gone already; without it the rest clashes.
    some_needed
        Whether it is known that the facts can't all be spared.
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
