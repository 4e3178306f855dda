"""The sums of a plan: people's hours, how the closure's hours divide, and proofs."""

from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise

from planner.hours.open import OpenHours
from planner.hours.spans import Spans
from planner.nouns import plan as nouns
from planner.nouns import product
from planner.nouns.work import ReturnKind
from planner.planning.answer import EVERYWHERE, Proof
from planner.planning.cost import idle_in, worked_by
from planner.planning.problem import Problem, hardening
from planner.planning.wording import division
from planner.planning.wording.chain_words import kept_apart_by, moment
from planner.planning.wording.waited import Waited, stretches
from planner.schedule.problem.outcome import (
    AimResult,
    BindingStep,
    Cause,
    Placement,
)
from planner.schedule.problem.parts import AimKind


def crew_of(
    problem: Problem, placed: Mapping[str, Placement]
) -> tuple[nouns.Crewmate, ...]:
    """Return each of the crew with open hours and hours worked."""
    grid = problem.grid
    out = []
    for person in problem.job.crew:
        hours = problem.open[person.id]
        worked = worked_by(person.id, placed)
        rest = grid.ticks_up(person.rest_h)
        taken = [
            nouns.Taken(start=a, end=b, reason=reason)
            for reason, spans in hours.taken
            for a, b in stretches(grid, spans)
        ]
        out.append(
            nouns.Crewmate(
                id=person.id,
                name=person.name,
                trades=person.trades,
                language=person.language,
                rest_h=person.rest_h,
                open=stretches(grid, hours.open),
                shifts=stretches(grid, hours.shifts),
                rests=stretches(grid, _rests(worked, hours, rest)),
                taken=tuple(sorted(taken, key=lambda t: (t.start, t.reason))),
                worked_min=worked.total * grid.tick_minutes,
                idle_min=idle_in(worked, hours).total * grid.tick_minutes,
                days_called=sum(bool(worked.clip(a, b)) for a, b in hours.shifts),
            )
        )
    return tuple(out)


def _rests(worked: Spans, hours: OpenHours, rest: int) -> Spans:
    """Return when somebody rests so long that it reaches into the shift beside.

    It is the rest from the last tick worked in a shift, where the next shift begins
    within it, and the rest up to the first one, where the shift before ends within it;
    whether that next shift, or the one before, is worked or stays out for the rest.
    """
    shifts = hours.shifts.items
    called = [(k, w) for k, s in enumerate(shifts) if (w := worked.clip(*s))]
    found: list[tuple[int, int]] = []
    for (one, before), (two, after) in pairwise(called):
        last, first = before.items[-1][1], after.items[0][0]
        if shifts[one + 1][0] < last + rest:
            found.append((last, last + rest))
        if first - rest < shifts[two - 1][1]:
            found.append((first - rest, first))
    return Spans.of(found)


def _stretched(
    steps: Sequence[BindingStep], placed: Mapping[str, Placement]
) -> Iterator[tuple[BindingStep, int]]:
    """Yield each step of the chain with the tick until which it held its task."""
    before: BindingStep | None = None
    for step in steps:
        same = before is not None and before.task == step.task
        yield step, (before.since if same and before else placed[step.task].start)
        before = step


def division_of(
    problem: Problem,
    placed: Mapping[str, Placement],
    steps: Sequence[BindingStep],
    span: tuple[int, int],
    waited: Waited,
) -> tuple[nouns.ClosureShare, ...]:
    """Return the closure's minutes in each part."""
    parts = division.divide(
        *span,
        division.Timeline(
            worked=Spans.of(s for p in placed.values() for s in p.worked),
            waits=list(_lain(waited, placed, steps, span[1])),
            anybody_open=_anybody(problem, placed),
            held=[*_held(placed, steps), *_shut_out(problem, placed, steps)],
        ),
    )
    step_min = problem.grid.tick_minutes
    return tuple(
        nouns.ClosureShare(part=k, minutes=v * step_min) for k, v in parts.items()
    )


def _lain(
    waited: Waited,
    placed: Mapping[str, Placement],
    steps: Sequence[BindingStep],
    until: int,
) -> Iterator[tuple[product.HardeningWay, Spans]]:
    """Yield the waits of the chain: those of the return first, then step by step."""
    problem = waited.problem
    full = next(r for r in problem.work.returns if r.kind is ReturnKind.FULL_SERVICE)
    lain = [(t, w, until) for t, w in full.after if waited.ready(t, w) == until]
    for step, held_until in _stretched(steps, placed):
        if step.cause == Cause.LINK:
            lain += [
                (link.before, link.wait, held_until)
                for link in problem.work.links
                if (link.before, link.after) == (step.by, step.task)
            ]
        elif step.cause == Cause.APART:
            lain.append((step.by, kept_apart_by(problem, step), held_until))
    for task, wait, end in lain:
        if wait is not None:
            ready = min(waited.ready(task, wait), end, problem.grid.ticks)
            ticks = Spans.of([(waited.ends[task], ready)])
            yield hardening(problem.products, wait).way, ticks


PART_OF = {
    Cause.BLOCK: division.STAGE,
    Cause.BOOKING: division.STAGE,
    Cause.HOLD: division.AIR,
}


def _held(
    placed: Mapping[str, Placement], steps: Sequence[BindingStep]
) -> Iterator[tuple[str, Spans]]:
    """Yield when a step of the chain was held by the stage, a booking or the air."""
    for step, until in _stretched(steps, placed):
        if step.cause in PART_OF:
            yield PART_OF[step.cause], Spans.of([(step.since, until)])


def _shut_out(
    problem: Problem, placed: Mapping[str, Placement], steps: Sequence[BindingStep]
) -> Iterator[tuple[str, Spans]]:
    """Yield the pauses of the chain's tasks in hours in which they may not work."""
    tasks = {t.id: t for t in problem.instance.tasks}
    for task in dict.fromkeys(s.task for s in steps):
        p = placed[task]
        pauses = Spans.of([(p.start, p.end)]) - p.worked
        for block in tasks[task].no_work:
            yield division.STAGE, pauses & block.ticks


def _anybody(problem: Problem, placed: Mapping[str, Placement]) -> Spans:
    """Return when anybody of the crew is open and needn't rest."""
    return Spans.of(
        s
        for p in problem.job.crew
        for hours in [problem.open[p.id]]
        for rest in [problem.grid.ticks_up(p.rest_h)]
        for s in hours.open - _rests(worked_by(p.id, placed), hours, rest)
    )


AIM_WORDS = {
    AimKind.LAST_RETURN: "earliest return to full service",
    AimKind.CLOSED: "shortest closure and soonest light foot traffic",
    AimKind.CHANGE: "least change from what was agreed",
    AimKind.CALLS: "fewest shifts called",
}


def aims_of(
    problem: Problem, aims: Sequence[AimResult], proof: Proof = EVERYWHERE
) -> tuple[nouns.AimOutcome, ...]:
    """Return, for each aim, whether better can exist, in words."""
    out = []
    for a in aims:
        known = a.aim in proof.everywhere
        out.append(
            nouns.AimOutcome(
                aim=AIM_WORDS[a.aim],
                words=_proof_words(problem, a, proof),
                value=a.value,
                bound=min(a.bound, a.value) if known else 0,
                proven=a.proven and known,
            )
        )
    return tuple(out)


FOUND = "not proven: the best that was found"
OF_ITS_AIR = "proven for the air that this plan's coats make"


def _proof_words(problem: Problem, a: AimResult, proof: Proof) -> str:
    """Return what is proven of an aim, and of which air."""
    grid, value, bound = problem.grid, a.value, min(a.bound, a.value)
    here = a.aim in proof.here
    if a.aim not in proof.everywhere:
        if here:
            return f"{OF_ITS_AIR}; another plan with drier air isn't ruled out"
        return FOUND
    if a.proven:
        return "proven: nothing better exists"
    if a.bound_of_teams:
        return _of_teams(problem, a)
    if bound <= (problem.now if a.aim == AimKind.LAST_RETURN else 0) and not here:
        return FOUND
    if a.aim == AimKind.LAST_RETURN:
        before = moment(grid, bound)
        there = f"a plan may return sooner, but none before {before}"
        rest = f"no plan returns before {before}, between that and this one it is open"
    elif a.aim == AimKind.CLOSED:
        less = (value - bound) * grid.tick_minutes / 60
        there = rest = f"at most {less:.1f} h less is possible"
    else:
        there = f"less than {bound} is impossible"
        rest = f"{value} found, {there}"
    if here:
        return f"{OF_ITS_AIR}; with another air {there}"
    return f"not proven: {rest}"


def _of_teams(problem: Problem, a: AimResult) -> str:
    """Return what is proven of an aim for plans with the teams of an earlier plan."""
    teams = "not proven for other teams; with those of the earlier plan"
    if any(p.task not in problem.past for p in problem.instance.pins):
        teams += ", and what begins soon as it was planned there"
    if a.bound_of_teams >= a.value:
        return f"{teams}, nothing better exists"
    if a.aim == AimKind.LAST_RETURN and a.bound_of_teams > problem.now:
        before = moment(problem.grid, a.bound_of_teams)
        return f"{teams}, no plan returns before {before}"
    return FOUND
