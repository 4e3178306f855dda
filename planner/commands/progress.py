"""Progress of a run on stderr, by one clock: a line that renews itself, or plain lines.

The clock runs from the command's start to its end, whatever is being done.
"""

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from time import monotonic
from typing import TYPE_CHECKING

from planner.hours.grid import Grid
from planner.schedule.problem.outcome import Progress
from planner.schedule.problem.parts import AimKind
from planner.units import duration_words, moment_words

if TYPE_CHECKING:
    from rich.console import Console
    from rich.status import Status
    from rich.text import Text

LINE_EVERY_S = 1.0
BAR = 20  # how many signs a bar has


class RunClock:
    """The seconds since a command began, of as many as it may take where that is said."""

    def __init__(self, begun_s: float, seconds: float | None = None) -> None:
        self.begun_s, self.seconds = begun_s, seconds

    @property
    def elapsed_s(self) -> float:
        """The seconds since the command began."""
        return monotonic() - self.begun_s

    def words(self) -> str:
        """Return what the clock shows."""
        of = "" if self.seconds is None else f" of {self.seconds:g}"
        return f"{self.elapsed_s:5.1f}{of} s"


def progress_words(progress: Progress, grid: Grid, *, planned: bool = False) -> str:
    """Return where a search stands, without its clock.

    `planned` tells that a plan was found before, for another aim or in another round.
    """
    best, bound = progress.best, progress.bound
    match progress.aim:
        case AimKind.LAST_RETURN:
            aim = "earliest return"
            said = [_moment(grid, v) for v in (best, bound)]
        case AimKind.CLOSED:
            aim = "shortest closure, soonest light foot traffic"
            said = [_hours(grid, v) for v in (best, bound)]
        case AimKind.CHANGE:
            aim = "least change from what was agreed"
            said = ["" if v is None else str(v) for v in (best, bound)]
        case AimKind.CALLS:
            aim = "fewest shifts"
            said = ["" if v is None else str(v) for v in (best, bound)]
        case _:
            raise AssertionError(f"a plan is not made for {progress.aim}")
    parts = []
    if said[0]:
        parts.append(f"best {said[0]}")
    elif not planned:
        parts.append("no plan yet")
    if said[1]:
        parts.append(f"no better than {said[1]}")
    return f"{_round(progress)}{aim}: {', '.join(parts) or 'looking'}"


def _round(progress: Progress) -> str:
    """Return which round a search is in, where one plan takes several."""
    if not progress.round:
        return ""
    return f"round {progress.round} of at most {progress.most_rounds}, "


def _moment(grid: Grid, tick: int | None) -> str:
    return "" if tick is None else moment_words(grid.instant(tick), grid.zone)


def _hours(grid: Grid, ticks: int | None) -> str:
    return "" if ticks is None else duration_words(ticks * grid.tick_minutes)


class Teller:
    """Tells on stderr what a run does, each line by the clock of the run."""

    def __init__(self, clock: RunClock) -> None:
        self.clock = clock
        self.aim: tuple[int, AimKind] | None = None
        self.planned = False
        self.said_s = 0.0
        self.said = self.held = ""

    def progress(self, progress: Progress, grid: Grid) -> None:
        """Tell where a search stands: the first of each aim, one a second, its last."""
        words = progress_words(progress, grid, planned=self.planned)
        self.planned = self.planned or progress.best is not None
        if (progress.round, progress.aim) != self.aim:
            self.say_held()
            self.aim = (progress.round, progress.aim)
        elif self.clock.elapsed_s - self.said_s < LINE_EVERY_S:
            self.held = words
            return
        self.held = words
        self.said_s = self.clock.elapsed_s
        self.say_held()

    def step(self, words: str) -> None:
        """Tell what is begun now."""
        self.say_held()
        self.say(words)

    def row(self, words: str, _doing: str) -> None:
        """Tell what is done, and on a terminal how far that is."""
        self.step(words)

    def say(self, words: str) -> None:
        """Print a line by the clock."""
        print(f"{self.clock.words()}  {words}", file=sys.stderr)

    def say_held(self) -> None:
        """Print what was held back, unless it says nothing new."""
        if self.held and self.held != self.said:
            self.said = self.held
            self.say(self.held)
        self.held = ""


class _Renewed(Teller):
    """The same on a terminal: one line with a clock that runs between the reports."""

    def __init__(self, clock: RunClock, status: "Status") -> None:
        super().__init__(clock)
        self.status, self.words = status, "reading"
        status.update(_Ticking(self))

    def progress(self, progress: Progress, grid: Grid) -> None:
        self.words = progress_words(progress, grid, planned=self.planned)
        self.planned = self.planned or progress.best is not None

    def step(self, words: str) -> None:
        self.words = words

    def row(self, words: str, doing: str) -> None:
        self.say(words)
        self.words = doing


class _Ticking:
    """A line that is made anew each time that it is drawn."""

    def __init__(self, teller: _Renewed) -> None:
        self.teller = teller

    def __rich__(self) -> "Text":
        from rich.text import Text

        return Text(f"{self.teller.clock.words()}  {self.teller.words}")


def _terminal() -> "Console | None":
    """Return the terminal that stderr is, None if it is none: then nothing is loaded."""
    if not sys.stderr.isatty():
        return None
    from rich.console import Console

    console = Console(stderr=True, highlight=False, markup=False)
    return console if console.is_terminal else None


@contextmanager
def shown(begun_s: float, seconds: float | None = None) -> Iterator[Teller]:
    """Yield a teller of what a run does, which began at a moment of the monotonic clock.

    `seconds` is how long it may take, where that is said.
    """
    clock = RunClock(begun_s, seconds)
    console = _terminal()
    if console is None:
        teller = Teller(clock)
        yield teller
        teller.say_held()
        return
    with console.status("reading") as status:
        yield _Renewed(clock, status)


class Counted:
    """Tells what is done of how much, with a bar, and the time left once it is known.

    What was ruled out without being planned took no time, and says nothing of the rest.
    """

    def __init__(self, teller: Teller) -> None:
        self.teller = teller
        self.number = self.planned = 0
        self.since_s = teller.clock.elapsed_s

    def tell(self, words: str, count: int | None, *, planned: bool = True) -> None:
        """Tell that one more is done of `count`; None: how many isn't known yet."""
        now_s = self.teller.clock.elapsed_s
        self.number += 1
        if planned:
            self.planned += 1
        elif not self.planned:
            self.since_s = now_s
        if count is None:
            self.teller.row(f"{self.number}  {words}", "planning the others")
            return
        done = f"{self.number} of {count}{self._left(count, now_s)}"
        self.teller.row(f"{done}  {words}", f"{bar(self.number, count)} {done}")

    def _left(self, count: int, now_s: float) -> str:
        """Return about how long the rest takes, once two were planned."""
        left = count - self.number
        if not left or self.planned < 2:
            return ""
        left_s = (now_s - self.since_s) / self.planned * left
        return f", about {left_words(left_s)} left"


def left_words(seconds: float) -> str:
    """Return a time that is left, roughly: by 5 s, over two minutes by minutes."""
    if seconds > 120:
        return f"{seconds / 60:.0f} min"
    return f"{max(5, 5 * round(seconds / 5))} s"


def bar(number: int, count: int) -> str:
    """Return a bar as full as so many of so much."""
    full = round(BAR * number / max(count, 1))
    return "█" * full + "░" * (BAR - full)


def said(line: str) -> None:
    """Print a line about the run."""
    print(line, file=sys.stderr)


@contextmanager
def counted() -> Iterator[Callable[[int, int, str], None]]:
    """Yield a teller of what is done of how much; on a terminal one line renews itself."""
    console = _terminal()
    if console is None:
        yield lambda number, count, title: print(
            f"{number} of {count}  {title}", file=sys.stderr
        )
        return
    from rich.text import Text

    with console.status("looking") as status:
        yield lambda number, count, title: status.update(
            Text(f"{bar(number, count)} {number} of {count}  {title}")
        )
