"""Answers as finished plans, promised by a few futures, which take little time."""

from pathlib import Path

from planner.nouns.case import Case
from planner.nouns.odds import Odds
from planner.nouns.plan import Plan
from planner.planning.answer import Answer
from planner.planning.answering import answer
from planner.planning.make import worded
from planner.promise.playing import odds_of_placed
from planner.usecases.plan import Choices
from planner.usecases.read import read_inputs

FEW = 200


def few_odds(case: Case, answer: Answer) -> Odds:
    """Return the odds of an answer by a few futures, causes not told apart."""
    return odds_of_placed(
        case.inputs,
        answer.placements,
        planned={r.kind: r.when for r in answer.returns},
        futures=FEW,
        threats=False,
    )


def finished(case: Case, answer: Answer) -> Plan:
    """Return an answer to a case in dates and words, once the judge has passed it."""
    return worded(case, answer, few_odds(case, answer), program="test")


def plan_of(path: Path, work_limit: float | None = None) -> Plan:
    """Return the plan of a job file that returns the earliest, as `plan_job` does."""
    case = Case(inputs=read_inputs(path))
    return finished(case, answer(case, Choices(work_limit=work_limit).search()))
