"""Primer, shadow check, colour and hand-over: the whole backdrop at once."""

from planner.records import Link, Task, Wait
from planner.trade.parts import ALL, After, Leads, Part, Site, follow, task_of


def coats(site: Site, leads: Leads) -> Part:
    """Return primer coats, the shadow check, colour coats, hand-over, returns."""
    rates, methods, takeoff = site.rates, site.methods, site.takeoff
    faces = takeoff.faced_m2 + takeoff.wall_above_m2
    upright = tuple(b.id for b in takeoff.built)
    everywhere = (*upright, "apron")
    tasks: list[Task] = []
    links: list[Link] = []

    def lay(kind: str, product_id: str, count: int, area: float, bays: tuple[str, ...],
            nexts: tuple[After, ...]) -> tuple[After, ...]:  # fmt: skip
        for number in range(1, count + 1):
            coat = task_of(
                rates[kind],
                bays=bays,
                amount=area,
                number=number,
                product=site.products[product_id],
                dry_stage="recoat",
                wet_m2=area,
            )
            links.extend(follow(coat, *nexts))
            tasks.append(coat)
            nexts = (
                After(
                    task=coat.id,
                    reason="the coat before must be dry",
                    wait=Wait(product=product_id, stage="recoat"),
                ),
            )
        return nexts

    primed = lay(
        "prime", methods.primer, methods.primer_coats, faces, upright, leads[ALL]
    )
    shadow = task_of(rates["shadow"], bays=upright, amount=faces)
    links += follow(shadow, *primed)
    tasks.append(shadow)
    passed = After(task=shadow.id, reason="colour only when no joint shows through")
    floor = takeoff.apron_m2 if methods.colour_on_apron else 0.0
    coloured = lay(
        "colour",
        methods.colour,
        methods.colour_coats,
        faces + floor,
        everywhere if methods.colour_on_apron else upright,
        (passed, *primed),
    )
    last = coloured[0].task
    handover = task_of(rates["handover"], bays=everywhere, amount=takeoff.apron_m2)
    links += follow(handover, *coloured)
    tasks.append(handover)
    colour = methods.colour
    returns = (
        ("light feet", handover.id, None),
        ("light feet", last, Wait(product=colour, stage="light feet")),
        ("full service", handover.id, None),
        ("full service", last, Wait(product=colour, stage="full service")),
    )
    return Part(tasks=tuple(tasks), links=tuple(links), leads=leads, returns=returns)
