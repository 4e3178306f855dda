"""A way to do a job, tried: a full plan with its odds, or why there is none."""

from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from enum import Enum

from planner.errors import NoPlanError, TimeUpError
from planner.nouns.case import ANY_TIME, Case, ClosureWindow
from planner.nouns.choices.comparison import Alternative, HowFound, figures_of
from planner.nouns.inputs import Inputs
from planner.nouns.odds import Odds
from planner.nouns.work import ReturnKind
from planner.planning.answer import Answer
from planner.planning.answering import answer
from planner.planning.as_it_stands import as_it_stands
from planner.planning.least_return import not_before
from planner.planning.make import worded
from planner.planning.searching import Search
from planner.promise.keeping import kept_from
from planner.promise.nearby import kept_near
from planner.promise.playing import odds_of_placed, say_nothing
from planner.report.words.binding import binding_words
from planner.schedule.problem.limits import StoppedError
from planner.units import moment_words
from planner.usecases.plan import Choices
from planner.usecases.read import PROGRAM


class Way(Enum):
    """How a plan is looked for."""

    EARLIEST = "the one that returns the earliest, as `plan --earliest` makes it"
    KEPT = "the one that is kept the earliest, as `plan` makes it"
    NEAR = "one near the plan at hand, in a tenth of the time"


@dataclass(frozen=True, slots=True, kw_only=True)
class AtHand:
    """The plan of the job as it is, which alternatives are weighed against.

    `kept` is the date that it keeps; None where that is later than was looked at.
    """

    answer: Answer
    kept: datetime | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Attempt:
    """What is to be planned: a job with its changes, and the plan, if one stands.

    The stage may be closed in the `window` only. `way` is how it is planned. `explain` says whether the rules that
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
    way: Way = Way.EARLIEST
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
        return choices.search()


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


def made(
    attempt: Attempt,
    stop: Callable[[], bool] | None = None,
    step: Callable[[str], None] = say_nothing,
) -> Made:
    """Return what becomes of an attempt, with its plan.

    Where the plan at hand holds with the changes too and keeps an earlier date, it is
    that one. `step` is told in words what is being done.
    """
    if words := _ruled_out(attempt):
        return Made(alternative=_without_plan(attempt, words, HowFound.RULED_OUT))
    try:
        best = _found(attempt, attempt.search(stop), step)
    except (NoPlanError, TimeUpError) as error:
        clash = error.conflict if isinstance(error, NoPlanError) else ()
        words = "; ".join([error.message, *clash[:1]])
        return Made(alternative=_without_plan(attempt, words, HowFound.PLANNED))
    best = _stands(attempt, best.kept) or best
    hand = AtHand(answer=best.answer, kept=best.kept)
    return Made(alternative=_told(attempt, best), at_hand=hand)


def weighed(one: Alternative, attempt: Attempt) -> Alternative:
    """Return what became of an attempt, or the plan at hand where that keeps a better date.

    `one` was planned when there was none at hand yet.
    """
    if one.figures is None:
        return one
    stands = _stands(attempt, one.figures.full.kept)
    return one if stands is None else _told(attempt, stands)


def _told(attempt: Attempt, best: _Played) -> Alternative:
    plan = worded(attempt.case, best.answer, best.odds, program=PROGRAM)
    return Alternative(
        title=attempt.title,
        changes=attempt.changes,
        figures=figures_of(plan, best.odds, binding_words(plan)),
        say=attempt.say,
        parts=attempt.parts,
        found=best.found,
    )


def _found(attempt: Attempt, search: Search, step: Callable[[str], None]) -> _Played:
    """Return the plan of an attempt, found in its way.

    Raises
    ------
    NoPlanError, TimeUpError
        As `answering.answer` does.
    """
    case, hand = attempt.case, attempt.at_hand
    percent = case.inputs.job.sure_percent
    if attempt.way is Way.NEAR and hand is not None:
        near = kept_near(case, hand.answer, search, percent=percent, seed=attempt.seed)
        if near is not None:
            return _played(attempt, near, HowFound.NEAR)
    known = hand is not None and hand.answer.fingerprint == case.fingerprint
    found = hand.answer if known and hand else answer(case, search)
    if attempt.way is Way.KEPT and not search.over():
        with suppress(StoppedError):
            found = kept_from(
                case,
                found,
                search,
                percent=percent,
                seed=attempt.seed,
                futures=attempt.futures,
                step=step,
            ).answer
    return _played(attempt, found, HowFound.PLANNED)


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


def _stands(attempt: Attempt, kept: datetime | None) -> _Played | None:
    """Return the plan at hand with the changes, where it holds and keeps a better date.

    `kept` is the date that the attempt's own plan keeps.
    """
    hand = attempt.at_hand
    if hand is None or not _later(kept, hand.kept):
        return None
    stands = as_it_stands(attempt.case, hand.answer)
    if stands is None:
        return None
    other = _played(attempt, stands, HowFound.STANDS)
    return other if _later(kept, other.kept) else None


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
