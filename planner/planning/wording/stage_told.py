"""A stage of a plan: its closure and returns, what holds them, what is closed."""

from collections.abc import Iterator, Mapping, Sequence
from datetime import UTC

from planner.hours.open import daily, entry_words
from planner.hours.spans import Spans
from planner.nouns import plan as nouns
from planner.nouns.calendar import Busy
from planner.nouns.odds import PlannedReturn, Sureness
from planner.nouns.work import ReturnKind, Work
from planner.planning.wording.account import division_of
from planner.planning.wording.chain_words import chain_words
from planner.planning.wording.staged import on_stage
from planner.planning.wording.waited import Waited, stretches
from planner.schedule.problem.outcome import BindingStep, Placement
from planner.trade.takeoff import Bay


def stage_told(
    waited: Waited,
    placed: Mapping[str, Placement],
    steps: Sequence[BindingStep],
    bays: Sequence[Bay],
    *,
    returns: tuple[PlannedReturn, ...],
    sureness: Sureness,
    air: nouns.AirSeries,
) -> nouns.PlannedStage:
    """Return the stage of a problem that is planned; `steps` hold its date."""
    problem = waited.problem
    job, grid = problem.job, problem.grid
    here = job.stage.id
    full = next(r for r in problem.work.returns if r.kind is ReturnKind.FULL_SERVICE)
    closed = (placed[t] for t in problem.instance.closures[0].tasks if t in placed)
    span = min(p.start for p in closed), max(waited.ready(t, w) for t, w in full.after)
    return nouns.PlannedStage(
        id=here,
        job_id=job.plan_id,
        name=job.stage.name,
        address=job.stage.address,
        closure=(grid.instant(span[0]), grid.instant(span[1])),
        returns=returns,
        sureness=sureness,
        return_terms=on_stage(here, _return_terms(problem.work)),
        bays=on_stage(here, (nouns.PlannedBay(id=b.id, name=b.name) for b in bays)),
        chain=on_stage(here, chain_words(problem, placed, steps, waited.ready)),
        division=division_of(problem, placed, steps, span, waited),
        bookings=_taken(problem.booked),
        quiet=_taken(problem.quiet),
        shut=stretches(grid, Spans(((0, grid.ticks),)) - daily(grid, job.stage_hours)),
        air=air,
    )


def _taken(entries: Sequence[tuple[Busy, Spans]]) -> tuple[nouns.Taken, ...]:
    return tuple(
        nouns.Taken(
            start=b.start.astimezone(UTC),
            end=b.end.astimezone(UTC),
            reason=entry_words(b),
        )
        for b, _ in entries
    )


def _return_terms(work: Work) -> Iterator[nouns.ReturnTerm]:
    for returning in work.returns:
        for task, wait in returning.after:
            yield nouns.ReturnTerm(
                returning=returning.kind,
                task=task,
                product=wait.product if wait else None,
                stage=wait.stage if wait else None,
            )
