"""Tape and coats of compound, one over the other, whatever the compounds are."""

from collections.abc import Sequence
from dataclasses import replace

from planner.nouns.job import Methods
from planner.nouns.told.saying import marked
from planner.nouns.work import Task, TaskLink, Wait
from planner.trade.heights import surface_m2, taped_m
from planner.trade.parts import After, Leads, Part, Site, follow, task_of
from planner.trade.recipes.compound.stacks import Layer, gated, stack
from planner.trade.takeoff import Bay

MESH = "mesh"
BEDDED = {"set": "set", "dry": "dried"}
TAPE_MM = 50.8  # two inches, the width of paper joint tape; common practice, no source


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

    Of coats that are wet together, dust is kept off and the air is kept until all of
    them are dry; sanding and coats that need a dry ground wait for that too.
    """
    tasks: list[Task] = []
    links: list[TaskLink] = []
    out: dict[str, tuple[After, ...]] = {}
    planned = gated(wanted)
    for bay in bays:
        tape, taped = _taped(site, bay, wanted[0])
        links += follow(tape, *leads[bay.id])
        coats: list[Task] = []
        for place in range(len(planned)):
            coat = _coat(site, bay, planned, place, coats)
            on = _ground(planned, place, coats)
            links += follow(coat, *(on or [taped]))
            coats.append(coat)
        tasks += [tape, *coats]
        reason = "every coat must be dry before it is sanded"
        out[bay.id] = tuple(_dry(coat, reason) for coat in coats)
    return Part(tasks=tuple(tasks), links=tuple(links), leads=out)


def _taped(site: Site, bay: Bay, first: Layer) -> tuple[Task, After]:
    """Return the taping of a bay, and what the first coat waits for after it.

    Paper is bedded in the compound of the first coat, and bears that coat as this
    compound bears its next: set, or dry. A bed that has only set dries with the coat
    over it: the two are one bedding coat, of one coat's thickness, and its water is
    that coat's. The bed of mesh is the first coat, pressed through it.
    """
    amount, high = bay.joints_mm / 1000.0, taped_m(site, "tape", bay)
    if site.methods.tape == MESH:
        mesh = _of_mesh(task_of(site, "tape", bay=bay, amount=amount, high=high))
        return mesh, After(task=mesh.id, reason="compound goes over the tape")
    paper = task_of(
        site,
        "tape",
        bay=bay,
        amount=amount,
        high=high,
        product=site.products[first.product],
        dry_stage=first.gate,
        wet_m2=bed_m2(bay) if first.gate == "dry" else 0.0,
    )
    return paper, After(
        task=paper.id,
        reason=f"the bed under the tape must have {BEDDED[first.gate]}",
        wait=Wait(product=first.product, stage=first.gate),
    )


def bed_m2(bay: Bay) -> float:
    """Return the area of the bed under the tape of a bay, as wide as the tape."""
    return bay.joints_mm * TAPE_MM * 1e-6


def _of_mesh(tape: Task) -> Task:
    """Return taping with mesh, whose bed is the first coat pressed through it."""
    return replace(
        tape,
        how=marked(
            "Self-adhesive mesh tape on every joint, edge and seam in the wall, stuck flat "
            "on clean dry ground, ends butted; its bed is the first setting coat, pressed "
            "through it at once"
        ),
        bring=(marked("mesh joint tape"), marked("knives")),
    )


def _coat(
    site: Site, bay: Bay, planned: Sequence[Layer], place: int, below: Sequence[Task]
) -> Task:
    """Return the coat at a place, over those of the bay that are below it."""
    layer = planned[place]
    high = surface_m2 if layer.whole else taped_m
    coat = task_of(
        site,
        layer.rate,
        bay=bay,
        amount=bay.face_m2 if layer.whole else bay.joints_mm / 1000.0,
        high=high(site, layer.rate, bay),
        number=layer.number,
        product=site.products[layer.product],
        dry_stage=layer.gate,
        wet_m2=bay.face_m2 if layer.whole else bay.feather_m2,
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
