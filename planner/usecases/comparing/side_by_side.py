"""Attempts planned side by side, in processes of their own."""

import os
import signal
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from multiprocessing import active_children, get_context

from planner.nouns.choices.comparison import Alternative
from planner.promise.playing import say_nothing
from planner.usecases.comparing.attempts import Attempt, Made, made, tried

LISTEN_S = 0.2  # how often Ctrl-C is listened to


def _get_ready() -> None:
    """Load the solver, so that the first attempt of a process needn't wait for it."""
    import planner.schedule.climb.solve  # noqa: F401


class Together:
    """Processes that plan attempts, as many at a time as the machine has processors."""

    def __init__(self, stop: Callable[[], bool]) -> None:
        self._stop = stop
        self._pool = ProcessPoolExecutor(
            max_workers=os.cpu_count() or 1,
            mp_context=get_context("spawn"),
            initializer=signal.signal,
            initargs=(signal.SIGINT, signal.SIG_IGN),  # the command hears Ctrl-C
        )
        for _ in range((os.cpu_count() or 1) - 1):  # while this process plans the first
            self._pool.submit(_get_ready)

    def __enter__(self) -> "Together":
        return self

    def __exit__(self, *_: object) -> None:
        """End the processes, whatever they are still planning.

        The pool is waited for: what it left behind would be met at the program's end.
        """
        for process in active_children():
            process.terminate()
        self._pool.shutdown(wait=True, cancel_futures=True)

    def stopped(self) -> bool:
        """Tell whether the user asked to stop."""
        return self._stop()

    def here(self, attempt: Attempt, step: Callable[[str], None] = say_nothing) -> Made:
        """Plan an attempt in this process, while the others get ready."""
        return made(attempt, self._stop, step)

    def all(self, attempts: Sequence[Attempt]) -> Iterator[tuple[int, Alternative]]:
        """Begin to plan attempts; yield each one's number and outcome as it comes.

        Fewer come once it is stopped.
        """
        return self._as_they_come(
            {self._pool.submit(tried, one): n for n, one in enumerate(attempts)}
        )

    def _as_they_come(
        self, waiting: dict[Future[Alternative], int]
    ) -> Iterator[tuple[int, Alternative]]:
        while waiting and not self._stop():
            done, _ = wait(waiting, timeout=LISTEN_S, return_when=FIRST_COMPLETED)
            for future in sorted(done, key=waiting.__getitem__):
                yield waiting.pop(future), future.result()
