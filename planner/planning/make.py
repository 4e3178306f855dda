"""From a case to a plan in dates and words, which the judge has to pass first."""

from dataclasses import replace

from planner.errors import ProgramFaultError
from planner.judge import judged
from planner.nouns.case import Case
from planner.nouns.odds import Odds
from planner.nouns.plan import Plan
from planner.planning.answer import Answer
from planner.planning.asked import asked_words
from planner.planning.posing import answered, takeoff_of
from planner.planning.wording.document import Origin, plan_of
from planner.planning.wording.own_air import own_air_words
from planner.schedule.cp.version import SOLVER


def worded(
    case: Case,
    answer: Answer,
    odds: Odds,
    *,
    program: str,
    remarks: tuple[str, ...] = (),
) -> Plan:
    """Return an answer to a case as a plan, once the judge has passed it.

    The checker has judged the answer by the instance; the judge judges the plan by
    the job. `odds` are the answer's own: they say what can be promised. `remarks` are
    told with the plan, before those on what was read.

    Raises
    ------
    ProgramFaultError
        When the plan isn't what the job asks for.
    ValueError
        When the answer is to another case.
    """
    inputs, problem = case.inputs, answered(case, answer)
    origin = Origin(
        program=program,
        solver=SOLVER,
        fingerprint=case.fingerprint,
        readings=inputs.readings,
        remarks=(
            *own_air_words(problem, answer),
            *asked_words(problem, case),
            *remarks,
            *inputs.remarks,
        ),
    )
    made = plan_of(problem, answer, odds, takeoff_of(inputs), origin)
    facts = replace(inputs, fingerprint=case.fingerprint)
    faults = judged(
        facts, made, window=case.window, settled=case.settled, past=case.past
    )
    if faults:
        raise ProgramFaultError("the plan isn't what the job asks for", found=faults)
    return made
