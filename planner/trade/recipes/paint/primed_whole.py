"""Primer over the whole backdrop, each coat in one go."""

from itertools import pairwise

from planner.trade.parts import ALL, Leads, Part, Site, entered, follow, stacked
from planner.trade.recipes.paint.primed import coat
from planner.trade.takeoff import Bay


def recipe(site: Site, leads: Leads, bays: tuple[Bay, ...]) -> Part:
    """Return the coats of primer; hands on what those who come after wait for."""
    primer = site.products[site.methods.primer]
    count = site.methods.primer_coats
    laid = [coat(site, bays, n, apart=False) for n in range(1, count + 1)]
    return Part(
        tasks=tuple(laid),
        links=(*follow(laid[0], *leads[ALL]), *stacked(laid, primer)),
        leads={ALL: (entered(laid[-1], primer),)},
        coats=tuple((one.id, two.id) for one, two in pairwise(laid)),
    )
