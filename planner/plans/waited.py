"""The waits of a plan, at the ticks at which its tasks end."""

from collections.abc import Mapping, Sequence

import numpy as np

from planner import plan as nouns
from planner.air import waits
from planner.hours.grid import Grid
from planner.hours.spans import Spans
from planner.plans.problem import Problem, hardening, wait_name
from planner.records import Wait


def stretches(grid: Grid, spans: Spans) -> tuple[nouns.Stretch, ...]:
    """Return spans of ticks as stretches of UTC instants."""
    return tuple((grid.instant(a), grid.instant(b)) for a, b in spans)


class Waited:
    """Every wait of a plan, worked out once at the ticks at which tasks end."""

    def __init__(self, problem: Problem, ends: Mapping[str, int]) -> None:
        self.problem, self.ends = problem, ends
        self.over = {name: x.over for name, x in problem.lookups.items()}
        self.likely: dict[str, Sequence[int]] = {}

    def ready(self, task: str, wait: Wait | None) -> int:
        """Return the tick at which a wait after a task is over; no wait: the task's end."""
        end = self.ends[task]
        return end if wait is None else self.over[wait_name(wait)][end]

    def likely_ready(self, task: str, wait: Wait | None) -> int:
        """Return the same without the planning margin."""
        if wait is None:
            return self.ends[task]
        name = wait_name(wait)
        if name not in self.likely:
            self.likely[name] = waits.ready_ticks(
                hardening(self.problem.products, wait),
                self.problem.air,
                thickness_mm=self.problem.products[wait.product].thickness_mm,
                margin_frac=0.0,
                beyond=waits.Beyond.STILL,
            ).tolist()
        return self.likely[name][self.ends[task]]

    def planned(self, task: str, wait: Wait) -> nouns.PlannedWait:
        """Return a wait as the plan holds it."""
        grid, air = self.problem.grid, self.problem.air
        product = self.problem.products[wait.product]
        stage = hardening(self.problem.products, wait)
        begin, ready = self.ends[task], self.ready(task, wait)
        lain = slice(min(begin, grid.ticks - 1), max(ready, begin + 1))
        return nouns.PlannedWait(
            task=task,
            product=product.id,
            product_title=product.title,
            stage=stage.stage,
            way=stage.way.value,
            begins=grid.instant(begin),
            ready=grid.instant(ready),
            likely=grid.instant(self.likely_ready(task, wait)),
            air_c=round(float(np.mean(air.air_c[lain])), 2),
            humidity_pct=round(float(np.mean(air.humidity_pct[lain])), 2),
            source=stage.source.text,
            source_tag=stage.source.tag,
        )
