"""Why there is no plan, in the user's words."""

from dataclasses import dataclass

from planner import units
from planner.errors import NoPlanError
from planner.nouns.inputs import Inputs
from planner.planning.horizons import HORIZON_WEEKS
from planner.planning.least import OWN_DAMP
from planner.planning.posing import problem_of
from planner.planning.problem import LIMITS, Problem
from planner.planning.refusals.advising import Lone, never_alone
from planner.planning.refusals.air_limits import limits_told, never_kept, never_words
from planner.planning.refusals.needed import needed
from planner.planning.refusals.too_long import in_bays
from planner.planning.searching import Search
from planner.schedule.problem.outcome import NoPlan

_CERTAIN = (
    "it is certain that there is no plan, but not that each of these rules has a part "
    "in it: "
)
NOT_SHOWN = (
    f"{_CERTAIN}the search for the rules that clash ended too soon, so give it more with "
    "--seconds or --work-limit"
)
NOT_BY_TEAM = (
    f"{_CERTAIN}the crew makes too many teams to weigh them all, so it was asked what "
    "clashes whoever does the work"
)
AIR = "limits"  # how the facts begin that are limits on the air
EXPLAINED_WEEKS = 13  # a clash is looked for within these
ROOM_HELPS = (
    "heating, ventilation or a dehumidifier in [air.room]; see the room with: "
    "covetime air JOB"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Damp:
    """Why a plan could not be made to hold: a coat, its limits, the ticks that break."""

    task: str
    fact: str
    first: int
    last: int


def no_plan(inputs: Inputs, problem: Problem, search: Search) -> NoPlanError:
    """Return the error that names the rules in conflict in the user's words.

    There is no plan within the longest grid, so none within that of `problem`,
    where the clash is looked for.
    """
    head = (
        f"no plan is possible within {HORIZON_WEEKS[-1]} weeks of "
        f"{problem.job.earliest}"
    )
    damp = never_alone(problem, OWN_DAMP)
    if damp:
        return _by_own_damp(inputs, problem, head, damp)
    never = never_kept(problem)
    if never:
        return NoPlanError(
            head,
            conflict=never_words(problem, never),
            helps=(ROOM_HELPS,),
            facts=never,
        )
    # loaded here: whoever has a plan needn't wait for it
    from planner.schedule.why.conflict import conflict

    try:
        clash = conflict(
            problem.instance, limits=search.limits, stop=search.stop, certain=True
        )
    except KeyboardInterrupt:
        unknown = "the search was stopped before the rules that clash were found"
        raise NoPlanError(head, conflict=(unknown,)) from None
    if clash is None or clash.facts in ((), ("horizon",)):
        return NoPlanError(head, conflict=("the work as a whole does not fit",))
    named = dict.fromkeys(_words(problem, f) for f in clash.facts)
    return NoPlanError(
        head,
        conflict=tuple(named),
        helps=_giving_way(problem, clash),
        not_shown=_not_shown(clash),
        facts=clash.facts,
        needed=needed(inputs, problem, clash.facts),
    )


def _words(problem: Problem, fact: str) -> str:
    """Return a fact in the user's words; of limits, those that ever break."""
    if fact.startswith(LIMITS) and fact in problem.facts:
        return limits_told(problem, fact)
    return problem.facts.get(fact, fact)


def _giving_way(problem: Problem, clash: NoPlan) -> tuple[str, ...]:
    """Return which of the facts would have to give way, as far as that was found.

    Nothing where one fact clashes by itself: it was named.
    """
    told = [
        " and ".join(_lift(_words(problem, f)) for f in facts) for facts in clash.enough
    ]
    alone = {facts[0] for facts in clash.enough if len(facts) == 1}
    if clash.minimal and alone == set(clash.facts):
        return ("giving way on any one of them",) if len(alone) > 1 else ()
    return tuple(dict.fromkeys(told))


def _not_shown(clash: NoPlan) -> str:
    if clash.minimal:
        return ""
    return NOT_BY_TEAM if clash.some_teams else NOT_SHOWN


def _lift(words: str) -> str:
    return f"giving way on: {words}"


NOT_HELD = "no plan was found that holds in the air that its own coats make"


def not_held(inputs: Inputs, problem: Problem, damp: Damp | None) -> NoPlanError:
    """Return the error that says that no plan found stands in its own coats' air.

    It says which coat found no place in the damp of the others, if one did. That is no
    proof: the plans that were tried were moved on as far as the grid goes.
    """
    if damp is None:
        return NoPlanError(
            NOT_HELD,
            conflict=(
                "with the waits in that air, the plan that was tried could not be moved "
                "on without breaking another rule; there may be a plan all the same",
            ),
            helps=(ROOM_HELPS,),
            facts=(AIR,),
        )
    title = next(t.title for t in problem.work.tasks if t.id == damp.task)
    short = problem_of(inputs, weeks=HORIZON_WEEKS[0])
    grid = problem.grid
    since, until = (
        units.moment_words(grid.instant(min(t, grid.ticks)), grid.zone)
        for t in (damp.first, damp.last)
    )
    return NoPlanError(
        NOT_HELD,
        conflict=(
            f"{problem.facts.get(damp.fact, damp.fact)}: at the last try "
            f'"{title}" lay without it between {since} and {until}',
        ),
        helps=(
            *_helps(inputs, short, damp.task),
            *_fewer(problem, damp.task),
        ),
        facts=(AIR,),
    )


def _by_own_damp(
    inputs: Inputs, problem: Problem, head: str, tasks: tuple[str, ...]
) -> NoPlanError:
    """Return the error for coats that break their limits even alone in the room."""
    climate = inputs.job.climate
    alike: dict[tuple[str | None, float], str] = {}
    for task in problem.work.tasks:
        if task.id in tasks:
            alike.setdefault((task.product, task.wet_m2), task.id)
    lone = [Lone(inputs, problem, task) for task in alike.values()]
    helps = [h for one in alike.values() for h in _helps(inputs, problem, one)]
    helps += [h for one in alike.values() for h in _fewer(problem, one)]
    return NoPlanError(
        head,
        conflict=tuple(one.words(climate) for one in lone if climate is not None),
        helps=tuple(dict.fromkeys(helps)) or (ROOM_HELPS,),
        facts=(AIR,),
    )


def _helps(inputs: Inputs, problem: Problem, task: str) -> tuple[str, ...]:
    """Return what would let the coat keep its limits, were it alone in the room."""
    climate = inputs.job.climate
    if climate is None:
        return ()
    one = Lone(inputs, problem, task)
    return tuple(f'for "{one.work.title}", {words}' for words in one.helps(climate))


def _fewer(problem: Problem, task: str) -> tuple[str, ...]:
    """Return how less of a coat could be wet at a time, where the job may say so."""
    work = next(t for t in problem.work.tasks if t.id == task)
    if words := in_bays(work):
        return (f'for "{work.title}", less wet at a time: {words}',)
    return ()
