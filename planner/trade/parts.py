"""How phases are strung together: each takes what leads to it and hands on its own.

A phase is a function `(site, leads) → Part`. `leads` says, for each place, what
the next task there must follow; the phase adds tasks and links and hands on new
leads. A place is a bay's id, or "pieces:" and a bay's id for its loose modules.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from planner.matter import Product
from planner.records import Link, Methods, Pace, Stage, Task, Wait, Window
from planner.trade.labour import Rate
from planner.trade.takeoff import Bay, TakeOff

ALL = "all"


@dataclass(frozen=True, slots=True, kw_only=True)
class Site:
    """What every phase may look at.

    `usable_h` says of a product how long a batch or a bead of it can be worked.
    """

    stage: Stage
    methods: Methods
    takeoff: TakeOff
    rates: Mapping[str, Rate]
    products: Mapping[str, Product]
    usable_h: Mapping[str, float] = field(default_factory=dict)
    anchor_holes_per_module: int = 3  # from memory, edit me


@dataclass(frozen=True, slots=True, kw_only=True)
class After:
    """Something that a task follows: a task, why, and what must pass after it."""

    task: str
    reason: str
    wait: Wait | None = None


Leads = Mapping[str, tuple[After, ...]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """A phase's tasks and links, the leads it hands on, and what returns wait for."""

    tasks: tuple[Task, ...]
    links: tuple[Link, ...]
    leads: Leads
    returns: tuple[tuple[str, str, Wait | None], ...] = ()
    windows: tuple[Window, ...] = ()


def pieces(bay: Bay) -> str:
    """Return the place of a bay's loose modules."""
    return f"pieces:{bay.id}"


def follow(task: Task, *afters: After) -> tuple[Link, ...]:
    """Return a link from each of `afters` to `task`, each pair and wait once."""
    seen: dict[tuple[str, Wait | None], Link] = {}
    for a in afters:
        link = Link(before=a.task, after=task.id, reason=a.reason, wait=a.wait)
        seen.setdefault((a.task, a.wait), link)
    return tuple(seen.values())


def task_of(
    rate: Rate,
    *,
    bay: Bay | None = None,
    bays: tuple[str, ...] = (),
    amount: float,
    number: int | None = None,
    product: Product | None = None,
    dry_stage: str | None = None,
    wet_m2: float = 0.0,
    on_stage: bool | None = None,
    optional: bool = False,
    usable_h: float | None = None,
) -> Task:
    """Return the task of a rate for a bay (or several, or the whole job).

    `usable_h` is how long a batch or a bead of the product can be worked. A coat of a
    single batch is laid in one go; between two batches the work may stop.
    """
    where = bay.id if bay else ""
    id_ = rate.id if number is None else f"{rate.id}-{number}"
    title = rate.title if number is None else f"{rate.title} {number}"
    shown = f"{amount:.0f}" if amount == int(amount) else f"{amount:.1f}"
    fits = product is not None
    laying_h = rate.hours * amount
    portions = 1
    if rate.portion and usable_h:
        portions = max(1, math.ceil(laying_h / usable_h - 1e-9))
    single = rate.portion == "batch" and portions == 1
    return Task(
        id=f"{id_}.{where}" if where else id_,
        title=f"{title}, {bay.name}" if bay else title,
        how=f"{rate.how}{_portions_words(rate, portions, amount, usable_h)}",
        phase=rate.id,
        bays=(bay.id,) if bay else bays,
        lead=rate.lead,
        help=rate.help,
        person_hours=rate.fixed + laying_h + portions * rate.portion_h,
        elapsed_h=rate.elapsed,
        quantity=f"{shown} {rate.unit}",
        teams=rate.teams,
        pace=Pace.ONE_GO if single else rate.pace,
        on_stage=rate.stage if on_stage is None else on_stage,
        loud=rate.loud,
        dusty=rate.dusty,
        product=product.id if product else None,
        dry_stage=dry_stage if fits else None,
        thickness_mm=product.thickness_mm if product else None,
        wet_m2=wet_m2,
        fumes=product.fumes if product else False,
        optional=optional,
        bring=rate.bring,
        cautions=rate.cautions + (product.cautions if product else ()),
        source=rate.source,
    )


def _portions_words(
    rate: Rate, portions: int, amount: float, usable_h: float | None
) -> str:
    """Return in how many batches or beads the work is done, if anything runs out."""
    if not rate.portion or not usable_h:
        return ""
    minutes = f"{usable_h * 60:.0f} min"
    unit = rate.unit.split()[0]
    each = amount / portions
    if rate.portion == "bead":
        return f"; no more than {each:.1f} {unit} of bead open at once ({minutes})"
    count = "one batch" if portions == 1 else f"{portions} batches"
    return f"; in {count}, for {each:.1f} {unit} each, used up within {minutes}"
