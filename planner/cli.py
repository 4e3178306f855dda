"""The command `covetime`: options in, words out, exit status. Decides nothing."""

import os
import signal
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Annotated

import typer

from planner import units
from planner.errors import PlannerError

app = typer.Typer(
    help="Plan the work, the waits and the stage closure for a curved backdrop.",
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    add_completion=False,
)

JobFile = Annotated[
    Path, typer.Argument(help="The job file, such as examples/corner/job.toml")
]
Out = Annotated[
    Path | None,
    typer.Option(help="Folder for the plan; default: plan/ beside the job file"),
]
Seconds = Annotated[
    float | None,
    typer.Option(
        min=0.1, help="Stop after this many seconds with the best plan found by then"
    ),
]
Now = Annotated[
    datetime | None,
    typer.Option(
        formats=["%Y-%m-%dT%H:%M:%SZ"],
        help="The moment, in UTC, that changed calendar entries are stamped with; "
        "default: the clock",
    ),
]
WorkLimit = Annotated[
    float | None,
    typer.Option(
        min=0.01,
        help="Search effort for each aim, in the solver's own units of work "
        "(the same on every machine); default: enough for a stage",
    ),
]


@contextmanager
def _errors() -> Iterator[None]:
    """Print a user's error on stderr and end with its status; no traceback."""
    try:
        yield
    except PlannerError as error:
        for line in error.lines():
            print(line, file=sys.stderr)
        raise typer.Exit(error.exit_status) from None


@contextmanager
def _interruptible(
    words: str = "stopping; the best plan so far is kept",
) -> Iterator[Callable[[], bool]]:
    """Yield a question that turns true on Ctrl-C; a second Ctrl-C ends the program."""
    asked = False

    def note(*_: object) -> None:
        nonlocal asked
        if asked:
            raise KeyboardInterrupt
        asked = True
        print(f"\n{words}", file=sys.stderr)

    before = signal.signal(signal.SIGINT, note)
    try:
        yield lambda: asked
    finally:
        signal.signal(signal.SIGINT, before)


@app.command()
def plan(
    job: JobFile,
    out: Out = None,
    seconds: Seconds = None,
    work_limit: WorkLimit = None,
    now: Now = None,
    links: Annotated[
        bool,
        typer.Option(
            "--links", help="Calendar entries name what follows them (RFC 9253)"
        ),
    ] = False,
    tz: Annotated[
        bool,
        typer.Option(
            "--tz", help="Calendar times in the site's zone, defined, instead of UTC"
        ),
    ] = False,
    served_at: Annotated[
        str,
        typer.Option(
            help="The address the plan's folder is served at, for calendars to say"
        ),
    ] = "",
) -> None:
    """Plan a job: closure, returns, crew calendars, dependency report.

    Example: covetime plan examples/corner/job.toml
    """
    from planner import app as deeds
    from planner.marking import prepared
    from planner.progress import shown
    from planner.report.summary import plan_summary

    with _errors(), _interruptible() as stop:
        how = deeds.CalendarChoices(links=links, local_times=tz, served_at=served_at)
        folder = deeds.out_folder(job, out)
        deeds.check_folder(folder)
        with shown() as tell:
            choices = deeds.Choices(
                work_limit=work_limit, seconds=seconds, on_progress=tell, stop=stop
            )
            made = deeds.plan(job, choices)
        stamp = now.replace(tzinfo=UTC) if now else datetime.now(UTC)
        names = deeds.write(
            made,
            folder,
            now=stamp.replace(microsecond=0),
            how=how,
            prepared=prepared(job),
        )
        print(plan_summary(made, _shown_files(folder, names)), end="")


def _shown_files(folder: Path, names: tuple[str, ...]) -> tuple[str, ...]:
    """Return the files written, the people's calendars as one."""
    top = [n for n in names if "/" not in n]
    people = sum(n.startswith("people/") for n in names)
    return (f"{folder}/:", *top, f"people/ ({people} calendars)")


@app.command()
def publish(
    job: JobFile,
    to: Annotated[
        str,
        typer.Option(help="The collection, such as https://cal.example.org/ana/stage/"),
    ],
    feed: Annotated[
        str, typer.Option(help="closure, crew, waits, or the name of one of the crew")
    ] = "closure",
    out: Out = None,
    restore: Annotated[
        bool,
        typer.Option(
            "--restore", help="Put back what was changed or deleted by hand since"
        ),
    ] = False,
) -> None:
    """Put the entries of the plan that stands into a calendar on a server (CalDAV).

    Name and password come from COVETIME_USER and COVETIME_PASSWORD, or from the
    keyring.

    Example: covetime publish examples/corner/job.toml --to
    https://cal.example.org/ana/stage/
    """
    from planner import app as deeds
    from planner import publishing
    from planner.progress import counted

    again = "stopped; publish again to go on"
    with _errors(), _interruptible("stopping after this entry") as stop:
        folder = deeds.out_folder(job, out)
        found = publishing.standing(job, folder)
        if found.remark:
            print(found.remark, file=sys.stderr)
        order = publishing.Order(
            job=job, folder=folder, to=to, feed=feed, restore=restore
        )
        try:
            with counted() as tell:
                outcome = publishing.publish(
                    order, found.plan, environ=os.environ, tell=tell, stop=stop
                )
        except KeyboardInterrupt:  # the second Ctrl-C, within an entry
            print(again, file=sys.stderr)
            raise typer.Exit(130) from None
        print(publishing.outcome_words(outcome, to), end="")
        for left in outcome.left_alone:
            print(f"{left.title}: {left.why}", file=sys.stderr)
        if outcome.stopped:
            print(again, file=sys.stderr)
            raise typer.Exit(130)


@app.command()
def check(job: JobFile) -> None:
    """Read everything and say what was understood, without solving.

    Example: covetime check examples/corner/job.toml
    """
    from planner import app as deeds
    from planner.report.understood import understood_words

    with _errors():
        inputs, problem = deeds.understood(job)
        print(understood_words(inputs, problem), end="")


@app.command()
def why(
    job: JobFile,
    task: Annotated[str, typer.Argument(help="The task's id, such as prime-1")],
    out: Out = None,
    seconds: Seconds = None,
    work_limit: WorkLimit = None,
) -> None:
    """Explain one task: what it waits for, what binds it, how far it could slip.

    Example: covetime why examples/corner/job.toml prime-1
    """
    from planner import app as deeds
    from planner.progress import shown
    from planner.report.summary import why_words

    with _errors(), _interruptible() as stop:
        with shown() as tell:
            choices = deeds.Choices(
                work_limit=work_limit, seconds=seconds, on_progress=tell, stop=stop
            )
            made = deeds.plan_for_why(job, deeds.out_folder(job, out), choices)
        print(why_words(made, deeds.check_task(made, task)), end="")


@app.command()
def hours(
    job: JobFile,
    who: Annotated[
        list[str] | None,
        typer.Option(help='One of the crew, or "stage"; may be given again'),
    ] = None,
    first: Annotated[
        datetime | None,
        typer.Option(
            "--from",
            formats=["%Y-%m-%d"],
            help="The first day; default: the job's earliest",
        ),
    ] = None,
    last: Annotated[
        datetime | None,
        typer.Option(
            "--to", formats=["%Y-%m-%d"], help="The last day; default: two weeks"
        ),
    ] = None,
    json: Annotated[
        Path | None, typer.Option(help="Write the hours to this file too (JSON)")
    ] = None,
    picture: Annotated[
        Path | None, typer.Option(help="Draw the hours to this file too (SVG)")
    ] = None,
) -> None:
    """Show who is open when, day by day, and what closes the other hours.

    Example: covetime hours examples/corner/job.toml --who Beatriz --to 2027-02-21
    """
    from planner.app import check_new, write_new
    from planner.files.hours_file import hours_json
    from planner.openhours import open_hours
    from planner.report.hours_picture import hours_svg
    from planner.report.hours_report import hours_words

    with _errors():
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


@app.command()
def air(
    job: JobFile,
    out: Out = None,
    days: Annotated[int, typer.Option(min=1, max=370, help="How many days")] = 21,
    hold: Annotated[
        str | None,
        typer.Option(help='What would hold this humidity, such as "50 %"'),
    ] = None,
    csv: Annotated[
        Path | None, typer.Option(help="Write the series to this file too")
    ] = None,
    picture: Annotated[
        Path | None, typer.Option(help="Draw the series to this file too (SVG)")
    ] = None,
) -> None:
    """Show the room's air: temperature, humidity, dew point, water, limits broken.

    Example: covetime air examples/corner-damp/job.toml --days 28
    """
    from planner import app as deeds
    from planner.files.airfile import air_csv
    from planner.report.air_picture import air_svg
    from planner.report.air_report import air_words

    with _errors():
        deeds.check_new(csv, picture)
        target = _measure(units.percent, hold, "--hold")
        answer = deeds.room_air(
            job,
            deeds.out_folder(job, out),
            weeks=-(-days // 7),
            hold_pct=target,
        )
        print(air_words(answer, days=days), end="")
        if csv is not None:
            deeds.write_new(csv, air_csv(answer.room, answer.grid))
        if picture is not None:
            deeds.write_new(picture, air_svg(answer, days=days))


@app.command()
def quantities(
    job: JobFile,
    out: Annotated[
        Path | None,
        typer.Option(
            "--out-plan",
            "--out",
            help="Folder of the plan that gives the days; default: plan/ beside the "
            "job file",
        ),
    ] = None,
    csv: Annotated[
        Path | None, typer.Option(help="Write the list to this file too (CSV)")
    ] = None,
    json: Annotated[
        Path | None, typer.Option(help="Write the list to this file too (JSON)")
    ] = None,
    page: Annotated[
        Path | None, typer.Option(help="Write the list to this file too (HTML)")
    ] = None,
) -> None:
    """Show what to buy, in which packs and by which day, and the tools by their days.

    Example: covetime quantities examples/corner/job.toml --csv buy.csv
    """
    from planner import app as deeds
    from planner.files.quantities_file import quantities_csv, quantities_json
    from planner.report.quantities_page import quantities_page
    from planner.report.quantities_text import quantities_text

    with _errors():
        deeds.check_new(csv, json, page)
        found = deeds.buying(job, deeds.out_folder(job, out))
        print(quantities_text(found), end="")
        if csv is not None:
            deeds.write_new(csv, quantities_csv(found.supplies, found.tools))
        if json is not None:
            data = quantities_json(
                found.supplies, found.tools, job=found.job, plan=found.plan
            )
            deeds.write_new(json, data)
        if page is not None:
            deeds.write_new(page, quantities_page(found))


@app.command()
def opening(
    job: JobFile,
    picture: Annotated[
        Path | None, typer.Option(help="Write the drawing to this file too (SVG)")
    ] = None,
) -> None:
    """Show what to mark and cut on the wall, the backing to cut, and what is lifted.

    Example: covetime opening examples/corner/job.toml --picture wall.svg
    """
    from planner import app as deeds
    from planner.marking import prepared
    from planner.report.opening_drawing import opening_svg
    from planner.report.opening_sheet import opening_text

    with _errors():
        deeds.check_new(picture)
        found = prepared(job)
        print(opening_text(found), end="")
        if picture is not None:
            deeds.write_new(picture, opening_svg(found.opening, name=found.job))


@app.command()
def dry(
    product: Annotated[str, typer.Argument(help="A product's id, such as topping")],
    temp: Annotated[str | None, typer.Option(help='The air, such as "68 F"')] = None,
    rh: Annotated[str | None, typer.Option(help='Its humidity, such as "62 %"')] = None,
    thickness: Annotated[
        str | None, typer.Option(help='Wet thickness of the coat, such as "1/16 in"')
    ] = None,
    job: Annotated[Path | None, typer.Option(help="Take this job's air")] = None,
    at: Annotated[
        datetime | None,
        typer.Option(
            formats=["%Y-%m-%d %H:%M", "%Y-%m-%dT%H:%M"],
            help="When the coat is finished, site time; with --job",
        ),
    ] = None,
    table: Annotated[
        bool, typer.Option("--table", help="The hours over temperature and humidity")
    ] = False,
) -> None:
    """Say when a coat may be coated, sanded, primed or walked on, and how sure.

    Example: covetime dry topping --temp 68F --rh 62%
    """
    from planner import wall

    with _errors():
        _one_way(job=(job, at), now=(temp, rh), table=(table or None,))
        thick = _measure(units.length_mm, thickness, "--thickness")
        if table:
            print(wall.table(product, thickness_mm=thick), end="")
        elif job is not None and at is not None:
            print(wall.dry_in_job(product, job, at=at, thickness_mm=thick), end="")
        else:
            air_c = _measure(units.temperature_c, temp, "--temp")
            rh_pct = _measure(units.percent, rh, "--rh")
            if air_c is None or rh_pct is None:
                raise PlannerError(
                    "the air isn't known",
                    hint="give --temp and --rh, or --job with --at, or --table",
                )
            words = wall.now_dry(
                product, temp_c=air_c, rh_pct=rh_pct, thickness_mm=thick
            )
            print(words, end="")


def _one_way(**ways: tuple[object, ...]) -> None:
    """Refuse to be asked in two ways at once: in a job's air, in this air, as a table."""
    asked = [name for name, given in ways.items() if any(x is not None for x in given)]
    if len(asked) > 1:
        raise PlannerError(
            "asked in two ways at once",
            hint="give --temp and --rh, or --job with --at, or --table, not both",
        )


def _measure(
    parse: Callable[[str], float], text: str | None, where: str
) -> float | None:
    """Return the value of an option with a unit."""
    if text is None:
        return None
    try:
        return parse(text)
    except ValueError as error:
        raise PlannerError(str(error), where=where) from None


if __name__ == "__main__":
    app()
