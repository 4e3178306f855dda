"""Latest times: a coat is covered within its recoat window, or sanded again."""

from collections.abc import Iterator

import numpy as np

from planner.judge.case import JudgedPlan, number
from planner.judge.physics.hardening import speed
from planner.judge.sequence import OPEN_TO_ALL, Order
from planner.judge.waits import HAIR, LATE_TICKS, Waits
from planner.nouns.plan import PlannedTask, PlannedWindow
from planner.nouns.product import POT_LIFE, RECOAT_WINDOW, Latest

PAINTED = ("prime", "colour", "second-colour")


def faults(case: JudgedPlan, waits: Waits, order: Order) -> Iterator[str]:
    """Yield coats that are covered too late, and windows that the plan tells wrong."""
    told = {(w.before, w.after): w for w in case.plan.windows}
    yield from _bedded(case, waits, told)
    for coat, after, latest in _covered(case):
        closes = _closes(case, waits, latest, coat, HAIR)
        window = told.pop((coat.id, after.id), None)
        again = _sanded_again(case, waits, order, coat, after)
        late = case.tick(after.start) > closes and not case.happened(after)
        if late and again is None:
            yield (
                f'"{after.title}": covers "{coat.title}" after its {latest.name} '
                f"closed, {case.when(case.of_tick(closes))}, and nobody sands it again"
            )
        if window is None:
            yield f'"{after.title}": the plan doesn\'t tell the window of "{coat.title}"'
            continue
        soonest = _closes(case, waits, latest, coat, -HAIR) - LATE_TICKS
        said = case.ticks if window.closes is None else case.tick(window.closes)
        if not soonest <= said <= closes:
            yield f'"{coat.title}": its window is told wrong; it closes ' + case.when(
                case.of_tick(closes)
            )
        if window.sanded_again != (again.id if again else None):
            yield f'"{coat.title}": whether it is sanded again is told wrong'
    for before, after_id in told:
        yield f"the plan tells a window from {before} to {after_id}: there is none"


def _bedded(
    case: JudgedPlan, waits: Waits, told: dict[tuple[str, str], PlannedWindow]
) -> Iterator[str]:
    """Yield beds of mortar that the screws don't reach within its pot life."""
    for bed in case.of("bed"):
        product = case.inputs.products.get(bed.product or "")
        latest = next(
            (x for x in (product.latest if product else ()) if x.name == POT_LIFE), None
        )
        for anchor in case.of("anchor", bed.bays[0]):
            if latest is None:
                continue
            closes = _closes(case, waits, latest, bed, HAIR)
            gone = case.now is not None and closes <= case.tick(case.now)
            if case.tick(anchor.start) > closes and not gone:
                yield (
                    f'"{anchor.title}": begins after the {latest.name} of "{bed.title}", '
                    + case.when(case.of_tick(closes))
                )
            window = told.pop((bed.id, anchor.id), None)
            said = window.closes if window else None
            if said is None or case.tick(said) > closes:
                yield f'"{bed.title}": the plan doesn\'t tell its {latest.name} right'


def _covered(case: JudgedPlan) -> Iterator[tuple[PlannedTask, PlannedTask, Latest]]:
    """Yield each coat with a window, and the next coat over any bay of it."""
    coats = [t for t in case.plan.tasks if t.phase in PAINTED]
    for coat in coats:
        product = case.inputs.products.get(coat.product or "")
        latest = next(
            (x for x in (product.latest if product else ()) if x.name == RECOAT_WINDOW),
            None,
        )
        if latest is None:
            continue
        rank = (PAINTED.index(coat.phase), number(coat))
        nexts: dict[str, PlannedTask] = {}
        for bay in coat.bays:
            over = [
                t
                for t in coats
                if bay in t.bays and (PAINTED.index(t.phase), number(t)) > rank
            ]
            if over:
                after = min(over, key=lambda t: (PAINTED.index(t.phase), number(t)))
                nexts[after.id] = after
        for after in nexts.values():
            yield coat, after, latest


def _closes(
    case: JudgedPlan, waits: Waits, latest: Latest, coat: PlannedTask, hair: float
) -> int:
    """Return the last tick at which the next coat may begin; the grid's at most."""
    s = waits.series
    per_h = speed(latest, s.air_c, s.humidity_pct, s.changes_per_h, None)
    done = np.concatenate(([0.0], np.cumsum(per_h * (case.step / 3600))))
    end = case.tick(coat.end)
    if end >= case.ticks:
        return case.ticks
    last = int(np.searchsorted(done, done[end] + 1.0 + hair, side="right")) - 1
    return max(last, end)


def _sanded_again(
    case: JudgedPlan, waits: Waits, order: Order, coat: PlannedTask, after: PlannedTask
) -> PlannedTask | None:
    """Return the sanding between two coats, all bays of the lower one and in time."""
    stage = order.stage_of(coat, OPEN_TO_ALL)
    over = waits.least(coat, coat.product or "", stage or "")
    for task in case.plan.tasks:
        if (
            task.phase == "sand-again"
            and set(coat.bays) <= set(task.bays)
            and case.tick(task.start) >= over
            and task.end <= after.start
        ):
            return task
    return None
