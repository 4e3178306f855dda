"""What to change, and what that would win: `compare`."""

import sys
from pathlib import Path
from time import monotonic
from typing import Annotated

import typer

from planner.commands.options import JobFile, Out, Seconds, WorkLimit, interruptible


def compare(
    job: JobFile,
    change: Annotated[
        list[str] | None,
        typer.Option(
            metavar="CHANGE",
            help="An alternative: keys and values, or files of them, joined by ; "
            "(again for another alternative)",
        ),
    ] = None,
    levers: Annotated[
        bool,
        typer.Option(
            "--levers",
            help="Try a ready set: more people, more hours, drier air, other products",
        ),
    ] = False,
    out: Out = None,
    json: Annotated[
        Path | None,
        typer.Option(
            metavar="FILE", help="Also write the comparison to this file (JSON)"
        ),
    ] = None,
    keep: Annotated[
        Path | None,
        typer.Option(
            help="Write the job file with the change to this new file beside it"
        ),
    ] = None,
    futures: Annotated[
        int,
        typer.Option(
            min=100, max=100_000, metavar="NUMBER", help="How many futures are played"
        ),
    ] = 10_000,
    seed: Annotated[
        int,
        typer.Option(
            min=0,
            max=2**31,
            metavar="NUMBER",
            help="The same number meets the same futures again",
        ),
    ] = 1,
    seconds: Seconds = None,
    work_limit: WorkLimit = None,
) -> None:
    """Plan changes to a job side by side: dates, cost, days gained.

    Example: covetime compare examples/straight/job.toml --change methods.primer_coats=1
    """
    begun_s = monotonic()
    with interruptible("stopping; what is planned is shown", at_once=False) as stop:
        from planner.files.tables.compare_json import compare_json
        from planner.nouns.comparison import Alternative, Gain
        from planner.report.words.compare_text import (
            compare_words,
            levers_words,
            progress_row,
        )
        from planner.usecases import write
        from planner.usecases.compare import (
            CompareRequest,
            Comparing,
            check_keep,
            read_ideas,
        )
        from planner.usecases.read import Papers
        from planner.usecases.side_by_side import Together
        from planner.usecases.standing import out_folder

        if not change and not levers:
            raise typer.BadParameter("nothing to compare: give --change or --levers")
        write.check_new(json, keep)
        wanted = CompareRequest(
            job=job,
            folder=out_folder(job, out),
            futures=futures,
            seed=seed,
            seconds=seconds,
            since_s=begun_s,
            work_limit=work_limit,
        )
        papers = Papers(job)
        as_it_is, ideas = papers.inputs(), read_ideas(papers, change or [])
        if keep is not None:
            check_keep(job, keep, () if levers else ideas)
        comparing = Comparing(wanted, as_it_is)

        def tell(one: Alternative, won: Gain | None) -> None:
            print(progress_row(one, won, as_it_is.job.zone), file=sys.stderr)

        with Together(stop) as together:
            comparing.plan(ideas, together, tell)
            if levers:
                comparing.plan_levers(papers, together, tell)
        found = comparing.comparison()
        print(levers_words(found) if levers else compare_words(found), end="")
        if json is not None:
            write.write_new(json, compare_json(found))
        if keep is not None and found.alternatives:
            write.write_new(keep, papers.with_changes(*ideas[0].changes))
            print(f"kept in {keep}; plan it with: covetime plan", file=sys.stderr)
