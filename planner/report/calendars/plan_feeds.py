"""A plan as calendars: the closure, the crew's, the waits, and one for each person."""

from datetime import date, timedelta

from planner.nouns.feed import AllDay, Feed, FeedEntry, FollowOn, Timed
from planner.nouns.plan import Crewmate, Plan, PlannedTask
from planner.nouns.work import ReturnKind
from planner.report.calendars.keys import return_key
from planner.report.calendars.waits_feed import waits_feed
from planner.report.drawing.view import View, labour_words

MARKER = timedelta(minutes=15)  # how long a return is shown for


def closure_feed(plan: Plan) -> Feed:
    """Return the calendar for the studio's bookings: closed days and the returns.

    The closure is whole days, from that of the first work on the stage to that of
    full service, both included. From full service to its cautious date a tentative
    stretch says that the stage may not be back yet.
    """
    view = View(plan)
    start, end = plan.closure
    returns = "\n".join(
        f"{r.kind.capitalize()}: {view.when(r.when)}" for r in plan.returns
    )
    entries = [
        FeedEntry(
            key="closure",
            title=f"{plan.stage}: closed for the backdrop",
            when=AllDay(
                first=start.astimezone(view.zone).date(), last=_last_day(view, plan)
            ),
            busy=True,
            description=f"Closed {view.span(start, end)}\n{returns}\n{plan.job}",
            location=plan.stage,
            categories=("closure",),
        )
    ]
    entries += [
        FeedEntry(
            key=return_key(r.kind),
            title=f"{plan.stage}: {r.kind} from here on",
            when=Timed(start=r.when, end=r.when + MARKER),
            busy=False,
            description=(
                f"Back for {r.kind}: {view.when(r.when)}\n"
                f"Cautious, if the last wait takes as long as it may: "
                f"{view.when(r.cautious)}\n{plan.job}"
            ),
            location=plan.stage,
            categories=("return",),
        )
        for r in plan.returns
    ]
    entries += _margin(view, plan)
    return Feed(
        seed="closure",
        name=f"{plan.stage}: closure",
        color="saddlebrown",
        entries=tuple(entries),
        description=_as_of(plan),
        origin=_origin(plan),
    )


def _last_day(view: View, plan: Plan) -> date:
    """Return the last day touched; a closure that ends at midnight doesn't touch it."""
    return (plan.closure[1] - timedelta(seconds=1)).astimezone(view.zone).date()


def _margin(view: View, plan: Plan) -> list[FeedEntry]:
    """Return the stretch from full service to its cautious date, if there is one."""
    back = plan.returning(ReturnKind.FULL_SERVICE)
    if back.cautious <= back.when:
        return []
    return [
        FeedEntry(
            key="margin/full-service",
            title=f"{plan.stage}: may not be back yet",
            when=Timed(start=back.when, end=back.cautious),
            busy=True,
            tentative=True,
            description=(
                f"Planned back: {view.when(back.when)}\n"
                f"Cautious, if the last wait takes as long as it may: "
                f"{view.when(back.cautious)}\n"
                f"Take no booking here that couldn't be moved.\n{plan.job}"
            ),
            location=plan.stage,
            categories=("return",),
        )
    ]


def _as_of(plan: Plan) -> str:
    """Return which plan a calendar shows."""
    return f"{plan.job}, plan {plan.fingerprint[:12]}, {plan.program}"


def _origin(plan: Plan) -> str:
    """Return which plan an entry comes from: the one that last changed it."""
    return f"As in plan {plan.fingerprint[:12]}"


def _must_be_ready(view: View, task: PlannedTask) -> list[str]:
    """Return what must have dried, set or cured before the task, in words."""
    out = []
    for link in view.plan.links:
        if link.after == task.id and link.product and link.stage:
            wait = view.waits[(link.before, link.product, link.stage)]
            if wait.ready > wait.begins:
                title = view.tasks[link.before].title
                out.append(
                    f"{title}: {wait.way} until {view.when(wait.ready)} as planned; "
                    "check it at the wall"
                )
    return out


def _description(view: View, task: PlannedTask) -> str:
    where = ", ".join(view.bays[b] for b in task.bays) or "off the stage"
    lines = [
        task.how,
        f"Where: {where}" + (f" ({view.plan.stage})" if task.on_stage else ""),
        f"With: {view.team(task)}",
        f"Work: {task.quantity}, {labour_words(task)}",
    ]
    ready = _must_be_ready(view, task)
    if ready:
        lines += ["Before you start:", *(f"- {x}" for x in ready)]
    if task.lifts:
        lines += ["Lift:", *(f"- {x}" for x in task.lifts)]
    if task.bring:
        lines.append(f"Bring: {', '.join(task.bring)}")
    if task.cautions:
        lines += ["Mind:", *(f"- {c}" for c in task.cautions)]
        lines.append("Local codes and the makers' sheets come first.")
    lines.append(f"{view.plan.job}: task {task.id}")
    return "\n".join(lines)


def _work_entries(
    view: View, tasks: list[PlannedTask], *, named: bool
) -> tuple[FeedEntry, ...]:
    kept = {t.id for t in tasks}
    out: list[FeedEntry] = []
    for task in tasks:
        title = f"{task.title} ({view.team(task)})" if named else task.title
        for number, (start, end) in enumerate(task.spans, 1):
            last = number == len(task.spans)
            out.append(
                FeedEntry(
                    key=f"task/{task.id}/{number}",
                    title=title,
                    when=Timed(start=start, end=end),
                    busy=True,
                    description=_description(view, task),
                    location=view.plan.stage if task.on_stage else "off the stage",
                    categories=(task.phase,),
                    follow_ons=_follow_ons(view, task, kept) if last else (),
                )
            )
    return tuple(out)


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
    return tuple(FollowOn(key=f"task/{k}/1", gap=g) for k, g in gaps.items())


def crew_feed(plan: Plan) -> Feed:
    """Return the crew's calendar: every stretch of work, with everybody's names."""
    view = View(plan)
    return Feed(
        seed="crew",
        name=f"{plan.stage}: crew",
        color="teal",
        entries=_work_entries(view, list(plan.tasks), named=True),
        description=_as_of(plan),
        origin=_origin(plan),
    )


def person_feed(plan: Plan, person: Crewmate) -> Feed:
    """Return one person's calendar."""
    view = View(plan)
    own = [t for t in plan.tasks if person.id in t.team]
    return Feed(
        seed=f"people/{person.id}",
        name=f"{plan.stage}: {person.name}",
        color="teal",
        entries=_work_entries(view, own, named=False),
        description=_as_of(plan),
        origin=_origin(plan),
    )


def feeds(plan: Plan) -> dict[str, Feed]:
    """Return every calendar of a plan by the path of its file."""
    return {
        "closure.ics": closure_feed(plan),
        "crew.ics": crew_feed(plan),
        "waits.ics": waits_feed(plan, origin=_origin(plan), description=_as_of(plan)),
        **{f"people/{c.id}.ics": person_feed(plan, c) for c in plan.crew},
    }
