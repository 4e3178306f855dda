"""Sanding the loose modules, wherever it is done."""

from planner.nouns.work import Task, TaskLink
from planner.trade.parts import After, Leads, Part, Site, follow, pieces, task_of
from planner.trade.takeoff import Bay


def sanded(site: Site, leads: Leads, bays: tuple[Bay, ...], *, on_stage: bool) -> Part:
    """Return the sanding of each bay's modules; hands on what assembly follows."""
    tasks: list[Task] = []
    links: list[TaskLink] = []
    out: dict[str, tuple[After, ...]] = {}
    for bay in bays:
        sand = task_of(
            site.rates["sand-modules"],
            bay=bay,
            amount=bay.sanded_m2,
            on_stage=on_stage,
        )
        links += follow(sand, *leads[pieces(bay)])
        tasks.append(sand)
        reason = "the modules are sanded before they are put together"
        out[pieces(bay)] = (After(task=sand.id, reason=reason),)
    return Part(tasks=tuple(tasks), links=tuple(links), leads=out)
