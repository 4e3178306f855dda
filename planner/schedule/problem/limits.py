"""How much searching is allowed, and the watch over it."""

import threading
import time
from collections.abc import Callable
from dataclasses import dataclass

USUAL_TASKS = 90  # of a job, which the limit of work is meant for


@dataclass(frozen=True, slots=True, kw_only=True)
class SearchLimits:
    """Limits of a search.

    `work` is the solver's own measure of work done, three to ten seconds each on a
    common machine; as it doesn't hang on the clock, the same input gives the same
    plan. It is meant for a job of up to 90 tasks; a larger one is allowed as many
    times more as it has more tasks. `clock_s` is a limit on the clock besides, which
    may spoil that; `until_s` is a moment of the monotonic clock that several searches
    together mustn't outlast.
    """

    work: float = 4.0
    clock_s: float | None = None
    until_s: float | None = None

    def work_for(self, tasks: int) -> float:
        """Return the limit of work for a job of so many tasks."""
        return self.work * max(1.0, tasks / USUAL_TASKS)


class StoppedError(Exception):
    """It is time to stop in the middle of preparing a search."""


class Watch:
    """The time since the search began, and whether it is to stop."""

    def __init__(self, limits: SearchLimits, stop: Callable[[], bool] | None) -> None:
        self._begin = time.monotonic()
        self._limits = limits
        self._stop = stop
        self.interrupted = False

    @property
    def elapsed_s(self) -> float:
        """The seconds since the search began."""
        return time.monotonic() - self._begin

    @property
    def left_s(self) -> float | None:
        """The seconds left on the clock; None without a limit."""
        limits, now = self._limits, time.monotonic()
        left = []
        if limits.clock_s is not None:
            left.append(limits.clock_s - (now - self._begin))
        if limits.until_s is not None:
            left.append(limits.until_s - now)
        return max(0.0, min(left)) if left else None

    @property
    def late(self) -> bool:
        """Whether the clock has run out."""
        return self.left_s == 0.0

    def over(self) -> bool:
        """Tell whether to stop: the clock ran out, or the caller asked."""
        if self._stop is not None and not self.interrupted:
            self.interrupted = self._stop()
        return self.interrupted or self.late

    def check(self) -> None:
        """Return nothing unless it is time to stop.

        Raises
        ------
        StoppedError
            When it is.
        """
        if self.over():
            raise StoppedError

    def guard(self, halt: Callable[[], None]) -> "Guard":
        """Return a context in which `halt` is called once the caller asks to stop."""
        return Guard(self if self._stop is not None else None, halt)


class Guard:
    """Looks every tenth of a second whether a search that runs is to stop."""

    def __init__(self, watch: Watch | None, halt: Callable[[], None]) -> None:
        self._watch = watch
        self._halt = halt
        self._done = threading.Event()
        self._thread: threading.Thread | None = None

    def __enter__(self) -> "Guard":
        if self._watch is not None:
            self._thread = threading.Thread(target=self._look, daemon=True)
            self._thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        self._done.set()
        if self._thread is not None:
            self._thread.join()

    def _look(self) -> None:
        while not self._done.wait(0.1):
            if self._watch is not None and self._watch.over():
                self._halt()
