"""Two colours: the second on a later day, masked where a natural edge lets it end.

Tape would lift colour that has only dried to be recoated, and whoever masks the
apron walks on it: so the tape waits until the first colour bears light foot traffic.
"""

from itertools import pairwise

from planner.nouns.job import SecondColour
from planner.nouns.work import ReturnKind, Wait
from planner.trade.parts import (
    ALL,
    After,
    Leads,
    Part,
    Site,
    entered,
    follow,
    joined,
    stacked,
    task_of,
)
from planner.trade.recipes.paint import one_colour
from planner.trade.takeoff import Bay, BayKind


def recipe(site: Site, leads: Leads, bays: tuple[Bay, ...]) -> Part:
    """Return the first colour, the masking and the second colour over it."""
    second = site.methods.second_colour
    if second is None:
        raise ValueError("second_colour: none is given")
    first = one_colour.recipe(site, leads, bays)
    return joined((first, _second(site, second, first)), {})


def _second(site: Site, second: SecondColour, first: Part) -> Part:
    first_colour = site.products[site.methods.colour]
    product = site.products[second.product]
    reached = tuple(b for b in site.takeoff.bays if b.id in second.bays)
    under = first.tasks[-1]
    mask = task_of(
        site,
        "mask",
        bays=tuple(b.id for b in reached),
        amount=edge_m(site, reached),
    )
    laid = one_colour.coloured(site, "second-colour", product, reached, second.coats)
    hard = Wait(product=first_colour.id, stage=ReturnKind.LIGHT_FOOT_TRAFFIC)
    links = [
        *follow(
            mask,
            After(
                task=under.id,
                reason="tape and feet would mark the first colour",
                wait=hard,
            ),
        ),
        *follow(
            laid[0],
            After(task=mask.id, reason="the edge is masked first"),
            entered(under, first_colour),
        ),
        *stacked(laid, product),
    ]
    return Part(
        tasks=(mask, *laid),
        links=tuple(links),
        leads={ALL: (*first.leads[ALL], entered(laid[-1], product))},
        returns=one_colour.borne_by(laid[-1], product),
        coats=(
            (under.id, laid[0].id),
            *((one.id, two.id) for one, two in pairwise(laid)),
        ),
    )


def edge_m(site: Site, reached: tuple[Bay, ...]) -> float:
    """Return the edge to be masked: front of the coves, ends of the runs, in m."""
    apron = any(b.kind is BayKind.APRON for b in reached)
    runs = [b for b in reached if b.kind is not BayKind.APRON]
    ids = {b.id for b in runs}
    # Where both sides of the front edge take the second colour nothing is masked.
    front_mm = sum(
        b.front_edge_mm for b in site.takeoff.built if (b.id in ids) != apron
    )
    return (front_mm + 2 * len(runs) * site.stage.ceiling_mm) / 1000.0
