"""A job that has no plan: which small changes would leave one, each planned to know."""

import shlex
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from time import monotonic
from zoneinfo import ZoneInfo

from planner.errors import NoPlanError, PlannerError, TimeUpError
from planner.hours.open import entry_words
from planner.levers.lever import Lever
from planner.levers.ways_out import WayOut, ways_out
from planner.nouns.calendar import Busy
from planner.nouns.case import Case, ClosureWindow
from planner.nouns.inputs import Inputs
from planner.nouns.job import Job
from planner.planning.answer import Answer
from planner.planning.answering import answer, first_fit
from planner.planning.posing import posed_from, problem_of, takeoff_of
from planner.planning.problem import LIMITS
from planner.planning.refusals.needed import free_between, without_bookings
from planner.planning.refusals.no_plan import EXPLAINED_WEEKS
from planner.planning.searching import Search
from planner.planning.shut import BOOKING
from planner.schedule.problem.limits import SearchLimits
from planner.trade.work import work
from planner.units import day_words, moment_words
from planner.usecases.comparing.compare import read_levers
from planner.usecases.read import Papers

MOST = 3  # changes told
LOOKED_S = 5.0  # on the clock: whoever waits for a refusal waits for no more
WORK = 0.25  # of one search, which ends with the first plan


CaseOf = Callable[[Inputs], Case]


def from_its_start(inputs: Inputs) -> Case:
    """Return a job as it is read as what is to be planned: all of it."""
    return Case(inputs=inputs)


def with_ways_out(
    job: Path,
    error: NoPlanError,
    stop: Callable[[], bool],
    until_s: float | None,
    case_of: CaseOf = from_its_start,
) -> NoPlanError:
    """Return a refusal with up to three changes, with each of which a plan was found.

    They are looked for until a moment of the monotonic clock, and for a few seconds.
    `case_of` says what of a job with a change is to be planned.
    """
    last = min(x for x in (until_s, monotonic() + LOOKED_S) if x is not None)
    try:
        papers = Papers(job)
        return error.with_fits(_found(papers, error, stop, last, case_of))
    except (PlannerError, KeyboardInterrupt):  # the refusal is what was asked for
        return error


def _found(
    papers: Papers,
    error: NoPlanError,
    stop: Callable[[], bool],
    until_s: float,
    case_of: CaseOf,
) -> tuple[str, ...]:
    out: list[str] = []
    limits = SearchLimits(work=WORK, until_s=until_s)
    search = Search(limits=limits, stop=stop)
    inputs = papers.inputs()
    whole = case_of(inputs).past is None
    if whole and any(f.startswith(BOOKING) for f in error.facts):
        half = replace(search.part(0.5), explain=False)
        out += _let_again(inputs, half)
    called = {
        f"{BOOKING}{b.file}:{b.uid}": entry_words(b) for b in inputs.hours.bookings
    }
    for way in ways_out(inputs.job, papers.values, error.facts, called):
        if len(out) == MOST or search.over():
            break
        if not way.may_ease(error.facts):
            continue
        one = _smallest(papers, way, search, error.facts, case_of)
        if one is not None:
            out.append(one)
    return tuple(out)


def _let_again(inputs: Inputs, search: Search) -> Iterator[str]:
    """Yield from when the stage may be let again, if it is closed in the longest free time."""
    gaps = free_between(problem_of(inputs, weeks=EXPLAINED_WEEKS))
    if not gaps:
        return
    start = min(gaps, key=lambda g: (-g.length, g.start)).start
    free = without_bookings(inputs, start)
    case = Case(inputs=free, window=ClosureWindow(not_before=start))
    try:
        plan = answer(case, search)
    except (NoPlanError, TimeUpError):
        return
    zone, back = inputs.job.zone, plan.closure[1]
    met = [b for b in inputs.hours.bookings if b.start < back and b.end > start]
    yield (
        f"the stage free from {moment_words(start, zone)} on and let again from "
        f"{moment_words(back, zone)}, so without {_met_words(met, zone)}"
    )


def _met_words(met: Sequence[Busy], zone: ZoneInfo) -> str:
    """Return bookings by their entries, each with the days on which it is in the way."""
    days: dict[str, list[str]] = {}
    for one in sorted(met, key=lambda b: b.start):
        days.setdefault(entry_words(one), []).append(day_words(one.start, zone))
    return "; ".join(f"{words} on {' and '.join(on)}" for words, on in days.items())


@dataclass(frozen=True, slots=True, kw_only=True)
class _Fit:
    """A change with which a plan was found: what the job then is, and the plan."""

    lever: Lever
    inputs: Inputs
    plan: Answer

    def days_words(self, ticks: Iterable[int]) -> str:
        """Return the first and the last day of ticks of the plan."""
        spread = list(ticks)
        first, last = (
            day_words(self.plan.grid.instant(tick), self.inputs.job.zone)
            for tick in (min(spread), max(spread))
        )
        return f"from {first} to {last}"


def _smallest(
    papers: Papers,
    way: WayOut,
    search: Search,
    facts: tuple[str, ...],
    case_of: CaseOf,
) -> str | None:
    """Return, in words, the first change of a kind with which a plan was found."""

    def fit(one: Lever) -> _Fit | None:
        for idea in read_levers(papers, [one]):
            plan = first_fit(case_of(idea.inputs), search)
            if plan is not None:
                return _Fit(lever=one, inputs=idea.inputs, plan=plan)
        return None

    if not way.levers:
        return None
    last = fit(way.levers[-1]) if way.rising else None
    if way.rising and last is None:
        return None
    smaller = way.levers[:-1] if way.rising else way.levers
    found = next((f for one in smaller if (f := fit(one)) is not None), last)
    if found is None:
        return None
    before = papers.inputs()
    when = (
        _air_since(found, before, facts, search, case_of)
        if "air" in found.lever.keys
        else _called_when(found, before.job)
    )
    return f"{found.lever.title}{when} (--change {shlex.quote(found.lever.say)})"


def _called_when(fit: _Fit, before: Job) -> str:
    """Return when those who were added are needed; empty where nobody was.

    That is for the work that nobody else may lead, if there is any.
    """
    job = fit.inputs.job
    new = {p.id for p in job.crew} - {p.id for p in before.crew}
    if not new:
        return ""
    old = {t for p in before.crew for t in p.trades}
    tasks = work(job, takeoff_of(fit.inputs), fit.inputs.products).tasks
    alone = {t.id for t in tasks if not old & set(t.lead)}
    mine = [p for p in fit.plan.placements if new & set(p.team)]
    rows = [p for p in mine if p.task in alone] or mine
    if not rows:
        return ""
    ticks = [t for p in rows for t in (p.start, p.end - 1)]
    return f", needed in the plan found {fit.days_words(ticks)}"


def _air_since(
    fit: _Fit,
    before: Inputs,
    facts: tuple[str, ...],
    search: Search,
    case_of: CaseOf,
) -> str:
    """Return from which day on other air is enough, if a plan shows it.

    The day is that on which the first of the coats whose limits clash was laid in the
    plan found. Until then the room's air is as it was, and a plan is sought anew.
    """
    coats = {f.removeprefix(LIMITS) for f in facts if f.startswith(LIMITS)}
    tasks = work(fit.inputs.job, takeoff_of(fit.inputs), fit.inputs.products).tasks
    laid = {t.id for t in tasks if t.product in coats}
    rows = [p for p in fit.plan.placements if p.task in laid]
    if not rows:
        return ""
    grid, first = fit.plan.grid, min(p.start for p in rows)
    since = grid.instant(max(begin for _, begin, _ in grid.days() if begin <= first))
    pose = partial(posed_from, before=before, since=since)
    if first_fit(case_of(fit.inputs), search, pose) is not None:
        return f", from {day_words(since, grid.zone)} on"
    ticks = [t for p in rows for t in (p.start, p.end - 1)]
    return f", for coats that the plan found has {fit.days_words(ticks)}"
