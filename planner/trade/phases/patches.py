"""One more coat where a joint was seen to show through: filled, sanded, primed again.

Each place is worked before the next coat over it that hadn't been begun: before the bay
is sanded, filling is all; before it is primed, the patch is sanded too; on primer, it is
sanded and primed. The patch waits for what that next coat waits for. After the last coat
the whole bay is coated once more, since a patch in the colour would show (common
practice, no source); hand-over and returns wait for that coat as for the last one.
"""

from collections.abc import Iterator, Sequence
from itertools import pairwise

from planner.nouns.job import Methods, Shows
from planner.nouns.product import CLEARED, Product
from planner.nouns.work import ReturnKind, Task, TaskLink, Wait
from planner.trade.parts import After, Part, Site, entered, follow, task_of
from planner.trade.recipes.paint.one_colour import borne_by, coloured_m2, high_m2
from planner.trade.takeoff import Bay

Borne = tuple[ReturnKind, str, Wait | None]

COATED = "spot-colour"
SHOWED = "a joint showed through here"
DRY = "the filling must be dry before it is sanded"


def patches(
    site: Site, shown: Sequence[Shows], tasks: Sequence[Task], links: Sequence[TaskLink]
) -> Part:
    """Return the work at each place that showed; `tasks` and `links` are all others."""
    more: list[Task] = []
    ties: list[TaskLink] = []
    returns: list[Borne] = []
    for one in shown:
        after = next((t for t in (*tasks, *more) if t.id == one.before), None)
        if after is None and one.before:
            continue  # the job has no such task any more
        steps = _steps(site, one, after)
        if steps[-1].phase == COATED:
            gates = [_over(site, _last_coat(tasks, one.bay))]
            returns += _returns(site, steps[-1])
        else:
            ahead = (x for x in (*links, *ties) if x.after == one.before)
            gates = [After(task=x.before, reason=SHOWED, wait=x.wait) for x in ahead]
        ties += follow(steps[0], *gates)
        for before, then in pairwise((*steps, *([] if after is None else [after]))):
            ties += follow(then, _over(site, before))
        more += steps
    return Part(tasks=tuple(more), links=tuple(ties), leads={}, returns=tuple(returns))


def _last_coat(tasks: Sequence[Task], bay: str) -> Task:
    """Return the coat of colour that was laid last in a bay."""
    laid = [
        t for t in tasks if t.phase in ("colour", "second-colour") and bay in t.bays
    ]
    return laid[-1]


def _returns(site: Site, coat: Task) -> Iterator[Borne]:
    """Yield what returns wait for after a coat over a bay, as after the last one."""
    product = site.products[coat.product or ""]
    yield from borne_by(coat, product)
    if product.reaches(CLEARED):
        for kind in ReturnKind:
            yield kind, coat.id, Wait(product=product.id, stage=CLEARED)


def _steps(site: Site, one: Shows, after: Task | None) -> tuple[Task, ...]:
    """Return the tasks at a place, in their order."""
    bay = next(b for b in site.takeoff.bays if b.id == one.bay)
    compound = site.products[last_compound(site.methods)]

    def step(work: str, product: Product | None, dry: str | None) -> Task:
        return task_of(
            site,
            work,
            bay=bay,
            amount=1.0,
            number=one.number,
            product=product,
            dry_stage=dry,
        )

    fill = step("spot-fill", compound, "dry")
    phase = "handover" if after is None else after.phase
    if phase == "rub":
        return (fill,)
    if phase == "wipe":
        return fill, step("spot-sand", None, None)
    primed = step("spot-prime", site.products[site.methods.primer], "recoat")
    if phase != "handover":
        return fill, primed
    second = site.methods.second_colour
    is_second = second is not None and bay.id in second.bays and site.repaint is None
    colour = second.product if second and is_second else site.methods.colour
    return fill, primed, _coated(site, bay, site.products[colour], one.number)


def _coated(site: Site, bay: Bay, colour: Product, number: int) -> Task:
    """Return one more coat over a bay."""
    area_m2 = coloured_m2(site, bay)
    return task_of(
        site,
        COATED,
        bay=bay,
        amount=area_m2,
        high=high_m2(site, COATED, (bay,)),
        curved=bay.module_m2,
        number=number,
        product=colour,
        dry_stage="recoat",
        wet_m2=area_m2,
    )


def _over(site: Site, before: Task) -> After:
    """Return what the next task waits for after one at a place."""
    product = site.products.get(before.product or "")
    if product is None:
        return After(task=before.id, reason="the patch is sanded first")
    if before.dry_stage == "dry":
        wait = Wait(product=product.id, stage="dry")
        return After(task=before.id, reason=DRY, wait=wait)
    return entered(before, product)


def last_compound(methods: Methods) -> str:
    """Return the compound that a joint is finished with."""
    if methods.topping_coats:
        return methods.topping
    return methods.drying if methods.drying_coats else methods.setting
