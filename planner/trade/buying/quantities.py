"""What the work uses up: net quantities by task and bay, waste, packs to buy.

A quantity is a measure of the bays that a task is done in, times a rate of the data
or of the product that it lays. Everything is reckoned bay by bay and then added up,
so the whole is the sum of its bays; only packs are rounded, and only up.
"""

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from planner.measures import Units
from planner.nouns.job import Job
from planner.nouns.product import Product, Source
from planner.trade.buying import supplies
from planner.trade.buying.measures import MEASURES, Doing, Measure
from planner.trade.buying.supplies import By, Pack, Supply, Tool, Use
from planner.trade.data import labour
from planner.trade.opening.cutting import CutSheet
from planner.trade.parts import Site
from planner.trade.takeoff import BayKind, TakeOff

NOTHING = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class TaskShare:
    """What a task uses up in a bay; `bay` is empty where it isn't split by bays."""

    task: str
    bay: str
    net: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Quantity:
    """A supply with what it is needed for and how much of it is bought.

    `net` is in `unit`; `packs` of `pack` hold it with its waste. `lead_h` is how long
    it lies on site before it is used. `reckoned` says what each number comes from.
    `cut_from` is how many packs a cutting list asks for, where there is one.
    """

    id: str
    title: str
    product: str | None
    unit: str
    shares: tuple[TaskShare, ...]
    waste_frac: float
    pack: str
    pack_holds: float
    lead_h: float
    reckoned: tuple[str, ...]
    cut_from: int | None = None

    @property
    def net(self) -> float:
        """What the work uses up, in `unit`."""
        return math.fsum(s.net for s in self.shares)

    @property
    def with_waste(self) -> float:
        """What is bought at least, in `unit`."""
        return self.net * (1.0 + self.waste_frac)

    @property
    def packs(self) -> int:
        """Whole packs that hold it."""
        if self.cut_from is not None:
            return self.cut_from
        return packs_for(self.with_waste, self.pack_holds)


def packs_for(amount: float, holds: float) -> int:
    """Return how many whole packs hold an amount.

    Raises
    ------
    ValueError
        When the amount is less than nothing or a pack holds nothing.
    """
    if not holds > 0.0:
        raise ValueError(f"holds: {holds} is not more than 0")
    if not amount >= 0.0:
        raise ValueError(f"amount: {amount} is less than 0")
    return math.ceil(amount / holds - NOTHING)


def bead_l_per_m(diameter_mm: float) -> float:
    """Return the litres in a metre of a round bead: its section times its length."""
    return math.pi / 4.0 * diameter_mm**2 / 1000.0


def quantities(
    job: Job,
    takeoff: TakeOff,
    products: Mapping[str, Product],
    tasks: Sequence[Doing],
) -> tuple[Quantity, ...]:
    """Return every supply that the tasks use up, in the order of the data.

    Parameters
    ----------
    job : Job
        The room, the kit and the methods.
    takeoff : TakeOff
        Its bays.
    products : mapping of str to Product
        Every product that the tasks lay, by id.
    tasks : sequence of Doing
        The tasks that are done: those of the work, or those of a plan.
    """
    site = _site(job, takeoff, products)
    found = (_quantity(site, s, tasks) for s in supplies.supplies(job.own_supplies))
    return tuple(q for per_supply in found for q in per_supply if q.net > NOTHING)


def tools(job: Job, tasks: Sequence[Doing]) -> tuple[tuple[Tool, tuple[str, ...]], ...]:
    """Return every tool that the tasks need, with the ids of those tasks."""
    out = []
    for tool in supplies.tools():
        if job.stage.ceiling_mm <= tool.ceiling_above_mm:
            continue
        ids = tuple(t.id for t in tasks if t.phase in tool.phases)
        if ids:
            title = job.units.text(tool.title)
            out.append((replace(tool, title=title), ids))
    return tuple(out)


def _site(job: Job, takeoff: TakeOff, products: Mapping[str, Product]) -> Site:
    return Site(
        stage=job.stage,
        kit=job.kit,
        methods=job.methods,
        takeoff=takeoff,
        rates=labour.rates(job.own_rates),
        products=products,
        repaint=job.repaint,
        units=job.units,
    )


def _quantity(site: Site, supply: Supply, tasks: Sequence[Doing]) -> Iterator[Quantity]:
    """Yield a supply's quantity; what its tasks lay apart is bought apart."""
    users = [
        (u, t)
        for u in supply.uses
        for t in tasks
        if t.phase in u.phases and _lays(site, t, u.kind)
    ]
    by_product: dict[str | None, list[tuple[Use, Doing]]] = {}
    for use, task in users:
        key = task.product if supply.laid else None
        by_product.setdefault(key, []).append((use, task))
    for id_, used in by_product.items():
        product = site.products[id_] if id_ is not None else None
        cut = site.takeoff.opening.sheets() if supply.nested else ()
        pack = _sheet(supply, cut) if cut else _pack(supply, product, site.units)
        lead_h, lead_words = _lead(supply, product)
        rates = dict.fromkeys(_rate(u, product, site.units)[1] for u, _ in used)
        yield Quantity(
            id=supply.id if len(by_product) == 1 else f"{supply.id}.{id_}",
            title=site.units.text(_title(supply, product)),
            product=id_,
            unit=supply.unit,
            shares=tuple(s for u, t in used for s in _shares(site, u, t, product)),
            waste_frac=supply.waste.value,
            pack=pack.words,
            pack_holds=pack.holds,
            lead_h=lead_h,
            reckoned=(
                *rates,
                *(
                    [f"waste: {said(supply.waste.source)}"]
                    if supply.waste.value
                    else []
                ),
                f"pack: {said(pack.source)}",
                *lead_words,
                *dict.fromkeys(
                    note for u, _ in used for note in MEASURES[u.measure].notes(site)
                ),
            ),
            cut_from=len(cut) if cut else None,
        )


def _lays(site: Site, task: Doing, kind: str) -> bool:
    """Tell whether a task lays a product of a kind; of none, any task will do."""
    if not kind:
        return True
    return task.product is not None and site.products[task.product].kind == kind


def _title(supply: Supply, product: Product | None) -> str:
    if product is None:
        return supply.title
    return supply.title.replace("{product}", product.title)


def said(source: Source) -> str:
    """Return where a number comes from; what is only remembered asks to be edited."""
    tag = "from memory, edit me" if source.tag == "from memory" else source.tag
    return f"{source.text} ({tag})"


def _sheet(supply: Supply, cut: Sequence[CutSheet]) -> Pack:
    """Return the sheet that a cutting list cuts from, as a pack."""
    sheet = cut[0].sheet
    area_m2 = sheet.length_mm * sheet.width_mm * 1e-6
    words = f"sheet of {sheet.name} ({area_m2:.2f} m²)"
    return Pack(holds=area_m2, words=words, source=supply.pack.source)


def _pack(supply: Supply, product: Product | None, units: Units) -> Pack:
    if product is None or product.pack_l is None:
        return supply.pack_in(units)
    own = dict(product.sources)
    return Pack(
        holds=product.pack_l,
        words=f"pack of {product.pack_l:.3g} l",
        source=own["pack_l"],
    )


def _lead(supply: Supply, product: Product | None) -> tuple[float, tuple[str, ...]]:
    """Return the hours on site before use, the longer of the data's and the product's."""
    known: list[tuple[float, Source]] = []
    if product is not None and product.limits.source is not None:
        known.append((product.limits.min_c_before_h, product.limits.source))
    if supply.lead_h is not None:
        known.append((supply.lead_h.value, supply.lead_h.source))
    hours, source = max(known, key=lambda k: k[0], default=(0.0, None))
    if source is None or hours == 0.0:
        return 0.0, ()
    return hours, (f"on site {hours:.0f} h before use: {said(source)}",)


def _shares(
    site: Site, use: Use, task: Doing, product: Product | None
) -> Iterable[TaskShare]:
    """Yield what a task uses up, bay by bay where that can be told."""
    measure = MEASURES[use.measure]
    if measure.of_bay is None:
        net = _net(use, product, _of_task(site, measure, task))
        only = task.bays[0] if len(task.bays) == 1 else ""
        yield TaskShare(task=task.id, bay=only, net=net)
        return
    for bay in site.takeoff.bays:
        if bay.id not in task.bays:
            continue
        if bay.kind is BayKind.APRON and use.measure not in ("painted", "floor"):
            continue
        net = _net(use, product, measure.of_bay(site, task, bay))
        yield TaskShare(task=task.id, bay=bay.id, net=net)


def _of_task(site: Site, measure: Measure, task: Doing) -> tuple[float, ...]:
    assert measure.of_task is not None, measure.noun
    return (measure.of_task(site, task),)


def _net(use: Use, product: Product | None, lines: Iterable[float]) -> float:
    """Return what some lines, areas or counts use up."""
    if use.by is By.EVERY:
        spacing_mm = _figure(use)
        spans = (math.ceil(x * 1000.0 / spacing_mm - NOTHING) for x in lines if x > 0)
        return float(use.times * sum(n + 1 for n in spans))
    return _rate(use, product, Units.US)[0] * math.fsum(lines)


def _figure(use: Use) -> float:
    assert use.figure is not None, use.measure
    return use.figure.value


def _rate(use: Use, product: Product | None, units: Units) -> tuple[float, str]:
    """Return what a unit of the measure uses up, and the same in words with source."""
    noun = MEASURES[use.measure].noun
    from_data = said(use.figure.source) if use.figure is not None else ""
    match use.by:
        case By.EACH:
            value = _figure(use)
            return value, f"{value:.4g} a {noun}: {from_data}"
        case By.EVERY:
            spacing_mm = _figure(use)
            count = "one" if use.times == 1 else f"{use.times}"
            line = noun.removeprefix("m of ")
            words = f"{count} at least every {units.length(spacing_mm)} of {line}"
            return 0.0, f"{words}: {from_data}"
        case By.BEAD:
            per_m = bead_l_per_m(_figure(use))
            words = (
                f"{per_m * 1000:.1f} ml a {noun}, {units.length(_figure(use))} thick"
            )
            return per_m, f"{words}: {from_data}"
        case By.COVERAGE | By.THICKNESS:
            return _spread(use, product, units)


def _spread(use: Use, product: Product | None, units: Units) -> tuple[float, str]:
    """Return the litres on a m² by the user's coverage, the thickness or the coverage."""
    if product is None:
        raise ValueError(f"{use.measure}: its task lays no product")
    sources = dict(product.sources)
    own = product.coverage_m2_per_l
    source = sources.get("coverage_m2_per_l")
    if own is not None and source is not None:
        if not own > 0.0:
            raise ValueError(f"coverage_m2_per_l: {own} is not more than 0")
        if use.by is By.COVERAGE or source.tag == "user":
            return 1.0 / own, f"{units.coverage(own)}: {said(source)}"
    thick_mm = product.thickness_mm
    if thick_mm is None or use.figure is None:
        raise ValueError(f"{product.id}: neither a coverage nor a thickness is known")
    share = use.figure.value
    words = f"{units.length(thick_mm)} thick: {said(sources['thickness_mm'])}"
    return (
        thick_mm * share,
        f"{words}; {share * 100:.0f} % of it: {said(use.figure.source)}",
    )
