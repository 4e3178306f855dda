"""How long a search may take, and the object that tells when it must stop."""

import threading
import time
from collections.abc import Callable
from dataclasses import dataclass

USUAL_TASKS = 90  # the size of job for which the limit of work is meant
# Processor time for a search to begin, so that it gives a plan if it is late or stopped,
# on a busy machine too.
PREPARING_S = 3.0


@dataclass(frozen=True, slots=True, kw_only=True)
class SearchLimits:
    """Limits of a search.

    `work` limits the solver's own count of work done. One unit takes three to ten
    seconds on a common machine. Since the count doesn't depend on the clock, the same
    input gives the same plan. The limit is meant for a job of up to 90 tasks; for a
    larger job it is raised in proportion to the number of tasks.

    `clock_s` also limits the seconds on the clock; if that limit is reached, the same
    input may give another plan. `until_s` is the moment of the monotonic clock at which
    the last of several searches must have ended.
    """

    work: float = 4.0
    clock_s: float | None = None
    until_s: float | None = None

    def work_for(self, tasks: int) -> float:
        """Return the limit of work for a job with this many tasks."""
        return self.work * self.times(tasks)

    def times(self, tasks: int) -> float:
        """Return by how much a limit is raised for a job with this many tasks."""
        return max(1.0, tasks / USUAL_TASKS)


class StoppedError(Exception):
    """Raised to leave the preparation of a search when it is time to stop."""


class Watch:
    """Measures the time since the search began, and tells whether it must stop."""

    def __init__(self, limits: SearchLimits, stop: Callable[[], bool] | None) -> None:
        self._begin = time.monotonic()
        self._begin_cpu_s = time.process_time()
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
        """Whether the limit on the clock has been reached."""
        return self.left_s == 0.0

    def over(self) -> bool:
        """Tell whether to stop: the time is up, or the caller has asked for it."""
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

    def check_prepared(self) -> None:
        """Return nothing unless what comes before a first plan takes too long.

        Raises
        ------
        StoppedError
            When it is time to stop, and this search has already had some time of the
            processor.
        """
        used_s = time.process_time() - self._begin_cpu_s
        if used_s > PREPARING_S and self.over():
            raise StoppedError

    def guard(self, halt: Callable[[], None]) -> "Guard":
        """Return a context during which `halt` is called if the caller asks to stop."""
        return Guard(self if self._stop is not None else None, halt)


class Guard:
    """Looks every tenth of a second whether the search that is running must stop."""

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
