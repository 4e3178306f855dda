"""Answers as finished plans, promised by a few futures, which take little time."""

from planner.nouns.case import Case
from planner.nouns.odds import Odds
from planner.nouns.plan import Plan
from planner.planning.answer import Answer
from planner.planning.make import worded
from planner.promise.playing import odds_of_placed

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
