"""No bonding agent: compound straight on the sanded margins."""

from planner.trade.parts import Leads, Part, Site
from planner.trade.takeoff import Bay


def recipe(_site: Site, leads: Leads, bays: tuple[Bay, ...]) -> Part:
    """Return no task: the tape follows what the bonding agent would have followed."""
    return Part(tasks=(), links=(), leads={b.id: leads[b.id] for b in bays})
