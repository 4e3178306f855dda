"""Floor in front, tape and compound by the recipes chosen, sanding, wiping down."""

from planner.nouns.work import Task, Wait
from planner.trade import recipes
from planner.trade.heights import column_m2, feathered_m2, surface_m2
from planner.trade.parts import ALL, After, Leads, Part, Site, follow, joined, task_of
from planner.trade.takeoff import Bay


def joints(site: Site, leads: Leads) -> Part:
    """Return the joint work of every bay; hands on what the first primer follows."""
    floors: dict[str, Task] = {}
    parts: list[Part] = []
    for bay in site.takeoff.built:
        floor = task_of(site.rates["floor"], bay=bay, amount=bay.front_edge_mm / 1000.0)
        parts.append(
            Part(tasks=(floor,), links=follow(floor, *leads[bay.id]), leads={})
        )
        floors[bay.id] = floor
    wiped: list[After] = []
    for bay in site.takeoff.built:
        clean = {
            bay.id: tuple(
                After(task=floors[b].id, reason="the joints must be anchored and clean")
                for b in (bay.id, *bay.beside)
            )
        }
        bonded = recipes.cook("bonding", site, clean, (bay,))
        coated = recipes.cook("compound", site, bonded.leads, (bay,))
        rubbed, last = _rubbed(site, coated.leads, bay)
        parts += (bonded, coated, rubbed)
        wiped.append(last)
    return joined(parts, {**leads, ALL: tuple(wiped)})


def _rubbed(site: Site, leads: Leads, bay: Bay) -> tuple[Part, After]:
    """Return sanding and wiping of a bay, and what the primer waits for there."""
    skimmed = site.methods.skim_coats > 0
    rub = task_of(
        site.rates["rub"],
        bay=bay,
        amount=bay.primed_m2 if skimmed else bay.feather_m2,
        high=(surface_m2 if skimmed else feathered_m2)(site, "rub", bay),
    )
    wipe = task_of(
        site.rates["wipe"],
        bay=bay,
        amount=bay.module_m2,
        high=column_m2(site, "wipe", bay),
        product=site.products["damp-wipe"],
        dry_stage="recoat",
        wet_m2=bay.module_m2,
    )
    links = (
        *follow(rub, *leads[bay.id]),
        *follow(wipe, After(task=rub.id, reason="the sanding dust is wiped off")),
    )
    last = After(
        task=wipe.id,
        reason="the wiped surface must be dry",
        wait=Wait(product="damp-wipe", stage="recoat"),
    )
    return Part(tasks=(rub, wipe), links=links, leads={}), last
