"""Sanding the loose modules, all of them at once, wherever it is done."""

from planner.trade.parts import After, Leads, Part, Site, follow, pieces, task_of
from planner.trade.takeoff import Bay


def sanded(site: Site, leads: Leads, bays: tuple[Bay, ...], *, on_stage: bool) -> Part:
    """Return the sanding of all modules, set up once; hands on what assembly follows."""
    sand = task_of(
        site,
        "sand-modules",
        bays=tuple(b.id for b in bays),
        amount=sum(b.sanded_m2 for b in bays),
        on_stage=on_stage,
    )
    reason = "the modules are sanded before they are put together"
    return Part(
        tasks=(sand,),
        links=follow(sand, *(a for b in bays for a in leads[pieces(b)])),
        leads={pieces(b): (After(task=sand.id, reason=reason),) for b in bays},
    )
