"""Furring over a board wall: strips screwed to the studs, new board over them."""

from planner.nouns.work import Task, TaskLink
from planner.trade.heights import board_m2
from planner.trade.parts import After, Leads, Part, Site, follow, task_of
from planner.trade.takeoff import Bay


def recipe(site: Site, leads: Leads, bays: tuple[Bay, ...]) -> Part:
    """Return the furring; hands on what the line marks follow."""
    tasks: list[Task] = []
    links: list[TaskLink] = []
    out: dict[str, tuple[After, ...]] = {}
    for bay in bays:
        fur = task_of(
            site.rates["fur"],
            bay=bay,
            amount=behind_m2(site, bay),
            high=board_m2(site, "fur", bay),
        )
        links += follow(fur, *leads[bay.id])
        tasks.append(fur)
        reason = "lines are marked on the new board"
        out[bay.id] = (After(task=fur.id, reason=reason),)
    return Part(tasks=tuple(tasks), links=tuple(links), leads=out)


def behind_m2(site: Site, bay: Bay) -> float:
    """Return the area of wall behind a bay, from the floor to the ceiling, in m²."""
    return bay.floor_edge_mm * site.stage.ceiling_mm * 1e-6
