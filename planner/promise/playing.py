"""A plan played in many futures of its job: how sure its returns are."""

from collections.abc import Callable, Mapping, Sequence
from datetime import datetime, timedelta

from planner.nouns.case import Case, Past
from planner.nouns.inputs import Inputs
from planner.nouns.odds import Odds
from planner.nouns.work import ReturnKind
from planner.odds.tally import FUTURES, SEED, odds_of
from planner.planning.horizons import HORIZON_WEEKS
from planner.planning.inside import coats_of
from planner.planning.posing import posed
from planner.schedule.problem.outcome import Placement
from planner.trade.data.odds import spread

LATE_WEEKS = 8  # how long after the plan's return futures are looked at, at least


def say_nothing(words: str) -> None:
    """Tell nobody what is being done."""


def in_no_hurry() -> bool:
    """Tell that there is time."""
    return False


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
    past: Past | None = None,
    step: Callable[[str], None] = say_nothing,
) -> Odds:
    """Return how sure the returns of a plan of these inputs are; see `odds_of`.

    Once it is `over`, by the clock or an interrupt, few futures are played.
    `placements` are in ticks from the job's earliest day, so they lie on every grid. Of
    a job that has begun, `past` says how far it has come: the rest of it is played.
    """
    case = Case(inputs=inputs, past=past)
    end = max(planned.values()) + timedelta(weeks=LATE_WEEKS)
    days = (end.astimezone(inputs.job.zone).date() - inputs.job.earliest).days
    weeks = next((w for w in HORIZON_WEEKS if 7 * w >= days), HORIZON_WEEKS[-1])
    problem = posed(case, weeks=weeks)
    coats = coats_of(problem.work, problem.products, placements)
    if coats and inputs.job.climate is not None:
        problem = posed(case, weeks=weeks, coats=coats)
    return odds_of(
        inputs,
        problem,
        placements,
        spread(inputs.job),
        planned=planned,
        seed=seed,
        futures=futures,
        threats=threats,
        shares=shares,
        over=over,
        step=step,
    )
