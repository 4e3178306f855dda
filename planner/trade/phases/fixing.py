"""Fastening to the wall and anchoring to the floor, from the corner outwards."""

from planner.records import Link, Task, Wait
from planner.trade.parts import After, Leads, Part, Site, follow, task_of
from planner.trade.takeoff import BayKind


def fixing(site: Site, leads: Leads) -> Part:
    """Return fastening, drilling, filling and anchoring of every bay."""
    rates, takeoff, methods = site.rates, site.takeoff, site.methods
    holds = Wait(product=methods.adhesive, stage="hold")
    strong = Wait(product=methods.adhesive, stage="full")
    tasks: list[Task] = []
    links: list[Link] = []
    returns: list[tuple[str, str, Wait | None]] = []
    out: dict[str, tuple[After, ...]] = dict(leads)
    first: dict[str, tuple[Task, Task]] = {}  # corner: (fasten, drill)
    for bay in (*takeoff.of(BayKind.CORNER), *takeoff.of(BayKind.RUN)):
        inner = [
            first[c.id]
            for c in takeoff.of(BayKind.CORNER)
            if bay.id in c.beside and c.id in first
        ]
        outwards = "fastening and anchoring go from the corner outwards"
        fasten = task_of(
            rates["fasten"],
            bay=bay,
            amount=bay.wall_edge_mm / 1000,
            product=site.products[methods.adhesive],
            dry_stage="hold",
            usable_h=site.usable_h.get(methods.adhesive),
        )
        holes = site.anchor_holes_per_module * max(bay.modules, 1)
        drill = task_of(rates["drill"], bay=bay, amount=holes)
        anchor = task_of(
            rates["anchor"],
            bay=bay,
            amount=holes,
            product=site.products[methods.adhesive],
            dry_stage="hold",
        )
        links += follow(
            fasten,
            *leads[bay.id],
            *(After(task=f.id, reason=outwards) for f, _ in inner),
        )
        links += follow(
            drill,
            After(
                task=fasten.id,
                reason="the wall edge holds before the floor is drilled",
                wait=holds,
            ),
            *(After(task=d.id, reason=outwards) for _, d in inner),
        )
        drilled = After(task=drill.id, reason="the holes must be drilled and blown out")
        tasks += [fasten, drill]
        if methods.fill == "mortar":
            pack = task_of(
                rates["pack"],
                bay=bay,
                amount=max(bay.modules, 1),
                product=site.products[methods.mortar],
                dry_stage="crust",
            )
            links += follow(pack, drilled)
            links += follow(
                anchor, After(task=pack.id, reason="the fill goes in before the screws")
            )
            tasks += [pack, anchor]
            held = (
                After(
                    task=anchor.id, reason="the floor edge must hold still", wait=holds
                ),
                After(
                    task=pack.id,
                    reason="the fill must crust",
                    wait=Wait(product=methods.mortar, stage="crust"),
                ),
            )
            load = ("full service", pack.id, Wait(product=methods.mortar, stage="load"))
        else:
            foam = task_of(
                rates["foam"],
                bay=bay,
                amount=max(bay.modules, 1),
                product=site.products[methods.foam],
                dry_stage="trim",
            )
            links += follow(anchor, drilled)
            links += follow(
                foam, After(task=anchor.id, reason="the foam goes in after the screws")
            )
            tasks += [anchor, foam]
            held = (
                After(
                    task=anchor.id, reason="the floor edge must hold still", wait=holds
                ),
                After(
                    task=foam.id,
                    reason="the foam must be firm enough to trim",
                    wait=Wait(product=methods.foam, stage="trim"),
                ),
            )
            load = ("full service", foam.id, Wait(product=methods.foam, stage="full"))
        first[bay.id] = (fasten, drill)
        returns += [load, ("full service", anchor.id, strong)]
        out[bay.id] = held
    return Part(
        tasks=tuple(tasks), links=tuple(links), leads=out, returns=tuple(returns)
    )
