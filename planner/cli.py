"""The command `covetime`: options in, words out, exit status. Decides nothing."""

import signal
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Annotated

import typer

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


if __name__ == "__main__":
    app()
