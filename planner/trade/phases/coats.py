"""Primer, the shadow check, colour and hand-over, and what both returns wait for."""

from planner.nouns.product import CLEARED, RECOAT_WINDOW
from planner.nouns.work import ReturnKind, Task, TaskLink, Wait, Window
from planner.trade import recipes
from planner.trade.heights import surface_m2
from planner.trade.parts import (
    ALL,
    After,
    Leads,
    Part,
    Site,
    entered,
    follow,
    joined,
    task_of,
)
from planner.trade.recipes.paint.primed import primed_m2


def coats(site: Site, leads: Leads) -> Part:
    """Return primer, the shadow check, colour, hand-over, and what returns wait for."""
    takeoff, built = site.takeoff, site.takeoff.built
    primed = recipes.cook("primer", site, leads, built)
    shadow = task_of(
        site,
        "shadow",
        bays=tuple(b.id for b in built),
        amount=primed_m2(built),
        high=sum(surface_m2(site, "shadow", b) for b in built),
    )
    checked = Part(tasks=(shadow,), links=follow(shadow, *primed.leads[ALL]), leads={})
    passed = After(task=shadow.id, reason="colour only when no joint shows through")
    seen = {ALL: (passed, *primed.leads[ALL])}
    coloured = recipes.cook("colour", site, seen, built)
    handover = task_of(
        site,
        "handover",
        bays=tuple(b.id for b in takeoff.bays),
        amount=takeoff.apron_m2,
    )
    handed = Part(
        tasks=(handover,), links=follow(handover, *coloured.leads[ALL]), leads={}
    )
    work = joined((primed, checked, coloured, handed), leads)
    again = _sanded_again(site, work)
    return Part(
        tasks=(*work.tasks, *again.tasks),
        links=(*work.links, *again.links),
        leads=leads,
        returns=_returns(site, handover, coloured),
        windows=again.windows,
    )


def _sanded_again(site: Site, work: Part) -> Part:
    """Return what is done if a coat isn't covered within its window: sanding again."""
    known = {t.id: t for t in work.tasks}
    built = {b.id: b for b in site.takeoff.built}
    tasks: list[Task] = []
    links: list[TaskLink] = []
    windows: list[Window] = []
    for before, after in work.coats:
        one, two = known[before], known[after]
        product = site.products[one.product or ""]
        if not any(w.name == RECOAT_WINDOW for w in product.latest):
            continue
        bays = [built[b] for b in one.bays if b in built]
        sand = task_of(
            site,
            "sand-again",
            bays=one.bays,
            amount=one.wet_m2,
            high=sum(surface_m2(site, "sand-again", b) for b in bays),
            number=len(tasks) + 1,
            optional=True,
        )
        tasks.append(sand)
        links += follow(sand, entered(one, product))
        wiped = "the surface is sanded again before it is covered"
        links += follow(two, After(task=sand.id, reason=wiped))
        windows.append(
            Window(
                before=one.id,
                after=two.id,
                product=product.id,
                latest=RECOAT_WINDOW,
                unless=sand.id,
            )
        )
    return Part(
        tasks=tuple(tasks), links=tuple(links), leads={}, windows=tuple(windows)
    )


def _returns(
    site: Site, handover: Task, coloured: Part
) -> tuple[tuple[ReturnKind, str, Wait | None], ...]:
    """Return what each return waits for: hand-over, then the coat laid last first."""
    products = {t.id: t.product for t in coloured.tasks}
    out: list[tuple[ReturnKind, str, Wait | None]] = []
    for kind in ReturnKind:
        out.append((kind, handover.id, None))
        for _, coat, wait in reversed([r for r in coloured.returns if r[0] is kind]):
            out.append((kind, coat, wait))
            product = products[coat] or ""
            if site.products[product].reaches(CLEARED):
                out.append((kind, coat, Wait(product=product, stage=CLEARED)))
    return tuple(out)
