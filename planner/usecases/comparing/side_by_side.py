"""Several ways to do a job, planned side by side: each a full plan with its odds."""

import os
import signal
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from dataclasses import dataclass
from datetime import datetime
from multiprocessing import active_children, get_context

from planner.errors import NoPlanError, TimeUpError
from planner.nouns.case import ANY_TIME, Case, ClosureWindow
from planner.nouns.choices.comparison import Alternative, HowFound, figures_of
from planner.nouns.inputs import Inputs
from planner.nouns.odds import Odds
from planner.nouns.work import ReturnKind
from planner.planning.answer import Answer
from planner.planning.answering import answer
from planner.planning.as_it_stands import as_it_stands, solved_of
from planner.planning.least_return import not_before
from planner.planning.make import worded
from planner.planning.searching import Search, Solved
from planner.promise.playing import odds_of_placed
from planner.report.words.binding import binding_words
from planner.units import moment_words
from planner.usecases.plan import Choices
from planner.usecases.read import PROGRAM

LISTEN_S = 0.2  # how often Ctrl-C is listened to


@dataclass(frozen=True, slots=True, kw_only=True)
class AtHand:
    """The plan of the job as it is, which alternatives are weighed against.

    `kept` is the date that it keeps; None where that is later than was looked at.
    `solved` is what the engine made of its instance, where an alternative may have the
    same.
    """

    answer: Answer
    kept: datetime | None
    solved: Solved | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Attempt:
    """What is to be planned: a job with its changes, and the plan, if one stands.

    The stage may be closed in the `window` only. `explain` says whether the rules that
    clash are looked for where there is no plan. `seconds` of the run, counted from
    `since_s` on the monotonic clock. `at_hand` is a plan that may hold with the changes
    too; with `may_lose`, what can't be back before the date that it keeps isn't planned.
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
    at_hand: AtHand | None = None
    may_lose: bool = False

    @property
    def case(self) -> Case:
        """What is to be planned."""
        return Case(inputs=self.inputs, window=self.window)

    def search(self, stop: Callable[[], bool] | None) -> Search:
        """Return how it is searched for."""
        choices = Choices(
            work_limit=self.work_limit,
            explain=self.explain,
            seconds=self.seconds,
            since_s=self.since_s,
            stop=stop,
        )
        same = None if self.at_hand is None else self.at_hand.solved
        return choices.search(same=same)


@dataclass(frozen=True, slots=True, kw_only=True)
class Made:
    """What became of an attempt, and the plan as numbers, for others to be weighed by."""

    alternative: Alternative
    at_hand: AtHand | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class _Played:
    """A plan with its odds, and how it was found."""

    answer: Answer
    odds: Odds
    found: HowFound

    @property
    def kept(self) -> datetime | None:
        """The date that full service keeps."""
        full = next(r for r in self.odds.returns if r.kind is ReturnKind.FULL_SERVICE)
        return full.promised(self.odds.sure_percent)


def tried(attempt: Attempt) -> Alternative:
    """Return what becomes of an attempt: the figures of its plan, or why there is none."""
    return made(attempt).alternative


def made(attempt: Attempt, stop: Callable[[], bool] | None = None) -> Made:
    """Return what becomes of an attempt, with its plan.

    It is the plan that returns the earliest, as `plan --earliest` makes it. Where the
    plan at hand holds with the changes too and keeps an earlier date, it is that one.
    """
    if words := _ruled_out(attempt):
        return Made(alternative=_without_plan(attempt, words, HowFound.RULED_OUT))
    search = attempt.search(stop)
    try:
        best = _played(attempt, answer(attempt.case, search), HowFound.PLANNED)
    except (NoPlanError, TimeUpError) as error:
        clash = error.conflict if isinstance(error, NoPlanError) else ()
        words = "; ".join([error.message, *clash[:1]])
        return Made(alternative=_without_plan(attempt, words, HowFound.PLANNED))
    best = _better(best, attempt)
    plan = worded(attempt.case, best.answer, best.odds, program=PROGRAM)
    alternative = Alternative(
        title=attempt.title,
        changes=attempt.changes,
        figures=figures_of(plan, best.odds, binding_words(plan)),
        say=attempt.say,
        parts=attempt.parts,
        found=best.found,
    )
    solved = solved_of(attempt.case, best.answer)
    hand = AtHand(answer=best.answer, kept=best.kept, solved=solved)
    return Made(alternative=alternative, at_hand=hand)


def _ruled_out(attempt: Attempt) -> str:
    """Return why an attempt needn't be planned; empty where it has to be."""
    hand = attempt.at_hand
    if hand is None or hand.kept is None or not attempt.may_lose:
        return ""
    least = not_before(attempt.inputs)
    if least is None or least < hand.kept:
        return ""
    zone = attempt.inputs.job.zone
    return f"whatever the plan, the stage isn't back before {moment_words(least, zone)}"


def _played(attempt: Attempt, found: Answer, how: HowFound) -> _Played:
    odds = odds_of_placed(
        attempt.inputs,
        found.placements,
        planned={r.kind: r.when for r in found.returns},
        futures=attempt.futures,
        seed=attempt.seed,
        threats=False,
    )
    return _Played(answer=found, odds=odds, found=how)


def _better(own: _Played, attempt: Attempt) -> _Played:
    """Return the plan, or that at hand where it holds and keeps an earlier date."""
    hand = attempt.at_hand
    if hand is None or not _later(own.kept, hand.kept):
        return own
    stands = as_it_stands(attempt.case, hand.answer)
    if stands is None:
        return own
    other = _played(attempt, stands, HowFound.STANDS)
    return other if _later(own.kept, other.kept) else own


def _later(one: datetime | None, two: datetime | None) -> bool:
    """Tell whether a date lies after another; None is later than was looked at."""
    return two is not None and (one is None or one > two)


def _without_plan(attempt: Attempt, why: str, found: HowFound) -> Alternative:
    return Alternative(
        title=attempt.title,
        changes=attempt.changes,
        figures=None,
        why=why,
        say=attempt.say,
        parts=attempt.parts,
        found=found,
    )


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

    def here(self, attempt: Attempt) -> Made:
        """Plan an attempt in this process, while the others get ready."""
        return made(attempt, self._stop)

    def all(self, attempts: Sequence[Attempt]) -> Iterator[tuple[int, Alternative]]:
        """Yield each attempt's number and outcome as it comes; fewer once stopped."""
        waiting: dict[Future[Alternative], int] = {
            self._pool.submit(tried, one): number for number, one in enumerate(attempts)
        }
        while waiting and not self._stop():
            done, _ = wait(waiting, timeout=LISTEN_S, return_when=FIRST_COMPLETED)
            for future in sorted(done, key=waiting.__getitem__):
                yield waiting.pop(future), future.result()
