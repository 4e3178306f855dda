"""What a plan promises: the odds of an answer as returns, and the cost of the closure."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime

from planner.nouns.odds import (
    Odds,
    PlannedReturn,
    Sureness,
    WantedBack,
    tentative_percent,
)
from planner.nouns.purchase import Cost
from planner.nouns.work import ReturnKind
from planner.planning.cost import stage_cost
from planner.planning.problem import Problem
from planner.planning.wording.waited import Waited

DIGITS = 4  # of a chance as it is written


def returns_told(waited: Waited, odds: Odds) -> tuple[PlannedReturn, ...]:
    """Return when the stage is back: in the working plan, as promised, at the latest."""
    grid = waited.problem.grid
    sure = {r.kind: r for r in odds.returns}
    late = tentative_percent(odds.sure_percent)
    return tuple(
        PlannedReturn(
            kind=r.kind,
            when=grid.instant(max(waited.ready(t, w) for t, w in r.after)),
            promise=sure[r.kind].promised(odds.sure_percent),
            tentative_until=sure[r.kind].promised(late),
            kept_frac=round(sure[r.kind].kept_frac, DIGITS),
        )
        for r in waited.problem.work.returns
    )


def sureness_of(odds: Odds) -> Sureness:
    """Return how the promises were made."""
    return Sureness(
        sure_percent=odds.sure_percent,
        tentative_percent=tentative_percent(odds.sure_percent),
        futures=odds.futures,
        seed=odds.seed,
        looked_until=odds.looked_until,
        spread=odds.spread,
        collisions=tuple(
            replace(
                c,
                start=c.start.astimezone(UTC),
                end=c.end.astimezone(UTC),
                frac=round(c.frac, DIGITS),
            )
            for c in odds.collisions
        ),
        threats=odds.threats,
        wanted=None if odds.wanted is None else _rounded(odds.wanted),
        bound=odds.bound,
    )


def _rounded(wanted: WantedBack) -> WantedBack:
    return WantedBack(by=wanted.by.astimezone(UTC), frac=round(wanted.frac, DIGITS))


def promised_cost(
    problem: Problem, cost: Cost, start: datetime, returns: Sequence[PlannedReturn]
) -> Cost:
    """Return a cost with the stage's days to the promise of full service.

    They aren't known where that is later than was looked at.
    """
    full = next(r for r in returns if r.kind is ReturnKind.FULL_SERVICE)
    if full.promise is None:
        return replace(cost, stage=None)
    return replace(cost, stage=stage_cost(problem.job, start, full.promise))
