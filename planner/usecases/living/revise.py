"""The use case of `revise`: plan what is left of a job from what happened until now."""

from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

from planner.errors import PlannerError
from planner.files.folder import outdir, planfile
from planner.files.folder.ours import EARLIER
from planner.files.folder.revision import Revision
from planner.files.logbook.appending import log_of, read_log
from planner.living.doubts import doubts_of
from planner.living.known import known_of, with_patches
from planner.living.laid_over import with_learned, with_log, with_shown
from planner.living.moved import earlier_places
from planner.living.shown import shown
from planner.living.went import Went, went
from planner.nouns.calendar import Busy
from planner.nouns.case import Case
from planner.nouns.happened import Happening, Logbook
from planner.nouns.ids import bare
from planner.nouns.inputs import Inputs
from planner.nouns.odds import NOTHING, Learned
from planner.nouns.plan import Plan
from planner.odds.tally import FUTURES
from planner.planning.horizons import HORIZON_WEEKS
from planner.planning.make import worded
from planner.planning.posing import posed
from planner.planning.problem import Problem
from planner.usecases.living.learning import learned
from planner.usecases.living.left import agreed, odds_of_left, planned_rest
from planner.usecases.living.moved_promise import MovedBy, causes
from planner.usecases.plan import Choices
from planner.usecases.read import PROGRAM, read_inputs
from planner.usecases.standing import event_ids, knows, revision_in


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
    `unkept` are bookings that the closure, which has begun, lies over now; `learned` is
    what the log taught of the crew's pace and of how its coats dry; `causes` what of
    it moved the promise.
    """

    before: Plan
    after: Plan
    revision: Revision
    taken: tuple[str, ...]
    unkept: tuple[Busy, ...] = ()
    learned: Learned = NOTHING
    causes: tuple[MovedBy, ...] = ()


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
    work = posed(Case(inputs=facts.inputs), weeks=weeks).work
    known = with_patches(known_of(job, work), facts.book)
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Rest:
    """What is left of a job, before it is planned: its case, and what the log says.

    `problem` is the job's own, before anything was learned.
    """

    case: Case
    told: Went
    learned: Learned
    problem: Problem


def rest_of(facts: Facts, now: datetime) -> Rest:
    """Return what is left of a job at a moment, by its log."""
    inputs = with_log(facts.inputs, facts.book, file=facts.log.name)
    plain = posed(Case(inputs=inputs), weeks=HORIZON_WEEKS[0])
    here = plain.grid.instant(plain.grid.floor(now))
    since = facts.revised.now if facts.revised else None
    told = went(facts.plan, facts.book, plain.work, now=here, since=since)
    inputs = with_shown(inputs, shown(facts.book, told, plain.work))
    plain = posed(Case(inputs=inputs), weeks=HORIZON_WEEKS[0])
    known = {t.id for t in plain.work.tasks}
    past = replace(
        told.past, tasks=tuple(p for p in told.past.tasks if p.task in known)
    )
    taught = learned(facts.plan, facts.book, told, plain)
    case = Case(
        inputs=with_learned(inputs, taught), past=past, agreed=agreed(facts.plan, told)
    )
    return Rest(case=case, told=told, learned=taught, problem=plain)


def revise(
    facts: Facts,
    choices: Choices,
    *,
    now: datetime,
    strict: bool = False,
    futures: int = FUTURES,
    why: bool = True,
) -> Revised:
    """Return what is left of a job planned anew, near the plan that stands.

    Its promise is made from so many futures. With `why`, it is also worked out what
    moved the promise and what threatens it, which takes as long again.

    Raises
    ------
    NoPlanError, TimeUpError
        When what is left can't be planned, or wasn't in time.
    PlannerError
        With `strict`, when the log doesn't say how a task went.
    """
    file = facts.log.name
    rest = rest_of(facts, now)
    taken = rest.told.taken
    if strict and taken:
        raise PlannerError(
            "the log doesn't say how these went: "
            + ", ".join(facts.plan.short_id(t) for t in taken),
            where=file,
            hint="log them, or revise without --strict: they are taken as planned",
        )
    left = planned_rest(rest.case, facts.plan, choices, rest.problem)
    in_time = not choices.search().over()
    odds = odds_of_left(left, choices, threats=why and in_time, futures=futures)
    after = worded(left.case, left.answer, odds, program=PROGRAM)
    last = facts.revised.places if facts.revised else None
    moment = rest.told.past.now
    return Revised(
        before=facts.plan,
        after=after,
        revision=Revision(
            plan=after.fingerprint,
            inputs=facts.inputs.fingerprint,
            events=event_ids(facts.book),
            now=moment,
            earlier=earlier_places(facts.plan, after, last, now=moment).tasks,
        ),
        taken=taken,
        unkept=left.unkept,
        learned=rest.learned,
        causes=causes(
            facts.inputs,
            facts.book,
            frozenset(facts.revised.events if facts.revised else ()),
            rest.learned,
            left,
            facts.plan,
            choices,
            file=file,
        )
        if why
        else (),
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
