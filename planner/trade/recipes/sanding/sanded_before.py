"""Modules sanded away from the stage, before the closure if need be."""

from planner.trade.parts import Leads, Part, Site
from planner.trade.recipes.sanding.sanded import sanded
from planner.trade.takeoff import Bay


def recipe(site: Site, leads: Leads, bays: tuple[Bay, ...]) -> Part:
    """Return the sanding of all modules, off the stage."""
    return sanded(site, leads, bays, on_stage=False)
