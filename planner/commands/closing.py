"""When to close the stage: `closures`."""

import sys
from collections.abc import Iterator
from datetime import datetime
from functools import partial
from pathlib import Path
from time import monotonic
from typing import TYPE_CHECKING, Annotated

import typer

from planner.commands.gaps import plan_gaps
from planner.commands.options import (
    JobFile,
    Now,
    Seconds,
    WorkLimit,
    interruptible,
    moment_of,
    of_this_century,
)

if TYPE_CHECKING:
    from planner.nouns.choices.closures import ClosureChoices
    from planner.nouns.inputs import Inputs

Until = Annotated[
    datetime | None,
    typer.Option(
        formats=["%Y-%m-%d"],
        metavar="DAY",
        callback=of_this_century,
        help="The last day on which a closure may begin; default: 26 weeks after "
        "the job's earliest",
    ),
]
JsonFile = Annotated[
    Path | None,
    typer.Option(metavar="FILE", help="Also write the closures to this file (JSON)"),
]
Picture = Annotated[
    Path | None,
    typer.Option(
        metavar="FILE", help="Also draw the closures on a strip of months (SVG)"
    ),
]
Page = Annotated[
    Path | None,
    typer.Option(metavar="FILE", help="Also write a page with strip and table (HTML)"),
]
Holds = Annotated[
    Path | None,
    typer.Option(
        metavar="FOLDER",
        help="Also write a calendar of tentative holds into this folder; options "
        "that are no longer there are cancelled in it",
    ),
]
Choose = Annotated[
    int | None,
    typer.Option(
        min=1,
        metavar="NUMBER",
        help="Keep only this option in the calendar of holds",
    ),
]


def closures(
    job: JobFile,
    until: Until = None,
    json: JsonFile = None,
    picture: Picture = None,
    page: Page = None,
    holds: Holds = None,
    choose: Choose = None,
    now: Now = None,
    seconds: Seconds = None,
    work_limit: WorkLimit = None,
) -> None:
    """Say when the stage could be closed: dates, cost, bookings.

    Example: covetime closures examples/straight/job.toml
    """
    begun_s = monotonic()
    with interruptible("stopping; what is planned is shown", at_once=False) as stop:
        from planner.commands.progress import said
        from planner.files import named
        from planner.report.words.choices.closures_text import closures_words
        from planner.usecases.comparing import holds as calendar
        from planner.usecases.comparing.closures import Choosing, ClosuresRequest
        from planner.usecases.read import Papers
        from planner.usecases.standing import refuse_begun

        refuse_begun(
            job, f"the closure that is left is planned by: covetime revise {job}"
        )
        _needs_holds(choose, holds)
        named.check_new(
            *(json, picture, page),
            also=partial(calendar.check_holds, holds, said) if holds else None,
        )
        request = ClosuresRequest(
            job=job,
            until=until.date() if until else None,
            seconds=seconds,
            since_s=begun_s,
            work_limit=work_limit,
        )
        choosing = Choosing(request, Papers(job))
        plan_gaps(choosing, stop, begun_s, seconds)
        found = choosing.compared()
        print(closures_words(found), end="")
        if holds is not None and found.whole:
            calendar.write_holds(
                found,
                holds,
                job=choosing.inputs.job,
                now=moment_of(now),
                choose=choose,
                tell=said,
            )
            print(f"written: {holds / calendar.CALENDAR}", file=sys.stderr)
        for file, data in _files(found, choosing.inputs, json, picture, page):
            named.write_new(file, data)
        if holds is not None:
            calendar.check_whole(found, holds)


def _files(
    found: "ClosureChoices",
    inputs: "Inputs",
    json: Path | None,
    picture: Path | None,
    page: Path | None,
) -> Iterator[tuple[Path, bytes]]:
    """Yield the files that were asked for, with what is to be in them."""
    if json is not None:
        from planner.files.tables.closures_json import closures_json

        yield json, closures_json(found)
    if picture is None and page is None:
        return
    from planner.usecases.comparing.season import season_of

    season = season_of(inputs, found.shown_until)
    if picture is not None:
        from planner.report.choices.closures_picture import closures_svg

        yield picture, closures_svg(found, season)
    if page is not None:
        from planner.report.choices.closures_page import closures_page

        yield page, closures_page(found, season)


def _needs_holds(choose: int | None, holds: Path | None) -> None:
    if choose is not None and holds is None:
        raise typer.BadParameter("--choose needs the calendar: give --holds")
