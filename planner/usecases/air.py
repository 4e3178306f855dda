"""The room's air over some weeks, with the wet work of the plan that is in place."""

from pathlib import Path

from planner.air.advice import hold
from planner.air.wet_work import Laid
from planner.errors import PlannerError
from planner.planning.inside import coats_of, inside, outside_of
from planner.planning.posing import problem_of
from planner.report.words.air_text import AirAnswer
from planner.usecases.living.placed import placements_of
from planner.usecases.read import read_inputs
from planner.usecases.standing import standing_plan


def air_of_job(
    path: Path, folder: Path, *, weeks: int, hold_pct: float | None
) -> AirAnswer:
    """Return the room's air over some weeks, with the wet work of the plan written.

    A plan counts if it stands in `folder` and was made from the same inputs.
    """
    inputs = read_inputs(path)
    problem = problem_of(inputs, weeks=weeks)
    made = standing_plan(inputs, folder)
    coats: tuple[Laid, ...] = ()
    if made is not None:
        coats = coats_of(problem.work, inputs.products, placements_of(made))
    room = inside(inputs, problem.grid, coats)
    used = {t.product for t in problem.work.tasks if t.product is not None}
    advice = None
    if hold_pct is not None:
        if inputs.job.climate is None:
            raise PlannerError(
                "the job file says nothing of the room",
                where=f"{path.name}: air.room",
                hint="give its volume: [air.room] with volume",
            )
        outside, weather = outside_of(inputs, problem.grid)
        advice = hold(
            outside,
            inputs.job.climate,
            problem.grid,
            given_off_kg=room.given_off_kg,
            target_rh_pct=hold_pct,
            weather=weather,
        )
    return AirAnswer(
        room=room,
        grid=problem.grid,
        products=[inputs.products[p] for p in sorted(used)],
        wet_work=bool(coats),
        advice=advice,
    )
