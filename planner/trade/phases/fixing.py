"""Fastening to the wall and anchoring to the floor, from the corner outwards."""

from collections.abc import Mapping

from planner.nouns.work import Task, Wait
from planner.trade import recipes
from planner.trade.heights import edge_m
from planner.trade.parts import (
    After,
    Leads,
    Part,
    Site,
    end,
    follow,
    joined,
    task_of,
)
from planner.trade.recipes.fill.anchored import holes
from planner.trade.takeoff import Bay, BayKind

STILL_LOOSE = "nobody drills beside modules that stand unfastened"
OUTWARDS = "fastening and anchoring go from the corner outwards"


def fixing(site: Site, leads: Leads) -> Part:
    """Return fastening and drilling of every bay, then its fill by the recipe."""
    takeoff = site.takeoff
    parts: list[Part] = []
    first: dict[str, tuple[Task, Task]] = {}  # corner: (fasten, drill)
    for bay in (*takeoff.of(BayKind.CORNER), *takeoff.of(BayKind.RUN)):
        inner = [
            first[c.id]
            for c in takeoff.of(BayKind.CORNER)
            if bay.id in c.beside and c.id in first
        ]
        fasten, drill, part = _fastened(site, leads, bay, inner)
        first[bay.id] = (fasten, drill)
        parts += (part, recipes.cook("fill", site, part.leads, (bay,)))
    fastened = {bay: fasten for bay, (fasten, _) in first.items()}
    beside = [
        link
        for corner in takeoff.of(BayKind.CORNER)
        for run in corner.beside
        for link in follow(
            first[corner.id][1], After(task=fastened[run].id, reason=STILL_LOOSE)
        )
    ]
    clear = Part(tasks=(), links=tuple(beside), leads={})
    return joined((*parts, clear, _capped(site, fastened)), leads)


def _fastened(
    site: Site, leads: Leads, bay: Bay, inner: list[tuple[Task, Task]]
) -> tuple[Task, Task, Part]:
    """Return a bay's fastening and drilling, and both as a part."""
    adhesive = site.methods.adhesive
    fasten = task_of(
        site,
        "fasten",
        bay=bay,
        amount=bay.wall_edge_mm / 1000.0,
        high=edge_m(site, "fasten", bay),
        product=site.products[adhesive],
        dry_stage="hold",
    )
    drill = task_of(site, "drill", bay=bay, amount=holes(site, bay))
    holds = After(
        task=fasten.id,
        reason="the wall edge holds before the floor is drilled",
        wait=Wait(product=adhesive, stage="hold"),
    )
    outer = [
        *follow(
            fasten,
            *leads[bay.id],
            *(After(task=f.id, reason=OUTWARDS) for f, _ in inner),
        ),
        *follow(drill, holds, *(After(task=d.id, reason=OUTWARDS) for _, d in inner)),
    ]
    drilled = After(task=drill.id, reason="the holes must be drilled and cleaned")
    part = Part(tasks=(fasten, drill), links=tuple(outer), leads={bay.id: (drilled,)})
    return fasten, drill, part


def _capped(site: Site, fastened: Mapping[str, Task]) -> Part:
    """Return the closing of all free ends; it hands on what their joints follow."""
    ends = [b for b in site.takeoff.of(BayKind.RUN) if b.free_ends]
    if not ends:
        return Part(tasks=(), links=(), leads={})
    cap = task_of(
        site,
        "cap",
        bays=tuple(b.id for b in ends),
        amount=sum(b.free_ends for b in ends),
    )
    reason = "an end piece goes to a module that is fixed"
    fixed = (After(task=fastened[b.id].id, reason=reason) for b in ends)
    closed = After(task=cap.id, reason="free ends are closed before their joints")
    return Part(
        tasks=(cap,),
        links=follow(cap, *fixed),
        leads={end(b): (closed,) for b in ends},
    )
