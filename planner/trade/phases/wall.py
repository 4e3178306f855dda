"""Marking out, the backing by the recipe chosen, and line marks on it."""

from planner.nouns.work import Task
from planner.trade import recipes
from planner.trade.heights import edge_m
from planner.trade.parts import After, Leads, Part, Site, follow, found, joined, task_of
from planner.trade.takeoff import Bay, BayKind


def wall(site: Site, leads: Leads) -> Part:
    """Return marking, backing and line marks, bay by bay, the corners first."""
    takeoff = site.takeoff
    parts: list[Part] = []
    marked: dict[str, Task] = {}
    for bay in (*takeoff.of(BayKind.CORNER), *takeoff.of(BayKind.RUN)):
        corners = tuple(
            After(
                task=marked[c.id].id, reason="lines are struck from the marked corner"
            )
            for c in takeoff.of(BayKind.CORNER)
            if c.id in marked and bay.id in c.beside
        )
        parts += _bay(site, leads, bay, corners)
        marked[bay.id] = parts[-3].tasks[0]
    return joined(parts, leads)


def _bay(
    site: Site, leads: Leads, bay: Bay, corners: tuple[After, ...]
) -> tuple[Part, Part, Part]:
    """Return a bay's marking, its backing and its line marks."""
    mark = task_of(site, "mark", bay=bay, amount=bay.floor_edge_mm / 1000.0)
    what = "ceiling height" if bay.kind is BayKind.CORNER else "width that is left"
    measured = After(task=mark.id, reason=f"the {what} must be found")
    marking = Part(
        tasks=(mark,),
        links=follow(mark, *leads[bay.id], *corners),
        leads={found(bay): (measured,)},
    )
    drawn = {bay.id: (After(task=mark.id, reason="the wall is marked out first"),)}
    backing = recipes.cook("backing", site, drawn, (bay,))
    lines = task_of(
        site,
        "lines",
        bay=bay,
        amount=bay.wall_edge_mm / 1000.0,
        high=edge_m(site, "lines", bay),
    )
    reason = "pieces are set to the lines on the backing"
    lining = Part(
        tasks=(lines,),
        links=follow(lines, *backing.leads[bay.id]),
        leads={bay.id: (After(task=lines.id, reason=reason),)},
    )
    return marking, backing, lining
