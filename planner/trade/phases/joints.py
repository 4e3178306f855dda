"""Floor in front, tape, compound, topping, sanding the joints, wiping down."""

from planner.records import Link, Task, Wait
from planner.trade.parts import ALL, After, Leads, Part, Site, follow, task_of
from planner.trade.takeoff import Bay


def joints(site: Site, leads: Leads) -> Part:
    """Return the joint work of every bay; hands on what the first primer follows."""
    tasks: list[Task] = []
    links: list[Link] = []
    wiped: list[After] = []
    floors: dict[str, Task] = {}
    for bay in site.takeoff.built:
        floor = task_of(site.rates["floor"], bay=bay, amount=bay.floor_edge_mm / 1000)
        links += follow(floor, *leads[bay.id])
        tasks.append(floor)
        floors[bay.id] = floor
    for bay in site.takeoff.built:
        made, tied, last = _bay(site, bay, floors)
        tasks += made
        links += tied
        wiped += last
    return Part(
        tasks=tuple(tasks), links=tuple(links), leads={**leads, ALL: tuple(wiped)}
    )


def _bay(
    site: Site, bay: Bay, floors: dict[str, Task]
) -> tuple[list[Task], list[Link], list[After]]:
    rates, methods = site.rates, site.methods
    joint_m = bay.joints_mm / 1000
    clean = [
        After(task=floors[b].id, reason="the joints must be anchored and clean")
        for b in (bay.id, *bay.beside)
    ]
    tasks: list[Task] = []
    links: list[Link] = []
    if methods.bonding_agent:
        agent = site.products[methods.bonding]
        bond = task_of(
            rates["bond"],
            bay=bay,
            amount=joint_m,
            product=agent,
            dry_stage="recoat",
            wet_m2=bay.feather_m2,
        )
        links += follow(bond, *clean)
        tasks.append(bond)
        clean = [
            After(
                task=bond.id,
                reason="the bonding agent must be dry",
                wait=Wait(product=agent.id, stage="recoat"),
            )
        ]
    tape = task_of(rates["tape"], bay=bay, amount=joint_m)
    links += follow(tape, *clean)
    tasks.append(tape)
    nexts = [After(task=tape.id, reason="compound goes over the tape")]
    must_dry: list[After] = []
    layers = [
        *(
            ("setting-coat", methods.setting, i + 1)
            for i in range(methods.setting_coats)
        ),
        *(
            ("topping-coat", methods.topping, i + 1)
            for i in range(methods.topping_coats)
        ),
    ]
    for kind, product_id, number in layers:
        product = site.products[product_id]
        sets = kind == "setting-coat"
        coat = task_of(
            rates[kind],
            bay=bay,
            amount=joint_m,
            number=number,
            product=product,
            dry_stage="set" if sets else "dry",
            wet_m2=bay.feather_m2,
            usable_h=site.usable_h.get(product_id),
        )
        links += follow(coat, *nexts)
        tasks.append(coat)
        stage = "set" if sets and methods.next_coat_after == "set" else "dry"
        nexts = [
            After(
                task=coat.id,
                reason=f"the coat before must have {'set' if stage == 'set' else 'dried'}",
                wait=Wait(product=product_id, stage=stage),
            )
        ]
        must_dry.append(
            After(
                task=coat.id,
                reason="every coat must be dry before it is sanded",
                wait=Wait(product=product_id, stage="dry"),
            )
        )
    rub = task_of(rates["rub"], bay=bay, amount=bay.feather_m2)
    wipe = task_of(
        rates["wipe"],
        bay=bay,
        amount=bay.module_m2,
        product=site.products["damp-wipe"],
        dry_stage="recoat",
        wet_m2=bay.module_m2,
    )
    links += follow(rub, *must_dry)
    links += follow(wipe, After(task=rub.id, reason="the sanding dust is wiped off"))
    last = [
        After(
            task=wipe.id,
            reason="the wiped surface must be dry",
            wait=Wait(product="damp-wipe", stage="recoat"),
        )
    ]
    return [*tasks, rub, wipe], links, last
