"""A job that has no plan: which small changes would leave one, each planned to know."""

import shlex
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
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
from planner.planning.posing import problem_of, takeoff_of
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


def _smallest(
    papers: Papers,
    way: WayOut,
    search: Search,
    facts: tuple[str, ...],
    case_of: CaseOf,
) -> str | None:
    """Return, in words, the first change of a kind with which a plan was found."""

    def told(one: Lever) -> str | None:
        for idea in read_levers(papers, [one]):
            plan = first_fit(case_of(idea.inputs), search)
            if plan is not None:
                when = _needed_when(
                    papers.inputs().job,
                    idea.inputs,
                    plan,
                    facts if "air" in one.keys else (),
                )
                return f"{one.title}{when} (--change {shlex.quote(one.say)})"
        return None

    if not way.levers:
        return None
    last = told(way.levers[-1]) if way.rising else None
    if way.rising and last is None:
        return None
    for one in way.levers[:-1] if way.rising else way.levers:
        if (words := told(one)) is not None:
            return words
    return last


def _needed_when(
    before: Job, after: Inputs, plan: Answer, facts: tuple[str, ...]
) -> str:
    """Return when a change matters in a plan, by days: empty where it does all the time.

    Those who were added are needed for the work that nobody else may lead; other air for
    the coats whose limits clash.
    """
    job = after.job
    new = [p for p in job.crew if p.id not in {x.id for x in before.crew}]
    tasks = work(job, takeoff_of(after), after.products).tasks
    if new:
        old = {t for p in before.crew for t in p.trades}
        alone = {t.id for t in tasks if not old & set(t.lead)}
        mine = [p for p in plan.placements if {x.id for x in new} & set(p.team)]
        rows = [p for p in mine if p.task in alone] or mine
        words = "needed in the plan found"
    else:
        coats = {f.removeprefix(LIMITS) for f in facts if f.startswith(LIMITS)}
        laid = {t.id for t in tasks if t.product in coats}
        rows = [p for p in plan.placements if p.task in laid]
        words = "for coats that the plan found has"
    if not rows:
        return ""
    first, last = (
        day_words(plan.grid.instant(tick), job.zone)
        for tick in (min(p.start for p in rows), max(p.end for p in rows) - 1)
    )
    return f", {words} from {first} to {last}"
