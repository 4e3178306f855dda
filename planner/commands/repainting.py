"""When to paint floor and coves again: `repaint`."""

import sys
from datetime import datetime
from enum import StrEnum
from functools import partial
from pathlib import Path
from time import monotonic
from typing import TYPE_CHECKING, Annotated

import typer

from planner.commands.closing import Holds, JsonFile, Picture
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
    from planner.nouns.choices.repaints import RepaintChoices
    from planner.usecases.comparing.repaint import Repainting


class Area(StrEnum):
    """What is painted again."""

    FLOOR = "floor"
    FLOOR_AND_COVES = "floor and coves"
    ALL = "all"


class Colour(StrEnum):
    """Which colour goes over the one that is there."""

    SAME = "same"
    ANOTHER = "another"


AreaOf = Annotated[
    Area | None,
    typer.Option(metavar="AREA", help='"floor", "floor and coves" or "all"'),
]
ColourOf = Annotated[
    Colour | None, typer.Option(metavar="COLOUR", help="same or another")
]
Coats = Annotated[
    int | None,
    typer.Option(min=1, max=6, metavar="NUMBER", help="Coats; default: 1, or 2"),
]
From = Annotated[
    datetime | None,
    typer.Option(
        "--from",
        formats=["%Y-%m-%d"],
        metavar="DAY",
        callback=of_this_century,
        help="The first day; default: the job's earliest, or today if that is past",
    ),
]
Until = Annotated[
    datetime | None,
    typer.Option(
        formats=["%Y-%m-%d"],
        metavar="DAY",
        callback=of_this_century,
        help="The last day on which it may begin; default: 6 weeks later",
    ),
]
Choose = Annotated[
    int | None,
    typer.Option(
        min=1,
        metavar="NUMBER",
        help="The gap to keep a job file for, and alone in the calendar of holds",
    ),
]
Keep = Annotated[
    Path | None,
    typer.Option(metavar="FILE", help="A new job file of the repaint, to be planned"),
]


def repaint(
    job: JobFile,
    area: AreaOf = None,
    colour: ColourOf = None,
    coats: Coats = None,
    since: From = None,
    until: Until = None,
    choose: Choose = None,
    keep: Keep = None,
    json: JsonFile = None,
    picture: Picture = None,
    holds: Holds = None,
    now: Now = None,
    seconds: Seconds = None,
    work_limit: WorkLimit = None,
) -> None:
    """Say when floor and coves could be painted again.

    Example: covetime repaint examples/repaint/job.toml
    """
    begun_s = monotonic()
    with interruptible("stopping; what is planned is shown", at_once=False) as stop:
        from planner.commands.progress import said
        from planner.files import named
        from planner.report.words.choices.repaint_text import repaint_words
        from planner.usecases.comparing import holds as calendar
        from planner.usecases.comparing.closures import ClosuresRequest
        from planner.usecases.comparing.repaint import (
            RepaintAsked,
            Repainting,
            check_keep,
        )

        check_keep(job, choose, keep, holds)
        named.check_new(
            *(keep, json, picture),
            also=partial(calendar.check_holds, holds, said) if holds else None,
        )
        request = ClosuresRequest(
            job=job,
            until=until.date() if until else None,
            seconds=seconds,
            since_s=begun_s,
            work_limit=work_limit,
        )
        wanted = RepaintAsked(
            area=area,
            colour=colour,
            coats=coats,
            since=since.date() if since else None,
        )
        moment = moment_of(now)
        work = Repainting(request, wanted, now=moment)
        plan_gaps(work.choosing, stop, begun_s, seconds)
        found = work.choices()
        print(repaint_words(found), end="")
        if keep is not None and choose is not None:
            named.write_new(keep, work.job_in(choose, found))
            print(f"written: {keep}; plan it: covetime plan {keep}", file=sys.stderr)
        _write(work, found, json, picture)
        if holds is not None:
            _hold(work, found, holds, choose, moment)


def _write(
    work: "Repainting",
    found: "RepaintChoices",
    json: Path | None,
    picture: Path | None,
) -> None:
    """Write the files that were asked for."""
    from planner.files import named

    if json is not None:
        from planner.files.tables.repaint_json import repaint_json

        named.write_new(json, repaint_json(found))
    if picture is not None:
        from planner.report.choices.closures_picture import closures_svg
        from planner.usecases.comparing.season import season_of

        season = season_of(work.choosing.inputs, found.closures.shown_until)
        named.write_new(picture, closures_svg(found.closures, season))


def _hold(
    work: "Repainting",
    found: "RepaintChoices",
    folder: Path,
    choose: int | None,
    now: datetime,
) -> None:
    """Write the gaps that hold the work as tentative entries of a calendar."""
    from planner.commands.progress import said
    from planner.usecases.comparing import holds as calendar

    calendar.check_whole(found.closures, folder)
    calendar.write_holds(
        found.closures, folder, job=work.job, now=now, choose=choose, tell=said
    )
    print(f"written: {folder / calendar.CALENDAR}", file=sys.stderr)
