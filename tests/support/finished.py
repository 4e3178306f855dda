"""Answers as finished plans, promised by a few futures, which take little time."""

from planner.nouns.case import Case
from planner.nouns.plan import Plan
from planner.planning.answer import Answer
from planner.planning.make import worded
from planner.promise.playing import odds_of_placed

FEW = 200


def finished(case: Case, answer: Answer) -> Plan:
    """Return an answer to a case in dates and words, once the judge has passed it."""
    odds = odds_of_placed(
        case.inputs,
        answer.placements,
        planned={r.kind: r.when for r in answer.returns},
        futures=FEW,
        threats=False,
    )
    return worded(case, answer, odds, program="test")
