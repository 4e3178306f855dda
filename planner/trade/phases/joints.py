"""The floor joint, tape and compound by the chosen recipes, sanding, wiping down."""

from planner.nouns.work import Task, Wait
from planner.trade import recipes
from planner.trade.heights import feathered_m2, surface_m2
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
    rubbed: list[Task] = []
    for bay in site.takeoff.built:
        clean = {
            bay.id: tuple(
                After(task=floors[b].id, reason="the joints must be anchored and clean")
                for b in (bay.id, *bay.beside)
            )
        }
        bonded = recipes.cook("bonding", site, clean, (bay,))
        coated = recipes.cook("compound", site, bonded.leads, (bay,))
        parts += (bonded, coated, _rubbed(site, coated.leads, bay))
        rubbed.append(parts[-1].tasks[0])
    no_dust = tuple(
        After(task=t.id, reason="wiped once no sanding dust can fall on it")
        for t in rubbed
    )
    wipes = [_wiped(site, no_dust, bay) for bay in site.takeoff.built]
    parts += (part for part, _ in wipes)
    wiped = tuple(last for _, last in wipes)
    return joined(parts, {**leads, ALL: wiped})


def _rubbed(site: Site, leads: Leads, bay: Bay) -> Part:
    """Return the sanding of a bay's compound."""
    skimmed = site.methods.skim_coats > 0
    rub = task_of(
        site.rates["rub"],
        bay=bay,
        amount=bay.face_m2 if skimmed else bay.feather_m2,
        high=(surface_m2 if skimmed else feathered_m2)(site, "rub", bay),
    )
    return Part(tasks=(rub,), links=follow(rub, *leads[bay.id]), leads={})


def _wiped(site: Site, no_dust: tuple[After, ...], bay: Bay) -> tuple[Part, After]:
    """Return the wiping of all that is primed in a bay, and what the primer waits for."""
    wipe = task_of(
        site.rates["wipe"],
        bay=bay,
        amount=bay.primed_m2,
        high=surface_m2(site, "wipe", bay),
        product=site.products["damp-wipe"],
        dry_stage="recoat",
        wet_m2=bay.primed_m2,
    )
    last = After(
        task=wipe.id,
        reason="the wiped surface must be dry",
        wait=Wait(product="damp-wipe", stage="recoat"),
    )
    return Part(tasks=(wipe,), links=follow(wipe, *no_dust), leads={}), last
