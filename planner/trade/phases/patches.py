"""One more coat where a joint was seen to show through: filled, sanded, primed again.

Each place is worked before the next coat over it that hadn't been begun: before the bay
is sanded, filling is all; before it is primed, the patch is sanded too; on primer, it is
sanded and primed. The patch waits for what that next coat waits for.
"""

from collections.abc import Sequence
from itertools import pairwise

from planner.nouns.job import Methods, Shows
from planner.nouns.product import Product
from planner.nouns.work import Task, TaskLink, Wait
from planner.trade.parts import After, Part, Site, entered, follow, task_of

SHOWED = "a joint showed through here"
DRY = "the filling must be dry before it is sanded"


def patches(
    site: Site, shown: Sequence[Shows], tasks: Sequence[Task], links: Sequence[TaskLink]
) -> Part:
    """Return the work at each place that showed; `tasks` and `links` are all others."""
    more: list[Task] = []
    ties: list[TaskLink] = []
    for one in shown:
        after = next((t for t in tasks if t.id == one.before), None)
        if after is None:
            continue  # the job has no such task any more
        steps = _steps(site, one, after)
        gates = [x for x in links if x.after == after.id]
        ties += (
            TaskLink(before=x.before, after=steps[0].id, reason=SHOWED, wait=x.wait)
            for x in gates
        )
        for before, then in pairwise((*steps, after)):
            ties += follow(then, _over(site, before))
        more += steps
    return Part(tasks=tuple(more), links=tuple(ties), leads={})


def _steps(site: Site, one: Shows, after: Task) -> tuple[Task, ...]:
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
    if after.phase == "rub":
        return (fill,)
    if after.phase == "wipe":
        return fill, step("spot-sand", None, None)
    primer = site.products[site.methods.primer]
    return fill, step("spot-prime", primer, "recoat")


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
