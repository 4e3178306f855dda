"""What the commands share: options, Ctrl-C, values with a unit."""

import signal
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from typing import Annotated

import typer

from planner.errors import PlannerError
from planner.units import is_this_century


def of_this_century(value: datetime | None) -> datetime | None:
    """Return a day or a time that was asked for, or say that it is too far away."""
    if value is not None and not is_this_century(value):
        raise typer.BadParameter(f"{value.date()} is not a day of this century")
    return value


def no_link(path: Path) -> Path:
    """Return the path of a job file; a link isn't one, and isn't shown either."""
    from planner.files.addresses import is_like_link  # loads what `dry` can do without

    if is_like_link(str(path)) and not path.exists():
        raise typer.BadParameter(
            "what stands there is not a file; links aren't fetched"
        )
    return path


JobFile = Annotated[
    Path,
    typer.Argument(
        callback=no_link, help="The job file, such as examples/corner/job.toml"
    ),
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
        callback=of_this_century,
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
def interruptible(
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


def measure(
    parse: Callable[[str], float], text: str | None, where: str
) -> float | None:
    """Return the value of an option with a unit."""
    if text is None:
        return None
    try:
        return parse(text)
    except ValueError as error:
        raise PlannerError(str(error), where=where) from None
