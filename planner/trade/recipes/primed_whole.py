"""Primer over the whole backdrop, each coat in one go."""

from itertools import pairwise

from planner.records import Wait
from planner.trade.parts import ALL, After, Leads, Part, Site, entered, follow
from planner.trade.recipes.primed import coat
from planner.trade.takeoff import Bay


def recipe(site: Site, leads: Leads, bays: tuple[Bay, ...]) -> Part:
    """Return the coats of primer; hands on what those who come after wait for."""
    primer = site.products[site.methods.primer]
    count = site.methods.primer_coats
    laid = [coat(site, bays, n, apart=False) for n in range(1, count + 1)]
    links = [*follow(laid[0], *leads[ALL])]
    dry = Wait(product=primer.id, stage="recoat")
    for one, two in pairwise(laid):
        reason = "the coat before must be dry"
        links += follow(two, After(task=one.id, reason=reason, wait=dry))
    return Part(
        tasks=tuple(laid),
        links=tuple(links),
        leads={ALL: (entered(laid[-1], primer),)},
        coats=tuple((one.id, two.id) for one, two in pairwise(laid)),
    )
