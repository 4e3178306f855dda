"""Anchoring to the floor and filling the hollow: what every fill shares."""

from dataclasses import dataclass

from planner.nouns.work import ReturnKind, Task, TaskLink, Wait
from planner.trade.parts import After, Leads, Part, Site, follow, task_of
from planner.trade.takeoff import Bay


def holes(site: Site, bay: Bay) -> int:
    """Return the holes in the floor along a bay."""
    return site.anchor_holes_per_module * max(bay.modules, 1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Filling:
    """What fills the hollow, on which side of the screws, and how it hardens.

    The joints wait until it is `firm`, full service until it is `strong`; both are
    stages of its hardening.
    """

    rate: str
    product: str
    before_screws: bool
    why: str
    firm: str
    firm_why: str
    strong: str


def filled(site: Site, leads: Leads, bays: tuple[Bay, ...], filling: Filling) -> Part:
    """Return filling and anchoring of each bay, in the filling's order."""
    adhesive = site.methods.adhesive
    tasks: list[Task] = []
    links: list[TaskLink] = []
    out: dict[str, tuple[After, ...]] = {}
    returns: list[tuple[ReturnKind, str, Wait | None]] = []
    for bay in bays:
        fill = task_of(
            site.rates[filling.rate],
            bay=bay,
            amount=max(bay.modules, 1),
            product=site.products[filling.product],
            dry_stage=filling.firm,
        )
        anchor = task_of(
            site.rates["anchor"],
            bay=bay,
            amount=holes(site, bay),
            product=site.products[adhesive],
            dry_stage="hold",
        )
        first, second = (fill, anchor) if filling.before_screws else (anchor, fill)
        links += follow(first, *leads[bay.id])
        links += follow(second, After(task=first.id, reason=filling.why))
        tasks += [first, second]
        out[bay.id] = (
            After(
                task=anchor.id,
                reason="the floor edge must hold still",
                wait=Wait(product=adhesive, stage="hold"),
            ),
            After(
                task=fill.id,
                reason=filling.firm_why,
                wait=Wait(product=filling.product, stage=filling.firm),
            ),
        )
        for task, product, stage in (
            (fill, filling.product, filling.strong),
            (anchor, adhesive, "full"),
        ):
            wait = Wait(product=product, stage=stage)
            returns.append((ReturnKind.FULL_SERVICE, task.id, wait))
    return Part(
        tasks=tuple(tasks), links=tuple(links), leads=out, returns=tuple(returns)
    )
