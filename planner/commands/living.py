"""The living job: what happened is logged, and what is left is planned anew."""

import sys
from dataclasses import replace
from pathlib import Path
from time import monotonic
from typing import TYPE_CHECKING, Annotated
from zoneinfo import ZoneInfo

import typer

from planner.commands.options import (
    JobFile,
    Now,
    Out,
    Seconds,
    WorkLimit,
    interruptible,
    moment_of,
    typed,
)
from planner.errors import PlannerError

if TYPE_CHECKING:
    from collections.abc import Mapping

    from planner.nouns.product import Product
    from planner.usecases.living.log import ShownLog
    from planner.usecases.living.revise import Revised

What = Annotated[
    str,
    typer.Argument(
        help="begun, stopped, done, waiting, dry, wet (a task); shows, damaged (a bay); "
        "away (a person); late, booked, released, quiet, air, moisture, used, painted, "
        "note; none: show the log"
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
LoggerFile = Annotated[
    Path | None,
    typer.Option(metavar="FILE", help="A data logger's readings of the air (CSV)"),
]
Floor = Annotated[
    list[str] | None,
    typer.Option(metavar="WHAT", help="For used: overshoes, plastic; may be repeated"),
]
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
    file: LoggerFile = None,
    floor: Floor = None,
    says: Says = "",
    undo: Undo = None,
    anyway: Anyway = False,
    now: Now = None,
) -> None:
    """Write down what happened on a job, or show what was logged.

    Example: covetime log examples/corner/job.toml away Hedda --from Thu --until Fri
    """
    from planner.usecases.living import log as logging
    from planner.usecases.living import measured

    moment, whom = moment_of(now), tuple(by or ())
    if undo is not None:
        if what:
            raise PlannerError("undoes one event, and logs no other", where="--undo")
        _print_logged(logging.undo(job, undo, by=whom, now=moment))
    elif file is not None:
        measured.check_alone(
            what, about, at != "now", start, until, left, temp, rh, says
        )
        _print_logged(
            measured.log_readings(job, file, by=whom, insisted=anyway, now=moment)
        )
    elif what:
        said = logging.Said(
            what=what,
            about=about,
            at=at,
            start=start,
            until=until,
            by=whom,
            left=left,
            temperature=temp,
            humidity=rh,
            on_floor=tuple(floor or ()),
            words=says,
            insisted=anyway,
        )
        _print_logged(logging.log(job, said, now=moment))
    else:
        _print_log(logging.shown(job))


def _print_logged(found: "ShownLog") -> None:
    """Print what was logged just now, and which lines of the log are broken."""
    from planner.report.living.log_text import logged_text

    known, file = found.known, str(found.path)
    for broken in found.book.broken:
        line = f"{file}: line {broken.number} can't be used: {broken.why}"
        print(line, file=sys.stderr)
    text = logged_text(
        file, found.events, found.doubts, known.titles, known.zone, known.units
    )
    print(text, end="")


def _print_log(found: "ShownLog") -> None:
    from planner.report.living.log_text import log_text

    known = found.known
    gone = [e.id for e in found.events if known.is_gone(e)]
    text = log_text(
        str(found.path),
        found.book,
        found.doubts,
        known.titles,
        known.zone,
        known.units,
        gone,
    )
    print(text, end="")


def today(
    job: JobFile,
    out: Out = None,
    who: Annotated[
        str, typer.Option(metavar="NAME", help="Only the work of one of the crew")
    ] = "",
    at: Annotated[
        str, typer.Option(metavar="TIME", help='Such as "tomorrow 7:30" or "Fri 9:00"')
    ] = "now",
    now: Now = None,
) -> None:
    """Say what to do now and next, what is wet, and what to decide.

    Example: covetime today examples/corner/job.toml --who Beatriz --at "16 Feb 2027 9:00"
    """
    from planner.usecases.living.today import today as of_today
    from planner.usecases.standing import out_folder

    folder = out_folder(job, out)
    print(of_today(job, folder, at=at, who=who, now=moment_of(now)), end="")


DryRun = Annotated[
    bool, typer.Option("--dry-run", help="Say what would move; write nothing")
]
Strict = Annotated[
    bool,
    typer.Option("--strict", help="Refuse if the log doesn't say how a task went"),
]
PutBack = Annotated[
    bool, typer.Option("--put-back", help="Put back the plan that stood before")
]


def revise(
    job: JobFile,
    out: Out = None,
    dry_run: DryRun = False,
    strict: Strict = False,
    put_back: PutBack = False,
    seconds: Seconds = None,
    work_limit: WorkLimit = None,
    now: Now = None,
) -> None:
    """Plan what is left of a job that has begun, near its plan.

    What was logged stays as it was; what wasn't is taken as planned. The earlier plan
    is kept.

    Example: covetime revise examples/corner/job.toml --dry-run
    """
    begun_s = monotonic()
    with interruptible() as stop:
        from planner.commands.progress import said
        from planner.commands.searching import searching
        from planner.usecases import write
        from planner.usecases.living import revise as revising
        from planner.usecases.living import telling
        from planner.usecases.standing import out_folder

        moment = moment_of(now)
        folder = out_folder(job, out)
        facts = revising.facts_of(job, folder)
        ours = facts.inputs.job
        with write.place_for(ours, folder, tell=said) as held:
            if put_back:
                plan, last = revising.earlier_plan(folder)
                news = telling.put_back(facts, plan, now=moment)
                write.stand(held, ours, news, last, now=moment)
                print(f"the plan that stood before stands again in {folder}/")
                print(telling.told_words(news), end="")
                return
            for remark in revising.remarks(facts):
                print(remark, file=sys.stderr)
            if facts.is_current:
                print(
                    "nothing was logged and nothing changed: the plan stands as it is"
                )
                return
            with searching(
                folder,
                stop,
                seconds=seconds,
                work_limit=work_limit,
                begun_s=begun_s,
                job=job,
                case_of=lambda inputs: (
                    revising.rest_of(replace(facts, inputs=inputs), moment).case
                ),
            ) as choices:
                found = revising.revise(facts, choices, now=moment, strict=strict)
            news = telling.news_of(facts, found)
            if not dry_run:
                write.stand(held, ours, news, found.revision, now=moment)
        print(_revised_words(found, facts.inputs.products), end="")
        print(telling.told_words(news), end="")
        print(_written_words(folder, job) if not dry_run else "nothing was written")


def _written_words(folder: Path, job: Path) -> str:
    return (
        f"written to {folder}/; the earlier plan is kept (--put-back)\n"
        f"What to do now: covetime today {typed(job)}"
    )


def _revised_words(found: "Revised", products: "Mapping[str, Product]") -> str:
    from planner.living.moved import moves
    from planner.report.living.revised_text import MoveTold, revised_text
    from planner.report.living.taught_text import taught_lines
    from planner.trade.data import labour

    zone, rates = ZoneInfo(found.after.zone), labour.rates()
    ahead = {t.phase for t in found.after.tasks if t.happened != "done"}
    return revised_text(
        found.before,
        found.after,
        moved=[
            MoveTold(before=m.before, after=m.after)
            for m in moves(found.before, found.after)
        ],
        unkept=found.unkept,
        taken=found.taken,
        causes=[(c.words, c.minutes) for c in found.causes],
        taught=list(
            taught_lines(
                found.learned,
                {t: rates[t].title for t in ahead},
                {id_: p.title for id_, p in products.items()},
            )
        ),
        now=found.revision.now,
        zone=zone,
    )
