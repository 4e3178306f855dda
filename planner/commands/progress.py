"""Progress of a search on stderr: a line that renews itself, or plain lines."""

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager

from rich.console import Console
from rich.text import Text

from planner.hours.grid import Grid
from planner.schedule.problem.outcome import Progress
from planner.schedule.problem.parts import AimKind
from planner.units import duration_words, moment_words

LINE_EVERY_S = 1.0
CLOCK = 8  # the width of the seconds at the start of a line


def progress_words(progress: Progress, grid: Grid) -> str:
    """Return where a search stands, as one line."""
    best, bound = progress.best, progress.bound
    number = f"round {progress.round}, " if progress.round else ""
    at = f"{progress.elapsed_s:5.1f} s  {number}"
    match progress.aim:
        case AimKind.LAST_RETURN:
            aim = "earliest return"
            said = [_moment(grid, v) for v in (best, bound)]
        case AimKind.CLOSED:
            aim = "shortest closure, soonest light foot traffic"
            said = [_hours(grid, v) for v in (best, bound)]
        case AimKind.CHANGE:
            aim = "least change from what was agreed"
            said = ["none yet" if v is None else str(v) for v in (best, bound)]
        case AimKind.CALLS:
            aim = "fewest shifts"
            said = ["none yet" if v is None else str(v) for v in (best, bound)]
        case _:
            raise AssertionError(f"a plan is not made for {progress.aim}")
    return f"{at}{aim}: best {said[0]}, no better than {said[1]}"


def _moment(grid: Grid, tick: int | None) -> str:
    return "none yet" if tick is None else moment_words(grid.instant(tick), grid.zone)


def _hours(grid: Grid, ticks: int | None) -> str:
    return "none yet" if ticks is None else duration_words(ticks * grid.tick_minutes)


@contextmanager
def shown() -> Iterator[Callable[[Progress, Grid], None]]:
    """Yield a teller of progress; on a terminal one line renews itself."""
    console = Console(stderr=True, highlight=False)
    if not console.is_terminal:
        lines = _Lines()
        yield lines.tell
        lines.say_held()
        return
    with console.status("reading") as status:
        yield lambda progress, grid: status.update(progress_words(progress, grid))


class _Lines:
    """Progress as lines: the first of each aim, then one a second, and its last."""

    def __init__(self) -> None:
        self.aim: tuple[int, AimKind] | None = None
        self.said_s = 0.0
        self.said = self.held = ""

    def tell(self, progress: Progress, grid: Grid) -> None:
        """Print where the search stands, or hold it until a second has passed."""
        words = progress_words(progress, grid)
        if (progress.round, progress.aim) != self.aim:
            self.say_held()
            self.aim = (progress.round, progress.aim)
        elif progress.elapsed_s - self.said_s < LINE_EVERY_S:
            self.held = words
            return
        self.held = words
        self.said_s = progress.elapsed_s
        self.say_held()

    def say_held(self) -> None:
        """Print what was held back, unless it says nothing new."""
        if self.held and self.held[CLOCK:] != self.said:
            print(self.held, file=sys.stderr)
            self.said = self.held[CLOCK:]
        self.held = ""


def said(line: str) -> None:
    """Print a line about the run."""
    print(line, file=sys.stderr)


@contextmanager
def counted() -> Iterator[Callable[[int, int, str], None]]:
    """Yield a teller of what is done of how much; on a terminal one line renews itself."""
    console = Console(stderr=True, highlight=False, markup=False)
    if not console.is_terminal:
        yield lambda number, count, title: print(
            f"{number} of {count}  {title}", file=sys.stderr
        )
        return
    with console.status("looking") as status:
        yield lambda number, count, title: status.update(
            Text(f"{number} of {count}  {title}")
        )
