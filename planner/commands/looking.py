"""The commands that don't plan: `hours`, `air`, `quantities`, `opening`."""

from datetime import datetime
from pathlib import Path
from typing import Annotated

import typer

from planner import units
from planner.commands.options import JobFile, Out, measure, of_this_century


def hours(
    job: JobFile,
    who: Annotated[
        list[str] | None,
        typer.Option(
            metavar="NAME", help='One of the crew, or "stage"; may be given again'
        ),
    ] = None,
    first: Annotated[
        datetime | None,
        typer.Option(
            "--from",
            formats=["%Y-%m-%d"],
            metavar="DAY",
            callback=of_this_century,
            help="The first day, such as 2027-02-08; default: the job's earliest",
        ),
    ] = None,
    last: Annotated[
        datetime | None,
        typer.Option(
            "--to",
            formats=["%Y-%m-%d"],
            metavar="DAY",
            callback=of_this_century,
            help="The last day; default: two weeks later",
        ),
    ] = None,
    json: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Also write the hours to this file (JSON)"),
    ] = None,
    picture: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Also draw the hours to this file (SVG)"),
    ] = None,
) -> None:
    """Show who is open when, day by day, and what closes the rest.

    Example: covetime hours examples/corner/job.toml --who Beatriz --to 2027-02-21
    """
    from planner.files.named import check_new, write_new
    from planner.files.tables.hours_json import hours_json
    from planner.report.charts.hours_picture import hours_svg
    from planner.report.words.hours_text import hours_words
    from planner.usecases.hours import open_hours

    check_new(json, picture)
    answer = open_hours(
        job,
        who=who or (),
        first=first.date() if first else None,
        last=last.date() if last else None,
    )
    print(hours_words(answer), end="")
    if json is not None:
        write_new(json, hours_json(answer))
    if picture is not None:
        write_new(picture, hours_svg(answer))


def air(
    job: JobFile,
    out: Out = None,
    days: Annotated[
        int, typer.Option(min=1, max=370, metavar="DAYS", help="How many days")
    ] = 21,
    hold: Annotated[
        str | None,
        typer.Option(
            metavar="HUMIDITY", help='Say what would keep this humidity, such as "50 %"'
        ),
    ] = None,
    csv: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Also write the air to this file (CSV)"),
    ] = None,
    picture: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Also draw the air to this file (SVG)"),
    ] = None,
) -> None:
    """Show the room's air: its water, its dew point, limits broken.

    Example: covetime air examples/corner-damp/job.toml --days 28
    """
    from planner.files import named
    from planner.files.tables.air_csv import air_csv
    from planner.report.charts.air_picture import air_svg
    from planner.report.words.air_text import air_words
    from planner.usecases.air import air_of_job
    from planner.usecases.standing import out_folder

    named.check_new(csv, picture)
    target = measure(units.percent, hold, "--hold")
    answer = air_of_job(
        job,
        out_folder(job, out),
        weeks=-(-days // 7),
        hold_pct=target,
    )
    print(air_words(answer, days=days), end="")
    if csv is not None:
        named.write_new(csv, air_csv(answer.room, answer.grid))
    if picture is not None:
        named.write_new(picture, air_svg(answer, days=days))


def quantities(
    job: JobFile,
    out: Annotated[
        Path | None,
        typer.Option(
            "--out-plan",
            "--out",
            metavar="FOLDER",
            help="Folder of the plan that gives the days; default: plan/ beside the "
            "job file",
        ),
    ] = None,
    csv: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Also write the list to this file (CSV)"),
    ] = None,
    json: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Also write the list to this file (JSON)"),
    ] = None,
    page: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Also write the list to this file (HTML)"),
    ] = None,
) -> None:
    """Show what to buy, in which packs, by which day; and the tools.

    Example: covetime quantities examples/corner/job.toml --csv buy.csv
    """
    from planner.files import named
    from planner.files.tables.quantities import quantities_csv, quantities_json
    from planner.report.words.quantities_page import quantities_page
    from planner.report.words.quantities_text import quantities_text
    from planner.usecases.quantities import buying_for
    from planner.usecases.standing import out_folder

    named.check_new(csv, json, page)
    found = buying_for(job, out_folder(job, out))
    print(quantities_text(found), end="")
    if csv is not None:
        named.write_new(csv, quantities_csv(found.supplies, found.tools))
    if json is not None:
        data = quantities_json(
            found.supplies, found.tools, job=found.job, plan=found.plan
        )
        named.write_new(json, data)
    if page is not None:
        named.write_new(page, quantities_page(found))


def opening(
    job: JobFile,
    picture: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Also write the drawing to this file (SVG)"),
    ] = None,
) -> None:
    """Show what to mark and cut on the wall, and what is lifted.

    Example: covetime opening examples/corner/job.toml --picture wall.svg
    """
    from planner.files import named
    from planner.report.opening.drawing import opening_svg
    from planner.report.opening.sheet import opening_text
    from planner.usecases.opening import read

    named.check_new(picture)
    found = read(job)
    print(opening_text(found), end="")
    if picture is not None:
        named.write_new(picture, opening_svg(found.opening, name=found.job))
