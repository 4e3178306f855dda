"""Progress of a search on stderr: a line that renews itself, or plain lines."""

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager

from rich.console import Console

from planner.hours.grid import Grid
from planner.schedule.instance import AimKind
from planner.schedule.outcome import Progress
from planner.units import moment_words

AIM_WORDS = {
    AimKind.LAST_RETURN: "earliest return",
    AimKind.CLOSED: "shortest closure",
    AimKind.CALLS: "fewest shifts",
    AimKind.EARLY: "early work",
}


def progress_words(progress: Progress, grid: Grid) -> str:
    """Return where a search stands, as one line."""

    def said(value: int | None) -> str:
        if value is None:
            return "none yet"
        if progress.aim == AimKind.LAST_RETURN:
            return moment_words(grid.instant(value), grid.zone)
        return str(value)

    aim = AIM_WORDS.get(progress.aim, progress.aim.value)
    return (
        f"{progress.elapsed_s:5.1f} s  {aim}: best {said(progress.best)}, "
        f"no better than {said(progress.bound)}"
    )


@contextmanager
def shown() -> Iterator[Callable[[Progress, Grid], None]]:
    """Yield a teller of progress; on a terminal one line renews itself."""
    console = Console(stderr=True, highlight=False)
    if not console.is_terminal:
        last = ""

        def plain(progress: Progress, grid: Grid) -> None:
            nonlocal last
            words = progress_words(progress, grid)
            if words[8:] != last:
                print(words, file=sys.stderr)
                last = words[8:]

        yield plain
        return
    with console.status("reading") as status:
        yield lambda progress, grid: status.update(progress_words(progress, grid))
