"""Modules sanded on the stage, which is closed then and must be free of wet coats."""

from planner.trade.parts import Leads, Part, Site
from planner.trade.recipes.sanding.sanded import sanded
from planner.trade.takeoff import Bay


def recipe(site: Site, leads: Leads, bays: tuple[Bay, ...]) -> Part:
    """Return the sanding of all modules, on the stage."""
    return sanded(site, leads, bays, on_stage=True)
