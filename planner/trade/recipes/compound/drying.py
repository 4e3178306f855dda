"""All drying-type compound: the tape bedded in all-purpose, topping over it."""

from planner.trade.parts import Leads, Part, Site
from planner.trade.recipes.compound.coated import coated, layers
from planner.trade.takeoff import Bay


def recipe(site: Site, leads: Leads, bays: tuple[Bay, ...]) -> Part:
    """Return tape, drying coats and topping, each dry before the next."""
    m = site.methods
    return coated(
        site,
        leads,
        bays,
        [
            *layers("drying-coat", m.drying, m.drying_coats),
            *layers("topping-coat", m.topping, m.topping_coats),
        ],
    )
