"""How sure a plan is: `odds`."""

from dataclasses import replace
from pathlib import Path
from time import monotonic
from typing import TYPE_CHECKING, Annotated

import typer

from planner.commands.options import (
    Futures,
    JobFile,
    Now,
    Out,
    Seconds,
    Seed,
    WorkLimit,
    interruptible,
    moment_of,
)
from planner.errors import PlannerError

if TYPE_CHECKING:
    from planner.usecases.odds import PlanOdds

Bound = Annotated[
    bool,
    typer.Option(
        "--bound",
        help="Also say what no plan could promise, from a few futures in which "
        "everything is known; up to a minute",
    ),
]


def odds(
    job: JobFile,
    out: Out = None,
    futures: Futures = 10_000,
    seed: Seed = 1,
    json: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Also write the odds to this file (JSON)"),
    ] = None,
    picture: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Also draw the odds to this file (SVG)"),
    ] = None,
    bound: Bound = False,
    seconds: Seconds = None,
    work_limit: WorkLimit = None,
    now: Now = None,
) -> None:
    """Say how sure the plan's returns are, and what threatens them.

    The plan that stands in the plan's folder is played many times, each time with
    another pace, other waits, other air, late crates, joints that show through and
    people away. Of a job that has begun, what is left is played from now on, with what
    its log taught.

    Example: covetime odds examples/corner/job.toml
    """
    begun_s = monotonic()
    with interruptible() as stop:
        from planner.commands.progress import shown
        from planner.commands.searching import searching
        from planner.files import named
        from planner.usecases.living.left_odds import has_begun, odds_of_left_plan
        from planner.usecases.odds import bound_of_plan, odds_of_plan, plan_for_odds
        from planner.usecases.read import read_inputs
        from planner.usecases.standing import out_folder

        named.check_new(json, picture)
        folder = out_folder(job, out)
        if has_begun(job, folder):
            _refuse(bound=bound)
            with shown(begun_s) as tell:
                found = odds_of_left_plan(
                    job,
                    folder,
                    now=moment_of(now),
                    futures=futures,
                    seed=seed,
                    step=tell.step,
                )
            _tell(found, json, picture)
            return
        inputs = read_inputs(job)
        with searching(
            folder,
            stop,
            seconds=seconds,
            work_limit=work_limit,
            begun_s=begun_s,
            job=job,
        ) as choices:
            plan = plan_for_odds(inputs, folder, choices)
    with shown(begun_s) as tell:
        found = odds_of_plan(inputs, plan, futures=futures, seed=seed, step=tell.step)
        if bound:
            best = bound_of_plan(inputs, plan, seed=seed, step=tell.step)
            found = replace(found, bound=best)
    _tell(found, json, picture, with_bound=bound)


def _refuse(*, bound: bool) -> None:
    """Refuse what can't be worked out for a job that has begun."""
    if bound:
        raise PlannerError(
            "what no plan could promise isn't worked out for a job that has begun",
            where="--bound",
            hint="leave it out: the odds themselves are those of what is left",
        )


def _tell(
    found: "PlanOdds",
    json: Path | None,
    picture: Path | None,
    *,
    with_bound: bool = False,
) -> None:
    """Print odds, and write them where they are asked for."""
    from planner.files import named
    from planner.files.tables.odds_json import odds_json
    from planner.report.charts.odds_picture import odds_svg
    from planner.report.words.sure.odds_text import bound_words, odds_words

    print(odds_words(found.plan, found.odds, found.as_of), end="")
    if with_bound:
        print(bound_words(found.plan, found.odds, found.bound), end="")
    if json is not None:
        told = odds_json(found.plan, found.odds, found.bound, found.as_of)
        named.write_new(json, told)
    if picture is not None:
        named.write_new(picture, odds_svg(found.plan, found.odds))
