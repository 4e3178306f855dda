"""Dry mortar packed behind the modules: it goes in before the floor screws."""

from planner.trade.parts import Leads, Part, Site
from planner.trade.recipes.fill.anchored import Filling, filled
from planner.trade.takeoff import Bay


def recipe(site: Site, leads: Leads, bays: tuple[Bay, ...]) -> Part:
    """Return packing and anchoring; `leads` of a bay holds what the drilling left."""
    mortar = Filling(
        rate="pack",
        product=site.methods.mortar,
        before_screws=True,
        why="the fill goes in before the screws",
        firm="crust",
        firm_why="the fill must crust",
        strong="load",
    )
    return filled(site, leads, bays, mortar)
