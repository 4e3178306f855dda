"""What a plan costs: the stage by the day, the crew by the hour."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from planner.hours.open import OpenHours
from planner.hours.spans import Spans
from planner.nouns.job import Job
from planner.nouns.purchase import Cost, days_touched
from planner.planning.problem import Problem
from planner.schedule.problem.outcome import Placement


@dataclass(frozen=True, slots=True, kw_only=True)
class PaidTime:
    """The minutes that one of the crew works, and waits between two tasks of a shift."""

    person: str
    worked_min: int
    idle_min: int


def paid_times(
    problem: Problem, placed: Mapping[str, Placement]
) -> tuple[PaidTime, ...]:
    """Return the paid time of each of the crew, in the order of the job."""
    step_min = problem.grid.tick_minutes
    out = []
    for person in problem.job.crew:
        worked = worked_by(person.id, placed)
        idle = idle_in(worked, problem.open[person.id])
        out.append(
            PaidTime(
                person=person.id,
                worked_min=worked.total * step_min,
                idle_min=idle.total * step_min,
            )
        )
    return tuple(out)


def worked_by(person: str, placed: Mapping[str, Placement]) -> Spans:
    """Return the ticks that one of the crew works."""
    return Spans.of(s for p in placed.values() if person in p.team for s in p.worked)


def idle_in(worked: Spans, hours: OpenHours) -> Spans:
    """Return the open ticks without work between a shift's first work and its last."""
    held = [worked.clip(a, b) for a, b in hours.shifts]
    called = Spans.of((w.items[0][0], w.items[-1][1]) for w in held if w)
    return (called & hours.open) - worked


def stage_cost(job: Job, start: datetime, end: datetime) -> float | None:
    """Return what the days cost that a closure touches; None: the job gives no rate."""
    if job.rates.stage_per_day is None:
        return None
    return days_touched(start, end, job.zone) * job.rates.stage_per_day


def cost_of(problem: Problem, span: tuple[int, int], times: Sequence[PaidTime]) -> Cost:
    """Return stage and labour money: each day touched by the closure counts whole.

    `span` is the closure in ticks. A person is paid from the first work of a shift to
    its last, breaks and what the person's calendar takes left out.
    """
    rates, grid = problem.job.rates, problem.grid
    stage = stage_cost(problem.job, grid.instant(span[0]), grid.instant(span[1]))
    own = {p.id: p.rate_per_h for p in problem.job.crew}
    worked = idle = 0.0
    for time in times:
        rate = rates.labour_per_h if own[time.person] is None else own[time.person]
        if rate is None and time.worked_min:
            return Cost(
                currency=rates.currency, stage=stage, labour=None, labour_idle=None
            )
        worked += (rate or 0.0) * time.worked_min / 60
        idle += (rate or 0.0) * time.idle_min / 60
    return Cost(
        currency=rates.currency,
        stage=stage,
        labour=round(worked + idle, 2),
        labour_idle=round(idle, 2),
    )
