"""Whether a plan is what was asked: of this job, in its window, what is settled, what happened already."""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import timedelta

from planner.judge.case import JudgedPlan
from planner.judge.rates import rates
from planner.nouns.case import ClosureWindow, PastTask, SettledTask
from planner.nouns.job import HeldFor
from planner.nouns.plan import PlannedTask

DRY_TOO = ("set", "recoat", "dry")  # reached by a coat that was found dry
NOT_YET = ("recoat", "dry")  # not reached by one that was found wet
LOOK_AGAIN = timedelta(hours=1)  # at least, after a coat was found wet
HAIR_H = 1e-6


def head_faults(case: JudgedPlan) -> Iterator[str]:
    """Yield where a plan isn't this job's plan at all."""
    plan, job = case.plan, case.job
    right_stage = [(job.stage.id, job.plan_id, job.stage.name)]
    if [(s.id, s.job_id, s.name) for s in plan.stages] != right_stage:
        yield f"the plan isn't of the job's one stage, {job.stage.name}"
    for what, said, right in (
        ("job", plan.job, job.name),
        ("identity", plan.plan_id, job.plan_id),
        ("time zone", plan.zone, job.zone.key),
        ("first moment", plan.grid_start, case.start),
        ("step", plan.tick_minutes, job.tick_minutes),
        ("margin", plan.margin_frac, job.margin_frac),
        ("fingerprint", plan.fingerprint, case.inputs.fingerprint),
    ):
        if said != right:
            yield f"the plan's {what} is {said}, the job's {right}"
    if not plan.tasks:
        yield "the plan has no tasks"


def faults(
    case: JudgedPlan, window: ClosureWindow, settled: tuple[SettledTask, ...]
) -> Iterator[str]:
    """Yield where the closure leaves its window, and what lies not as it is settled."""
    begin, end = case.plan.stage.closure
    if window.not_before is not None and begin < window.not_before:
        yield (
            f"the stage is closed from {case.when(begin)}, and is to stay open until "
            f"{case.when(window.not_before)}"
        )
    if window.not_after is not None and end > window.not_after:
        yield (
            f"the stage is back {case.when(end)}, and is to be back by "
            f"{case.when(window.not_after)}"
        )
    for one in settled:
        task = case.tasks.get(case.own(one.task))
        if task is None:
            yield f'"{one.task}" is settled, and isn\'t in the plan'
            continue
        title = case.title(task.id)
        if one.start is not None and task.start != one.start:
            yield (
                f"{title} begins {case.when(task.start)}, and is settled to begin "
                f"{case.when(one.start)}"
            )
        if one.end is not None and task.end != one.end:
            yield (
                f"{title} ends {case.when(task.end)}, and is settled to end "
                f"{case.when(one.end)}"
            )
        if one.team is not None and set(task.team) != set(one.team):
            yield (
                f"{title} is done by {_names(case, task.team)}, and is settled to be "
                f"done by {_names(case, one.team)}"
            )


def _names(case: JudgedPlan, people: tuple[str, ...]) -> str:
    return " and ".join(case.name(p) for p in people) or "nobody"


# ------------------------------------------------------- a job that has begun


@dataclass(frozen=True, slots=True, kw_only=True)
class LookedAt:
    """A coat that was looked at: the tick from which a stage counts, by what was seen."""

    dry: bool
    tick: int


def looked_at(case: JudgedPlan, task: PlannedTask, stage: str) -> LookedAt | None:
    """Return what looking at a coat says of a stage; None: nothing.

    Found dry, it is dry from then on. Found wet, it is taken to need the job's margin
    on top of the time that it has had by then.
    """
    past = case.past.get(task.id)
    if past is None or past.end is None:
        return None
    dry, wet = past.found_dry, past.found_wet
    if dry is not None and (wet is None or wet <= dry):
        if stage not in DRY_TOO:
            return None
        return LookedAt(dry=True, tick=-(-case.at(dry) // case.step))
    if wet is None or stage not in NOT_YET:
        return None
    longer = max((wet - past.end) * case.job.margin_frac, LOOK_AGAIN)
    return LookedAt(dry=False, tick=math.ceil(case.at(wet + longer) / case.step))


HANDLES_PIECES = ("cut", "join", "trim", "join-uprights", "set", "set-corner")
ON_THE_BASE = (
    *("floor", "bond", "tape", "setting-coat", "drying-coat", "topping-coat"),
    *("skim-coat", "prime", "colour", "second-colour"),
)


def held_faults(case: JudgedPlan) -> Iterator[str]:
    """Yield work that begins before its new piece has come, or on a base still damp."""
    for held in case.job.held:
        works = HANDLES_PIECES if held.what is HeldFor.PIECE else ON_THE_BASE
        for task in case.plan.tasks:
            if task.phase not in works or case.happened(task):
                continue
            on_slab = held.bay == "apron" and task.phase == "floor"
            if held.bay and case.own(held.bay) not in task.bays and not on_slab:
                continue
            if task.start < held.until:
                yield (
                    f'"{task.title}": begins {case.when(task.start)}, and waits for '
                    f"{held.what} until {case.when(held.until)}"
                )


def past_faults(case: JudgedPlan) -> Iterator[str]:
    """Yield where the plan tells the past otherwise, or begins something in it."""
    for id_ in case.past:
        if id_ not in case.tasks:
            yield f'"{id_}" was begun, and isn\'t in the plan'
    for task in case.plan.tasks:
        past = case.past.get(task.id)
        if past is None:
            if task.happened:
                yield f'"{task.title}": is said to be {task.happened}, nobody says so'
            if case.now is not None and task.start < case.now:
                yield f'"{task.title}": begins before now, {case.when(case.now)}'
        else:
            yield from _as_it_was(case, task, past)


def _as_it_was(case: JudgedPlan, task: PlannedTask, past: PastTask) -> Iterator[str]:
    said = "done" if past.end is not None else "begun"
    if task.happened != said:
        yield f'"{task.title}": was {said}, the plan says "{task.happened}"'
    if task.start != past.start or (past.end is not None and task.end != past.end):
        yield f'"{task.title}": the plan has it at other times than it was worked'
    if past.end is not None:
        if set(task.team) != set(past.team):
            yield f'"{task.title}": the plan has others at it than did it'
        if task.spans != past.spans:
            yield f'"{task.title}": the plan has other hours for it than were worked'
    elif case.now is not None:
        yield from _rest(case, task, past)


def _rest(case: JudgedPlan, task: PlannedTask, past: PastTask) -> Iterator[str]:
    """Yield where the rest of a task under way is less or more than what is left of it."""
    now = case.now
    assert now is not None
    rate = rates(case.job.own_rates)[task.phase]
    to_come = [(max(a, now), b) for a, b in task.spans if b > now]
    if not to_come:
        yield f'"{task.title}": is under way, and nothing more is worked at it'
        return
    size, largest = len(task.team), max(rate.teams)
    strength = rate.teams.get(size, rate.teams[largest]) * min(size, largest)
    given_h = sum(case.at(b) - case.at(a) for a, b in to_come) / 3600 * strength
    if given_h < past.left_h - HAIR_H:
        yield f'"{task.title}": {past.left_h:.2f} h are left, its team gives {given_h:.2f}'
