"""What to change, and what that would win: `compare`."""

from collections.abc import Iterator
from pathlib import Path
from time import monotonic
from typing import TYPE_CHECKING, Annotated

import typer

from planner.commands.options import (
    Futures,
    JobFile,
    Seconds,
    Seed,
    WorkLimit,
    interruptible,
)

if TYPE_CHECKING:
    from planner.nouns.choices.comparison import Comparison

Change = Annotated[
    list[str] | None,
    typer.Option(
        metavar="CHANGE",
        help="An alternative: keys and values, or files of them, joined by ; "
        "(again for another alternative)",
    ),
]
Levers = Annotated[
    bool,
    typer.Option(
        "--levers",
        help="Try a ready set: more people, more hours, drier air, other products",
    ),
]
JsonFile = Annotated[
    Path | None,
    typer.Option(metavar="FILE", help="Also write the comparison to this file (JSON)"),
]
Picture = Annotated[
    Path | None,
    typer.Option(metavar="FILE", help="Also draw the comparison to this file (SVG)"),
]
Page = Annotated[
    Path | None,
    typer.Option(
        metavar="FILE", help="Also write a page with picture and table (HTML)"
    ),
]
Keep = Annotated[
    Path | None,
    typer.Option(
        metavar="FILE",
        help="Write the job file with the change to this new file beside it",
    ),
]


def compare(
    job: JobFile,
    change: Change = None,
    levers: Levers = False,
    json: JsonFile = None,
    picture: Picture = None,
    page: Page = None,
    keep: Keep = None,
    futures: Futures = 10_000,
    seed: Seed = 1,
    seconds: Seconds = None,
    work_limit: WorkLimit = None,
) -> None:
    """Plan changes to a job side by side: dates, cost, days gained.

    Example: covetime compare examples/straight/job.toml --change methods.primer_coats=1
    """
    begun_s = monotonic()
    if not change and not levers:
        raise typer.BadParameter("nothing to compare: give --change or --levers")
    with interruptible("stopping; what is planned is shown", at_once=False) as stop:
        from planner.commands.progress import Counted, shown
        from planner.files import named
        from planner.report.words.choices.compare_text import (
            comparison_words,
            progress_row,
        )
        from planner.usecases.comparing.compare import CompareRequest, comparing
        from planner.usecases.comparing.side_by_side import Together

        named.check_new(json, picture, page, keep)
        request = CompareRequest(
            job=job,
            said=tuple(change or ()),
            levers=levers,
            keep=keep,
            futures=futures,
            seed=seed,
            seconds=seconds,
            since_s=begun_s,
            work_limit=work_limit,
        )
        made = comparing(request)
        with shown(begun_s, seconds) as teller, Together(stop) as together:
            count = Counted(teller)
            made.run(
                together,
                lambda one, won: count.tell(
                    progress_row(one, won, made.zone), made.count
                ),
                teller.step,
            )
        found = made.comparison()
        print(comparison_words(found, levers=levers), end="")
        for file, data in _files(found, json, picture, page, levers=levers):
            named.write_new(file, data)
        if keep is not None:
            named.write_new(keep, made.kept())


def _files(
    found: "Comparison",
    json: Path | None,
    picture: Path | None,
    page: Path | None,
    *,
    levers: bool,
) -> Iterator[tuple[Path, bytes]]:
    """Yield the files that were asked for, with what is to be in them."""
    if json is not None:
        from planner.files.tables.compare_json import compare_json

        yield json, compare_json(found)
    if picture is not None:
        from planner.report.choices.compare_picture import compare_svg

        yield picture, compare_svg(found)
    if page is not None:
        from planner.report.choices.compare_page import compare_page

        yield page, compare_page(found, levers=levers)
