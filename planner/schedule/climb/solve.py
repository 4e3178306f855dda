"""From an instance to an outcome: a first plan, then each aim in turn."""

from collections.abc import Callable, Mapping, Sequence
from functools import partial

from planner.schedule.climb.ladder import Ladder
from planner.schedule.cp.relaxed import without_people
from planner.schedule.first.greedy import best_in_order, first_plan
from planner.schedule.problem.instance import Instance
from planner.schedule.problem.limits import SearchLimits, StoppedError, Watch
from planner.schedule.problem.outcome import (
    NoPlan,
    Outcome,
    Placement,
    Progress,
    TimeUp,
)
from planner.schedule.problem.parts import AimKind
from planner.schedule.space.bounds import Floor
from planner.schedule.space.memory import Memory
from planner.schedule.space.narrowed import ImpossibleError
from planner.schedule.space.search_space import make_space, too_many_teams
from planner.schedule.space.windows import narrow
from planner.schedule.why.conflict import conflict

__all__ = ["SearchLimits", "solve"]


def solve(
    instance: Instance,
    *,
    limits: SearchLimits | None = None,
    on_progress: Callable[[Progress], None] | None = None,
    on_found: Callable[[tuple[Placement, ...]], None] | None = None,
    stop: Callable[[], bool] | None = None,
    explain: bool = True,
    given: Mapping[AimKind, int] | None = None,
    orders: Sequence[Mapping[str, int]] = (),
    memory: Memory | None = None,
) -> Outcome:
    """Return the best plan for the aims in their order, as far as the limits allow.

    Each aim is minimised in turn. The value that it reached is then kept while the next
    aims are minimised.

    Parameters
    ----------
    instance
        The problem.
    limits
        How much searching is allowed.
    on_progress
        Called whenever a better plan or bound is known; perhaps on another thread.
    on_found
        Called with the first plan, and with the best plan after each aim.
    stop
        Asked ten times a second; once it says yes, the best plan so far is returned.
    explain
        Whether to look for the facts that clash if there is no plan.
    given
        Values of aims that a plan for a stricter problem has. If a better value is
        reached for such an aim, the aims after it are still minimised at the given
        value. So their bounds hold for all plans that are as good as that plan in the
        aims before.
    orders
        Starts of tasks in plans for similar problems; the first plan then comes of one
        pass over the tasks in each of these orders, if that gives one.
    memory
        What was worked out for other instances that share parts with this one.

    Returns
    -------
    Outcome
        Planned, with a proof or a bound for each aim; NoPlan, with the facts that
        clash if they were asked for; or TimeUp.
    """
    limits = limits or SearchLimits()
    watch = Watch(limits, stop)
    made = partial(
        make_space, memory=memory, check=watch.check_prepared, hurry=watch.over
    )
    try:
        space = None if too_many_teams(instance) else made(instance)
        all_made = space is not None and not space.some_teams
        outer = space if space and all_made else made(without_people(instance))
        outer_room = narrow(outer)
    except StoppedError:
        return TimeUp()
    except ImpossibleError:
        return _no_plan(instance, limits, stop) if explain else _UNEXPLAINED
    windows = outer_room
    if outer is not space:
        try:
            space = space or made(instance)
            windows = narrow(space)
        except StoppedError:
            return TimeUp()
        except ImpossibleError:
            return TimeUp(some_teams=True)
    ladder = Ladder(
        instance,
        space,
        outer,
        limits,
        watch,
        on_progress,
        on_found,
        Floor(outer),
        given or {},
    )
    low = ladder.first_bound(outer_room)
    seats = best_in_order(windows, orders) or first_plan(
        windows, floor=low, stop=watch.over
    )
    outcome = ladder.climb(windows, seats)
    if outcome is None:
        return _no_plan(instance, limits, stop) if explain else _UNEXPLAINED
    return outcome


_UNEXPLAINED = NoPlan(facts=(), minimal=False)


def _no_plan(
    instance: Instance, limits: SearchLimits, stop: Callable[[], bool] | None
) -> Outcome:
    """Return the facts that clash, once it is certain that there is no plan."""
    found = conflict(instance, limits=limits, stop=stop, certain=True)
    if found is None:
        raise AssertionError("no plan, and yet no clash")
    return found
