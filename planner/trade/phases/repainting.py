"""Painting again what stands: cleared and washed, scuffed, wiped, covered, coloured.

The colour that is there is sound and is one that the new one goes over: what bleeds
through or flakes is primed or made good first, by the data sheets. Common practice, no
source.
"""

from planner.nouns.product import CLEARED
from planner.nouns.work import ReturnKind, Task, Wait
from planner.trade.parts import (
    After,
    Leads,
    Part,
    Site,
    entered,
    follow,
    stacked,
    task_of,
)
from planner.trade.recipes.paint.one_colour import (
    borne_by,
    coloured,
    high_m2,
    repainted_m2,
)
from planner.trade.takeoff import Bay

WET = "damp-wipe"  # water on the surface, whoever brought it there


def repainting(site: Site, leads: Leads) -> Part:
    """Return all the work of a repaint, and what both returns wait for.

    Raises
    ------
    ValueError
        When the job is no repaint.
    """
    if site.repaint is None:
        raise ValueError("repaint: none is asked for")
    bays = repainted(site)
    colour = site.products[site.methods.colour]
    clear, wipe = _wet(site, "clear", bays), _wet(site, "wipe", bays)
    floors = tuple(b for b in bays if b.floor_m2 > 0.0)
    scuffs = tuple(task_of(site, "scuff", bay=b, amount=b.floor_m2) for b in floors)
    cover = task_of(
        site, "cover", bays=tuple(b.id for b in bays), amount=covered_m(site)
    )
    laid = coloured(site, "colour", colour, bays, site.repaint.coats)
    handover = task_of(
        site,
        "handover",
        bays=tuple(b.id for b in site.takeoff.bays),
        amount=site.takeoff.apron_m2,
    )
    washed = _dry(clear, "the washed surface must be dry")
    dusty = (After(task=s.id, reason="wiped once the dust has fallen") for s in scuffs)
    wiped = _dry(wipe, "the wiped surface must be dry")
    covered = After(task=cover.id, reason="what stays as it is is covered first")
    return Part(
        tasks=(clear, *scuffs, wipe, cover, *laid, handover),
        links=(
            *(link for s in scuffs for link in follow(s, washed)),
            *follow(wipe, washed, *dusty),
            *follow(cover, wiped),
            *follow(laid[0], wiped, covered),
            *stacked(laid, colour),
            *follow(handover, entered(laid[-1], colour)),
        ),
        leads=leads,
        returns=(
            *((kind, handover.id, None) for kind in ReturnKind),
            *borne_by(laid[-1], colour),
            *(
                (kind, laid[-1].id, Wait(product=colour.id, stage=CLEARED))
                for kind in ReturnKind
                if colour.reaches(CLEARED)
            ),
        ),
    )


def repainted(site: Site) -> tuple[Bay, ...]:
    """Return the bays of which something is painted again, in the order of the room."""
    repaint = site.repaint
    if repaint is None:
        return ()
    return tuple(b for b in site.takeoff.bays if repainted_m2(repaint, b) > 0.0)


def covered_m(site: Site) -> float:
    """Return the edge along which the new colour ends. [m].

    In front of the coves, along their top, or under the ceiling.
    """
    built, repaint = site.takeoff.built, site.repaint
    if repaint is None:
        return 0.0
    match repaint.area:
        case "floor":
            return sum(b.front_edge_mm for b in built) / 1000.0
        case "all":
            return sum(r.length_mm for r in site.stage.runs) / 1000.0
        case _:
            return sum(b.wall_edge_mm for b in built) / 1000.0


def _wet(site: Site, rate: str, bays: tuple[Bay, ...]) -> Task:
    """Return the washing or the wiping of all that is painted again."""
    assert site.repaint is not None
    area_m2 = sum(repainted_m2(site.repaint, b) for b in bays)
    return task_of(
        site,
        rate,
        bays=tuple(b.id for b in bays),
        amount=area_m2,
        high=high_m2(site, rate, bays),
        product=site.products[WET],
        dry_stage="recoat",
        wet_m2=area_m2,
    )


def _dry(task: Task, reason: str) -> After:
    return After(task=task.id, reason=reason, wait=Wait(product=WET, stage="recoat"))
