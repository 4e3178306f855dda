"""Tape bedded in setting compound, then coats of drying compound over it."""

from planner.trade.parts import Leads, Part, Site
from planner.trade.recipes.compound.coated import coated, layers, topped
from planner.trade.takeoff import Bay


def recipe(site: Site, leads: Leads, bays: tuple[Bay, ...]) -> Part:
    """Return tape, setting coats, any drying coats, topping, and any skim."""
    m = site.methods
    return coated(
        site,
        leads,
        bays,
        [
            *layers(
                "setting-coat",
                m.setting,
                m.setting_coats,
                gate="set" if m.next_coat_after == "set" else "dry",
            ),
            *topped(m),
        ],
    )
