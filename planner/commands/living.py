"""The living job: what happened is logged."""

import sys
from datetime import UTC, datetime
from typing import Annotated

import typer

from planner.commands.options import JobFile, Now
from planner.errors import PlannerError

What = Annotated[
    str,
    typer.Argument(
        help="begun, stopped, done, dry, wet (a task); shows, damaged (a bay); away "
        "(a person); late, booked, released, quiet, air, moisture, note; none: show "
        "the log"
    ),
]
About = Annotated[
    str, typer.Argument(help="The task, bay or person, such as prime-1; or words")
]
At = Annotated[
    str,
    typer.Option(metavar="TIME", help='When, such as "yesterday 16:30" or "Tue 9:15"'),
]
From = Annotated[
    str | None,
    typer.Option("--from", metavar="TIME", help='Such as "tomorrow 8:00", or a day'),
]
Until = Annotated[
    str | None,
    typer.Option(metavar="TIME", help="The end of a stretch; a day is included whole"),
]
By = Annotated[
    list[str] | None,
    typer.Option(metavar="NAME", help="Who did it; may be given again"),
]
Left = Annotated[
    str | None,
    typer.Option(metavar="HOURS", help='What the team still needs, such as "2 h"'),
]
Temp = Annotated[str | None, typer.Option(metavar="TEMPERATURE", help='Such as "64 F"')]
Rh = Annotated[str | None, typer.Option(metavar="HUMIDITY", help='Such as "58 %"')]
Says = Annotated[str, typer.Option(metavar="WORDS", help="A note that goes with it")]
Undo = Annotated[
    str | None,
    typer.Option(
        metavar="EVENT", help='Log that an event doesn\'t count: its id, or "last"'
    ),
]
Anyway = Annotated[
    bool, typer.Option("--anyway", help="Log it although it is questioned")
]


def log(
    job: JobFile,
    what: What = "",
    about: About = "",
    at: At = "now",
    start: From = None,
    until: Until = None,
    by: By = None,
    left: Left = None,
    temp: Temp = None,
    rh: Rh = None,
    says: Says = "",
    undo: Undo = None,
    anyway: Anyway = False,
    now: Now = None,
) -> None:
    """Write down what happened on a job, or show what was logged.

    Example: covetime log examples/corner/job.toml away Hedda --from Thu --until Fri
    """
    from planner.report.words.log_text import log_text, logged_text
    from planner.usecases import log as logging

    moment = now.replace(tzinfo=UTC) if now else datetime.now(UTC)
    if undo is not None:
        if what:
            raise PlannerError("undoes one event, and logs no other", where="--undo")
        found = logging.undo(job, undo, by=tuple(by or ()), now=moment)
    elif what:
        said = logging.Said(
            what=what,
            about=about,
            at=at,
            start=start,
            until=until,
            by=tuple(by or ()),
            left=left,
            temperature=temp,
            humidity=rh,
            words=says,
            insisted=anyway,
        )
        found = logging.log(job, said, now=moment)
    else:
        found = logging.shown(job)
    known, file = found.known, str(found.path)
    names = {**{i: t.title for i, t in known.tasks.items()}, **known.people}
    if what or undo is not None:
        for broken in found.book.broken:
            line = f"{file}: line {broken.number} can't be used: {broken.why}"
            print(line, file=sys.stderr)
        text = logged_text(file, found.events, found.doubts, names, known.zone)
    else:
        gone = [e.id for e in found.events if known.is_gone(e)]
        text = log_text(file, found.book, found.doubts, names, known.zone, gone)
    print(text, end="")
