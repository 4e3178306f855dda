"""Anchoring to the floor: what every fill shares."""

from planner.nouns.work import ReturnKind, Wait
from planner.trade.parts import After, Part, Site, task_of
from planner.trade.takeoff import Bay


def holes(site: Site, bay: Bay) -> int:
    """Return the holes in the floor along a bay."""
    return site.anchor_holes_per_module * max(bay.modules, 1)


def anchored(site: Site, bay: Bay) -> Part:
    """Return a bay's anchoring, without what it follows; the joints wait for it."""
    adhesive = site.methods.adhesive
    anchor = task_of(
        site,
        "anchor",
        bay=bay,
        amount=holes(site, bay),
        product=site.products[adhesive],
        dry_stage="hold",
    )
    still = After(
        task=anchor.id,
        reason="the floor edge must hold still",
        wait=Wait(product=adhesive, stage="hold"),
    )
    full = Wait(product=adhesive, stage="full")
    return Part(
        tasks=(anchor,),
        links=(),
        leads={bay.id: (still,)},
        returns=((ReturnKind.FULL_SERVICE, anchor.id, full),),
    )
