"""One colour: each coat goes over the whole backdrop in one go, with a wet edge."""

from collections.abc import Iterable
from itertools import pairwise

from planner.nouns.job import Repaint
from planner.nouns.product import Product
from planner.nouns.work import ReturnKind, Task, Wait
from planner.trade.heights import surface_m2
from planner.trade.parts import (
    ALL,
    Leads,
    Part,
    Site,
    entered,
    follow,
    stacked,
    task_of,
)
from planner.trade.takeoff import Bay, BayKind


def recipe(site: Site, leads: Leads, bays: tuple[Bay, ...]) -> Part:
    """Return the colour coats; returns wait for the last to bear feet and service."""
    methods, takeoff = site.methods, site.takeoff
    colour = site.products[methods.colour]
    aprons = takeoff.of(BayKind.APRON) if methods.colour_on_apron else ()
    laid = coloured(site, "colour", colour, (*bays, *aprons), methods.colour_coats)
    under = tuple((a.task, laid[0].id) for a in leads[ALL] if a.wait is not None)
    return Part(
        tasks=tuple(laid),
        links=(*follow(laid[0], *leads[ALL]), *stacked(laid, colour)),
        leads={ALL: (entered(laid[-1], colour),)},
        returns=borne_by(laid[-1], colour),
        coats=(*under, *((one.id, two.id) for one, two in pairwise(laid))),
    )


def coloured(
    site: Site, rate: str, product: Product, bays: tuple[Bay, ...], count: int
) -> list[Task]:
    """Return so many coats of a colour over bays, wall and floor together."""
    area_m2 = sum(coloured_m2(site, b) for b in bays)
    return [
        task_of(
            site,
            rate,
            bays=tuple(b.id for b in bays),
            amount=area_m2,
            high=high_m2(site, rate, bays),
            curved=sum(b.module_m2 for b in bays),
            number=n,
            product=product,
            dry_stage="recoat",
            wet_m2=area_m2,
        )
        for n in range(1, count + 1)
    ]


def high_m2(site: Site, rate: str, bays: Iterable[Bay]) -> float:
    """Return how much of what is coloured lies above ten feet. [m²]."""
    if site.repaint is not None and site.repaint.area != "all":
        return 0.0
    return sum(surface_m2(site, rate, b) for b in bays)


def coloured_m2(site: Site, bay: Bay) -> float:
    """Return what takes colour in a bay, in m².

    Where the apron takes none, the compound in front of the coves does: none stays
    bare.
    """
    if site.repaint is not None:
        return repainted_m2(site.repaint, bay)
    bare = 0.0 if site.methods.colour_on_apron else bay.floor_strip_m2
    return bay.face_m2 + bay.floor_m2 + bare


def repainted_m2(repaint: Repaint, bay: Bay) -> float:
    """Return what is painted again in a bay: floor, coves, or all up to the ceiling."""
    if not repaint.has_coves:
        return bay.floor_m2
    wall_m2 = bay.face_m2 if repaint.area == "all" else bay.module_m2 + bay.ends_m2
    return wall_m2 + bay.floor_m2


def borne_by(
    coat: Task, product: Product
) -> tuple[tuple[ReturnKind, str, Wait | None], ...]:
    """Return what the returns wait for after a last coat of colour."""
    return tuple((n, coat.id, Wait(product=product.id, stage=n)) for n in ReturnKind)
