"""Marking out, opening the wall and backing it, or furring it over."""

from planner.records import Link, Task
from planner.trade.parts import After, Leads, Part, Site, follow, task_of
from planner.trade.takeoff import Bay, BayKind


def _strip_m(bay: Bay) -> float:
    """Return the metres of backing: along the edge that is screwed to it."""
    return bay.wall_edge_mm / 1000.0


def wall(site: Site, leads: Leads) -> Part:
    """Return marking, opening (or furring), backing and line marks, bay by bay."""
    rates, takeoff = site.rates, site.takeoff
    tasks: list[Task] = []
    links: list[Link] = []
    out: dict[str, tuple[After, ...]] = dict(leads)
    marked: dict[str, Task] = {}
    for bay in (*takeoff.of(BayKind.CORNER), *takeoff.of(BayKind.RUN)):
        mark = task_of(rates["mark"], bay=bay, amount=bay.floor_edge_mm / 1000)
        corners = (
            After(task=m.id, reason="lines are struck from the marked corner")
            for c, m in marked.items()
            if bay.id in _beside(site, c)
        )
        links += follow(mark, *leads[bay.id], *corners)
        marked[bay.id] = mark
        tasks.append(mark)
        line_after: After
        if site.methods.backing == "inlaid":
            open_ = task_of(rates["open"], bay=bay, amount=_strip_m(bay))
            back = task_of(rates["back"], bay=bay, amount=_strip_m(bay))
            links += follow(
                open_, After(task=mark.id, reason="cuts follow the marked studs")
            )
            links += follow(
                back, After(task=open_.id, reason="the backing goes into the opening")
            )
            tasks += [open_, back]
            line_after = After(task=back.id, reason="lines are marked on the backing")
        else:
            fur = task_of(rates["fur"], bay=bay, amount=_furred_m2(site, bay))
            links += follow(
                fur, After(task=mark.id, reason="furring follows the marked lines")
            )
            tasks.append(fur)
            line_after = After(task=fur.id, reason="lines are marked on the new board")
        lines = task_of(rates["lines"], bay=bay, amount=_strip_m(bay))
        links += follow(lines, line_after)
        tasks.append(lines)
        out[bay.id] = (
            After(task=lines.id, reason="pieces are set to the lines on the backing"),
        )
        if bay.kind == BayKind.CORNER:
            out[f"height:{bay.id}"] = (
                After(task=mark.id, reason="the ceiling height must be found"),
            )
    return Part(tasks=tuple(tasks), links=tuple(links), leads=out)


def _beside(site: Site, corner: str) -> tuple[str, ...]:
    found = next((b for b in site.takeoff.built if b.id == corner), None)
    return found.beside if found else ()


def _furred_m2(site: Site, bay: Bay) -> float:
    """Return the area boarded over: from the floor to the ceiling behind the bay."""
    return bay.floor_edge_mm * site.stage.ceiling_mm * 1e-6
