"""All drying-type compound: the tape bedded in all-purpose, topping over it."""

from planner.trade.parts import Leads, Part, Site
from planner.trade.recipes.compound.coated import coated, topped
from planner.trade.takeoff import Bay


def recipe(site: Site, leads: Leads, bays: tuple[Bay, ...]) -> Part:
    """Return tape, drying coats, topping and skim, each dry before the next."""
    return coated(site, leads, bays, topped(site.methods))
