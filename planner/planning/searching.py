"""How a search is run: its limits, one clock for all searches, and who is informed."""

import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from functools import partial

from planner.errors import TimeUpError
from planner.hours.grid import Grid
from planner.planning.problem import Problem
from planner.schedule.problem.limits import SearchLimits, Watch
from planner.schedule.problem.outcome import (
    Outcome,
    Placement,
    Progress,
    TimeUp,
)
from planner.schedule.problem.parts import AimKind


@dataclass(frozen=True, slots=True, kw_only=True)
class Search:
    """How to search: limits, whom to tell of progress and plans, whether to stop now.

    `on_found` is given each plan that is better than the ones before, as the engine
    found it and before it is checked as a whole. `near` are the placements of an answer
    to a problem that differs a little: a plan with its teams, as far as they can still
    work, is found in a tenth of the time, and nothing is proven of it.
    `explain` says whether the rules that clash are looked for where there is no plan.
    """

    limits: SearchLimits
    on_progress: Callable[[Progress, Grid], None] | None = None
    on_found: Callable[[Problem, tuple[Placement, ...]], None] | None = None
    stop: Callable[[], bool] | None = None
    near: tuple[Placement, ...] = ()
    explain: bool = True

    def over(self) -> bool:
        """Tell whether to stop: the clock ran out, or the user asked."""
        return Watch(self.limits, self.stop).over()

    def interrupted(self) -> bool:
        """Tell whether the user asked to stop."""
        return self.stop is not None and self.stop()

    def why_over(self) -> str:
        """Return why the search is to stop, as the engine says it; "" if it isn't."""
        watch = Watch(self.limits, self.stop)
        if not watch.over():
            return ""
        return "interrupted" if watch.interrupted else "clock limit"

    def late(self, grace_s: float) -> bool:
        """Tell whether the clock ran out longer ago than this."""
        until_s = self.limits.until_s
        return until_s is not None and time.monotonic() > until_s + grace_s

    def part(self, share: float) -> "Search":
        """Return a search with a share of the work, and of the clock that is left."""
        left_s = Watch(self.limits, None).left_s
        return replace(
            self,
            limits=replace(
                self.limits,
                work=self.limits.work * share,
                clock_s=None if left_s is None else left_s * share,
            ),
        )


def solved(
    problem: Problem,
    search: Search,
    *,
    round_number: int = 0,
    most_rounds: int = 0,
    given: Mapping[AimKind, int] | None = None,
) -> Outcome:
    """Return what the engine makes of a problem; a clash is not looked for."""
    # loaded here, so that who asks for nothing to be solved needn't wait for the solver
    from planner.schedule.climb.near import solve_near
    from planner.schedule.climb.solve import solve

    tell, grid, note = search.on_progress, problem.grid, search.on_found

    def told(progress: Progress) -> None:
        assert tell is not None
        tell(replace(progress, round=round_number, most_rounds=most_rounds), grid)

    ask = partial(
        solve,
        limits=search.limits,
        on_progress=None if tell is None else told,
        on_found=None if note is None else lambda placed: note(problem, placed),
        stop=search.stop,
        explain=False,
        given=given,
    )
    near = (
        solve_near(search.near, problem.instance, ask, search.over)
        if search.near
        else None
    )
    return ask(problem.instance) if near is None else near


def time_up(found: TimeUp | None = None) -> TimeUpError:
    """Return the error that says that nothing was found in time, or of some teams."""
    if found is not None and found.some_teams:
        return TimeUpError(
            "the crew makes too many teams to weigh them all, and those that were "
            "weighed give no plan; there may be one",
            hint="people with the same trades, hours, rest and rate count as one: give "
            "more of the crew the same hours, or leave some of them out",
        )
    return TimeUpError(
        "time is up and no plan was found; there may be one",
        hint="give more time with --seconds or --work-limit",
    )
