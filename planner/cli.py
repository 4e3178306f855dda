"""The command `covetime`: options in, words out, exit status. Decides nothing."""

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
def _interruptible() -> Iterator[Callable[[], bool]]:
    """Yield a question that turns true on Ctrl-C; a second Ctrl-C ends the program."""
    asked = False

    def note(*_: object) -> None:
        nonlocal asked
        if asked:
            raise KeyboardInterrupt
        asked = True
        print("\nstopping; the best plan so far is kept", file=sys.stderr)

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
) -> None:
    """Plan a job: closure, returns, crew calendars, dependency report.

    Example: covetime plan examples/corner/job.toml
    """
    from planner import app as deeds
    from planner.progress import shown
    from planner.report.summary import plan_summary

    with _errors(), _interruptible() as stop:
        folder = deeds.out_folder(job, out)
        deeds.check_folder(folder)
        with shown() as tell:
            choices = deeds.Choices(
                work_limit=work_limit, seconds=seconds, on_progress=tell, stop=stop
            )
            made = deeds.plan(job, choices)
        stamp = now.replace(tzinfo=UTC) if now else datetime.now(UTC)
        names = deeds.write(made, folder, now=stamp.replace(microsecond=0))
        print(plan_summary(made, _shown_files(folder, names)), end="")


def _shown_files(folder: Path, names: tuple[str, ...]) -> tuple[str, ...]:
    """Return the files written, the people's calendars as one."""
    top = [n for n in names if "/" not in n]
    people = sum(n.startswith("people/") for n in names)
    return (f"{folder}/:", *top, f"people/ ({people} calendars)")


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
