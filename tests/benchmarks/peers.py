"""The same published projects through others: PyJobShop, and a lean model by hand.

Both use the solver that the engine uses, with two workers. They are given the project
as it is: fixed durations, arcs, pools; so they can't say what a building job asks for.
"""

import importlib
import math
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass

from ortools.sat.python import cp_model

from tests.benchmarks.greedy import Bounds, bounds, first_starts
from tests.benchmarks.projects import Project

WORKERS = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """What a peer found: a start for each activity (none without a plan), a bound."""

    starts: tuple[int, ...]
    bound: int
    first_s: float | None = None  # until its heuristic had a plan


Peer = Callable[[Project, float, Callable[[], bool]], Found]


def pyjobshop(project: Project, clock_s: float, stop: Callable[[], bool]) -> Found:
    """Return what PyJobShop finds; it can't be stopped before its time."""
    # by name, so that the rest runs and is typed where it isn't installed
    model = importlib.import_module("pyjobshop").Model()
    pools = [
        model.add_machine() if n == 1 else model.add_renewable(capacity=n)
        for n in project.capacity
    ]
    tasks = [model.add_task() for _ in project.ticks]
    for task, ticks, needs in zip(tasks, project.ticks, project.needs, strict=True):
        used = [j for j, amount in enumerate(needs) if amount]
        # a machine is taken whole, with no amount
        amounts = [needs[j] if project.capacity[j] > 1 else 0 for j in used]
        model.add_mode(task, [pools[j] for j in used], ticks, amounts)
    for a, b in project.arcs:
        model.add_end_before_start(tasks[a], tasks[b])
    result = model.solve(
        solver="ortools", time_limit=clock_s, display=False, num_workers=WORKERS
    )
    return Found(
        starts=tuple(int(placed.start) for placed in result.best.tasks),
        bound=math.ceil(result.lower_bound - 1e-6),
    )


def lean(project: Project, clock_s: float, stop: Callable[[], bool]) -> Found:
    """Return what a plain model finds, started by a greedy plan that also cuts it."""
    begun = time.perf_counter()
    known = bounds(project)
    hint = first_starts(project, known)
    first_s = time.perf_counter() - begun
    length = _length(project, hint)
    if length <= known.least:
        return Found(starts=tuple(hint), bound=length, first_s=first_s)
    model, starts = _lean_model(project, known, hint)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = WORKERS
    solver.parameters.max_time_in_seconds = max(0.01, clock_s - first_s)
    solver.parameters.catch_sigint_signal = False
    with _Watched(stop, solver.stop_search):
        status = solver.solve(model)
    if status not in {cp_model.OPTIMAL, cp_model.FEASIBLE}:
        return Found(starts=tuple(hint), bound=known.least, first_s=first_s)
    return Found(
        starts=tuple(solver.value(start) for start in starts),
        bound=max(known.least, math.ceil(solver.best_objective_bound - 1e-6)),
        first_s=first_s,
    )


PEERS: dict[str, Peer] = {"PyJobShop": pyjobshop, "lean": lean}


def _lean_model(
    project: Project, known: Bounds, hint: list[int]
) -> tuple[cp_model.CpModel, list[cp_model.IntVar]]:
    """Return the model and its starts, windows cut by the length of the hint."""
    model = cp_model.CpModel()
    length = _length(project, hint)
    starts = [
        model.new_int_var(known.head[k], length - known.tail[k] - ticks, f"start{k}")
        for k, ticks in enumerate(project.ticks)
    ]
    spans = [
        model.new_fixed_size_interval_var(start, ticks, f"span{k}")
        for k, (start, ticks) in enumerate(zip(starts, project.ticks, strict=True))
    ]
    for a, b in project.arcs:
        model.add(starts[b] >= starts[a] + project.ticks[a])
    for j, capacity in enumerate(project.capacity):
        users = [k for k, needs in enumerate(project.needs) if needs[j]]
        amounts = [project.needs[k][j] for k in users]
        if all(2 * amount > capacity for amount in amounts):
            model.add_no_overlap([spans[k] for k in users])
        elif sum(amounts) > capacity:
            model.add_cumulative([spans[k] for k in users], amounts, capacity)
    end = model.new_int_var(known.least, length, "end")
    for k in project.sinks:
        model.add(end >= starts[k] + project.ticks[k])
    model.minimize(end)
    for start, value in zip(starts, hint, strict=True):
        model.add_hint(start, value)
    model.add_hint(end, length)
    return model, starts


def _length(project: Project, starts: list[int]) -> int:
    return max(s + d for s, d in zip(starts, project.ticks, strict=True))


class _Watched:
    """Calls `halt` once `stop` says so, while the solver runs."""

    def __init__(self, stop: Callable[[], bool], halt: Callable[[], None]) -> None:
        self._done = threading.Event()
        self._thread = threading.Thread(target=self._look, args=(stop, halt))

    def __enter__(self) -> None:
        self._thread.start()

    def __exit__(self, *_: object) -> None:
        self._done.set()
        self._thread.join()

    def _look(self, stop: Callable[[], bool], halt: Callable[[], None]) -> None:
        while not self._done.wait(0.1):
            if stop():
                halt()
