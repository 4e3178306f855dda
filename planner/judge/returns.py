"""Both returns, what they wait for, the money, and how the closure's hours divide."""

from collections.abc import Iterator

import numpy as np

from planner.judge.case import JudgedPlan, Mask
from planner.judge.crew import Crew
from planner.judge.methods import colour_of
from planner.judge.promise import promised_days
from planner.judge.waits import HAIR, LATE_TICKS, PLANNED, Waits
from planner.nouns.product import CLEARED
from planner.nouns.work import ReturnKind

CENT = 0.005

Term = tuple[str, str | None, str | None]  # task, product, stage


def faults(case: JudgedPlan, waits: Waits, crew: Crew) -> Iterator[str]:
    """Yield what is wrong with returns, costs and the closure's parts."""
    for kind in ReturnKind:
        yield from _returns(case, waits, kind)
    if sorted(r.kind for r in case.plan.stage.returns) != sorted(ReturnKind):
        yield "the plan doesn't return twice, to light foot traffic and to full service"
    yield from _cost(case, crew)
    yield from _division(case, crew)


def terms(case: JudgedPlan, kind: ReturnKind) -> set[Term]:
    """Return what a return waits for, by the methods: task and stage of hardening."""
    m, repaint, out = case.job.methods, case.job.repaint, set[Term]()
    tasks = case.plan.tasks
    out |= {(t.id, None, None) for t in tasks if t.phase == "handover"}
    for work, count, product in (
        ("colour", repaint.coats if repaint else m.colour_coats, m.colour),
        (
            "second-colour",
            m.second_colour.coats if m.second_colour and not repaint else 0,
            m.second_colour.product if m.second_colour else "",
        ),
    ):
        for task in tasks:
            if task.id != case.own(f"{work}-{count}"):
                continue
            out.add((task.id, product, kind.value))
            found = case.inputs.products.get(product)
            if found is not None and any(s.stage == CLEARED for s in found.stages):
                out.add((task.id, product, CLEARED))
    for task in (t for t in tasks if t.phase == "spot-colour"):
        product = colour_of(case, task)
        out.add((task.id, product, kind.value))
        if any(s.stage == CLEARED for s in case.inputs.products[product].stages):
            out.add((task.id, product, CLEARED))
    if kind is ReturnKind.FULL_SERVICE:
        for work, product, stage in (
            ("anchor", m.adhesive, "full"),
            ("bed", m.mortar, "load"),
            ("pack", m.mortar, "load"),
            ("foam", m.foam, "full"),
        ):
            out |= {(t.id, product, stage) for t in tasks if t.phase == work}
    return out


def _returns(case: JudgedPlan, waits: Waits, kind: ReturnKind) -> Iterator[str]:
    wanted = terms(case, kind)
    told = {
        (t.task, t.product, t.stage)
        for t in case.plan.stage.return_terms
        if t.returning is kind
    }
    for task, _, stage in sorted(wanted ^ told, key=str):
        which = "doesn't wait" if (task, _, stage) in wanted else "needn't wait"
        yield f"{kind}: the plan {which} for {case.title(task)} ({stage or 'done'})"
    for task, product, stage in sorted(wanted, key=str):
        if stage and (task, product or "", stage) not in case.waits:
            yield f"{kind}: the wait after {case.title(task)} ({stage}) is not told"
    back = next((r for r in case.plan.stage.returns if r.kind is kind), None)
    if back is None:
        yield f"{kind}: the plan never returns to it"
        return
    soonest = max(_over(case, waits, t, HAIR) for t in wanted)
    latest = max(_over(case, waits, t, -HAIR) for t in wanted) + LATE_TICKS
    if not soonest <= case.tick(back.when) <= latest:
        word = "early" if case.tick(back.when) < soonest else "late"
        yield (
            f"{kind}: {PLANNED} for {case.when(back.when)}, too {word}: what it waits "
            f"for is over {case.when(case.of_tick(soonest))}"
        )


def _over(case: JudgedPlan, waits: Waits, term: Term, hair: float) -> int:
    """Return the tick at which one thing that a return waits for is over."""
    task, product, stage = term
    end = case.tick(case.tasks[task].end)
    found = waits.stage(product or "", stage or "")
    return waits.ready(*found, end, PLANNED, hair) if found else end


def _cost(case: JudgedPlan, crew: Crew) -> Iterator[str]:
    """Yield sums of money that days, hours and rates don't give."""
    plan, rates = case.plan, case.job.rates
    days, stage = promised_days(case), None
    if days is not None and rates.stage_per_day is not None:
        stage = days * rates.stage_per_day
    labour: float | None = 0.0
    idle: float | None = 0.0
    for person in case.job.crew:
        worked_s, called_s = crew.paid(person.id)
        rate = (
            person.rate_per_h if person.rate_per_h is not None else rates.labour_per_h
        )
        if rate is None and worked_s:
            labour = idle = None
        elif labour is not None and idle is not None:
            labour += (rate or 0.0) * called_s / 3600
            idle += (rate or 0.0) * (called_s - worked_s) / 3600
    for what, said, right in (
        ("the stage", plan.cost.stage, stage),
        ("labour", plan.cost.labour, labour),
        ("waiting between tasks", plan.cost.labour_idle, idle),
    ):
        known = said is not None and right is not None
        if (said is None) != (right is None) or (
            known and abs((said or 0.0) - (right or 0.0)) > 2 * CENT
        ):
            yield f"costs: {said} for {what}, days, hours and rates give {right}"
    if plan.cost.currency != rates.currency:
        yield f"costs: in {plan.cost.currency}, the job says {rates.currency}"


def _division(case: JudgedPlan, crew: Crew) -> Iterator[str]:
    """Yield where the closure's parts aren't its hours."""
    start, end = (case.tick(x) for x in case.plan.stage.closure)
    each = case.step // 60
    parts: dict[str, int] = {}
    for share in case.plan.stage.division:
        parts[share.part] = parts.get(share.part, 0) + share.minutes
        if share.minutes < 0:
            yield f"the closure's hours: less than none of {share.part}"
    if sum(parts.values()) != (end - start) * each:
        yield "the closure's hours: the parts don't add up to it"
    worked: Mask = np.zeros(case.ticks, dtype=np.bool_)
    for task in case.plan.tasks:
        for a, b in task.spans:
            worked[case.tick(a) : case.tick(b)] = True
    working = int(worked[start:end].sum()) * each
    if parts.get("working", 0) != working:
        yield (
            f"the closure's hours: {parts.get('working', 0)} min working, somebody "
            f"works in {working}"
        )
    nobody = ~np.logical_or.reduce([*crew.open.values()])
    off = int((nobody & ~worked)[start:end].sum()) * each
    if parts.get("nights and days off", 0) > off:
        yield "the closure's hours: more nights and days off than there are"
