"""Tape and coats of compound, one over the other, whatever the compounds are."""

from collections.abc import Sequence
from dataclasses import replace

from planner.nouns.job import Methods
from planner.nouns.work import Task, TaskLink, Wait
from planner.trade.heights import surface_m2, taped_m
from planner.trade.parts import After, Leads, Part, Site, follow, task_of
from planner.trade.recipes.compound.stacks import Layer, gated, stack
from planner.trade.takeoff import Bay

MESH = "mesh"


def layers(rate: str, product: str, coats: int, *, gate: str = "dry") -> list[Layer]:
    """Return so many coats of one compound."""
    return [
        Layer(rate=rate, product=product, number=n + 1, gate=gate) for n in range(coats)
    ]


def topped(methods: Methods) -> list[Layer]:
    """Return what comes last over any compound: drying coats, topping, skim coats."""
    skim = layers("skim-coat", methods.skim, methods.skim_coats)
    return [
        *layers("drying-coat", methods.drying, methods.drying_coats),
        *layers("topping-coat", methods.topping, methods.topping_coats),
        *(replace(layer, whole=True) for layer in skim),
    ]


def coated(
    site: Site, leads: Leads, bays: tuple[Bay, ...], wanted: Sequence[Layer]
) -> Part:
    """Return tape and coats of each bay; hands on every coat, to be dry for sanding.

    Dust is kept off until the next coat may cover the one before; the air is kept, and
    sanding and coats that need a dry ground wait, until all that is wet together is dry.
    """
    tasks: list[Task] = []
    links: list[TaskLink] = []
    out: dict[str, tuple[After, ...]] = {}
    planned = gated(wanted)
    for bay in bays:
        joint_m = bay.joints_mm / 1000.0
        tape = task_of(
            site.rates["tape"],
            bay=bay,
            amount=joint_m,
            high=taped_m(site, "tape", bay),
        )
        if site.methods.tape == MESH:
            tape = _of_mesh(tape)
        links += follow(tape, *leads[bay.id])
        coats: list[Task] = []
        for place in range(len(planned)):
            coat = _coat(site, bay, planned, place, coats)
            on = _ground(planned, place, coats)
            taped = After(task=tape.id, reason="compound goes over the tape")
            links += follow(coat, *(on or [taped]))
            coats.append(coat)
        tasks += [tape, *coats]
        reason = "every coat must be dry before it is sanded"
        out[bay.id] = tuple(_dry(coat, reason) for coat in coats)
    return Part(tasks=tuple(tasks), links=tuple(links), leads=out)


def _of_mesh(tape: Task) -> Task:
    """Return taping with mesh, whose bed is the first coat pressed through it."""
    return replace(
        tape,
        how="Self-adhesive mesh tape on every joint, edge and seam in the wall, stuck flat "
        "on clean dry ground, ends butted; its bed is the first setting coat, pressed "
        "through it at once",
        bring=("mesh joint tape", "knives"),
    )


def _coat(
    site: Site, bay: Bay, planned: Sequence[Layer], place: int, below: Sequence[Task]
) -> Task:
    """Return the coat at a place, over those of the bay that are below it."""
    layer = planned[place]
    high = surface_m2 if layer.whole else taped_m
    coat = task_of(
        site.rates[layer.rate],
        bay=bay,
        amount=bay.face_m2 if layer.whole else bay.joints_mm / 1000.0,
        high=high(site, layer.rate, bay),
        number=layer.number,
        product=site.products[layer.product],
        dry_stage=layer.gate,
        wet_m2=bay.face_m2 if layer.whole else bay.feather_m2,
        usable_h=site.usable_h.get(layer.product),
    )
    wet = stack(planned, place)
    return replace(
        coat,
        over=below[-1].id if place > wet.start else None,
        covered_by=tuple(planned[i].product for i in wet if i > place),
    )


def _ground(planned: Sequence[Layer], place: int, below: Sequence[Task]) -> list[After]:
    """Return what the coat at a place waits for: the one below set, or all below dry."""
    if place == 0:
        return []
    if planned[place - 1].gate == "dry":
        reason = "the coat before must have dried, with what is wet below it"
        return [_dry(below[i], reason) for i in stack(planned, place - 1)]
    set_ = Wait(product=planned[place - 1].product, stage="set")
    reason = "the coat before must have set"
    return [After(task=below[-1].id, reason=reason, wait=set_)]


def _dry(coat: Task, reason: str) -> After:
    """Return the wait until a coat is dry, with all that was laid over it wet."""
    dry = Wait(product=coat.product or "", stage="dry", covered_by=coat.covered_by)
    return After(task=coat.id, reason=reason, wait=dry)
