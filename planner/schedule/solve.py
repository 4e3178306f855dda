"""From an instance to an outcome: a first plan, then each aim in turn."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from importlib.metadata import version

from planner.schedule.bounds import Floor, least_at_once
from planner.schedule.conflict import conflict
from planner.schedule.greedy import Seats, first_plan
from planner.schedule.ground import Ground, make_ground
from planner.schedule.instance import AimKind, Instance
from planner.schedule.limits import Limits, Watch
from planner.schedule.naming import placements_of
from planner.schedule.outcome import (
    AimResult,
    NoPlan,
    Outcome,
    Placement,
    Planned,
    Progress,
    TimeUp,
)
from planner.schedule.room import Cuts, ImpossibleError, Room
from planner.schedule.search import Verdict, run_solver
from planner.schedule.verify import values, verify
from planner.schedule.windows import narrow

__all__ = ["SOLVER", "Limits", "solve"]

SOLVER = f"OR-Tools {version('ortools')} CP-SAT"

SHARE = 0.5  # of the work that is left, what one aim may take unless it is the last
TIDY_SHARE = 0.05  # of all work, what an aim that only tidies may take
TIDYING = (AimKind.EARLY, AimKind.TIDY)


def solve(
    instance: Instance,
    *,
    limits: Limits | None = None,
    on_progress: Callable[[Progress], None] | None = None,
    stop: Callable[[], bool] | None = None,
    explain: bool = True,
) -> Outcome:
    """Return the best plan for the aims in their order, as far as the limits allow.

    Each aim is brought down in turn, and kept at what was reached for the next.

    Parameters
    ----------
    instance
        The problem.
    limits
        How much searching is allowed.
    on_progress
        Called whenever a better plan or bound is known; perhaps on another thread.
    stop
        Asked ten times a second; once it says yes, the best plan so far comes back.
    explain
        Whether to look for the facts that clash when there is no plan.

    Returns
    -------
    Outcome
        Planned, with a proof or a bound for each aim; NoPlan, with the facts that
        clash if they were asked for; or TimeUp.
    """
    limits = limits or Limits()
    watch = Watch(limits, stop)
    ground = make_ground(instance)
    try:
        room = narrow(ground)
    except ImpossibleError:
        return _no_plan(instance, limits, stop) if explain else _UNEXPLAINED
    seats = first_plan(room, stop=watch.over)
    ladder = _Ladder(instance, ground, limits, watch, on_progress)
    outcome = ladder.climb(room, seats)
    if outcome is None:
        return _no_plan(instance, limits, stop) if explain else _UNEXPLAINED
    return outcome


_UNEXPLAINED = NoPlan(facts=(), minimal=False)


def _no_plan(
    instance: Instance, limits: Limits, stop: Callable[[], bool] | None
) -> Outcome:
    """Return the facts that clash, once it is certain that there is no plan."""
    found = conflict(instance, limits=limits, stop=stop, certain=True)
    if found is None:
        raise AssertionError("no plan, and yet no clash")
    return found


@dataclass(slots=True)
class _Ladder:
    """The aims, one after the other."""

    instance: Instance
    ground: Ground
    limits: Limits
    watch: Watch
    on_progress: Callable[[Progress], None] | None

    def climb(self, room: Room, seats: Seats | None) -> Planned | TimeUp | None:
        """Return the outcome after the last aim or at the limits; None for no plan."""
        work = self.limits.work
        results: list[AimResult] = []
        stopped = ""
        aims = self.instance.aims
        if not aims or seats is None:
            run = run_solver(
                room, seats, aim=None, settled=(), work=work, watch=self.watch
            )
            work -= run.work
            if run.verdict is Verdict.NONE:
                return None
            seats = run.seats or seats
        if seats is None:
            return TimeUp()
        floor = Floor(self.ground)
        for number, aim in enumerate(aims):
            share = work if number == len(aims) - 1 else work * SHARE
            if aim in TIDYING:
                share = min(share, self.limits.work * TIDY_SHARE)
            settled = tuple((r.aim, r.value) for r in results)
            result, seats, spent = self.bring_down(aim, settled, seats, floor, share)
            work -= spent
            results.append(result)
            if not result.proven:
                stopped = self.reason()
        placements = self.placements(seats)
        if faults := verify(self.instance, placements):
            raise AssertionError("; ".join(faults))
        return Planned(placements=placements, aims=tuple(results), stopped=stopped)

    def bring_down(
        self,
        aim: AimKind,
        settled: tuple[tuple[AimKind, int], ...],
        seats: Seats,
        floor: Floor,
        work: float,
    ) -> tuple[AimResult, Seats, float]:
        """Return what is reached for an aim, the plan, and the work that it took."""
        value = self.value(seats, aim)
        kept = _cuts(self.instance, settled)
        bound = floor.least(
            kept, aim, least_at_once(narrow(self.ground, kept), aim), value
        )
        self.tell(aim, value, bound)
        if value <= bound or work <= 0 or self.watch.over():
            return AimResult(aim=aim, value=value, bound=bound), seats, 0.0
        run = run_solver(
            narrow(self.ground, _cuts(self.instance, (*settled, (aim, value)))),
            seats,
            aim=aim,
            settled=settled,
            least=bound,
            work=work,
            watch=self.watch,
            report=partial(self.tell, aim),
        )
        if run.verdict is Verdict.NONE:
            raise AssertionError(f"the plan at hand broke the model at {aim}")
        seats = run.seats or seats
        value = self.value(seats, aim)
        bound = min(value, max(bound, run.bound if run.bound is not None else bound))
        return AimResult(aim=aim, value=value, bound=bound), seats, run.work

    def reason(self) -> str:
        """Return why an aim isn't proven."""
        if self.watch.interrupted:
            return "interrupted"
        return "clock limit" if self.watch.late else "work limit"

    def placements(self, seats: Seats) -> tuple[Placement, ...]:
        return placements_of(self.ground, seats)

    def value(self, seats: Seats, aim: AimKind) -> int:
        return values(self.instance, self.placements(seats))[aim]

    def tell(self, aim: AimKind, best: int | None, bound: int | None) -> None:
        if self.on_progress is not None:
            elapsed = self.watch.elapsed_s
            self.on_progress(
                Progress(elapsed_s=elapsed, aim=aim, best=best, bound=bound)
            )


def _cuts(instance: Instance, kept: tuple[tuple[AimKind, int], ...]) -> Cuts:
    """Return what the aims that are kept say about returns and lengths."""
    returns: dict[str, int] = {}
    lengths: dict[str, int] = {}
    for aim, value in kept:
        for c in instance.closures:
            if aim in {AimKind.LAST_RETURN, AimKind.RETURNS}:
                returns[c.id] = min(value, returns.get(c.id, value))
            if aim is AimKind.CLOSED:
                lengths[c.id] = min(value, lengths.get(c.id, value))
    return Cuts(returns=returns, lengths=lengths)
