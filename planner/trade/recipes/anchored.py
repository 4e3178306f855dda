"""Anchoring to the floor, which every fill has, before or after it."""

from planner.records import Task, Wait
from planner.trade.parts import After, Site, task_of
from planner.trade.takeoff import Bay


def holes(site: Site, bay: Bay) -> int:
    """Return the holes in the floor along a bay."""
    return site.anchor_holes_per_module * max(bay.modules, 1)


def anchor_of(site: Site, bay: Bay) -> Task:
    """Return the task of screwing a bay to the floor."""
    return task_of(
        site.rates["anchor"],
        bay=bay,
        amount=holes(site, bay),
        product=site.products[site.methods.adhesive],
        dry_stage="hold",
    )


def still(site: Site, anchor: Task) -> After:
    """Return what the joints wait for: a floor edge that holds still."""
    return After(
        task=anchor.id,
        reason="the floor edge must hold still",
        wait=Wait(product=site.methods.adhesive, stage="hold"),
    )
