"""The waits of a plan, at the ticks at which its tasks end."""

from collections.abc import Mapping

import numpy as np

from planner.air import waits
from planner.hours.grid import Grid
from planner.hours.spans import Spans
from planner.nouns import plan as nouns
from planner.nouns.work import Wait
from planner.planning.problem import (
    Problem,
    hardening,
    stacked_times,
    wait_name,
)


def stretches(grid: Grid, spans: Spans) -> tuple[nouns.Stretch, ...]:
    """Return spans of ticks as stretches of UTC instants."""
    return tuple((grid.instant(a), grid.instant(b)) for a, b in spans)


class Waited:
    """Every wait of a plan, worked out once at the ticks at which tasks end."""

    def __init__(self, problem: Problem, ends: Mapping[str, int]) -> None:
        self.problem, self.ends = problem, ends
        self.over = {name: x.over for name, x in problem.lookups.items()}
        self.likely: dict[str, list[int]] = {}

    def ready(self, task: str, wait: Wait | None) -> int:
        """Return the tick at which a wait after a task is over; no wait: its end."""
        end = self.ends[task]
        if wait is None:
            return end
        name = wait_name(wait)
        found = self.problem.found.get((task, name))
        return self.over[name][end] if found is None else found.over

    def likely_ready(self, task: str, wait: Wait | None) -> int:
        """Return the same without the planning margin; the grid's last tick if later."""
        end, last = self.ends[task], self.problem.grid.ticks
        if wait is None:
            return end
        name = wait_name(wait)
        if name not in self.likely:
            stage = hardening(self.problem.products, wait)
            thick = self.problem.products[wait.product].thickness_mm
            times = stacked_times(self.problem.products, wait)
            likely = waits.likely_ticks(
                stage,
                self.problem.air,
                thickness_mm=thick,
                times=times,
                beyond=waits.Beyond.STILL,
            )
            self.likely[name] = likely.tolist()
        found = self.problem.found.get((task, name))
        if found is not None:  # it was looked at
            return found.over
        return min(self.likely[name][end], last)

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
            covered_by=wait.covered_by,
            way=stage.way.value,
            begins=grid.instant(begin),
            ready=grid.instant(ready),
            likely=grid.instant(self.likely_ready(task, wait)),
            air_c=round(float(np.mean(air.air_c[lain])), 2),
            humidity_pct=round(float(np.mean(air.humidity_pct[lain])), 2),
            source=stage.source.text,
            source_tag=stage.source.tag,
        )
