"""The use case of `odds`: how sure the returns of a job's plan are."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from planner.nouns.case import Case
from planner.nouns.inputs import Inputs
from planner.nouns.odds import HindsightBound, Odds
from planner.nouns.plan import Plan
from planner.odds.tally import FUTURES, SEED
from planner.promise.hindsight import hindsight_bound
from planner.promise.playing import odds_of_placed, say_nothing
from planner.usecases.living.placed import placements_of
from planner.usecases.plan import Choices, plan_inputs
from planner.usecases.standing import standing_plan


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanOdds:
    """A plan and how sure its returns are.

    Of a job that has begun, they are those of what is left `as_of` a moment. `bound` is
    what no plan could promise, where it was asked for and is known.
    """

    plan: Plan
    odds: Odds
    as_of: datetime | None = None
    bound: HindsightBound | None = None


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
    step: Callable[[str], None] = say_nothing,
) -> PlanOdds:
    """Return how sure the returns of a plan of these inputs are; see `odds_of`."""
    return PlanOdds(
        plan=plan,
        odds=odds_of_placed(
            inputs,
            placements_of(plan),
            planned={r.kind: r.when for r in plan.stage.returns},
            futures=futures,
            seed=seed,
            threats=threats,
            step=step,
        ),
    )


def bound_of_plan(
    inputs: Inputs, plan: Plan, *, seed: int = SEED, step: Callable[[str], None]
) -> HindsightBound | None:
    """Return what no plan of these inputs can promise, at the certainty of the job."""
    step("looking at futures in which everything is known")
    return hindsight_bound(
        Case(inputs=inputs),
        max(r.when for r in plan.stage.returns),
        percent=inputs.job.sure_percent,
        seed=seed,
    )
