"""Dry mortar packed behind the modules: it goes in before the floor screws."""

from planner.records import Link, Task, Wait
from planner.trade.parts import After, Leads, Part, Site, follow, task_of
from planner.trade.recipes.anchored import anchor_of, still
from planner.trade.takeoff import Bay


def recipe(site: Site, leads: Leads, bays: tuple[Bay, ...]) -> Part:
    """Return packing and anchoring; `leads` of a bay holds what the drilling left."""
    methods = site.methods
    tasks: list[Task] = []
    links: list[Link] = []
    out: dict[str, tuple[After, ...]] = {}
    returns: list[tuple[str, str, Wait | None]] = []
    for bay in bays:
        pack = task_of(
            site.rates["pack"],
            bay=bay,
            amount=max(bay.modules, 1),
            product=site.products[methods.mortar],
            dry_stage="crust",
        )
        anchor = anchor_of(site, bay)
        links += follow(pack, *leads[bay.id])
        links += follow(
            anchor, After(task=pack.id, reason="the fill goes in before the screws")
        )
        tasks += [pack, anchor]
        crust = Wait(product=methods.mortar, stage="crust")
        out[bay.id] = (
            still(site, anchor),
            After(task=pack.id, reason="the fill must crust", wait=crust),
        )
        load = Wait(product=methods.mortar, stage="load")
        returns.append(("full service", pack.id, load))
        strong = Wait(product=methods.adhesive, stage="full")
        returns.append(("full service", anchor.id, strong))
    return Part(
        tasks=tuple(tasks), links=tuple(links), leads=out, returns=tuple(returns)
    )
