"""One run of one solver on one instance, timed and checked.

Only the solver's call is timed, with all that it does: reading the instance, a first
plan, models, search, and the engine's own check. Each plan then goes through `verify`.
"""

import hashlib
import json
import time
from collections.abc import Callable
from dataclasses import dataclass, replace

from planner.hours.spans import Spans
from planner.schedule.check.verify import values, verify
from planner.schedule.climb.solve import solve
from planner.schedule.problem.instance import Instance
from planner.schedule.problem.limits import SearchLimits
from planner.schedule.problem.outcome import NoPlan, Placement, Planned, Progress
from planner.schedule.problem.parts import AimKind
from planner.schedule.why.explain import all_facts, lift
from tests.benchmarks.peers import PEERS
from tests.benchmarks.projects import Project, as_instance, placed

ENGINE = "engine"
AMPLE_WORK = 1e6  # the clock alone limits
PLAN_DIGITS = 12

Stop = Callable[[], bool]
Tell = Callable[[Progress], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class AimRow:
    """What was reached for an aim, and what it can't go below."""

    aim: str
    value: int
    bound: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """What a run took and gave.

    `cpu_s` is the time of all threads together, which a machine that is shared
    lengthens less. `first_s` is the time until the first plan, as far as the solver
    tells. `peak_mib` is the most memory that the process had used by then, or a
    command's own. `value` and `bound` are of the first aim, or the number of clashing facts.
    `gap_pct` is the way from bound to value in percent of the value, both counted in
    ticks of somebody's shift where there are people. `plan` is a fingerprint of the
    plan or of the facts: the same for the same.
    """

    set: str
    instance: str
    size: int
    solver: str
    limit_s: float
    seconds: float
    cpu_s: float
    first_s: float | None
    value: int | None
    bound: int | None
    proven: bool
    gap_pct: float | None = None
    best_known: int | None = None
    aims: tuple[AimRow, ...] = ()
    facts: tuple[str, ...] = ()
    stopped: str = ""
    plan: str = ""
    peak_mib: int = 0

    @property
    def above_known_pct(self) -> float | None:
        """How far the value lies above the best that was published, in percent."""
        if self.value is None or self.best_known is None:
            return None
        return 100 * (self.value - self.best_known) / self.best_known


def measure_plan(
    group: str,
    name: str,
    instance: Instance,
    *,
    clock_s: float,
    work: float,
    stop: Stop,
    tell: Tell,
    best_known: int | None = None,
) -> Row:
    """Return the engine's row for an instance that has a plan.

    Raises
    ------
    AssertionError
        When the plan fails the checker, or a value isn't what the plan gives.
    """
    first_s: float | None = None

    def note(progress: Progress) -> None:
        nonlocal first_s
        if first_s is None and progress.best is not None:
            first_s = progress.elapsed_s
        tell(progress)

    begun, begun_cpu = time.perf_counter(), time.process_time()
    outcome = solve(
        instance,
        limits=SearchLimits(work=work, clock_s=clock_s),
        on_progress=note,
        stop=stop,
        explain=False,
    )
    row = Row(
        set=group,
        instance=name,
        size=len(instance.tasks),
        solver=ENGINE,
        limit_s=clock_s,
        seconds=time.perf_counter() - begun,
        cpu_s=time.process_time() - begun_cpu,
        first_s=first_s,
        value=None,
        bound=None,
        proven=False,
        best_known=best_known,
    )
    if not isinstance(outcome, Planned):
        return replace(row, stopped=type(outcome).__name__)
    found = _checked(instance, outcome.placements)
    for result in outcome.aims:
        if found[result.aim] != result.value:
            raise AssertionError(f"{name}: {result} but {found[result.aim]}")
    first = outcome.aims[0]
    return replace(
        row,
        value=first.value,
        bound=first.bound,
        proven=all(a.proven for a in outcome.aims),
        gap_pct=_gap_pct(instance, first.value, first.bound),
        aims=tuple(
            AimRow(aim=a.aim.value, value=a.value, bound=a.bound) for a in outcome.aims
        ),
        stopped=outcome.stopped,
        plan=fingerprint([(p.task, p.start, p.team) for p in outcome.placements]),
    )


def measure_peer(project: Project, peer: str, *, clock_s: float, stop: Stop) -> Row:
    """Return a peer's row for a project; its plan goes through the same checker."""
    begun, begun_cpu = time.perf_counter(), time.process_time()
    found = PEERS[peer](project, clock_s, stop)
    row = Row(
        set=project.set,
        instance=project.name,
        size=project.size,
        solver=peer,
        limit_s=clock_s,
        seconds=time.perf_counter() - begun,
        cpu_s=time.process_time() - begun_cpu,
        first_s=found.first_s,
        value=None,
        bound=found.bound,
        proven=False,
        best_known=project.best_known,
    )
    if not found.starts:
        return row
    instance = as_instance(project)
    reached = _checked(instance, placed(project, found.starts))
    value = reached[AimKind.LAST_RETURN]
    bound = min(value, found.bound)
    return replace(
        row,
        value=value,
        bound=bound,
        gap_pct=_gap_pct(instance, value, bound),
        proven=found.bound >= value,
        plan=fingerprint(list(found.starts)),
    )


def measure_clash(
    group: str,
    name: str,
    instance: Instance,
    *,
    clock_s: float,
    work: float | None,
    stop: Stop,
) -> Row:
    """Return the engine's row for an instance without a plan: `value` facts clash.

    Raises
    ------
    AssertionError
        When there is a plan, or the facts named don't clash on their own.
    """
    limits = SearchLimits(work=work or SearchLimits().work, clock_s=clock_s)
    begun, begun_cpu = time.perf_counter(), time.process_time()
    outcome = solve(instance, limits=limits, stop=stop)
    row = Row(
        set=group,
        instance=name,
        size=len(instance.tasks),
        solver=ENGINE,
        limit_s=clock_s,
        seconds=time.perf_counter() - begun,
        cpu_s=time.process_time() - begun_cpu,
        first_s=None,
        value=None,
        bound=None,
        proven=False,
    )
    if isinstance(outcome, Planned):
        raise AssertionError(f"{name}: there is a plan")
    if not isinstance(outcome, NoPlan):
        return replace(row, stopped=type(outcome).__name__)
    others = set(all_facts(instance)) - set(outcome.facts)
    alone = solve(lift(instance, others), limits=limits, stop=stop, explain=False)
    if isinstance(alone, Planned):
        raise AssertionError(f"{name}: {outcome.facts} don't clash")
    return replace(
        row,
        value=len(outcome.facts),
        proven=outcome.minimal,
        facts=outcome.facts,
        stopped="" if isinstance(alone, NoPlan) else "clash not confirmed in time",
        plan=fingerprint(list(outcome.facts)),
    )


def _checked(
    instance: Instance, placements: tuple[Placement, ...]
) -> dict[AimKind, int]:
    """Return the values of a plan that passed the checker."""
    if faults := verify(instance, placements):
        raise AssertionError("; ".join(faults))
    return values(instance, placements)


def _gap_pct(instance: Instance, value: int, bound: int) -> float:
    """Return the gap of a return, in ticks that lie in somebody's shift."""
    shifts = Spans.of(s for p in instance.people for s in (p.shifts or p.open))
    if shifts:
        value, bound = (shifts.clip(0, tick).total for tick in (value, bound))
    return 100 * (value - bound) / value if value else 0.0


def fingerprint(value: object) -> str:
    """Return a few digits that are the same for the same values."""
    text = json.dumps(value, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()[:PLAN_DIGITS]
