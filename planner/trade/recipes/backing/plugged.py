"""Furring on masonry: how each strip is held to it is the crew lead's choice."""

import math

from planner.trade.geometry import furring
from planner.trade.heights import above_mm
from planner.trade.parts import After, Leads, Part, Site, follow, joined, task_of
from planner.trade.recipes.backing.furred import boarded, stripped, strips_mm
from planner.trade.takeoff import Bay

FIXING_SPACING_MM = 600.0  # along a strip, at most; common practice, no source
PLUGS = "plugs"
RATES = {PLUGS: "plug", "frame fixings": "frame-fix", "cartridge nails": "shoot"}


def recipe(site: Site, leads: Leads, bays: tuple[Bay, ...]) -> Part:
    """Return fixings, strips and board; hands on what the line marks follow."""
    parts: list[Part] = []
    for bay in bays:
        if site.methods.masonry_fixing == PLUGS:
            why = "the strips are screwed to the plugs"
            held = _fixed(site, leads, bay, why)
            strips = stripped(site, held.leads, bay)
            parts += (held, strips, boarded(site, strips.leads, bay))
        else:
            strips = stripped(site, leads, bay)
            held = _fixed(site, strips.leads, bay, "the strips hold before the board")
            parts += (strips, held, boarded(site, held.leads, bay))
    return joined(parts, {})


def _fixed(site: Site, leads: Leads, bay: Bay, why: str) -> Part:
    """Return the fixings of a bay, and what follows them with the reason why."""
    rate = site.rates[RATES[site.methods.masonry_fixing]]
    foot = furring.band_foot_mm(site.kit)
    rise = max(site.stage.ceiling_mm - foot, 1.0)
    amount = fixings(site, bay)
    high = amount * above_mm(site, rate.high, foot) / rise
    fix = task_of(site, rate.id, bay=bay, amount=amount, high=high)
    return Part(
        tasks=(fix,),
        links=follow(fix, *leads[bay.id]),
        leads={bay.id: (After(task=fix.id, reason=why),)},
    )


def fixings(site: Site, bay: Bay) -> int:
    """Return the fixings behind a bay: at both ends of each strip and between."""
    return sum(
        math.ceil(length / FIXING_SPACING_MM - 1e-9) + 1
        for length in strips_mm(site, bay)
    )
