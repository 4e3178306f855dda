"""Tape and coats of compound, one over the other, whatever the compounds are."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from planner.nouns.job import Methods
from planner.nouns.work import Task, TaskLink, Wait
from planner.trade.heights import surface_m2, taped_m
from planner.trade.parts import After, Leads, Part, Site, follow, task_of
from planner.trade.takeoff import Bay


@dataclass(frozen=True, slots=True, kw_only=True)
class Layer:
    """A coat: its labour rate, its product, its number, and what the next waits for.

    `whole` coats go over everything that is primed, the others over joints alone.
    """

    rate: str
    product: str
    number: int
    gate: str  # the stage of hardening that the next coat waits for
    whole: bool = False


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

    The air is kept until the next coat may cover the one before, and until the last
    is dry.
    """
    tasks: list[Task] = []
    links: list[TaskLink] = []
    out: dict[str, tuple[After, ...]] = {}
    for bay in bays:
        joint_m = bay.joints_mm / 1000.0
        tape = task_of(
            site.rates["tape"],
            bay=bay,
            amount=joint_m,
            high=taped_m(site, "tape", bay),
        )
        links += follow(tape, *leads[bay.id])
        tasks.append(tape)
        before = After(task=tape.id, reason="compound goes over the tape")
        dry: list[After] = []
        for layer, over in zip(wanted, [*wanted[1:], None], strict=True):
            high = surface_m2 if layer.whole else taped_m
            coat = task_of(
                site.rates[layer.rate],
                bay=bay,
                amount=bay.face_m2 if layer.whole else joint_m,
                high=high(site, layer.rate, bay),
                number=layer.number,
                product=site.products[layer.product],
                dry_stage=layer.gate if over else "dry",
                wet_m2=bay.face_m2 if layer.whole else bay.feather_m2,
                usable_h=site.usable_h.get(layer.product),
            )
            links += follow(coat, before)
            tasks.append(coat)
            state = "set" if layer.gate == "set" else "dried"
            before = After(
                task=coat.id,
                reason=f"the coat before must have {state}",
                wait=Wait(product=layer.product, stage=layer.gate),
            )
            dry.append(
                After(
                    task=coat.id,
                    reason="every coat must be dry before it is sanded",
                    wait=Wait(product=layer.product, stage="dry"),
                )
            )
        out[bay.id] = tuple(dry)
    return Part(tasks=tuple(tasks), links=tuple(links), leads=out)
