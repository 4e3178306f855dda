"""Foam from beneath: after the floor screws, and somebody stays about an hour."""

from planner.records import Link, Task, Wait
from planner.trade.parts import After, Leads, Part, Site, follow, task_of
from planner.trade.recipes.anchored import anchor_of, still
from planner.trade.takeoff import Bay


def recipe(site: Site, leads: Leads, bays: tuple[Bay, ...]) -> Part:
    """Return anchoring and foaming; `leads` of a bay holds what the drilling left."""
    methods = site.methods
    tasks: list[Task] = []
    links: list[Link] = []
    out: dict[str, tuple[After, ...]] = {}
    returns: list[tuple[str, str, Wait | None]] = []
    for bay in bays:
        anchor = anchor_of(site, bay)
        foam = task_of(
            site.rates["foam"],
            bay=bay,
            amount=max(bay.modules, 1),
            product=site.products[methods.foam],
            dry_stage="trim",
        )
        links += follow(anchor, *leads[bay.id])
        links += follow(
            foam, After(task=anchor.id, reason="the foam goes in after the screws")
        )
        tasks += [anchor, foam]
        trim = Wait(product=methods.foam, stage="trim")
        out[bay.id] = (
            still(site, anchor),
            After(
                task=foam.id, reason="the foam must be firm enough to trim", wait=trim
            ),
        )
        full = Wait(product=methods.foam, stage="full")
        returns.append(("full service", foam.id, full))
        strong = Wait(product=methods.adhesive, stage="full")
        returns.append(("full service", anchor.id, strong))
    return Part(
        tasks=tuple(tasks), links=tuple(links), leads=out, returns=tuple(returns)
    )
