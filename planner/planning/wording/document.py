"""An answer of the engine becomes a plan in dates, names and words."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime

from planner.air.calculator import second_opinion
from planner.hours.open import daily, entry_words
from planner.hours.spans import Spans
from planner.nouns import plan as nouns
from planner.nouns import product as matter
from planner.nouns.air import AirReading
from planner.nouns.calendar import Busy
from planner.nouns.work import Pace, ReturnKind, TaskLink, Wait, Work
from planner.planning.answer import Answer
from planner.planning.problem import Problem, hardening, margin_frac, window_name
from planner.planning.wording.account import (
    aims_of,
    crew_of,
    division_of,
)
from planner.planning.wording.air_told import air_told
from planner.planning.wording.chain_words import because, chain_words
from planner.planning.wording.staged import on_stage
from planner.planning.wording.supplies import bought, needed
from planner.planning.wording.waited import Waited, stretches
from planner.schedule.problem.outcome import Placement
from planner.schedule.problem.parts import Closure
from planner.schedule.why.chain import held_back, holding_chain
from planner.schedule.why.slack import slack
from planner.trade.takeoff import TakeOff


@dataclass(frozen=True, slots=True, kw_only=True)
class Origin:
    """Where a plan comes from: program, solver, inputs' fingerprint, readings, remarks."""

    program: str
    solver: str
    fingerprint: str
    readings: tuple[AirReading, ...]
    remarks: tuple[str, ...]


def binding(slipping: Mapping[str, tuple[int, int]]) -> frozenset[str]:
    """Return the tasks that can't slip at all without moving the last return."""
    return frozenset(task for task, (total, _) in slipping.items() if total == 0)


def _tasks(
    problem: Problem,
    placed: Mapping[str, Placement],
    waited: Waited,
    slipping: Mapping[str, tuple[int, int]],
) -> tuple[nouns.PlannedTask, ...]:
    grid = problem.grid
    held = held_back(problem.instance, tuple(placed.values()), binding(slipping))
    out = []
    for task in problem.work.tasks:
        if task.id not in placed:
            continue
        p = placed[task.id]
        total, free = slipping[task.id]
        out.append(
            nouns.PlannedTask(
                id=task.id,
                stage=problem.job.stage.id,
                title=task.title,
                how=task.how,
                phase=task.phase,
                bays=task.bays,
                start=grid.instant(p.start),
                end=grid.instant(p.end),
                spans=stretches(grid, p.worked),
                team=p.team,
                lead=task.lead,
                help=task.help,
                person_hours=round(task.person_hours, 3),
                set_up_h=task.set_up_h,
                elapsed_h=task.elapsed_h,
                worked_min=p.worked.total * grid.tick_minutes * len(p.team),
                quantity=task.quantity,
                one_go=task.pace == Pace.ONE_GO,
                on_stage=task.on_stage,
                loud=task.loud,
                dusty=task.dusty,
                fumes=task.fumes,
                product=task.product,
                dry_stage=task.dry_stage,
                wet_m2=round(task.wet_m2, 3),
                total_slack_min=total * grid.tick_minutes,
                free_slack_min=free * grid.tick_minutes,
                held_by="; then ".join(
                    dict.fromkeys(
                        because(problem, placed, step, waited.ready)
                        for step in reversed(held[task.id])
                    )
                ),
                bring=task.bring,
                cautions=task.cautions,
                source=task.source,
                touch_up_frac=task.touch_up_frac,
                lifts=task.lifts,
                lifters=task.lifters,
            )
        )
    return tuple(sorted(out, key=lambda t: (t.start, t.end, t.id)))


def _taken(entries: Sequence[tuple[Busy, Spans]]) -> tuple[nouns.Taken, ...]:
    return tuple(
        nouns.Taken(
            start=b.start.astimezone(UTC),
            end=b.end.astimezone(UTC),
            reason=entry_words(b),
        )
        for b, _ in entries
    )


def _returns(problem: Problem, waited: Waited) -> tuple[nouns.PlannedReturn, ...]:
    grid = problem.grid

    def latest(ticks: list[int]) -> datetime:
        return grid.instant(max(ticks))

    return tuple(
        nouns.PlannedReturn(
            kind=r.kind,
            when=latest([waited.ready(t, w) for t, w in r.after]),
            likely=latest([waited.likely_ready(t, w) for t, w in r.after]),
            cautious=latest([waited.cautious_ready(t, w) for t, w in r.after]),
        )
        for r in problem.work.returns
    )


def _products(problem: Problem) -> tuple[nouns.UsedProduct, ...]:
    """Return every product that a task lays or a wait waits for."""
    work = problem.work
    used = {t.product for t in work.tasks if t.product is not None}
    used |= {x.wait.product for x in work.links if x.wait is not None}
    used |= {w.product for r in work.returns for _, w in r.after if w is not None}
    return tuple(_product(problem, problem.products[id_]) for id_ in sorted(used))


def _product(problem: Problem, product: matter.Product) -> nouns.UsedProduct:
    limits = product.limits
    return nouns.UsedProduct(
        id=product.id,
        title=product.title,
        kind=product.kind,
        thickness_mm=product.thickness_mm,
        min_c=limits.min_c,
        max_c=limits.max_c,
        max_rh_pct=limits.max_rh_pct,
        dew_margin_delta_k=limits.dew_margin_delta_k,
        min_c_before_h=limits.min_c_before_h,
        limits_source=limits.source.text if limits.source else "",
        stages=tuple(
            nouns.UsedStage(
                stage=s.stage,
                way=s.way.value,
                law=s.law,
                numbers=dict(s.numbers),
                margin_frac=margin_frac(problem.job, s),
                after=s.after.stage if s.after else None,
                source=s.source.text,
                source_tag=s.source.tag,
            )
            for s in product.stages
        ),
        latest=tuple(
            nouns.UsedLatest(
                name=x.name,
                law=x.law,
                numbers=dict(x.numbers),
                then=x.then,
                source=x.source.text,
                source_tag=x.source.tag,
            )
            for x in product.latest
        ),
    )


def _manned(problem: Problem) -> frozenset[date]:
    """Return the days on which somebody of the crew is open."""
    anybody = Spans.of(s for hours in problem.open.values() for s in hours.open)
    return frozenset(day for day, a, b in problem.grid.days() if anybody.clip(a, b))


def _waits(
    problem: Problem,
    links: Iterable[TaskLink],
    apart: Iterable[tuple[str, str, tuple[str, str, str]]],
) -> set[tuple[str, Wait]]:
    """Return every wait that something waits for, with the stages it begins after."""
    named = {(x.before, x.wait) for x in links if x.wait is not None}
    named |= {
        (task, Wait(product=product, stage=stage))
        for task, _, (product, _, stage) in apart
        if product
    }
    named |= {(t, w) for r in problem.work.returns for t, w in r.after if w is not None}
    before = {(t, w.product, hardening(problem.products, w).after) for t, w in named}
    named |= {
        (t, Wait(product=product, stage=stage.stage))
        for t, product, stage in before
        if stage is not None
    }
    return named


def _second_opinions(
    problem: Problem, waits: Iterable[nouns.PlannedWait]
) -> tuple[str, ...]:
    """Return where a drying time is far off what evaporation gives in the wait's air."""
    found: dict[str, str] = {}
    for wait in waits:
        product = problem.products[wait.product]
        stage = next(s for s in product.stages if s.stage == wait.stage)
        words = second_opinion(stage, wait.air_c, wait.humidity_pct)
        if words:
            found.setdefault(product.id, f"{product.title}, {words}")
    return tuple(found[id_] for id_ in sorted(found))


def _windows(
    problem: Problem, placed: Mapping[str, Placement]
) -> tuple[nouns.PlannedWindow, ...]:
    grid = problem.grid
    closes = {
        w: problem.lookups[window_name(w)].over[placed[w.before].end]
        for w in problem.work.windows
    }
    return tuple(
        nouns.PlannedWindow(
            before=w.before,
            after=w.after,
            product=w.product,
            latest=w.latest,
            closes=grid.instant(tick) if tick < grid.ticks else None,
            sanded_again=w.unless if w.unless in placed else None,
        )
        for w, tick in closes.items()
    )


def _link(link: TaskLink) -> nouns.PlannedLink:
    return nouns.PlannedLink(
        before=link.before,
        after=link.after,
        reason=link.reason,
        product=link.wait.product if link.wait else None,
        stage=link.wait.stage if link.wait else None,
    )


def _return_terms(work: Work) -> Iterator[nouns.ReturnTerm]:
    for returning in work.returns:
        for task, wait in returning.after:
            yield nouns.ReturnTerm(
                returning=returning.kind,
                task=task,
                product=wait.product if wait else None,
                stage=wait.stage if wait else None,
            )


def plan_of(
    problem: Problem,
    answer: Answer,
    takeoff: TakeOff,
    origin: Origin,
) -> nouns.Plan:
    """Return the plan that an answer stands for, in dates and words.

    `problem` is what it answers, in the air that its own coats make; the bays of
    `takeoff` are in the order of the room.
    """
    job, work, grid = problem.job, problem.work, problem.grid
    placed = {p.task: p for p in answer.placements}
    closure: Closure = problem.instance.closures[0]
    waited = Waited(problem, {t: p.end for t, p in placed.items()})
    full = next(r for r in work.returns if r.kind is ReturnKind.FULL_SERVICE)
    span = (
        min(placed[t].start for t in closure.tasks if t in placed),
        max(waited.ready(t, w) for t, w in full.after),
    )
    slipping = slack(problem.instance, answer.placements)
    steps = holding_chain(
        problem.instance, answer.placements, closure.id, binding(slipping)
    )
    crew = crew_of(problem, placed)
    links = [x for x in work.links if x.before in placed and x.after in placed]
    apart = [
        (a.task, other, a.until.partition(":"))
        for a in problem.instance.apart
        if a.task in placed
        for other in a.others
        if other in placed
    ]
    tasks = _tasks(problem, placed, waited, slipping)
    planned_waits = [waited.planned(t, w) for t, w in _waits(problem, links, apart)]
    returns = _returns(problem, waited)
    windows = _windows(problem, placed)
    here = job.stage.id
    stage = nouns.PlannedStage(
        id=here,
        job_id=job.plan_id,
        name=job.stage.name,
        closure=(grid.instant(span[0]), grid.instant(span[1])),
        returns=returns,
        return_terms=on_stage(here, _return_terms(work)),
        bays=on_stage(
            here, (nouns.PlannedBay(id=b.id, name=b.name) for b in takeoff.bays)
        ),
        chain=on_stage(here, chain_words(problem, placed, steps, waited.ready)),
        division=division_of(problem, placed, steps, span, waited),
        bookings=_taken(problem.booked),
        quiet=_taken(problem.quiet),
        shut=stretches(grid, Spans(((0, grid.ticks),)) - daily(grid, job.stage_hours)),
        air=air_told(problem, planned_waits, returns, windows, origin.readings),
    )
    supplies = bought(job, takeoff, problem.products, tasks, _manned(problem))
    return nouns.Plan(
        format_version=nouns.FORMAT_VERSION,
        plan_id=job.plan_id,
        job=job.name,
        zone=job.zone.key,
        program=origin.program,
        solver=origin.solver,
        fingerprint=origin.fingerprint,
        grid_start=grid.start,
        grid_ticks=grid.ticks,
        tick_minutes=grid.tick_minutes,
        margin_frac=job.margin_frac,
        stages=(stage,),
        tasks=on_stage(here, tasks),
        waits=on_stage(
            here,
            sorted(planned_waits, key=lambda w: (w.begins, w.task, w.ready, w.stage)),
        ),
        products=_products(problem),
        links=on_stage(here, map(_link, links)),
        apart=on_stage(
            here,
            (
                nouns.KeptApart(
                    task=task, other=other, product=product or None, stage=until or None
                )
                for task, other, (product, _, until) in apart
            ),
        ),
        windows=on_stage(here, windows),
        aims=aims_of(problem, answer.aims, answer.proof),
        stopped=answer.stopped,
        crew=crew,
        cost=answer.cost,
        supplies=on_stage(here, supplies),
        tools=on_stage(here, needed(job, tasks)),
        assumptions=job.defaults_used,
        codes=problem.job.codes,
        remarks=(*origin.remarks, *_second_opinions(problem, planned_waits)),
    )
