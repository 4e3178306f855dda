"""A second judge of every plan, which asks whether it does what the job says.

The checker of the engine judges an answer by the whole numbers that it was made from.
Here a finished plan is judged by the job's facts alone, sharing no code with what made
it: every rule that README.md and examples/GUIDE.md state is worked out once more, from the job, the
calendars as read, the readings and the data of products and labour.
"""

from collections.abc import Iterator, Mapping

from planner.judge import (
    asked,
    methods,
    promise,
    returns,
    safety,
    stage,
    told,
    windows,
)
from planner.judge.calendars import feeds
from planner.judge.case import JudgedPlan
from planner.judge.crew import Crew
from planner.judge.sequence import Order
from planner.judge.waits import Waits
from planner.judge.work import Works
from planner.nouns.case import ANY_TIME, ClosureWindow, Past, SettledTask
from planner.nouns.inputs import Inputs
from planner.nouns.plan import Plan

__all__ = ["calendars_judged", "judged"]


def judged(
    inputs: Inputs,
    plan: Plan,
    *,
    window: ClosureWindow = ANY_TIME,
    settled: tuple[SettledTask, ...] = (),
    past: Past | None = None,
) -> tuple[str, ...]:
    """Return every fault of a finished plan in plain words; none: the plan is sound.

    `plan` is judged by the facts in `inputs`, and by what was asked besides, not by
    what it says of itself. Of a job that has begun, `past` is what happened: that is
    told as it was, and rules are only asked of what is to come.
    """
    case = JudgedPlan(inputs, plan, past)
    unreadable = tuple(asked.head_faults(case))
    # Without its head right nothing else of a plan can be told.
    return unreadable or tuple(
        dict.fromkeys(
            (
                *_faults(case),
                *asked.faults(case, window, settled),
                *asked.past_faults(case),
                *asked.held_faults(case),
            )
        )
    )


def _faults(case: JudgedPlan) -> Iterator[str]:
    crew, waits, room = Crew(case), Waits(case), methods.room_of(case)
    works = Works(case, crew, room)
    order = Order(case, waits, room)
    yield from methods.faults(case, room)
    yield from works.faults()
    yield from safety.faults(case, room)
    yield from crew.faults()
    yield from order.faults()
    yield from waits.faults()
    yield from windows.faults(case, waits, order)
    yield from stage.faults(case, waits, order)
    yield from returns.faults(case, waits, crew)
    yield from promise.faults(case)
    yield from told.faults(case, works)


def calendars_judged(plan: Plan, files: Mapping[str, bytes]) -> tuple[str, ...]:
    """Return every fault of a plan's calendars as written, by their paths; none: sound.

    Files that are no calendars are not looked at.
    """
    return tuple(dict.fromkeys(feeds.faults(plan, files)))
