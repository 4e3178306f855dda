"""Freight and intake, the count, and sanding the modules: no closure needed."""

from planner.trade.parts import After, Leads, Part, Site, follow, pieces, task_of


def delivery(site: Site, leads: Leads) -> Part:
    """Return the work on the crates and the loose modules."""
    rates, built = site.rates, site.takeoff.built
    count_of = {b.id: b.modules + b.uprights for b in built}
    total = sum(count_of.values())
    intake = task_of(rates["intake"], amount=total)
    count = task_of(rates["count"], amount=total)
    opened = After(task=intake.id, reason="the crates must be open")
    counted = After(task=count.id, reason="the pieces must be counted")
    in_place = site.methods.sanding == "stage"
    sanding = {
        b.id: task_of(
            rates["sand-modules"], bay=b, amount=b.module_m2, on_stage=in_place
        )
        for b in built
    }
    links = [*follow(count, opened)]
    for task in sanding.values():
        links += follow(task, counted)
    sanded = {
        pieces(b): (
            After(
                task=sanding[b.id].id,
                reason="the modules are sanded before they are put together",
            ),
        )
        for b in built
    }
    on_site = {
        b.id: (After(task=count.id, reason="the pieces are measured before the wall"),)
        for b in built
    }
    return Part(
        tasks=(intake, count, *sanding.values()),
        links=tuple(links),
        leads={**leads, **sanded, **on_site},
    )
