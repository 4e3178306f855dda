"""Backing inlaid: the board cut out between the studs, plywood as thick let in."""

from planner.nouns.work import Task, TaskLink
from planner.trade.heights import edge_m
from planner.trade.parts import After, Leads, Part, Site, follow, task_of
from planner.trade.takeoff import Bay


def recipe(site: Site, leads: Leads, bays: tuple[Bay, ...]) -> Part:
    """Return opening and backing; hands on what the line marks follow."""
    tasks: list[Task] = []
    links: list[TaskLink] = []
    out: dict[str, tuple[After, ...]] = {}
    for bay in bays:
        strip_m = bay.opening_mm / 1000.0
        opened, backed = (
            task_of(
                site,
                rate,
                bay=bay,
                amount=strip_m,
                high=edge_m(site, rate, bay),
            )
            for rate in ("open", "back")
        )
        links += follow(opened, *leads[bay.id])
        links += follow(
            backed, After(task=opened.id, reason="the backing goes into the opening")
        )
        tasks += [opened, backed]
        reason = "lines are marked on the backing"
        out[bay.id] = (After(task=backed.id, reason=reason),)
    return Part(tasks=tuple(tasks), links=tuple(links), leads=out)
