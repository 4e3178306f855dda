"""One run of the solver on one model, with an aim or without."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum

from ortools.sat.python import cp_model

from planner.schedule.cp.aims import aim_expression
from planner.schedule.cp.model import Model
from planner.schedule.cp.rules import keep_all_rules
from planner.schedule.cp.variables import Expr
from planner.schedule.first.greedy import Seat, Seats
from planner.schedule.problem.limits import StoppedError, Watch
from planner.schedule.problem.parts import AimKind
from planner.schedule.space.narrowed import NarrowedWindows

SEED = 7
GUIDED = 1000  # the weight of one tick of the aim, compared with one tick of the guide
# How many conflicts a question may take that halves what is left of an aim.
HALVING = 200


class Verdict(Enum):
    """How a run ended."""

    BEST = "best"  # a plan, and nothing better exists
    SOME = "some"  # a plan
    NONE = "none"  # there is no plan
    UNKNOWN = "unknown"  # the limits came first


@dataclass(frozen=True, slots=True, kw_only=True)
class SolverRun:
    """What a run gave: the verdict, the plan, the aim's bound and the work done."""

    verdict: Verdict
    seats: Seats | None
    bound: int | None
    work: float


def run_solver(
    windows: NarrowedWindows,
    seats: Seats | None,
    *,
    aim: AimKind | None,
    settled: tuple[tuple[AimKind, int], ...],
    work: float,
    watch: Watch,
    least: int = 0,
    guide: Callable[[Model], Expr] | None = None,
    report: Callable[[int | None, int | None], None] | None = None,
) -> SolverRun:
    """Return the best plan of a model that keeps the settled aims.

    Parameters
    ----------
    windows
        The starts that are left.
    seats
        A plan to start from.
    aim
        What is minimised; None asks for any plan.
    settled
        Earlier aims, each with the value that it must not exceed.
    work
        The limit, in the solver's measure of work.
    watch
        The clock, and the caller's request to stop.
    least
        A lower bound on the aim that is known.
    guide
        What is also minimised, among plans with the same value of the aim; with it, no
        bound is returned.
    report
        Called with the best value and the bound whenever one of them improves.
    """
    try:
        m, goal = _with_goal(Model(windows, seats, watch), aim, settled)
    except StoppedError:
        return SolverRun(verdict=Verdict.UNKNOWN, seats=None, bound=None, work=0.0)
    if goal is not None:
        m.cp.minimize(goal if guide is None else GUIDED * goal + guide(m))
        if least > 0:
            m.cp.add(goal >= least)
    solver = _solver(work, watch, aim)
    listener = _Listener(report)
    if report is not None and aim is not None:
        solver.best_bound_callback = listener.on_bound
    with watch.guard(solver.stop_search):
        status = solver.solve(m.cp, listener if report is not None else None)
    verdict = {
        cp_model.OPTIMAL: Verdict.BEST,
        cp_model.FEASIBLE: Verdict.SOME,
        cp_model.INFEASIBLE: Verdict.NONE,
        cp_model.UNKNOWN: Verdict.UNKNOWN,
    }.get(status)
    if verdict is None:
        raise AssertionError(f"the model is not valid: {m.cp.validate()}")
    found = verdict in {Verdict.BEST, Verdict.SOME}
    bound = None
    if aim is not None and guide is None and verdict is not Verdict.NONE:
        bound = math.ceil(solver.best_objective_bound - 1e-6)
    return SolverRun(
        verdict=verdict,
        seats=_seats(m, solver) if found else None,
        bound=bound,
        work=solver.response_proto.deterministic_time,
    )


def _with_goal(
    m: Model, aim: AimKind | None, settled: tuple[tuple[AimKind, int], ...]
) -> tuple[Model, Expr | None]:
    """Return the model with all rules and settled aims, and the aim's expression."""
    keep_all_rules(m)
    for kind, value in settled:
        expression = aim_expression(m, kind)
        if not isinstance(expression, int):
            m.cp.add(expression <= value)
    return m, None if aim is None else aim_expression(m, aim)


def _solver(work: float, watch: Watch, aim: AimKind | None) -> cp_model.CpSolver:
    """Return a solver whose answer depends on its input alone.

    For the cost, which adds up many literals, the solver collects sets of literals that
    can't all be free of charge. For an aim that is a length, it first asks for half of
    what is left between value and bound, and later goes down step by step. Measured:
    each way is quicker for its own aims and slower for the others. The calls, too, are
    proven the quickest by sets of literals, but that way no plan is found before the
    proof; step by step, nearly as few are found in a fraction of its time. Full
    presolving is worth its time only for the first aim, whose windows are wide.
    """
    solver = cp_model.CpSolver()
    parameters = solver.parameters
    parameters.num_workers = 1
    parameters.random_seed = SEED
    parameters.max_deterministic_time = work
    parameters.cp_model_probing_level = 0
    parameters.symmetry_level = 0
    parameters.linearization_level = 0
    # Measured on jobs of 60 tasks: probing between restarts took nine tenths of the
    # time and proved nothing.
    parameters.inprocessing_dtime_ratio = 0.0
    parameters.inprocessing_probing_dtime = 0.0
    parameters.inprocessing_minimization_dtime = 0.0
    if aim is not AimKind.LAST_RETURN:
        parameters.max_presolve_iterations = 1  # further ones cost more than they bring
        # Measured on the corner example with a margin of 10 %: a fifth of the conflicts.
        parameters.use_overload_checker_in_cumulative = True
    if aim is AimKind.CALLS:
        # Measured on the examples: where nothing is to be proven, these two take a third
        # of the time; the last one finds one shift less in the same time.
        parameters.use_overload_checker_in_cumulative = False
        parameters.use_precedences_in_disjunctive_constraint = False
        parameters.use_new_integer_conflict_resolution = True
    elif aim is AimKind.COST:
        parameters.optimize_with_core = True
    elif aim is AimKind.CLOSED:
        parameters.binary_search_num_conflicts = HALVING
    parameters.catch_sigint_signal = False
    if watch.left_s is not None:
        parameters.max_time_in_seconds = watch.left_s
    return solver


class _Listener(cp_model.CpSolverSolutionCallback):
    """Passes on what the solver finds."""

    def __init__(self, report: Callable[[int | None, int | None], None] | None) -> None:
        super().__init__()
        self._report = report
        self._best: int | None = None
        self._bound: int | None = None

    def on_solution_callback(self) -> None:
        """Pass on a better value."""
        self._best = round(self.objective_value)
        self._tell()

    def on_bound(self, bound: float) -> None:
        """Pass on a better bound."""
        if abs(bound) < 2**53:
            self._bound = math.ceil(bound - 1e-6)
            self._tell()

    def _tell(self) -> None:
        if self._report is not None:
            self._report(self._best, self._bound)


def _seats(m: Model, solver: cp_model.CpSolver) -> Seats:
    """Return the plan that the solver found."""
    seats: Seats = {}
    for t, act in m.acts.items():
        if act.present is not None and not solver.boolean_value(act.present):
            continue
        choice = next(c for c in act.choices if solver.boolean_value(c.literal))
        start = solver.value(act.start)
        seats[t] = Seat(
            team=choice.option.team,
            ticks=choice.option.ticks,
            start=start,
            end=start + choice.length,
        )
    return seats
