"""The use case of `revise`: plan what is left of a job from what happened until now."""

import hashlib
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from pathlib import Path

from planner.errors import NoPlanError, PlannerError, TimeUpError
from planner.files.folder import outdir, planfile
from planner.files.folder.ours import EARLIER
from planner.files.folder.revision import Revision
from planner.files.logbook.appending import log_of, read_log
from planner.living.doubts import doubts_of
from planner.living.known import known_of
from planner.living.laid_over import with_log
from planner.living.went import Went, went
from planner.nouns.calendar import Busy
from planner.nouns.case import AgreedTask, Case, Past, SettledTask
from planner.nouns.happened import Happening, Logbook
from planner.nouns.ids import bare
from planner.nouns.inputs import Inputs
from planner.nouns.plan import Plan
from planner.planning.answer import Answer
from planner.planning.answering import answer
from planner.planning.horizons import HORIZON_WEEKS
from planner.planning.make import worded
from planner.planning.posing import posed
from planner.planning.problem import Problem
from planner.planning.searching import Search
from planner.promise.playing import not_played
from planner.schedule.first.later import moved_on
from planner.schedule.problem.outcome import Placement
from planner.usecases.plan import Choices
from planner.usecases.read import PROGRAM, read_inputs
from planner.usecases.standing import event_ids, knows, placements_of, revision_in

SOON = timedelta(
    days=2
)  # shifts called and deliveries within it move only if they must


@dataclass(frozen=True, slots=True, kw_only=True)
class Facts:
    """What a revision goes by: the plan that stands, the job as read, the log.

    `inputs` are without the log, `revised` by what the plan was revised before.
    """

    plan: Plan
    inputs: Inputs
    book: Logbook
    log: Path
    revised: Revision | None

    @property
    def is_current(self) -> bool:
        """Whether the plan that stands knows all this already."""
        if self.revised is None:
            logged = event_ids(self.book)
            return not logged and self.plan.fingerprint == self.inputs.fingerprint
        return knows(self.revised, self.inputs, self.book)


@dataclass(frozen=True, slots=True, kw_only=True)
class Revised:
    """A revision: the plan before and after it, and what had to be taken for granted.

    `taken` are the ids of tasks of which it was taken that they went as planned;
    `unkept` are bookings that the closure, which has begun, lies over now.
    """

    before: Plan
    after: Plan
    revision: Revision
    taken: tuple[str, ...]
    unkept: tuple[Busy, ...] = ()


def facts_of(job: Path, folder: Path) -> Facts:
    """Return what a revision of a job goes by.

    Raises
    ------
    PlannerError
        When no plan stands in the folder, or it is one of another job.
    """
    inputs = read_inputs(job)
    stored = outdir.read(folder, "plan.json")
    if stored is None:
        raise PlannerError(
            "there is no plan to revise",
            where=str(folder),
            hint=f"plan first: covetime plan {job}",
        )
    plan = planfile.read_plan(stored, file=str(folder / "plan.json"))
    if (
        plan.plan_id != inputs.job.plan_id
        or plan.tick_minutes != inputs.job.tick_minutes
    ):
        raise PlannerError(
            "the plan that stands there is one of another job, or of other steps",
            where=str(folder),
            hint=f"plan anew: covetime plan {job} --anew",
        )
    log = log_of(job)
    return Facts(
        plan=plan,
        inputs=inputs,
        book=read_log(log),
        log=log,
        revised=revision_in(folder, plan),
    )


def remarks(facts: Facts) -> tuple[str, ...]:
    """Return in words what of the log is broken, gone from the job, or questioned."""
    weeks = HORIZON_WEEKS[0]
    job = facts.inputs.job
    known = known_of(job, posed(Case(inputs=facts.inputs), weeks=weeks).work)
    doubted = doubts_of(facts.book, known)
    gone = [e for e in facts.book.counting if known.is_gone(e)]
    return (
        *(
            f"line {b.number} of the log can't be used: {b.why}"
            for b in facts.book.broken
        ),
        *(f"{_named(e)}: the job has no such thing any more" for e in gone),
        *(
            f"{_named(e)}: kept though questioned: {doubt}"
            for e in facts.book.counting
            for doubt in doubted.get(e.id, ())
        ),
    )


def _named(event: Happening) -> str:
    return f"{event.what} {bare(event.about)}".strip()


def revise(
    facts: Facts, choices: Choices, *, now: datetime, strict: bool = False
) -> Revised:
    """Return what is left of a job planned anew, near the plan that stands.

    Raises
    ------
    NoPlanError, TimeUpError
        When what is left can't be planned, or wasn't in time.
    PlannerError
        With `strict`, when the log doesn't say how a task went.
    """
    file = facts.log.name
    inputs = with_log(facts.inputs, facts.book, file=file)
    plain = posed(Case(inputs=inputs), weeks=HORIZON_WEEKS[0])
    here = plain.grid.instant(plain.grid.floor(now))
    since = facts.revised.now if facts.revised else None
    told = went(facts.plan, facts.book, plain.work, now=here, since=since)
    if strict and told.taken:
        raise PlannerError(
            "the log doesn't say how these went: "
            + ", ".join(facts.plan.short_id(t) for t in told.taken),
            where=file,
            hint="log them, or revise without --strict: they are taken as planned",
        )
    known = {t.id for t in plain.work.tasks}
    past = replace(
        told.past, tasks=tuple(p for p in told.past.tasks if p.task in known)
    )
    case = Case(inputs=inputs, past=past, agreed=_agreed(facts.plan, told))
    unkept: tuple[Busy, ...] = ()
    try:
        found, asked = _answered(case, facts.plan, choices)
    except NoPlanError:
        if not _is_closed(plain, past):
            raise
        found, asked, unkept = _over_bookings(case, facts.plan, choices)
    odds = not_played(inputs, {r.kind: r.when for r in found.returns})
    after = worded(asked, found, odds, program=PROGRAM)
    return Revised(
        before=facts.plan,
        after=after,
        revision=Revision(
            plan=after.fingerprint,
            inputs=facts.inputs.fingerprint,
            events=event_ids(facts.book),
            now=here,
        ),
        taken=told.taken,
        unkept=unkept,
    )


def _is_closed(problem: Problem, past: Past) -> bool:
    """Tell whether work on the stage has begun: then it can't be given back in between."""
    on_stage = {t.id for t in problem.work.tasks if t.on_stage}
    return any(p.task in on_stage for p in past.tasks)


def _over_bookings(
    case: Case, plan: Plan, choices: Choices
) -> tuple[Answer, Case, tuple[Busy, ...]]:
    """Return the best answer if bookings to come are left out that it lies over.

    Raises
    ------
    NoPlanError
        When no plan keeps the other facts either.
    """
    assert case.past is not None
    now, hours = case.past.now, case.inputs.hours

    def without(gone: tuple[Busy, ...]) -> Case:
        kept = tuple(b for b in hours.bookings if b not in gone)
        said = " ".join(sorted(b.uid for b in gone))
        mark = hashlib.sha256(f"{case.inputs.fingerprint} {said}".encode()).hexdigest()
        inputs = replace(
            case.inputs, hours=replace(hours, bookings=kept), fingerprint=mark
        )
        return replace(case, inputs=inputs)

    to_come = tuple(b for b in hours.bookings if b.end > now)
    if not to_come:
        raise NoPlanError("no plan is left", conflict=())
    free, _ = _answered(without(to_come), plan, choices)
    unkept = tuple(b for b in to_come if b.start < free.closure[1])
    found, asked = _answered(without(unkept), plan, choices)
    return found, asked, unkept


def _agreed(plan: Plan, told: Went) -> tuple[AgreedTask, ...]:
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
    weeks = next(
        w
        for w in HORIZON_WEEKS
        if w * 7 * 24 * 60 + 120 >= plan.grid_ticks * plan.tick_minutes
    )
    problem = posed(case, weeks=weeks)
    near = _placed(plan, problem)
    search = replace(choices.search(), near=near)
    settled = replace(case, settled=_settled(case, plan, problem, near))
    if settled.settled:
        try:
            return _best(settled, search), settled
        except NoPlanError:
            pass  # what was settled can't all stay after all
    return _best(case, search), case


def _best(case: Case, search: Search) -> Answer:
    """Return the best answer with the teams as they were.

    Other teams are only told to people where they bring the stage back sooner.
    """
    near = answer(case, search)
    if search.over():
        return near
    try:
        free = answer(case, replace(search, near=()))
    except TimeUpError:
        return near
    return free if free.worth.full_service < near.worth.full_service else near


def _placed(plan: Plan, problem: Problem) -> tuple[Placement, ...]:
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


def earlier_plan(folder: Path) -> tuple[Plan, Revision | None]:
    """Return the plan that stood before the one that stands, and its revision if any.

    Raises
    ------
    PlannerError
        When none is kept.
    """
    kept = folder / EARLIER
    names = [p.name for p in kept.iterdir()] if kept.is_dir() else []
    for name in sorted((n for n in names if n.isdigit()), key=int, reverse=True):
        stored = outdir.read(kept / name, "plan.json")
        if stored is not None:
            plan = planfile.read_plan(stored, file=str(kept / name / "plan.json"))
            return plan, revision_in(kept / name, plan)
    raise PlannerError("no earlier plan is kept", where=str(folder))
