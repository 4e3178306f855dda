"""Foam from beneath: after the floor screws, and somebody stays about an hour."""

from planner.trade.parts import Leads, Part, Site
from planner.trade.recipes.fill.anchored import Filling, filled
from planner.trade.takeoff import Bay


def recipe(site: Site, leads: Leads, bays: tuple[Bay, ...]) -> Part:
    """Return anchoring and foaming; `leads` of a bay holds what the drilling left."""
    foam = Filling(
        rate="foam",
        product=site.methods.foam,
        before_screws=False,
        why="the foam goes in after the screws",
        firm="trim",
        firm_why="the foam must be firm enough to trim",
        strong="full",
    )
    return filled(site, leads, bays, foam)
