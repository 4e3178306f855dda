"""How sure a plan is: `odds`."""

from pathlib import Path
from time import monotonic
from typing import Annotated

import typer

from planner.commands.options import (
    Futures,
    JobFile,
    Out,
    Seconds,
    Seed,
    WorkLimit,
    interruptible,
)

Bound = Annotated[
    bool,
    typer.Option(
        "--bound",
        help="Also say what no plan could promise, from a few futures in which "
        "everything is known; half a minute",
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
) -> None:
    """Say how sure the plan's returns are, and what threatens them.

    The plan that stands in the plan's folder is played many times, each time with
    another pace, other waits, other air, late crates, joints that show through and
    people away.

    Example: covetime odds examples/corner/job.toml
    """
    begun_s = monotonic()
    with interruptible() as stop:
        from planner.commands.progress import shown
        from planner.commands.searching import searching
        from planner.files.tables.odds_json import odds_json
        from planner.report.charts.odds_picture import odds_svg
        from planner.report.words.sure.odds_text import bound_words, odds_words
        from planner.usecases import write
        from planner.usecases.odds import bound_of_plan, odds_of_plan, plan_for_odds
        from planner.usecases.read import read_inputs
        from planner.usecases.standing import out_folder

        write.check_new(json, picture)
        folder = out_folder(job, out)
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
        best = bound_of_plan(inputs, plan, seed=seed, step=tell.step) if bound else None
    print(odds_words(found.plan, found.odds), end="")
    if bound:
        print(bound_words(found.plan, found.odds, best), end="")
    if json is not None:
        write.write_new(json, odds_json(found.plan, found.odds, best))
    if picture is not None:
        write.write_new(picture, odds_svg(found.plan, found.odds))
