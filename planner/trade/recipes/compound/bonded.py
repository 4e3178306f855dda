"""A bonding agent brushed on where compound goes, dry before the tape."""

from planner.nouns.work import Task, TaskLink, Wait
from planner.trade.heights import taped_m
from planner.trade.parts import After, Leads, Part, Site, follow, task_of
from planner.trade.takeoff import Bay


def recipe(site: Site, leads: Leads, bays: tuple[Bay, ...]) -> Part:
    """Return the bonding agent of each bay; hands on what the tape follows."""
    agent = site.products[site.methods.bonding]
    tasks: list[Task] = []
    links: list[TaskLink] = []
    out: dict[str, tuple[After, ...]] = {}
    for bay in bays:
        bond = task_of(
            site,
            "bond",
            bay=bay,
            amount=bay.joints_mm / 1000.0,
            high=taped_m(site, "bond", bay),
            product=agent,
            dry_stage="recoat",
            wet_m2=bay.feather_m2,
        )
        links += follow(bond, *leads[bay.id])
        tasks.append(bond)
        dry = Wait(product=agent.id, stage="recoat")
        reason = "the bonding agent must be dry"
        out[bay.id] = (After(task=bond.id, reason=reason, wait=dry),)
    return Part(tasks=tuple(tasks), links=tuple(links), leads=out)
