"""Progress of a search on stderr: a line that renews itself, or plain lines."""

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager

from rich.console import Console

from planner.hours.grid import Grid
from planner.schedule.instance import AimKind
from planner.schedule.outcome import Progress
from planner.units import duration_words, moment_words


def progress_words(progress: Progress, grid: Grid) -> str:
    """Return where a search stands, as one line."""
    best, bound = progress.best, progress.bound
    match progress.aim:
        case AimKind.LAST_RETURN:
            aim = "earliest return"
            said = [_moment(grid, v) for v in (best, bound)]
        case AimKind.CLOSED:
            aim = "shortest closure, soonest light feet"
            said = [_hours(grid, v) for v in (best, bound)]
        case AimKind.CALLS:
            aim = "fewest shifts"
            said = ["none yet" if v is None else str(v) for v in (best, bound)]
        case _:
            return f"{progress.elapsed_s:5.1f} s  tidying: work as early as it can lie"
    return (
        f"{progress.elapsed_s:5.1f} s  {aim}: best {said[0]}, no better than {said[1]}"
    )


def _moment(grid: Grid, tick: int | None) -> str:
    return "none yet" if tick is None else moment_words(grid.instant(tick), grid.zone)


def _hours(grid: Grid, ticks: int | None) -> str:
    return "none yet" if ticks is None else duration_words(ticks * grid.tick_minutes)


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
