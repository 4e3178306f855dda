"""The use case of `odds` for a job that has begun: how sure the returns of what is left are.

Played is what is left of the plan that stands, from now on, with what the log taught of
the crew's pace and of how its coats dry.
"""

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime
from pathlib import Path

from planner.errors import PlannerError
from planner.files.folder import outdir, planfile
from planner.files.logbook.appending import log_of, read_log
from planner.living.laid_over import effective
from planner.odds.tally import FUTURES, SEED
from planner.planning.posing import posed
from planner.planning.problem import Problem
from planner.promise.playing import odds_of_placed, say_nothing
from planner.schedule.problem.outcome import Placement
from planner.usecases.living.left import placed_in, weeks_of
from planner.usecases.living.revise import Facts, facts_of, rest_of
from planner.usecases.odds import PlanOdds
from planner.usecases.standing import revision_in


def has_begun(job: Path, folder: Path) -> bool:
    """Tell whether anything is logged that a plan hangs on, or a revised plan stands."""
    if effective(read_log(log_of(job))):
        return True
    stored = outdir.read(folder, "plan.json")
    if stored is None:
        return False
    plan = planfile.read_plan(stored, file=str(folder / "plan.json"))
    return revision_in(folder, plan) is not None


def odds_of_left_plan(
    job: Path,
    folder: Path,
    *,
    now: datetime,
    futures: int = FUTURES,
    seed: int = SEED,
    step: Callable[[str], None] = say_nothing,
) -> PlanOdds:
    """Return how sure the returns of what is left are, as of `now`.

    Where the last revision is of a later moment, as of that.

    Raises
    ------
    PlannerError
        When no plan stands, or it doesn't know all that is logged.
    """
    facts = facts_of(job, folder)
    if facts.revised is None or not facts.is_current:
        raise PlannerError(
            "things were logged, or changed, that the plan doesn't know yet",
            where=str(folder),
            hint=f"plan what is left first: covetime revise {job}",
        )
    rest = rest_of(facts, max(now, facts.revised.now))
    plan, past = facts.plan, rest.told.past
    problem = posed(rest.case, weeks=weeks_of(plan))
    odds = odds_of_placed(
        rest.case.inputs,
        _left_of(facts, problem),
        planned={r.kind: r.when for r in plan.stage.returns},
        futures=futures,
        seed=seed,
        past=past,
        step=step,
    )
    return PlanOdds(plan=plan, odds=odds, as_of=past.now)


def _left_of(facts: Facts, problem: Problem) -> list[Placement]:
    """Return the tasks of a plan; of one under way, what is left of it from now on."""
    now, out = problem.now, []
    for one in placed_in(facts.plan, problem):
        ahead = one.worked.clip(now, problem.grid.ticks)
        under_way = one.task in problem.past and one.team and ahead
        start = ahead.items[0][0] if under_way else one.start
        out.append(replace(one, start=start, worked=ahead if under_way else one.worked))
    return out
