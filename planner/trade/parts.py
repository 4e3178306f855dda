"""How phases are joined: each starts from what leads to it and hands on its own ends.

A phase is a function `(site, leads) → Part`. `leads` says, for each place, what
the next task there must follow; the phase adds tasks and links and hands on new
leads. A place is a bay's id, or "pieces:" and a bay's id for its loose modules.
"""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from planner.measures import Units
from planner.nouns.job import Kit, Methods, Repaint, Stage, Survey
from planner.nouns.product import CLEARED, Product
from planner.nouns.told.saying import (
    PlaceKind,
    Saying,
    alone,
    counting,
    measured,
    name,
    number_of,
    saying,
    text,
    told,
)
from planner.nouns.work import Pace, ReturnKind, Task, TaskLink, Wait, Window
from planner.trade.data.labour import Rate
from planner.trade.takeoff import Bay, TakeOff

ALL = "all"
SLAB = "slab"  # the place of what the tests of the slab, then the floor work, follow


@dataclass(frozen=True, slots=True, kw_only=True)
class Site:
    """What every phase may look at.

    `usable_h` says of a product how long a batch or a bead of it can be worked.
    """

    stage: Stage
    kit: Kit
    methods: Methods
    takeoff: TakeOff
    rates: Mapping[str, Rate]
    products: Mapping[str, Product]
    usable_h: Mapping[str, float] = field(default_factory=dict)
    survey: Survey = field(default_factory=Survey)
    repaint: Repaint | None = None
    units: Units = Units.US
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
    """Tasks and links, the leads handed on, and what returns wait for.

    `coats` are pairs of tasks: a coat and the one that covers it.
    """

    tasks: tuple[Task, ...]
    links: tuple[TaskLink, ...]
    leads: Leads
    returns: tuple[tuple[ReturnKind, str, Wait | None], ...] = ()
    windows: tuple[Window, ...] = ()
    coats: tuple[tuple[str, str], ...] = ()


def joined(parts: Iterable[Part], leads: Leads) -> Part:
    """Return several parts as one; what each hands on lies over `leads`, in order."""
    every = tuple(parts)
    handed: dict[str, tuple[After, ...]] = dict(leads)
    for part in every:
        handed |= part.leads
    return Part(
        tasks=tuple(t for p in every for t in p.tasks),
        links=tuple(x for p in every for x in p.links),
        leads=handed,
        returns=tuple(r for p in every for r in p.returns),
        windows=tuple(w for p in every for w in p.windows),
        coats=tuple(c for p in every for c in p.coats),
    )


def pieces(bay: Bay) -> str:
    """Return the place of a bay's loose modules."""
    return f"pieces:{bay.id}"


def end(bay: Bay) -> str:
    """Return the place of a run's free ends."""
    return f"end:{bay.id}"


def found(bay: Bay) -> str:
    """Return the place of what is measured on the wall: a corner's height, a width."""
    return f"found:{bay.id}"


def follow(task: Task, *afters: After) -> tuple[TaskLink, ...]:
    """Return a link from each of `afters` to `task`, each pair and wait once."""
    seen: dict[tuple[str, Wait | None], TaskLink] = {}
    for a in afters:
        link = TaskLink(before=a.task, after=task.id, reason=a.reason, wait=a.wait)
        seen.setdefault((a.task, a.wait), link)
    return tuple(seen.values())


def entered(coat: Task, product: Product) -> After:
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


def stacked(laid: Sequence[Task], product: Product) -> tuple[TaskLink, ...]:
    """Return links by which each coat waits until the one before may be recoated."""
    dry = Wait(product=product.id, stage="recoat")
    reason = "the coat before must be dry"
    return tuple(
        link
        for one, two in pairwise(laid)
        for link in follow(two, After(task=one.id, reason=reason, wait=dry))
    )


def task_of(
    site: Site,
    work: str,
    *,
    bay: Bay | None = None,
    bays: tuple[str, ...] = (),
    amount: float,
    high: float = 0.0,
    curved: float = 0.0,
    number: int | None = None,
    product: Product | None = None,
    dry_stage: str | None = None,
    wet_m2: float = 0.0,
    on_stage: bool | None = None,
    optional: bool = False,
    cautions: tuple[str, ...] = (),
) -> Task:
    """Return the task of a kind of work for a bay (or several, or the whole job).

    `high` and `curved` are the parts of `amount` that lie above ten feet and in the
    coves. A coat of a single batch is laid in one go; between two the work may stop.
    `cautions` come after the rate's and the product's.
    """
    rate, say = site.rates[work], site.units.text
    where = bay.id if bay else ""
    id_ = rate.id if number is None else f"{rate.id}-{number}"
    laying_h = rate.laying_h(amount, high=high, curved=curved)
    usable_h = site.usable_h.get(product.id) if product else None
    portions = 0
    if rate.portion and usable_h:
        portions = max(1, math.ceil(laying_h / usable_h - 1e-9))
    single = rate.portion == "batch" and portions == 1
    of_product = product.cautions if product else ()
    title = _title(rate.title, number, bay)
    quantity = _quantity(amount, rate.unit, site.units)
    how = _how(say(rate.how), rate, portions, amount, usable_h)
    return Task(
        id=f"{id_}.{where}" if where else id_,
        title=title.text,
        how=how[-1].text,
        phase=rate.id,
        bays=(bay.id,) if bay else bays,
        lead=rate.lead,
        help=rate.help,
        person_hours=laying_h + portions * rate.portion_h,
        set_up_h=rate.set_up_h,
        elapsed_h=rate.elapsed,
        quantity=quantity.text,
        teams=rate.teams,
        pace=Pace.ONE_GO if single else rate.pace,
        on_stage=rate.stage if on_stage is None else on_stage,
        visit=rate.visit,
        loud=rate.loud,
        dusty=rate.dusty,
        product=product.id if product else None,
        dry_stage=dry_stage if product else None,
        wet_m2=wet_m2,
        fumes=product.fumes if product else False,
        optional=optional,
        touch_up_frac=rate.touch_up_frac,
        bring=tuple(map(say, rate.bring)),
        cautions=tuple(map(say, (*rate.cautions, *of_product, *cautions))),
        source=_source(rate, high, curved),
        sayings=(title, quantity, *how),
    )


def _title(work: str, number: int | None, bay: Bay | None) -> Saying:
    """Return what a task is called: its work, which of several, its bay."""
    called = text("work", work)
    which = () if number is None else (number_of("number", number),)
    where = () if bay is None else (told("bay", bay.named),)
    match which, where:
        case (), ():
            return alone(called)
        case (), _:
            return saying("{work}, {bay}", called, *where)
        case _, ():
            return saying("{work} {number}", called, *which)
        case _:
            return saying("{work} {number}, {bay}", called, *which, *where)


def _quantity(amount: float, unit: str, units: Units) -> Saying:
    """Return an amount with its unit, lengths and areas in both unit systems."""
    measure, _, rest = unit.partition(" ")
    if measure == "m":
        english = f"{{run}} {rest}"
        return saying(english, measured("run", PlaceKind.RUN, amount, units))
    if measure == "m²":
        english = f"{{area}} {rest}"
        return saying(english, measured("area", PlaceKind.AREA, amount, units))
    count = number_of("count", amount, 0 if amount == int(amount) else 1)
    one, many = f"{{count}} {unit.removesuffix('s')}", f"{{count}} {unit}"
    return counting(one, many, count)


def _source(rate: Rate, high: float, curved: float) -> str:
    """Return where a rate comes from, with the allowances that count here."""
    parts = [rate.source]
    if rate.high is not None and high > 0:
        parts.append(f"{rate.high.factor:g} times above 10 ft: {rate.high.source}")
    if rate.curve is not None and curved > 0:
        parts.append(f"{rate.curve.factor:g} times in the coves: {rate.curve.source}")
    return "; ".join(parts)


def _how(
    how: str, rate: Rate, portions: int, amount: float, usable_h: float | None
) -> tuple[Saying, ...]:
    """Return how the work is done, last; before it in how many batches or beads.

    It is done in such where anything runs out.
    """
    done = text("how", how)
    if not rate.portion or not usable_h:
        return (alone(done),)
    each = (
        number_of("each", amount / portions, 1),
        name("unit", rate.unit.split()[0]),
        number_of("minutes", usable_h * 60),
    )
    if rate.portion == "bead":
        shared = saying(
            "no more than {each} {unit} of bead open at once ({minutes} min)", *each
        )
    elif portions == 1:
        shared = saying(
            "in one batch, for {each} {unit}, used up within {minutes} min of mixing",
            *each,
        )
    else:
        shared = saying(
            "in {batches} batches, for {each} {unit} each, used up within {minutes} min "
            "of mixing",
            number_of("batches", portions),
            *each,
        )
    return shared, saying("{how}; {portions}", done, told("portions", shared))
