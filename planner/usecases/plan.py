"""Plan a job: the best plan found, checked."""

from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, field, replace
from pathlib import Path
from time import monotonic

from planner.hours.grid import Grid
from planner.nouns.case import ANY_TIME, Case, ClosureWindow
from planner.nouns.inputs import Inputs
from planner.nouns.odds import HindsightBound, Odds
from planner.nouns.plan import Plan
from planner.planning.answer import Answer
from planner.planning.answering import answer
from planner.planning.make import worded
from planner.planning.problem import Problem
from planner.planning.searching import Search
from planner.promise.hindsight import hindsight_bound
from planner.promise.keeping import KeptPlan, kept_from
from planner.promise.playing import odds_of_placed, say_nothing
from planner.promise.wording import (
    NO_BOUND,
    NO_TIME_FOR_BOUND,
    cut_short_words,
    kept_words,
)
from planner.schedule.problem.limits import SearchLimits, StoppedError
from planner.schedule.problem.outcome import Placement, Progress
from planner.usecases.read import PROGRAM, read_inputs

# Of the seconds of a run, what is kept for its end: to play, word, judge and write the
# plan; a tenth of them, and no more than this.
ENDING_S = 5.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Choices:
    """What the command line may choose for a run of the planner.

    `seconds` count from `since_s`, a moment of the monotonic clock at which the run
    began; by default from the making of the choices. `explain` says whether the rules
    that clash are looked for where there is no plan; `keep` whether the plan is made to
    be kept, which takes several times as long, or returns the earliest; `bound` whether
    it is told what no plan can promise, which takes as long again.
    """

    work_limit: float | None = None
    seconds: float | None = None
    since_s: float = field(default_factory=monotonic)
    explain: bool = True
    keep: bool = False
    bound: bool = False
    on_progress: Callable[[Progress, Grid], None] | None = None
    on_found: Callable[[Problem, tuple[Placement, ...]], None] | None = None
    stop: Callable[[], bool] | None = None
    step: Callable[[str], None] = say_nothing

    def search(self) -> Search:
        """Return the choices as a search."""
        usual = SearchLimits()
        seconds = self.seconds
        if seconds is not None:
            seconds -= min(ENDING_S, seconds / 10)
        until_s = None if seconds is None else self.since_s + seconds
        return Search(
            limits=SearchLimits(
                work=usual.work if self.work_limit is None else self.work_limit,
                clock_s=seconds,
                until_s=until_s,
            ),
            on_progress=self.on_progress,
            on_found=self.on_found,
            stop=self.stop,
            explain=self.explain,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Promised:
    """An answer to a case, and its odds in the futures that every plan meets.

    Where it was made to be kept, `best` sums up what it was chosen from; `remarks` say
    so, and what was left out for want of time.
    """

    answer: Answer
    odds: Odds
    best: KeptPlan | None = None
    remarks: tuple[str, ...] = ()


def promised(
    case: Case,
    search: Search,
    *,
    keep: bool = False,
    bound: bool = False,
    step: Callable[[str], None] = say_nothing,
) -> Promised:
    """Return the answer that a case is planned by, with what can be promised of it.

    With `keep` it is the one that promises the earliest return, of those that were
    found; else the one that returns the earliest if all goes as planned. Once the search
    is over, by its clock or an interrupt, what can be left out is, and a remark says so.

    Raises
    ------
    NoPlanError, TimeUpError
        As `answering.answer` does.
    """
    found = answer(case, search)
    best: KeptPlan | None = None
    if keep and not search.over():
        percent = case.inputs.job.sure_percent
        with suppress(StoppedError):
            best = kept_from(case, found, search, percent=percent, step=step)
            found = best.answer
    odds = odds_of_placed(
        case.inputs,
        found.placements,
        planned={r.kind: r.when for r in found.returns},
        shares=False,
        over=search.over,
        step=step,
    )
    best_possible, left_out = None, ""
    if bound:
        best_possible, left_out = _bound(case, found, search, step)
    return Promised(
        answer=found,
        odds=replace(odds, bound=best_possible),
        best=best,
        remarks=(
            *((left_out,) if left_out else ()),
            *(() if best is None else kept_words(best, case.inputs.job)),
            *cut_short_words(search.why_over(), odds, best, keep=keep),
        ),
    )


def _bound(
    case: Case, found: Answer, search: Search, step: Callable[[str], None]
) -> tuple[HindsightBound | None, str]:
    """Return what no plan of a case can promise, or why that isn't told."""
    step("looking at futures in which everything is known")
    last, percent = max(r.when for r in found.returns), case.inputs.job.sure_percent
    try:
        bound = hindsight_bound(case, last, percent=percent, over=search.over)
    except StoppedError:
        return None, NO_TIME_FOR_BOUND
    return bound, "" if bound is not None else NO_BOUND


def plan_job(path: Path, choices: Choices) -> Plan:
    """Return the best plan of a job file, checked."""
    return plan_inputs(read_inputs(path), choices)


def plan_inputs(
    inputs: Inputs, choices: Choices, *, window: ClosureWindow = ANY_TIME
) -> Plan:
    """Return the best plan of a job as it was read, closed in a window; checked."""
    case = Case(inputs=inputs, window=window)
    found = promised(
        case,
        choices.search(),
        keep=choices.keep,
        bound=choices.bound,
        step=choices.step,
    )
    return worded(
        case,
        found.answer,
        found.odds,
        program=PROGRAM,
        remarks=found.remarks,
    )
