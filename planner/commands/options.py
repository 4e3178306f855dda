"""What the commands share: options, Ctrl-C, values with a unit."""

import select
import shlex
import signal
import socket
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Annotated, ParamSpec

import typer

from planner.errors import PlannerError, TimeUpError
from planner.units import is_this_century

P = ParamSpec("P")


def of_this_century(value: datetime | None) -> datetime | None:
    """Return a day or a time that was asked for, or say that it is too far away."""
    if value is not None and not is_this_century(value):
        raise typer.BadParameter(f"{value.date()} is not a day of this century")
    return value


def moment_of(now: datetime | None) -> datetime:
    """Return the moment that was given, in UTC, else that of the clock."""
    moment = now.replace(tzinfo=UTC) if now else datetime.now(UTC)
    return moment.replace(microsecond=0)


def no_link(path: Path) -> Path:
    """Return the path of a job file; a link isn't one, and isn't shown either."""
    from planner.files.web.addresses import (
        is_like_link,  # loads what `dry` can do without
    )

    if is_like_link(str(path)) and not path.exists():
        raise typer.BadParameter(
            "what stands there is not a file; links aren't fetched"
        )
    return path


def typed(path: Path) -> str:
    """Return a path as it is typed in a shell."""
    return shlex.quote(str(path))


JobFile = Annotated[
    Path,
    typer.Argument(
        callback=no_link, help="The job file, such as examples/corner/job.toml"
    ),
]
Out = Annotated[
    Path | None,
    typer.Option(
        metavar="FOLDER", help="Folder for the plan; default: plan/ beside the job file"
    ),
]
Seconds = Annotated[
    float | None,
    typer.Option(
        min=0.1,
        metavar="SECONDS",
        help="Stop after this many seconds with the best plan found by then",
    ),
]
Now = Annotated[
    datetime | None,
    typer.Option(
        formats=["%Y-%m-%dT%H:%M:%SZ"],
        metavar="2027-02-08T07:00:00Z",
        callback=of_this_century,
        help="The moment of planning, in UTC: changed calendar entries are stamped "
        "with it, and a job whose earliest day is before it gets a remark; default: "
        "the clock",
    ),
]
WorkLimit = Annotated[
    float | None,
    typer.Option(
        min=0.01,
        metavar="WORK",
        help="Search effort for each aim, in the solver's own units of work "
        "(the same on every machine); default: enough for a stage",
    ),
]


def planned_tasks(ctx: typer.Context, incomplete: str) -> list[str]:
    """Return the tasks of the plan that stands, for the shell to complete an id."""
    import json  # as the file has it: completion is quick, and never says a word

    job = ctx.params.get("job")
    folder = ctx.params.get("out") or (Path(job).parent / "plan" if job else None)
    try:
        held = json.loads((folder / "plan.json").read_text("utf-8")) if folder else {}
        ids = [str(t["id"]) for t in held["tasks"]]
    except (OSError, ValueError, KeyError, TypeError):
        return []
    short = [i.partition(":")[2] for i in ids]
    return [i for i in (*short, *ids) if i and i.startswith(incomplete)]


Futures = Annotated[
    int,
    typer.Option(
        min=100, max=100_000, metavar="NUMBER", help="How many futures are played"
    ),
]
Seed = Annotated[
    int,
    typer.Option(
        min=0,
        max=2**31,
        metavar="NUMBER",
        help="The same number meets the same futures again",
    ),
]


class Interrupt:
    """Whether the user asked to stop with Ctrl-C, for a search to ask again and again.

    While `at_once` there is nothing to keep, and Ctrl-C ends the command wherever it
    is. Later the first one only makes the question true, and a second ends the command.
    """

    def __init__(self, words: str, *, at_once: bool) -> None:
        self.at_once = at_once
        self.ended = False
        self._words = words
        self._asked = False
        self._read, self._write = socket.socketpair()
        self._write.setblocking(False)

    def __call__(self) -> bool:
        """Tell whether to stop; on any thread, at once.

        Python hands a signal to the main thread only when that leaves the solver. The
        signal's number lies in the socket before.
        """
        return self._asked or bool(select.select([self._read], [], [], 0)[0])

    def note(self, *_: object) -> None:
        """Take note of a Ctrl-C, or end the command."""
        if self.at_once or self._asked:
            self.ended = True
            raise KeyboardInterrupt
        self._asked = True
        print(f"\n{self._words}", file=sys.stderr)

    def keeping(self, note: Callable[P, None]) -> Callable[P, None]:
        """Return `note`, after whose first call there is something to keep."""

        def noted(*args: P.args, **named: P.kwargs) -> None:
            self.at_once = False
            note(*args, **named)

        return noted

    @contextmanager
    def listening(self) -> Iterator[None]:
        """Hear Ctrl-C in this context."""
        before = signal.signal(signal.SIGINT, self.note)
        wake = signal.set_wakeup_fd(self._write.fileno(), warn_on_full_buffer=False)
        try:
            yield
        finally:
            signal.set_wakeup_fd(wake)
            signal.signal(signal.SIGINT, before)
            self._read.close()
            self._write.close()


@contextmanager
def interruptible(
    words: str = "stopping; the best plan so far is kept", *, at_once: bool = True
) -> Iterator[Interrupt]:
    """Yield a question that turns true on Ctrl-C; a second Ctrl-C ends the program.

    Parameters
    ----------
    words
        What is said on the first Ctrl-C.
    at_once
        Whether Ctrl-C ends the command as long as there is nothing to keep.

    Raises
    ------
    TimeUpError
        On Ctrl-C before there was anything to keep.
    """
    interrupt = Interrupt(words, at_once=at_once)
    try:
        with interrupt.listening():
            yield interrupt
    except PlannerError:
        raise
    except BaseException:  # a library that is being loaded may make another error of it
        if not interrupt.ended:
            raise
        if interrupt.at_once:
            raise TimeUpError(
                "stopped before any plan was found; there may be one"
            ) from None
        raise KeyboardInterrupt from None


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
