"""What both ways of priming share: one coat of primer as a task."""

from planner.nouns.work import Task
from planner.trade.heights import surface_m2
from planner.trade.parts import Site, task_of
from planner.trade.takeoff import Bay


def primed_m2(bays: tuple[Bay, ...]) -> float:
    """Return all that takes primer in bays, compound on the floor too, in m²."""
    return sum(b.primed_m2 for b in bays)


def coat(site: Site, bays: tuple[Bay, ...], number: int, *, apart: bool) -> Task:
    """Return a coat of primer over `bays`; `apart` makes it the coat of one bay."""
    area_m2 = primed_m2(bays)
    return task_of(
        site,
        "prime",
        bay=bays[0] if apart else None,
        bays=tuple(b.id for b in bays),
        amount=area_m2,
        high=sum(surface_m2(site, "prime", b) for b in bays),
        curved=sum(b.module_m2 for b in bays),
        number=number,
        product=site.products[site.methods.primer],
        dry_stage="recoat",
        wet_m2=area_m2,
    )
