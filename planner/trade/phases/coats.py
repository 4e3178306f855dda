"""Primer, shadow check, colour and hand-over: the whole backdrop at once."""

from collections.abc import Sequence
from itertools import pairwise

from planner.matter import CLEARED, RECOAT_WINDOW, Product
from planner.records import Link, Task, Wait, Window
from planner.trade.parts import ALL, After, Leads, Part, Site, follow, task_of


def coats(site: Site, leads: Leads) -> Part:
    """Return primer coats, the shadow check, colour coats, hand-over, returns."""
    rates, methods, takeoff = site.rates, site.methods, site.takeoff
    primer, colour = site.products[methods.primer], site.products[methods.colour]
    upright = tuple(b.id for b in takeoff.built)
    everywhere = (*upright, "apron")
    faces = takeoff.faced_m2 + takeoff.wall_above_m2
    floor = takeoff.apron_m2 if methods.colour_on_apron else 0.0

    primed = [
        _coat(site, "prime", n, primer, faces, upright)
        for n in range(1, methods.primer_coats + 1)
    ]
    shadow = task_of(rates["shadow"], bays=upright, amount=faces)
    reached = everywhere if methods.colour_on_apron else upright
    coloured = [
        _coat(site, "colour", n, colour, faces + floor, reached)
        for n in range(1, methods.colour_coats + 1)
    ]
    handover = task_of(rates["handover"], bays=everywhere, amount=takeoff.apron_m2)

    passed = After(task=shadow.id, reason="colour only when no joint shows through")
    links = [
        *follow(primed[0], *leads[ALL]),
        *_one_on_the_other(primed, primer),
        *follow(shadow, _entered(primed[-1], primer)),
        *follow(coloured[0], passed, _entered(primed[-1], primer)),
        *_one_on_the_other(coloured, colour),
        *follow(handover, _entered(coloured[-1], colour)),
    ]
    again = _sanded_again(site, [*primed, *coloured], faces)
    return Part(
        tasks=(*primed, shadow, *coloured, handover, *again.tasks),
        links=(*links, *again.links),
        leads=leads,
        returns=_returns(handover, coloured[-1], colour),
        windows=again.windows,
    )


def _coat(
    site: Site,
    kind: str,
    number: int,
    product: Product,
    area_m2: float,
    bays: tuple[str, ...],
) -> Task:
    return task_of(
        site.rates[kind],
        bays=bays,
        amount=area_m2,
        number=number,
        product=product,
        dry_stage="recoat",
        wet_m2=area_m2,
    )


def _one_on_the_other(laid: Sequence[Task], product: Product) -> list[Link]:
    wait = Wait(product=product.id, stage="recoat")
    reason = "the coat before must be dry"
    return [
        link
        for one, two in pairwise(laid)
        for link in follow(two, After(task=one.id, reason=reason, wait=wait))
    ]


def _entered(coat: Task, product: Product) -> After:
    """Return what those who didn't lay a coat wait for: dry, and no fumes left."""
    if product.reaches(CLEARED):
        return After(
            task=coat.id,
            reason="the fumes must have cleared before others come in",
            wait=Wait(product=product.id, stage=CLEARED),
        )
    return After(
        task=coat.id,
        reason="the coat before must be dry",
        wait=Wait(product=product.id, stage="recoat"),
    )


def _sanded_again(site: Site, laid: Sequence[Task], area_m2: float) -> Part:
    """Return what is done if a coat isn't covered within its window: sanding again."""
    tasks: list[Task] = []
    links: list[Link] = []
    windows: list[Window] = []
    for one, two in pairwise(laid):
        product = site.products[one.product or ""]
        if not any(w.name == RECOAT_WINDOW for w in product.latest):
            continue
        sand = task_of(
            site.rates["sand-again"],
            bays=one.bays,
            amount=area_m2,
            number=len(tasks) + 1,
            optional=True,
        )
        tasks.append(sand)
        links += follow(sand, _entered(one, product))
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
    handover: Task, last: Task, colour: Product
) -> tuple[tuple[str, str, Wait | None], ...]:
    out: list[tuple[str, str, Wait | None]] = []
    for name in ("light feet", "full service"):
        out.append((name, handover.id, None))
        out.append((name, last.id, Wait(product=colour.id, stage=name)))
        if colour.reaches(CLEARED):
            out.append((name, last.id, Wait(product=colour.id, stage=CLEARED)))
    return tuple(out)
