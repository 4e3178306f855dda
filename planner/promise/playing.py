"""A plan played in many futures of its job: how sure its returns are."""

from collections.abc import Callable, Mapping, Sequence
from datetime import datetime, timedelta

from planner.nouns.inputs import Inputs
from planner.nouns.odds import (
    Chance,
    Odds,
    ReturnOdds,
    WantedBack,
    tentative_percent,
)
from planner.nouns.work import ReturnKind
from planner.odds.tally import FUTURES, SEED, odds_of
from planner.planning.horizons import HORIZON_WEEKS
from planner.planning.inside import coats_of
from planner.planning.posing import problem_of
from planner.schedule.problem.outcome import Placement
from planner.trade.data.odds import spread

HURRIED = 2_000  # futures that are played once a search is over, at most
LATE_WEEKS = 8  # how long after the plan's return futures are looked at, at least


def say_nothing(words: str) -> None:
    """Tell nobody what is being done."""


def in_no_hurry() -> bool:
    """Tell that there is time."""
    return False


def not_played(inputs: Inputs, planned: Mapping[ReturnKind, datetime]) -> Odds:
    """Return the odds of a job that has begun, which isn't played: of no futures.

    What stands for dates of a chance are the planned ones; nothing is promised by them.
    """
    sure = inputs.job.sure_percent
    return Odds(
        futures=0,
        seed=SEED,
        sure_percent=sure,
        spread=spread(inputs.job),
        looked_until=max(planned.values()),
        returns=tuple(
            ReturnOdds(
                kind=kind,
                planned=when,
                kept_frac=0.0,
                by=tuple(
                    Chance(percent=p, when=when)
                    for p in {sure, tentative_percent(sure)}
                ),
                late_days=0.0,
            )
            for kind, when in planned.items()
        ),
        collisions=(),
        threats=(),
        more=(),
        held=(),
        held_for=(),
        curves=(),
        late_cost=None,
        wanted=WantedBack(by=by, frac=None) if (by := inputs.job.back_by) else None,
        overtime_h=0.0,
    )


def odds_of_placed(
    inputs: Inputs,
    placements: Sequence[Placement],
    *,
    planned: Mapping[ReturnKind, datetime],
    futures: int = FUTURES,
    seed: int = SEED,
    threats: bool = True,
    shares: bool = True,
    over: Callable[[], bool] = in_no_hurry,
    step: Callable[[str], None] = say_nothing,
) -> Odds:
    """Return how sure the returns of a plan of these inputs are; see `odds_of`.

    Once it is `over`, by the clock or an interrupt, few futures are played.
    `placements` are in ticks from the job's earliest day, so they lie on every grid.
    """
    end = max(planned.values()) + timedelta(weeks=LATE_WEEKS)
    days = (end.astimezone(inputs.job.zone).date() - inputs.job.earliest).days
    weeks = next((w for w in HORIZON_WEEKS if 7 * w >= days), HORIZON_WEEKS[-1])
    dry = problem_of(inputs, weeks=weeks)
    coats = coats_of(dry.work, dry.products, placements)
    problem = problem_of(inputs, weeks=weeks, coats=coats) if coats else dry
    return odds_of(
        inputs,
        problem,
        placements,
        spread(inputs.job),
        planned=planned,
        seed=seed,
        futures=min(futures, HURRIED) if over() else futures,
        threats=threats,
        shares=shares,
        over=over,
        step=step,
    )
