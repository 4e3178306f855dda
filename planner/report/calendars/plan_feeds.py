"""A plan as calendars: the closure, the crew's, the waits, and one for each person."""

from collections import Counter
from collections.abc import Iterator
from datetime import date, datetime, timedelta

from planner.languages.catalogues import language_of
from planner.languages.language import ENGLISH, Language
from planner.nouns.feed import AllDay, Feed, FeedEntry, FollowOn, Timed
from planner.nouns.ids import bare
from planner.nouns.odds import PlannedReturn
from planner.nouns.plan import Crewmate, Plan, PlannedStage, PlannedTask
from planner.nouns.work import ReturnKind
from planner.report.calendars.keys import place, return_key
from planner.report.calendars.waits_feed import waits_feed
from planner.report.drawing.telling import mark_words, unchecked
from planner.report.drawing.view import View, labour_words, passes
from planner.report.words.sure.promise import (
    owner_words,
    promise_words,
    sure_words,
)

MARKER = timedelta(minutes=15)  # how long a return is shown for
BREAK = timedelta(hours=6)  # what lies closer together is one shift, as in `hours`


def closure_feed(plan: Plan) -> Feed:
    """Return the calendar for the studio's bookings: closed days and the returns."""
    return _closures(plan, plan.stages, seed="closure", name=_title(plan))


def stage_feed(plan: Plan, stage: PlannedStage) -> Feed:
    """Return the same of one stage alone, in a calendar that is named for it."""
    return _closures(plan, (stage,), seed=f"closure/{stage.id}", name=stage.name)


def _closures(
    plan: Plan, stages: tuple[PlannedStage, ...], *, seed: str, name: str
) -> Feed:
    view = View(plan)
    return Feed(
        seed=seed,
        name=f"{name}: closure",
        color="saddlebrown",
        entries=tuple(e for stage in stages for e in _closure(view, stage)),
        description=_as_of(plan),
        origin=_origin(plan),
    )


def _title(plan: Plan) -> str:
    """Return the names of a plan's stages."""
    return ", ".join(stage.name for stage in plan.stages)


def _closure(view: View, stage: PlannedStage) -> Iterator[FeedEntry]:
    """Yield the closure of a stage, its returns, and how long it may yet take.

    The closure is whole days, from that of the first work on the stage to that of the
    promise of full service, both included. From there a tentative stretch says until
    when the stage may not be back yet.
    """
    start, end = stage.promised_closure
    plan, job = view.plan, view.plan.job

    def lines(back: PlannedReturn) -> str:
        return "\n".join(sure_words(plan, stage, back))

    returns = "\n".join(
        f"{r.kind.capitalize()}: {promise_words(plan, stage, r)}" for r in stage.returns
    )
    yield FeedEntry(
        key="closure",
        job_id=stage.job_id,
        title=f"{stage.name}: closed for the backdrop",
        when=AllDay(
            first=start.astimezone(view.zone).date(), last=_last_day(view, end)
        ),
        busy=True,
        description=(
            f"Keep the stage clear from {view.when(start)} to "
            f"{promise_words(plan, stage, stage.returning(ReturnKind.FULL_SERVICE))}\n"
            f"{returns}\n{owner_words(plan, stage)}\n{job}"
        ),
        location=place(stage),
        categories=("closure",),
    )
    for r in stage.returns:
        if r.promise is None:
            continue
        yield FeedEntry(
            key=return_key(r.kind),
            job_id=stage.job_id,
            title=f"{stage.name}: {r.kind} from here on",
            when=Timed(start=r.promise, end=r.promise + MARKER),
            busy=False,
            description=f"{lines(r)}\n{job}",
            location=place(stage),
            categories=("return",),
        )
    back = stage.returning(ReturnKind.FULL_SERVICE)
    until = back.tentative_until or stage.sureness.looked_until
    if back.promise is not None and until > back.promise:
        yield FeedEntry(
            key="margin/full-service",
            job_id=stage.job_id,
            title=f"{stage.name}: may not be back yet",
            when=Timed(start=back.promise, end=until),
            busy=True,
            tentative=True,
            description=(
                f"{lines(back)}\nTake no booking here that couldn't be moved.\n{job}"
            ),
            location=place(stage),
            categories=("return",),
        )


def _last_day(view: View, end: datetime) -> date:
    """Return the last day touched; a closure that ends at midnight doesn't touch it."""
    return (end - timedelta(seconds=1)).astimezone(view.zone).date()


def _as_of(plan: Plan, language: Language = ENGLISH) -> str:
    """Return which plan a calendar shows, and whose words nobody has checked."""
    shown = language.say(
        "{job}, plan {plan}, {program}",
        job=plan.job,
        plan=mark_words(plan, language),
        program=plan.program,
    )
    return shown if language.is_checked else f"{shown}. {unchecked(language)}"


def _origin(plan: Plan, language: Language = ENGLISH) -> str:
    """Return which plan an entry comes from: the one that last changed it."""
    return language.say("As in plan {plan}", plan=mark_words(plan, language))


def _must_be_ready(view: View, task: PlannedTask) -> list[str]:
    """Return what must have dried, set or cured before the task, in words."""
    out = []
    for link in view.plan.links:
        if link.after == task.id and link.product and link.stage:
            wait = view.waits[(link.before, link.product, link.stage)]
            if wait.ready > wait.begins:
                out.append(
                    view.say(
                        "{task}: {passes} until {when} as planned; check it at the wall",
                        task=view.title(link.before),
                        passes=view.told(passes(wait.way)),
                        when=view.when(wait.ready),
                    )
                )
    return out


def _description(view: View, task: PlannedTask) -> str:
    say, stage = view.say, view.plan.stage_of(task)
    visit = (
        say("on the stage, between bookings") if task.visit else say("off the stage")
    )
    where = ", ".join(view.bays[b] for b in task.bays) or visit
    labour = labour_words(task, view.language)
    lines = [
        view.told(task.how),
        say("Where: {where}", where=where)
        + (f" ({stage.name})" if task.on_stage else ""),
        say("With: {team}", team=view.team(task)),
        say("Work: {work}, {labour}", work=view.told(task.quantity), labour=labour),
    ]
    ready = _must_be_ready(view, task)
    if ready:
        lines += [say("Before you start:"), *(f"- {x}" for x in ready)]
    if task.lifts:
        lines += [say("Lift:"), *(f"- {view.told(x)}" for x in task.lifts)]
    if task.bring:
        lines.append(say("Bring: {what}", what=", ".join(map(view.told, task.bring))))
    lines += _minded(view, task)
    id_ = view.plan.short_id(task.id)
    lines.append(say("{job}: task {id}", job=view.plan.job, id=id_))
    return "\n".join(lines)


def _minded(view: View, task: PlannedTask) -> list[str]:
    """Return what is to be minded, and what outranks it."""
    if not task.cautions:
        return []
    say, codes = view.say, view.plan.codes
    lines = [say("Mind:"), *(f"- {view.told(c)}" for c in task.cautions)]
    if codes:
        first = say(
            "Local codes of {place}, licensed practice and the makers' sheets come first.",
            place=codes,
        )
    else:
        first = say("Local codes, licensed practice and the makers' sheets come first.")
    checked = () if view.language.is_checked else (unchecked(view.language),)
    return [*lines, first, *checked]


def _work_entries(
    view: View, tasks: list[PlannedTask], *, named: bool
) -> tuple[FeedEntry, ...]:
    kept = {t.id for t in tasks}
    out: list[FeedEntry] = []
    for task in tasks:
        stage = view.plan.stage_of(task)
        own = view.title(task.id)
        title = f"{own} ({view.team(task)})" if named else own
        for number, (start, end) in enumerate(task.spans, 1):
            last = number == len(task.spans)
            out.append(
                FeedEntry(
                    key=f"task/{bare(task.id)}/{number}",
                    job_id=stage.job_id,
                    title=title,
                    when=Timed(start=start, end=end),
                    busy=True,
                    description=_description(view, task),
                    location=_where(view, task),
                    categories=(task.phase,),
                    follow_ons=_follow_ons(view, task, kept) if last else (),
                )
            )
    return tuple(out)


def _where(view: View, task: PlannedTask) -> str:
    """Return where somebody has to be for a task."""
    here = task.on_stage or task.visit
    return place(view.plan.stage_of(task)) if here else view.say("off the stage")


def _shift_entries(view: View, person: Crewmate) -> tuple[FeedEntry, ...]:
    """Return a person's shifts, each with its tasks in the text, in their order.

    What lies less than `BREAK` apart is one shift. A shift is known by the day on which
    it begins, and by its number where a day has several, so it keeps its identity
    whatever is done in it.
    """
    out: list[FeedEntry] = []
    begun: Counter[date] = Counter()
    for shift in _shifts(view.plan, person):
        tasks = [task for _, _, task in shift]
        day = shift[0][0].astimezone(view.zone).date()
        begun[day] += 1
        titles = list(dict.fromkeys(view.title(t.id) for t in tasks))
        out.append(
            FeedEntry(
                key=f"shift/{day.isoformat()}/{begun[day]}",
                job_id=view.plan.stage_of(tasks[0]).job_id,
                title="; ".join(titles),
                when=Timed(start=shift[0][0], end=max(end for _, end, _ in shift)),
                busy=True,
                description="\n\n".join(
                    f"{view.language.clock(start, view.zone)}-"
                    f"{view.language.clock(end, view.zone)} {view.title(task.id)}\n"
                    f"{_description(view, task)}"
                    for start, end, task in shift
                ),
                location=next(
                    (_where(view, t) for t in tasks if t.on_stage or t.visit),
                    _where(view, tasks[0]),
                ),
                categories=tuple(dict.fromkeys(t.phase for t in tasks)),
            )
        )
    return tuple(out)


def _shifts(
    plan: Plan, person: Crewmate
) -> Iterator[list[tuple[datetime, datetime, PlannedTask]]]:
    """Yield the stretches of work of each shift of a person, in their order."""
    own = [t for t in plan.tasks if person.id in t.team]
    worked = sorted(
        ((start, end, task) for task in own for start, end in task.spans),
        key=lambda stretch: stretch[:2],
    )
    shift: list[tuple[datetime, datetime, PlannedTask]] = []
    for stretch in worked:
        if shift and stretch[0] - max(end for _, end, _ in shift) >= BREAK:
            yield shift
            shift = []
        shift.append(stretch)
    if shift:
        yield shift


def _follow_ons(view: View, task: PlannedTask, kept: set[str]) -> tuple[FollowOn, ...]:
    """Return the follow-ons of a task's last stretch, with the planned wait as gap."""
    gaps: dict[str, timedelta] = {}
    for link in view.plan.links:
        if link.before != task.id or link.after not in kept:
            continue
        gap = timedelta(0)
        if link.product and link.stage:
            wait = view.waits[(task.id, link.product, link.stage)]
            gap = wait.ready - wait.begins
        gaps[link.after] = max(gap, gaps.get(link.after, gap))
    return tuple(FollowOn(key=f"task/{bare(k)}/1", gap=g) for k, g in gaps.items())


def crew_feed(plan: Plan) -> Feed:
    """Return the crew's calendar: every stretch of work, with everybody's names."""
    view = View(plan)
    return Feed(
        seed="crew",
        name=f"{_title(plan)}: crew",
        color="teal",
        entries=_work_entries(view, list(plan.tasks), named=True),
        description=_as_of(plan),
        origin=_origin(plan),
    )


def person_feed(plan: Plan, person: Crewmate) -> Feed:
    """Return one person's calendar, in that person's language."""
    language = language_of(person.language)
    view = View(plan, language)
    if plan.entries == "shifts":
        entries = _shift_entries(view, person)
    else:
        own = [t for t in plan.tasks if person.id in t.team]
        entries = _work_entries(view, own, named=False)
    return Feed(
        seed=f"people/{person.id}",
        name=f"{_title(plan)}: {person.name}",
        color="teal",
        entries=entries,
        description=_as_of(plan, language),
        origin=_origin(plan, language),
    )


def feeds(plan: Plan) -> dict[str, Feed]:
    """Return every calendar of a plan by the path of its file."""
    return {
        "closure.ics": closure_feed(plan),
        **{f"closure/{s.id}.ics": stage_feed(plan, s) for s in plan.stages},
        "crew.ics": crew_feed(plan),
        "waits.ics": waits_feed(plan, origin=_origin(plan), description=_as_of(plan)),
        **{f"people/{c.id}.ics": person_feed(plan, c) for c in plan.crew},
    }
