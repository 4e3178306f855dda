"""The stage: its closure, its bays, and what must not share the room."""

from collections.abc import Iterator
from datetime import datetime
from itertools import pairwise

from planner.judge.case import JudgedPlan, number
from planner.judge.physics.stacks import stack_of
from planner.judge.sequence import Order
from planner.judge.waits import Waits
from planner.nouns.ids import bare
from planner.nouns.plan import PlannedTask
from planner.nouns.product import CLEARED, Product
from planner.nouns.work import ReturnKind

COATS = (
    "setting compound",
    "drying compound",
    "bonding agent",
    "primer",
    "colour",
)


def faults(case: JudgedPlan, waits: Waits, order: Order) -> Iterator[str]:
    """Yield what is wrong with closure, bays and the room that tasks share."""
    yield from _closure(case)
    yield from _bays(case)
    yield from _apart(case, waits, order)
    yield from _loose(case, order)


def _closure(case: JudgedPlan) -> Iterator[str]:
    """Yield where the closure isn't from the first work to full service, or is taken."""
    plan, (start, end) = case.plan, case.plan.stage.closure
    first = min((t.start for t in plan.tasks if t.on_stage), default=None)
    if first != start:
        yield (
            f"the closure begins {case.when(start)}, the first work on the stage "
            f"{case.when(first) if first else 'never'}"
        )
    for task in plan.tasks:
        if task.phase in ("survey", "locate") and task.end > start:
            yield f'"{task.title}": the stage is closed before it is done'
    full = [r.when for r in plan.stage.returns if r.kind is ReturnKind.FULL_SERVICE]
    if full != [end]:
        yield f"the closure ends {case.when(end)}, not with full service"
    wished = case.job.close_from
    if wished and start.astimezone(case.zone).date() < wished and not _begun(case):
        yield f"the stage is closed from {case.when(start)}, before {wished}"
    for entry in case.inputs.hours.bookings:
        if entry.start < end and start < entry.end and not _over(case, entry.end):
            title = f'"{entry.title}"' if entry.title else "a private booking"
            yield (
                f"the closure lies over {title} ({entry.file}), "
                f"{case.span((entry.start, entry.end))}"
            )


def _begun(case: JudgedPlan) -> bool:
    """Tell whether the stage was closed already when the plan was revised."""
    return case.now is not None and case.plan.stage.closure[0] <= case.now


def _over(case: JudgedPlan, end: datetime) -> bool:
    """Tell whether what ends then was over when the plan was revised."""
    return case.now is not None and end <= case.now


def _bays(case: JudgedPlan) -> Iterator[str]:
    """Yield where two teams are in a bay."""
    inside: dict[str, list[PlannedTask]] = {}
    for task in sorted(case.plan.tasks, key=lambda t: (t.start, t.end)):
        for bay in task.bays if task.on_stage else ():
            inside.setdefault(bay, []).append(task)
    for bay, tasks in inside.items():
        last = tasks[0]
        for _, task in pairwise(tasks):
            if task.start < last.end and not case.happened(task):
                yield f'two teams in bay {bare(bay)}: "{last.title}" and "{task.title}"'
            last = max(last, task, key=lambda t: t.end)


def _loose(case: JudgedPlan, order: Order) -> Iterator[str]:
    """Yield work beside modules that stand set and not yet fastened to the wall."""
    beside: dict[str, set[str]] = {bay: {bay} for bay in order.room.built}
    for corner, runs in order.room.corners:
        for run in runs:
            beside[corner].add(run)
            beside[run].add(corner)
    for bay, near in beside.items():
        for placed in (*case.of("set", bay), *case.of("set-corner", bay)):
            until = min((t.start for t in case.of("fasten", bay)), default=placed.end)
            for task in case.plan.tasks:
                if (
                    task.on_stage
                    and task.phase not in ("set", "set-corner", "fasten")
                    and near & set(task.bays)
                    and task.start < until
                    and placed.end < task.end
                    and not case.happened(task)
                ):
                    yield (
                        f'"{task.title}": beside "{placed.title}", which stands '
                        f"unfastened until {case.when(until)}"
                    )


def _apart(case: JudgedPlan, waits: Waits, order: Order) -> Iterator[str]:
    """Yield dust on wet coats, people in fumes, feet on a wet apron."""
    told = {(p.task, p.other, p.stage) for p in case.plan.apart}
    for coat, other, until, why in _near(case):
        over = waits.least(coat, coat.product or "", until)
        both = case.happened(coat) and case.happened(other)
        if other.end > coat.start and case.tick(other.start) < over and not both:
            yield f'"{other.title}": {why} "{coat.title}", until ' + case.when(
                case.of_tick(over)
            )
        related = (
            other.id in order.earlier[coat.id] or coat.id in order.earlier[other.id]
        )
        if not related and (coat.id, other.id, until) not in told:
            yield (
                f'"{other.title}": the plan doesn\'t say that it keeps away from '
                f'"{coat.title}" until it is {until}'
            )


def _near(case: JudgedPlan) -> Iterator[tuple[PlannedTask, PlannedTask, str, str]]:
    """Yield each coat, what must keep away from it, until which stage, and why."""
    stage = [t for t in case.plan.tasks if t.on_stage]
    for coat in stage:
        product = case.inputs.products.get(coat.product or "")
        if product is None or coat.dry_stage is None:
            continue
        until, why = _until(case, coat, product)
        wet = product.kind in COATS
        everybody = product.fumes or (wet and case.own("apron") in coat.bays)
        for other in stage:
            if other is coat or not (everybody or (wet and other.dusty)):
                continue
            if product.fumes and _next_coat(coat, other):
                continue  # by those who laid it, once it may be recoated
            yield coat, other, until, why if everybody else "dust on the wet coat of"


def _until(case: JudgedPlan, coat: PlannedTask, product: Product) -> tuple[str, str]:
    """Return the stage from which others may come near a coat, and why not before.

    Of coats wet on one another, that is dry: all of them, not the one alone.
    """
    if len(stack_of(case, coat)) > 1:
        return "dry", "crosses the wet apron of"
    if product.fumes:
        stages = {s.stage for s in product.stages}
        if CLEARED in stages:
            return CLEARED, "in the fumes of"
        return coat.dry_stage or "", "in the fumes of"
    return coat.dry_stage or "", "crosses the wet apron of"


def _next_coat(coat: PlannedTask, other: PlannedTask) -> bool:
    same = other.phase == coat.phase and other.product == coat.product
    return same and number(other) > number(coat)
