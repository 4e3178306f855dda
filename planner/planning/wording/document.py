"""An answer of the engine becomes a plan in dates, names and words."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date

from planner.air.calculator import second_opinion
from planner.hours.open import entry_saying
from planner.hours.spans import Spans
from planner.languages.catalogues import is_english
from planner.nouns import plan as nouns
from planner.nouns.air import AirReading
from planner.nouns.odds import Odds
from planner.nouns.told.saying import Saying, each_once
from planner.nouns.work import Pace, TaskLink, Wait
from planner.planning.answer import Answer
from planner.planning.apart import kept_apart
from planner.planning.begun.past import as_worked
from planner.planning.problem import Problem, hardening, window_name
from planner.planning.wording.account import aims_of, crew_of
from planner.planning.wording.air_told import air_told
from planner.planning.wording.around import around
from planner.planning.wording.chain_words import because
from planner.planning.wording.promised import (
    promised_cost,
    returns_told,
    sureness_of,
)
from planner.planning.wording.stage_told import stage_told
from planner.planning.wording.staged import on_stage
from planner.planning.wording.supplies import bought, needed
from planner.planning.wording.used import products_used
from planner.planning.wording.waited import Waited, stretches
from planner.schedule.problem.outcome import BindingStep, Placement
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
    grid, worked = problem.grid, as_worked(problem, placed)
    held = held_back(problem.instance, tuple(placed.values()), binding(slipping))
    out = []
    for task in (t for t in problem.work.tasks if t.id in placed):
        p = worked[task.id]
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
                visit=task.visit,
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
                happened=_happened(problem, task.id),
            )
        )
    return tuple(sorted(out, key=lambda t: (t.start, t.end, t.id)))


def _happened(problem: Problem, task: str) -> str:
    """Return whether a task was done or begun before the plan was revised; or ""."""
    if task not in problem.past:
        return ""
    activity = next(t for t in problem.instance.tasks if t.id == task)
    return "done" if activity.modes[0].size == 0 else "begun"


def _manned(problem: Problem) -> frozenset[date]:
    """Return the days on which somebody of the crew is open."""
    anybody = Spans.of(s for hours in problem.open.values() for s in hours.open)
    return frozenset(day for day, a, b in problem.grid.days() if anybody.clip(a, b))


def _apart(
    problem: Problem, placed: Mapping[str, Placement]
) -> Iterator[tuple[str, str, Wait]]:
    """Yield each task that keeps another away, and until when after its end."""
    for apart in kept_apart(problem.work, problem.products):
        for other in apart.others:
            if {apart.task, other} <= placed.keys():
                yield apart.task, other, apart.until


def _told_apart(
    apart: Iterable[tuple[str, str, Wait]],
) -> Iterator[nouns.KeptApart]:
    for task, other, until in apart:
        yield nouns.KeptApart(
            task=task, other=other, product=until.product, stage=until.stage
        )


def _waits(
    problem: Problem,
    links: Iterable[TaskLink],
    apart: Iterable[tuple[str, str, Wait]],
) -> set[tuple[str, Wait]]:
    """Return every wait that something waits for, with the stages it begins after."""
    named = {(x.before, x.wait) for x in links if x.wait is not None}
    named |= {(task, until) for task, _, until in apart}
    named |= {(t, w) for r in problem.work.returns for t, w in r.after if w is not None}
    before = {(t, w.product, hardening(problem.products, w).after) for t, w in named}
    named |= {
        (t, Wait(product=product, stage=stage.stage))
        for t, product, stage in before
        if stage is not None
    }
    return named


def _planned(
    waited: Waited, waits: Iterable[tuple[str, Wait]]
) -> list[nouns.PlannedWait]:
    """Return waits as the plan holds them, in order of time."""
    return sorted(
        (waited.planned(task, wait) for task, wait in waits),
        key=lambda w: (w.begins, w.task, w.ready, w.stage),
    )


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


def _to_come(
    problem: Problem, answer: Answer, binding: frozenset[str]
) -> list[BindingStep]:
    """Return what holds the date, as far as it hasn't happened yet."""
    closure = problem.instance.closures[0].id
    steps = holding_chain(problem.instance, answer.placements, closure, binding)
    return [step for step in steps if step.task not in problem.past]


def plan_of(
    problem: Problem, answer: Answer, odds: Odds, takeoff: TakeOff, origin: Origin
) -> nouns.Plan:
    """Return the plan that an answer stands for, in dates and words.

    `odds` are those of the answer; `problem` is what it answers, in the air that its
    own coats make; the bays of `takeoff` are in the order of the room.
    """
    job, grid, here = problem.job, problem.grid, problem.job.stage.id
    placed = {p.task: p for p in answer.placements}
    waited = Waited(problem, {t: p.end for t, p in placed.items()})
    slipping = slack(problem.instance, answer.placements)
    steps = _to_come(problem, answer, binding(slipping))
    worked = as_worked(problem, placed)
    links = [x for x in problem.work.links if {x.before, x.after} <= placed.keys()]
    apart = list(_apart(problem, placed))
    planned_waits = _planned(waited, _waits(problem, links, apart))
    returns, windows = returns_told(waited, odds), _windows(problem, placed)
    tasks = _tasks(problem, placed, waited, slipping)
    air = air_told(problem, planned_waits, returns, windows, origin.readings)
    stage = stage_told(
        waited,
        worked,
        steps,
        takeoff.bays,
        returns=returns,
        sureness=sureness_of(odds),
        air=air,
    )
    supplies = bought(job, takeoff, problem.products, tasks, _manned(problem))
    fumes = any(t.fumes for t in tasks)
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
        waits=on_stage(here, planned_waits),
        products=products_used(problem),
        links=on_stage(here, map(_link, links)),
        apart=on_stage(here, _told_apart(apart)),
        windows=on_stage(here, windows),
        aims=aims_of(problem, answer.aims, answer.proof),
        stopped=answer.stopped,
        crew=crew_of(problem, worked),
        cost=promised_cost(problem, answer.cost, stage.promised_closure[0], returns),
        supplies=on_stage(here, supplies),
        tools=on_stage(here, needed(job, tasks)),
        assumptions=job.defaults_used,
        reminders=around(job, takeoff, tasks, supplies, returns, fumes=fumes),
        codes=job.codes,
        entries=job.entries,
        units=job.units,
        remarks=(*origin.remarks, *_second_opinions(problem, planned_waits)),
        sayings=_sayings(problem, takeoff),
    )


def _sayings(problem: Problem, takeoff: TakeOff) -> tuple[Saying, ...]:
    """Return what was put together, where one of the crew is told it otherwise."""
    if all(is_english(person.language) for person in problem.job.crew):
        return ()
    of_bays = (b.named for b in takeoff.bays)
    of_tasks = (s for t in problem.work.tasks for s in t.sayings)
    taken = (entry_saying(b) for b, _ in (*problem.booked, *problem.quiet))
    return each_once((*of_bays, *of_tasks, *taken))
