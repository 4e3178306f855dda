"""The use case of `odds`: how sure the returns of a job's plan are."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path

from planner.nouns.inputs import Inputs
from planner.nouns.odds import Odds
from planner.nouns.plan import Plan
from planner.odds.tally import FUTURES, SEED, odds_of
from planner.planning.horizons import HORIZON_WEEKS
from planner.planning.inside import coats_of
from planner.planning.posing import problem_of
from planner.trade.data.odds import spread
from planner.usecases.plan import Choices, plan_inputs
from planner.usecases.standing import placements_of, standing_plan

LATE_WEEKS = 8  # how long after the plan's return futures are looked at, at least


def _say_nothing(words: str) -> None:
    """Tell nobody what is being done."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanOdds:
    """A plan and how sure its returns are."""

    plan: Plan
    odds: Odds


def plan_for_odds(inputs: Inputs, folder: Path, choices: Choices) -> Plan:
    """Return the plan that stands in `folder` if it was made from the same inputs.

    Otherwise the job is planned anew; nothing is written.
    """
    found = standing_plan(inputs, folder)
    return plan_inputs(inputs, choices) if found is None else found


def odds_of_plan(
    inputs: Inputs,
    plan: Plan,
    *,
    futures: int = FUTURES,
    seed: int = SEED,
    threats: bool = True,
    step: Callable[[str], None] = _say_nothing,
) -> PlanOdds:
    """Return how sure the returns of a plan of these inputs are; see `odds_of`."""
    planned = {r.kind: r.when for r in plan.stage.returns}
    end = max(planned.values()) + timedelta(weeks=LATE_WEEKS)
    days = (end.astimezone(inputs.job.zone).date() - inputs.job.earliest).days
    weeks = next((w for w in HORIZON_WEEKS if 7 * w >= days), HORIZON_WEEKS[-1])
    dry = problem_of(inputs, weeks=weeks)
    placements = placements_of(plan, dry)
    coats = coats_of(dry.work, dry.products, placements)
    problem = problem_of(inputs, weeks=weeks, coats=coats) if coats else dry
    return PlanOdds(
        plan=plan,
        odds=odds_of(
            problem,
            placements,
            spread(inputs.job),
            planned=planned,
            seed=seed,
            futures=futures,
            threats=threats,
            step=step,
        ),
    )
