"""What is left of a job, planned near the plan that people know."""

import hashlib
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from planner.errors import NoPlanError, TimeUpError
from planner.living.went import Went
from planner.nouns.calendar import Busy
from planner.nouns.case import AgreedTask, Case, Past, SettledTask
from planner.nouns.ids import bare
from planner.nouns.odds import Odds
from planner.nouns.plan import Plan
from planner.nouns.work import ReturnKind
from planner.odds.tally import FUTURES
from planner.planning.answer import Answer
from planner.planning.answering import answer
from planner.planning.horizons import HORIZON_WEEKS
from planner.planning.posing import posed
from planner.planning.problem import Problem
from planner.planning.searching import Search
from planner.promise.playing import odds_of_placed
from planner.schedule.first.later import moved_on
from planner.schedule.problem.outcome import Placement
from planner.usecases.living.placed import placements_of
from planner.usecases.plan import Choices

SOON = timedelta(
    days=2
)  # shifts called and deliveries within it move only if they must
SOME = 2_000  # futures in which two plans are told apart


@dataclass(frozen=True, slots=True, kw_only=True)
class Left:
    """The plan of what is left, the case that it answers, bookings that don't fit."""

    answer: Answer
    case: Case
    unkept: tuple[Busy, ...] = ()


def planned_rest(case: Case, plan: Plan, choices: Choices, problem: Problem) -> Left:
    """Return what is left of a job, planned near an earlier plan of it.

    `problem` is the job's own. Bookings that the closure lies over are left out where
    the work on the stage has begun and no plan keeps them.

    Raises
    ------
    NoPlanError, TimeUpError
        When what is left can't be planned, or wasn't in time.
    """
    assert case.past is not None
    try:
        found, asked = _answered(case, plan, choices)
    except NoPlanError:
        if not _is_closed(problem, case.past) or not _to_come(case):
            raise
        return _over_bookings(case, plan, choices)
    return Left(answer=found, case=asked)


def odds_of_left(
    left: Left, choices: Choices, *, threats: bool, futures: int = FUTURES
) -> Odds:
    """Return how sure the returns of what is left are, its past known."""
    found = left.answer
    return odds_of_placed(
        left.case.inputs,
        found.placements,
        planned={r.kind: r.when for r in found.returns},
        futures=futures,
        threats=threats,
        shares=False,
        past=left.case.past,
        over=choices.search().over,
        step=choices.step,
    )


def promise_of(odds: Odds) -> datetime | None:
    """Return by when full service is promised; None: later than was looked at."""
    full = next(r for r in odds.returns if r.kind is ReturnKind.FULL_SERVICE)
    return full.promised(odds.sure_percent)


def _is_closed(problem: Problem, past: Past) -> bool:
    """Tell whether work on the stage has begun: then it can't be given back in between."""
    on_stage = {t.id for t in problem.work.tasks if t.on_stage}
    return any(p.task in on_stage for p in past.tasks)


def _to_come(case: Case) -> tuple[Busy, ...]:
    """Return the bookings that aren't over."""
    assert case.past is not None
    now = case.past.now
    return tuple(b for b in case.inputs.hours.bookings if b.end > now)


def _over_bookings(case: Case, plan: Plan, choices: Choices) -> Left:
    """Return the best answer if bookings to come are left out that it lies over.

    Raises
    ------
    NoPlanError
        When no plan keeps the other facts either.
    """
    assert case.past is not None
    hours = case.inputs.hours

    def without(gone: tuple[Busy, ...]) -> Case:
        kept = tuple(b for b in hours.bookings if b not in gone)
        said = " ".join(sorted(b.uid for b in gone))
        mark = hashlib.sha256(f"{case.inputs.fingerprint} {said}".encode()).hexdigest()
        inputs = replace(
            case.inputs, hours=replace(hours, bookings=kept), fingerprint=mark
        )
        return replace(case, inputs=inputs)

    to_come = _to_come(case)
    free, _ = _answered(without(to_come), plan, choices)
    unkept = tuple(b for b in to_come if b.start < free.closure[1])
    found, asked = _answered(without(unkept), plan, choices)
    return Left(answer=found, case=asked, unkept=unkept)


def agreed(plan: Plan, told: Went) -> tuple[AgreedTask, ...]:
    """Return where the tasks that haven't begun lie in a plan, and who is to do them."""
    begun = {p.task for p in told.past.tasks}
    return tuple(
        AgreedTask(task=bare(t.id), start=t.start, team=t.team)
        for t in plan.tasks
        if bare(t.id) not in begun
    )


def _answered(case: Case, plan: Plan, choices: Choices) -> tuple[Answer, Case]:
    """Return the best answer near a plan, and the case that it answers.

    What begins soon is settled as far as it needn't move; where even that leaves no
    plan, nothing is.
    """
    problem = posed(case, weeks=weeks_of(plan))
    near = placed_in(plan, problem)
    search = replace(choices.search(), near=near)
    settled = replace(case, settled=_settled(case, plan, problem, near))
    if settled.settled:
        try:
            quietly = replace(search, explain=False)
            return _best(settled, quietly, plan, choices), settled
        except NoPlanError:
            pass  # what was settled can't all stay after all
    return _best(case, search, plan, choices), case


def moved_on_from(plan: Plan, case: Case, like: Answer) -> tuple[Placement, ...] | None:
    """Return an earlier plan moved on until it holds in a case, order and teams kept.

    It is looked for as far ahead as the answer `like`. None: that leaves no plan.
    """
    weeks = max(weeks_of(plan), len(like.grid.days()) // 7)
    problem = posed(case, weeks=weeks)
    return moved_on(problem.instance, placed_in(plan, problem))


def weeks_of(plan: Plan) -> int:
    """Return the weeks of the grid that a plan was made on; clocks may have changed in it."""
    return next(
        w
        for w in HORIZON_WEEKS
        if w * 7 * 24 * 60 + 120 >= plan.grid_ticks * plan.tick_minutes
    )


def _best(case: Case, search: Search, plan: Plan, choices: Choices) -> Answer:
    """Return the best answer with the teams as they were.

    Other teams are only told to people where the promise can't be kept without them and
    is kept sooner with them.
    """
    near = answer(case, search)
    known = plan.stage.returning(ReturnKind.FULL_SERVICE)
    if search.over() or near.worth.full_service <= known.when:
        return near

    def promise(found: Answer) -> datetime | None:
        left = Left(answer=found, case=case)
        return promise_of(odds_of_left(left, choices, threats=False, futures=SOME))

    by_near = promise(near)
    if known.promise is None or (by_near is not None and by_near <= known.promise):
        return near
    try:
        free = answer(case, replace(search, near=()))
    except TimeUpError:
        return near
    if free.worth.full_service >= near.worth.full_service:
        return near
    by_free = promise(free)
    sooner = by_free is not None and (by_near is None or by_free < by_near)
    return free if sooner else near


def placed_in(plan: Plan, problem: Problem) -> tuple[Placement, ...]:
    """Return a plan's tasks on a problem's grid; what happened is a task of nobody."""
    known = {t.id for t in problem.work.tasks}
    done = {
        p.task: p.start
        for p in problem.instance.pins
        if p.task in problem.past and p.start is not None
    }
    out = []
    for one in placements_of(plan):
        if one.task not in known:
            continue
        if one.task in done:
            past = problem.past[one.task]
            spans = type(past.worked)(((past.start, past.end),))
            out.append(replace(past, team=(), worked=spans))
        else:
            out.append(one)
    return tuple(out)


def _settled(
    case: Case, plan: Plan, problem: Problem, near: tuple[Placement, ...]
) -> tuple[SettledTask, ...]:
    """Return the tasks that begin soon and needn't move for what happened."""
    assert case.past is not None
    moved = moved_on(problem.instance, near)
    if moved is None:
        return ()
    starts = {p.task: p.start for p in moved}
    soon = case.past.now + SOON
    begun = {p.task for p in case.past.tasks}
    return tuple(
        SettledTask(task=bare(t.id), start=t.start, team=t.team)
        for t in plan.tasks
        if bare(t.id) not in begun
        and t.start < soon
        and starts.get(bare(t.id)) == problem.grid.floor(t.start)
    )
