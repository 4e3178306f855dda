"""One colour: each coat over all that is seen together, wet-edge in one go."""

from itertools import pairwise

from planner.records import Wait
from planner.trade.heights import surface_m2
from planner.trade.parts import ALL, After, Leads, Part, Site, entered, follow, task_of
from planner.trade.recipes.primed import primed_m2
from planner.trade.takeoff import Bay, BayKind


def recipe(site: Site, leads: Leads, bays: tuple[Bay, ...]) -> Part:
    """Return the colour coats; returns wait for the last to bear feet and service."""
    methods, takeoff = site.methods, site.takeoff
    colour = site.products[methods.colour]
    aprons = takeoff.of(BayKind.APRON) if methods.colour_on_apron else ()
    area_m2 = primed_m2(bays) + sum(b.floor_m2 for b in aprons)
    laid = [
        task_of(
            site.rates["colour"],
            bays=tuple(b.id for b in (*bays, *aprons)),
            amount=area_m2,
            high=sum(surface_m2(site, "colour", b) for b in bays),
            curved=sum(b.module_m2 for b in bays),
            number=n,
            product=colour,
            dry_stage="recoat",
            wet_m2=area_m2,
        )
        for n in range(1, methods.colour_coats + 1)
    ]
    links = [*follow(laid[0], *leads[ALL])]
    dry = Wait(product=colour.id, stage="recoat")
    for one, two in pairwise(laid):
        reason = "the coat before must be dry"
        links += follow(two, After(task=one.id, reason=reason, wait=dry))
    under = tuple((a.task, laid[0].id) for a in leads[ALL] if a.wait is not None)
    return Part(
        tasks=tuple(laid),
        links=tuple(links),
        leads={ALL: (entered(laid[-1], colour),)},
        returns=tuple(
            (name, laid[-1].id, Wait(product=colour.id, stage=name))
            for name in ("light feet", "full service")
        ),
        coats=(*under, *((one.id, two.id) for one, two in pairwise(laid))),
    )
