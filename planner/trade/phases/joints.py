"""The floor, tape and compound by the chosen recipes, sanding, wiping down."""

from collections.abc import Iterable

from planner.nouns.work import Task, Wait
from planner.trade import recipes
from planner.trade.heights import feathered_m2, surface_m2
from planner.trade.parts import (
    ALL,
    SLAB,
    After,
    Leads,
    Part,
    Site,
    end,
    follow,
    joined,
    task_of,
)
from planner.trade.takeoff import Bay, BayKind


def joints(site: Site, leads: Leads) -> Part:
    """Return the joint work of every bay; hands on what the first primer follows."""
    floors: dict[str, Task] = {}
    parts: list[Part] = []
    for bay in site.takeoff.built:
        floor = task_of(site, "floor", bay=bay, amount=bay.front_edge_mm / 1000.0)
        parts.append(
            Part(
                tasks=(floor,),
                links=follow(
                    floor, *leads[bay.id], *leads[SLAB], *leads.get(end(bay), ())
                ),
                leads={},
            )
        )
        floors[bay.id] = floor
    dusty: list[Task] = []
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
        dusty.append(parts[-1].tasks[0])
    for apron in painted_floors(site):
        parts.append(_scuffed(site, apron, floors.values()))
        dusty.append(parts[-1].tasks[0])
    no_dust = tuple(
        After(task=t.id, reason="wiped once no sanding dust can fall on it")
        for t in dusty
    )
    wiped = _wiped(site, no_dust, (*site.takeoff.built, *painted_floors(site)))
    return joined((*parts, wiped), leads)


def painted_floors(site: Site) -> tuple[Bay, ...]:
    """Return the apron where it is painted and has any depth, else nothing."""
    painted = site.methods.colour_on_apron and site.stage.apron_mm > 0.0
    return site.takeoff.of(BayKind.APRON) if painted else ()


def _scuffed(site: Site, apron: Bay, floors: Iterable[Task]) -> Part:
    """Return the cleaning and sanding of all the floor that is painted."""
    scuff = task_of(site, "scuff", bay=apron, amount=apron.floor_m2)
    reason = "the strip in front of the coves is sanded first"
    after = (After(task=f.id, reason=reason) for f in floors)
    return Part(tasks=(scuff,), links=follow(scuff, *after), leads={})


def _rubbed(site: Site, leads: Leads, bay: Bay) -> Part:
    """Return the sanding of a bay's compound."""
    skimmed = site.methods.skim_coats > 0
    rub = task_of(
        site,
        "rub",
        bay=bay,
        amount=bay.face_m2 if skimmed else bay.feather_m2,
        high=(surface_m2 if skimmed else feathered_m2)(site, "rub", bay),
    )
    return Part(tasks=(rub,), links=follow(rub, *leads[bay.id]), leads={})


def _wiped(site: Site, no_dust: tuple[After, ...], bays: tuple[Bay, ...]) -> Part:
    """Return the wiping of all that is coated, which the first primer waits for."""
    wiped_m2 = sum(b.primed_m2 + b.floor_m2 for b in bays)
    wipe = task_of(
        site,
        "wipe",
        bays=tuple(b.id for b in bays),
        amount=wiped_m2,
        high=sum(surface_m2(site, "wipe", b) for b in bays),
        product=site.products["damp-wipe"],
        dry_stage="recoat",
        wet_m2=wiped_m2,
    )
    last = After(
        task=wipe.id,
        reason="the wiped surface must be dry",
        wait=Wait(product="damp-wipe", stage="recoat"),
    )
    return Part(tasks=(wipe,), links=follow(wipe, *no_dust), leads={ALL: (last,)})
