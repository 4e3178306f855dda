"""Planning a job and what follows from it: `plan`, `publish`, `check`, `why`."""

import os
import sys
from dataclasses import replace
from pathlib import Path
from time import monotonic
from typing import TYPE_CHECKING, Annotated

import typer

from planner.commands.options import (
    JobFile,
    Now,
    Out,
    Seconds,
    WorkLimit,
    interruptible,
    moment_of,
    planned_tasks,
    typed,
)

if TYPE_CHECKING:
    from planner.nouns.inputs import Inputs
    from planner.nouns.plan import Plan

Links = Annotated[
    bool, typer.Option("--links", help="Let calendar entries name what follows them")
]
Anew = Annotated[
    bool,
    typer.Option(
        "--anew", help="Plan a job from its start although things are logged for it"
    ),
]

Earliest = Annotated[
    bool,
    typer.Option(
        "--earliest",
        help="The plan that returns the earliest if all goes as planned, instead of one "
        "that is made to be kept; quicker",
    ),
]
Bound = Annotated[
    bool,
    typer.Option(
        "--bound",
        help="Also say what no plan could promise, told from a few futures in which "
        "everything is known; takes up to a minute more",
    ),
]
LocalTimes = Annotated[
    bool,
    typer.Option(
        "--tz", help="Write calendar times in the site's time zone, not in UTC"
    ),
]
ServedAt = Annotated[
    str,
    typer.Option(
        metavar="ADDRESS",
        help="Web address of the plan's folder, which the calendars then name",
    ),
]


def plan(
    job: JobFile,
    out: Out = None,
    earliest: Earliest = False,
    bound: Bound = False,
    seconds: Seconds = None,
    work_limit: WorkLimit = None,
    now: Now = None,
    links: Links = False,
    tz: LocalTimes = False,
    anew: Anew = False,
    served_at: ServedAt = "",
) -> None:
    """Plan a job: closure, returns, calendars, dependency report.

    Example: covetime plan examples/corner/job.toml
    """
    begun_s = monotonic()
    with interruptible() as stop:
        from planner.commands.progress import said
        from planner.commands.searching import searching
        from planner.report.page.frame import PLAN as PLAN_PAGE
        from planner.report.words.summary import plan_summary
        from planner.usecases import write
        from planner.usecases.opening import opening_if_built
        from planner.usecases.past import as_of
        from planner.usecases.plan import plan_inputs
        from planner.usecases.read import read_inputs
        from planner.usecases.standing import out_folder, refuse_begun

        how = write.CalendarChoices(links=links, local_times=tz, served_at=served_at)
        folder = out_folder(job, out)
        read = read_inputs(job)
        if not anew:
            refuse_begun(
                job,
                f"plan what is left: covetime revise {job}; or start anew with --anew",
            )
        inputs = as_of(read, moment_of(now))
        for remark in inputs.remarks[len(read.remarks) :]:
            print(remark, file=sys.stderr)
        opened = opening_if_built(inputs.job)
        with write.place_for(inputs.job, folder, how, tell=said) as held:
            with searching(
                folder,
                stop,
                seconds=seconds,
                work_limit=work_limit,
                begun_s=begun_s,
                job=job,
                keep=not earliest,
            ) as choices:
                made = plan_inputs(inputs, replace(choices, bound=bound))
            names = write.write(
                made, held, now=moment_of(now), how=how, prepared=opened
            )
        print(plan_summary(made, _shown_files(folder, names)), end="")
        print(f"Look at {folder / PLAN_PAGE}")
        _tell_what_next(made, job, [how.address(n) for n in names])


def _tell_what_next(made: "Plan", job: Path, addresses: list[str]) -> None:
    """Print where calendars are served, and what is typed once work has begun."""
    from planner.nouns.ids import bare

    served = [address for address in addresses if address.endswith(".ics")]
    if served:
        print("To subscribe, give a calendar program one of these addresses:")
        print(*(f"  {address}" for address in served), sep="\n")
    first = bare(min(made.tasks, key=lambda t: t.start).id)
    print("Once work has begun, write down how it goes, such as")
    print(f"  covetime log {typed(job)} begun {first}")


def _shown_files(folder: Path, names: tuple[str, ...]) -> tuple[str, ...]:
    """Return the files written, the people's calendars as one."""
    top = [n for n in names if not n.startswith("people/")]
    people = sum(n.startswith("people/") for n in names)
    return (f"{folder}/: {top[0]}", *top[1:], f"people/ ({people} calendars)")


def publish(
    job: JobFile,
    to: Annotated[
        str,
        typer.Option(
            metavar="ADDRESS",
            help="The calendar, such as https://cal.example.org/ana/stage/",
        ),
    ],
    feed: Annotated[
        str,
        typer.Option(
            metavar="NAME",
            help="closure, crew, waits, or the name of the stage or a person",
        ),
    ] = "closure",
    out: Out = None,
    restore: Annotated[
        bool,
        typer.Option(
            "--restore", help="Put back entries that were changed or deleted by hand"
        ),
    ] = False,
) -> None:
    """Put the plan's entries into a calendar on a server (CalDAV).

    Name and password come from COVETIME_USER and COVETIME_PASSWORD, or from the
    keyring.

    Example: covetime publish examples/corner/job.toml --to
    https://cal.example.org/ana/stage/
    """
    from planner.commands.progress import counted, said
    from planner.usecases import publish as publishing
    from planner.usecases.standing import out_folder

    again = "stopped; publish again to go on"
    folder = out_folder(job, out)
    order = publishing.PublishRequest(
        job=job, folder=folder, to=to, feed=feed, restore=restore
    )
    try:
        with (
            publishing.standing(job, folder, tell=said) as found,
            interruptible("stopping after this entry", at_once=False) as stop,
            counted() as tell,
        ):
            if found.remark:
                print(found.remark, file=sys.stderr)
            outcome = publishing.publish(
                order, found.plan, environ=os.environ, tell=tell, stop=stop
            )
    except KeyboardInterrupt:  # the second Ctrl-C, within an entry
        print(again, file=sys.stderr)
        raise typer.Exit(130) from None
    print(publishing.outcome_words(outcome, to), end="")
    if note := publishing.note_for(order, found.plan):
        print(f"\n{note}", end="")
    for left in outcome.left_alone:
        print(f"{left.title}: {left.why}", file=sys.stderr)
    if outcome.stopped:
        print(again, file=sys.stderr)
        raise typer.Exit(130)


def check(job: JobFile) -> None:
    """Read everything and say how it was understood, without a plan.

    Example: covetime check examples/corner/job.toml
    """
    from planner.report.words.check_text import (
        may_be_planned,
        next_words,
        understood_words,
    )
    from planner.usecases.check import read_problem
    from planner.usecases.past import past_words

    inputs, problem = read_problem(job)
    if past := past_words(inputs.job, moment_of(None)):
        print(past, file=sys.stderr)
    print(understood_words(inputs, problem), end="")
    print(next_words(inputs, problem, typed(job)))
    if not may_be_planned(inputs, problem):
        raise typer.Exit(1)  # as `plan` ends where no plan exists


def why(
    job: JobFile,
    task: Annotated[
        str,
        typer.Argument(
            help="The task's id, such as prime-1", autocompletion=planned_tasks
        ),
    ],
    out: Out = None,
    seconds: Seconds = None,
    work_limit: WorkLimit = None,
) -> None:
    """Explain one task: what it waits for, what held it, its slack.

    Example: covetime why examples/corner/job.toml prime-1
    """
    begun_s = monotonic()
    with interruptible() as stop:
        from planner.report.words.summary import why_words
        from planner.usecases.read import read_inputs
        from planner.usecases.standing import out_folder
        from planner.usecases.why import plan_for_why

        folder = out_folder(job, out)

        def anew(inputs: "Inputs") -> "Plan":
            from planner.commands.searching import searching  # loads the solver
            from planner.usecases.plan import plan_inputs

            with searching(
                folder,
                stop,
                seconds=seconds,
                work_limit=work_limit,
                begun_s=begun_s,
                job=job,
            ) as choices:
                return plan_inputs(inputs, choices)

        made = plan_for_why(read_inputs(job), folder, task, anew)
        print(why_words(made, task), end="")
