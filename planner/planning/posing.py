"""The problem that a job poses on a grid of some weeks, in a given air."""

from dataclasses import replace
from datetime import datetime

import numpy as np

from planner.air.wet_work import Laid
from planner.nouns.case import Case
from planner.nouns.inputs import Inputs
from planner.nouns.job import Job
from planner.nouns.product import Air, Product
from planner.nouns.protection import UNPROTECTED, Protection
from planner.nouns.work import Work
from planner.planning.answer import Answer
from planner.planning.asked import with_asked
from planner.planning.horizons import grid_of
from planner.planning.inside import coats_of, inside, usable_h
from planner.planning.problem import Problem, build
from planner.trade.takeoff import TakeOff, take_off
from planner.trade.work import work


def takeoff_of(inputs: Inputs) -> TakeOff:
    """Return the bays of the job's room."""
    ids = tuple(run.id for run in inputs.job.stage.runs)
    return inputs.kept.of(take_off, inputs.job, ids=ids)


def problem_of(
    inputs: Inputs,
    *,
    weeks: int,
    coats: tuple[Laid, ...] = (),
    air: Air | None = None,
    protection: Protection = UNPROTECTED,
) -> Problem:
    """Return the problem on a grid of `weeks` from the job's earliest day.

    `coats` give their water to the room; `air` stands in for the room's air;
    `protection` makes work and waits longer than the job has them.
    """
    job = inputs.job
    if protection.waits_frac:
        job = replace(job, margin_frac=job.margin_frac + protection.waits_frac)
    grid = grid_of(job, weeks=weeks)
    own = inside(inputs, grid, coats).air if air is None else air
    usable = tuple(usable_h(inputs.products, own).items())
    products = tuple(inputs.products.items())
    return build(
        job,
        inputs.kept.of(_work, job, takeoff_of(inputs), products, usable),
        grid=grid,
        air=own,
        products=inputs.products,
        hours=inputs.hours,
        kept=inputs.kept,
        longer_frac=protection.labour_frac,
    )


def _work(
    job: Job,
    takeoff: TakeOff,
    products: tuple[tuple[str, Product], ...],
    usable: tuple[tuple[str, float], ...],
) -> Work:
    """Return the whole work, by values that it can be kept by."""
    return work(job, takeoff, dict(products), dict(usable))


def weeks_of(problem: Problem) -> int:
    """Return how many weeks a problem's grid has."""
    return len(problem.grid.days()) // 7


def posed(case: Case, *, weeks: int, coats: tuple[Laid, ...] = ()) -> Problem:
    """Return the problem of a case: that of its job, and what is asked besides.

    Raises
    ------
    PlannerError
        As `with_asked` does.
    """
    problem = problem_of(
        case.inputs, weeks=weeks, coats=coats, protection=case.protection
    )
    return with_asked(problem, case)


def posed_from(case: Case, *, weeks: int, before: Inputs, since: datetime) -> Problem:
    """Return the problem of a case whose air holds from a moment on.

    Until then the room's air is that of `before`. Coats make no air in either.

    Raises
    ------
    PlannerError
        As `with_asked` does.
    """
    grid = grid_of(case.inputs.job, weeks=weeks)
    earlier, later = (inside(x, grid, ()).air for x in (before, case.inputs))
    tick = min(max(grid.floor(since), 0), grid.ticks)
    air = replace(
        later,
        air_c=np.concatenate((earlier.air_c[:tick], later.air_c[tick:])),
        humidity_pct=np.concatenate(
            (earlier.humidity_pct[:tick], later.humidity_pct[tick:])
        ),
    )
    return with_asked(problem_of(case.inputs, weeks=weeks, air=air), case)


def answered(case: Case, answer: Answer) -> Problem:
    """Return the problem that an answer answers, in the air that its own coats make.

    Raises
    ------
    ValueError
        When the answer is to another case.
    """
    if answer.fingerprint != case.fingerprint:
        raise ValueError("the answer is to another case")
    weeks = len(answer.grid.days()) // 7
    problem = posed(case, weeks=weeks)
    if not answer.rounds:
        return problem
    coats = coats_of(problem.work, problem.products, answer.placements)
    return posed(case, weeks=weeks, coats=coats)
