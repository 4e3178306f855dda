"""Freight and intake, the count, and sanding the modules: no closure needed."""

from dataclasses import replace

from planner.trade import recipes
from planner.trade.parts import (
    SLAB,
    After,
    Leads,
    Part,
    Site,
    follow,
    joined,
    pieces,
    task_of,
)


def delivery(site: Site, leads: Leads) -> Part:
    """Return the work on the crates and the loose modules."""
    built = site.takeoff.built
    total = sum(b.modules + b.uprights for b in built)
    intake = replace(task_of(site, "intake", amount=total), on_delivery_day=True)
    count = replace(task_of(site, "count", amount=total), finds_damage=True)
    opened = After(task=intake.id, reason="the crates must be open")
    counted = After(task=count.id, reason="the pieces must be counted")
    measured = After(task=count.id, reason="the pieces are measured before the wall")
    whole = After(task=count.id, reason="the stage is closed for a kit that is whole")
    crates = Part(
        tasks=(intake, count),
        links=follow(count, opened),
        leads={
            **leads,
            **{pieces(b): (counted,) for b in built},
            **{b.id: (measured,) for b in built},
            SLAB: (whole,),
        },
    )
    return joined(
        (crates, recipes.cook("sanding", site, crates.leads, built)), crates.leads
    )
