"""Several ways to do a job, planned side by side: each a full plan with its odds."""

import os
import signal
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from dataclasses import dataclass
from multiprocessing import active_children, get_context

from planner.errors import NoPlanError, TimeUpError
from planner.nouns.case import ANY_TIME, ClosureWindow
from planner.nouns.choices.comparison import Alternative, figures_of
from planner.nouns.inputs import Inputs
from planner.report.words.binding import binding_words
from planner.usecases.odds import odds_of_plan
from planner.usecases.plan import Choices, plan_inputs

LISTEN_S = 0.2  # how often Ctrl-C is listened to


@dataclass(frozen=True, slots=True, kw_only=True)
class Attempt:
    """What is to be planned: a job with its changes, and the plan, if one stands.

    The stage may be closed in the `window` only. `explain` says whether the rules that
    clash are looked for where there is no plan. `seconds` of the run, counted from
    `since_s` on the monotonic clock.
    """

    title: str
    changes: tuple[str, ...]
    inputs: Inputs
    futures: int
    seed: int
    say: str = ""
    parts: tuple[str, ...] = ()
    window: ClosureWindow = ANY_TIME
    explain: bool = True
    seconds: float | None = None
    since_s: float = 0.0
    work_limit: float | None = None


def tried(attempt: Attempt) -> Alternative:
    """Return what becomes of an attempt: the figures of its plan, or why there is none."""
    try:
        choices = Choices(
            work_limit=attempt.work_limit,
            explain=attempt.explain,
            seconds=attempt.seconds,
            since_s=attempt.since_s,
        )
        plan = plan_inputs(attempt.inputs, choices, window=attempt.window)
    except (NoPlanError, TimeUpError) as error:
        return _without_plan(attempt, error)
    odds = odds_of_plan(
        attempt.inputs,
        plan,
        futures=attempt.futures,
        seed=attempt.seed,
        threats=False,
    ).odds
    return Alternative(
        title=attempt.title,
        changes=attempt.changes,
        figures=figures_of(plan, odds, binding_words(plan)),
        say=attempt.say,
        parts=attempt.parts,
    )


def _without_plan(attempt: Attempt, error: NoPlanError | TimeUpError) -> Alternative:
    clash = error.conflict if isinstance(error, NoPlanError) else ()
    return Alternative(
        title=attempt.title,
        changes=attempt.changes,
        figures=None,
        why="; ".join([error.message, *clash[:1]]),
        say=attempt.say,
        parts=attempt.parts,
    )


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

    def __enter__(self) -> "Together":
        return self

    def __exit__(self, *_: object) -> None:
        """End the processes, whatever they are still planning."""
        ours = set(active_children())
        self._pool.shutdown(wait=False, cancel_futures=True)
        for process in ours:
            process.terminate()
        self._pool.shutdown(wait=True)

    def all(self, attempts: Sequence[Attempt]) -> Iterator[tuple[int, Alternative]]:
        """Yield each attempt's number and outcome as it comes; fewer once stopped."""
        waiting: dict[Future[Alternative], int] = {
            self._pool.submit(tried, one): number for number, one in enumerate(attempts)
        }
        while waiting and not self._stop():
            done, _ = wait(waiting, timeout=LISTEN_S, return_when=FIRST_COMPLETED)
            for future in sorted(done, key=waiting.__getitem__):
                yield waiting.pop(future), future.result()
