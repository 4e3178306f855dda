"""Tasks that mustn't share the room: dust near wet coats, people in fumes."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from planner.nouns.product import CLEARED, Product
from planner.nouns.work import Task, Wait, Work

COATS = (
    "setting compound",
    "drying compound",
    "bonding agent",
    "primer",
    "colour",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Separation:
    """No task of `others` overlaps `task`, nor the wait after it."""

    task: str
    others: tuple[str, ...]
    until: Wait


def kept_until(task: Task) -> Wait | None:
    """Return how long a coat's limits hold: until it may be covered or, in a stack, dry."""
    if task.product is None or task.dry_stage is None:
        return None
    stage = "dry" if task.covered_by else task.dry_stage
    return Wait(product=task.product, stage=stage, covered_by=task.covered_by)


def kept_apart(work: Work, products: Mapping[str, Product]) -> Iterator[Separation]:
    """Yield, for each coat, the tasks on the stage that must keep away from it.

    Dust keeps away from a wet coat, and from a stack of them until all of it is dry;
    everybody from fumes until they have cleared. A wet apron is crossed by nobody, so a
    coat on it counts like fumes. What follows a coat waits for it anyway, so only tasks
    beside it are named.
    """
    stage = [t for t in work.tasks if t.on_stage]
    dusty = {t.id for t in stage if t.dusty}
    before = _before(work)
    for task in stage:
        until = kept_until(task)
        if until is None:
            continue
        product = products[until.product]
        coat = product.kind in COATS
        alone = task.fumes or (coat and "apron" in task.bays)
        near = {t.id for t in stage} if alone else dusty if coat else set()
        others = tuple(
            t.id
            for t in stage
            if t.id in near
            and t.id != task.id
            and t.id not in before[task.id]
            and task.id not in before[t.id]
        )
        if others:
            if task.fumes and product.reaches(CLEARED):
                until = Wait(product=product.id, stage=CLEARED)
            yield Separation(task=task.id, others=others, until=until)


def _before(work: Work) -> dict[str, set[str]]:
    """Return, for each task, all tasks that must come before it."""
    direct: dict[str, list[str]] = {t.id: [] for t in work.tasks}
    for link in work.links:
        direct[link.after].append(link.before)
    out: dict[str, set[str]] = {}

    def gather(task: str) -> set[str]:
        if task not in out:
            out[task] = set()
            for earlier in direct[task]:
                out[task] |= {earlier} | gather(earlier)
        return out[task]

    for task in direct:
        gather(task)
    return out
