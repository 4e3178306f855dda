"""The waits as a calendar: what is still wet, and from when it may be worked on.

A wait is shown from the end of its coat until it is ready, not as a mark at the ready
moment: whoever opens any day of the calendar sees what is still wet, which is when
dust and feet have to be kept off, and a moment in the night isn't overlooked. The
title says the moment in words. The entries are free, so they block nobody.
"""

from collections.abc import Iterator
from datetime import datetime

from planner.nouns.feed import Feed, FeedEntry, Timed
from planner.nouns.ids import bare
from planner.nouns.plan import Plan, PlannedWait
from planner.nouns.work import ReturnKind
from planner.report.calendars.keys import place, wait_key
from planner.report.drawing.view import View, passes
from planner.report.words.dry_text import MEANS

# Stages of the surface itself; of the others the product is named, not the surface.
_OF_THE_SURFACE = ("set", "dry", "recoat", *ReturnKind)


def waits_feed(plan: Plan, *, origin: str, description: str) -> Feed:
    """Return the calendar of the waits, for those who come to the wall."""
    view = View(plan)
    return Feed(
        seed="waits",
        name=f"{', '.join(s.name for s in plan.stages)}: waits",
        color="steelblue",
        entries=tuple(_entry(view, w) for w in shown_waits(view)),
        description=description,
        origin=origin,
    )


def shown_waits(view: View) -> Iterator[PlannedWait]:
    """Yield the waits that say when something may be done, in the plan's order.

    Left out are those of no length, and those that another coat on the same bays
    outlasts for everything that waits for them: "may be sanded" is said of the last
    coat only.
    """
    ready: dict[tuple[str, tuple[str, ...]], PlannedWait] = {}
    followed: set[int] = set()
    for link in view.plan.links:
        if link.product is None or link.stage is None:
            continue
        wait = view.waits[(link.before, link.product, link.stage)]
        if wait.ready <= wait.begins:
            continue
        followed.add(id(wait))
        place = (link.after, view.tasks[link.before].bays)
        if place not in ready or wait.ready > ready[place].ready:
            ready[place] = wait
    last = {id(wait) for wait in ready.values()}
    for wait in view.plan.waits:
        outlasted = id(wait) in followed and id(wait) not in last
        if wait.ready > wait.begins and not outlasted:
            yield wait


def _short(view: View, moment: datetime) -> str:
    """Return a moment without its year, such as 'Tue 16 Feb, 14:15'."""
    return f"{view.day(moment)[:-5]}, {view.when(moment)[-5:]}"


def _entry(view: View, wait: PlannedWait) -> FeedEntry:
    task = view.tasks[wait.task]
    row = view.wait_row(wait)
    bays = ", ".join(view.bays[b] for b in task.bays) or "off the stage"
    of_surface = wait.stage in _OF_THE_SURFACE
    subject = bays if of_surface else f"{bays}: {wait.product_title}"
    means = MEANS.get(wait.stage, f"is ready ({wait.stage})")
    lines = [
        f"{task.title}: {wait.product_title} {passes(wait.way)} {row.hours} in {row.air}",
        f"Where: {bays}",
        f"Likely after {row.likely}, without the planning margin",
        "Keep dust and feet off it until then, and check it at the wall.",
        f"Source: {row.source}",
        f"{view.plan.job}: wait after task {view.plan.short_id(wait.task)}",
    ]
    stage = view.plan.stage_of(task)
    return FeedEntry(
        key=wait_key(bare(wait.task), wait.product, wait.stage),
        job_id=stage.job_id,
        title=f"{subject} {means} from {_short(view, wait.ready)}",
        when=Timed(start=wait.begins, end=wait.ready),
        busy=False,
        description="\n".join(lines),
        location=place(stage) if task.on_stage else "off the stage",
        categories=("wait",),
    )
