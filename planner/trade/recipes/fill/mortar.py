"""Mortar behind the modules: a bed under the edge, screws while it is soft, the rest.

The front edge is lifted a little and bedded; the screws pull it down into the bed
before the mortar sets, within its pot life; then the rest is packed and kept damp.
"""

from planner.nouns.product import POT_LIFE
from planner.nouns.work import ReturnKind, Wait, Window
from planner.trade.parts import After, Leads, Part, Site, follow, joined, task_of
from planner.trade.recipes.fill.anchored import anchored
from planner.trade.takeoff import Bay


def recipe(site: Site, leads: Leads, bays: tuple[Bay, ...]) -> Part:
    """Return bed, anchoring and packing; `leads` of a bay holds what drilling left."""
    return joined((_bay(site, leads, bay) for bay in bays), {})


def _bay(site: Site, leads: Leads, bay: Bay) -> Part:
    mortar = site.methods.mortar
    bed, pack = (
        task_of(
            site,
            rate,
            bay=bay,
            amount=max(bay.modules, 1),
            product=site.products[mortar],
            dry_stage="crust",
        )
        for rate in ("bed", "pack")
    )
    screwed = anchored(site, bay)
    anchor = screwed.tasks[0]
    soft = After(task=bed.id, reason="the edge is screwed down into the soft bed")
    held = After(task=anchor.id, reason="the rest is packed behind the screwed edge")
    crusts = (
        After(
            task=task.id,
            reason="the mortar must crust",
            wait=Wait(product=mortar, stage="crust"),
        )
        for task in (bed, pack)
    )
    strong = Wait(product=mortar, stage="load")
    return Part(
        tasks=(bed, anchor, pack),
        links=(
            *follow(bed, *leads[bay.id]),
            *follow(anchor, soft),
            *follow(pack, held),
        ),
        leads={bay.id: (*screwed.leads[bay.id], *crusts)},
        returns=(
            *((ReturnKind.FULL_SERVICE, t.id, strong) for t in (bed, pack)),
            *screwed.returns,
        ),
        windows=(
            Window(
                before=bed.id,
                after=anchor.id,
                product=mortar,
                latest=POT_LIFE,
                unless="",
            ),
        ),
    )
