"""Primer bay by bay: each coat ends at a corner line or the end of a run.

A lap in primer there is sanded or hidden by the colour; a lap in colour shows, so
colour has no such recipe.
"""

from itertools import pairwise

from planner.nouns.work import Task, TaskLink, Wait
from planner.trade.parts import ALL, After, Leads, Part, Site, entered, follow
from planner.trade.recipes.paint.primed import coat
from planner.trade.takeoff import Bay


def recipe(site: Site, leads: Leads, bays: tuple[Bay, ...]) -> Part:
    """Return the coats of primer of each bay; the next coat waits for the neighbours."""
    primer = site.products[site.methods.primer]
    dry = Wait(product=primer.id, stage="recoat")
    coats: list[dict[str, Task]] = [
        {b.id: coat(site, (b,), n, apart=True) for b in bays}
        for n in range(1, site.methods.primer_coats + 1)
    ]
    links: list[TaskLink] = []
    for first in coats[0].values():
        links += follow(first, *leads[ALL])
    for before, after in pairwise(coats):
        for bay in bays:
            near = [bay.id, *(b.id for b in bays if _meet(bay, b))]
            links += follow(
                after[bay.id],
                *(
                    After(
                        task=before[n].id,
                        reason="the coat before must be dry, here and next to it",
                        wait=dry,
                    )
                    for n in near
                ),
            )
    return Part(
        tasks=tuple(t for level in coats for t in level.values()),
        links=tuple(links),
        leads={ALL: tuple(entered(t, primer) for t in coats[-1].values())},
        coats=tuple(
            (before[b.id].id, after[b.id].id)
            for before, after in pairwise(coats)
            for b in bays
        ),
    )


def _meet(one: Bay, two: Bay) -> bool:
    return one.id in two.beside or two.id in one.beside
