"""Foam filled in from beneath after the floor screws; somebody watches it an hour."""

from planner.nouns.work import ReturnKind, Wait
from planner.trade.parts import After, Leads, Part, Site, follow, joined, task_of
from planner.trade.recipes.fill.anchored import anchored
from planner.trade.takeoff import Bay


def recipe(site: Site, leads: Leads, bays: tuple[Bay, ...]) -> Part:
    """Return anchoring and foaming; `leads` of a bay holds what the drilling left."""
    return joined((_bay(site, leads, bay) for bay in bays), {})


def _bay(site: Site, leads: Leads, bay: Bay) -> Part:
    product = site.methods.foam
    screwed = anchored(site, bay)
    anchor = screwed.tasks[0]
    foam = task_of(
        site,
        "foam",
        bay=bay,
        amount=max(bay.modules, 1),
        product=site.products[product],
        dry_stage="trim",
    )
    held = After(task=anchor.id, reason="the foam goes in after the screws")
    firm = After(
        task=foam.id,
        reason="the foam must be firm enough to trim",
        wait=Wait(product=product, stage="trim"),
    )
    full = Wait(product=product, stage="full")
    return Part(
        tasks=(anchor, foam),
        links=(*follow(anchor, *leads[bay.id]), *follow(foam, held)),
        leads={bay.id: (*screwed.leads[bay.id], firm)},
        returns=((ReturnKind.FULL_SERVICE, foam.id, full), *screwed.returns),
    )
