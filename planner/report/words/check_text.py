"""What `check` prints: everything that was read, as it was understood."""

from collections.abc import Sequence

import numpy as np

from planner.hours.open import entry_words
from planner.hours.spans import Spans
from planner.measures import Units
from planner.nouns.calendar import Busy
from planner.nouns.inputs import Inputs
from planner.nouns.job import Job, Methods
from planner.nouns.odds import Factor
from planner.planning.posing import takeoff_of
from planner.planning.problem import Problem
from planner.planning.refusals.too_few import too_few_for_lifts
from planner.planning.refusals.unmanned import unmanned_words
from planner.report.columns import item
from planner.report.words.sure.cases import (
    end_words,
    share_words,
)
from planner.trade.behind import gate_words
from planner.trade.data import labour
from planner.trade.data.odds import Assumed, with_own
from planner.trade.takeoff import Bay, BayKind
from planner.units import day_words, duration_words, moment_words


def _bay_words(bay: Bay, units: Units) -> str:
    match bay.kind:
        case BayKind.RUN:
            tail = f", {bay.cut_words}" if bay.cut_words else ""
            if bay.free_ends:
                count = "an end piece" if bay.free_ends == 1 else "two end pieces"
                tail += f", {count}"
            return (
                f"{bay.name}: {bay.modules} straight modules{tail}; {_taped(bay, units)}; "
                f"face {units.area(bay.module_m2)}"
            )
        case BayKind.CORNER:
            return (
                f"{bay.name}: 1 corner piece, {bay.uprights} uprights; {_taped(bay, units)}; "
                f"face {units.area(bay.module_m2)}"
            )
        case BayKind.APRON:
            return f"{bay.name}: floor {units.area(bay.floor_m2)}"


def _taped(bay: Bay, units: Units) -> str:
    """Return what is taped in a bay, seams in the wall apart."""
    words = f"joints {units.length(bay.joints_mm - bay.seams_mm)}"
    return words + (
        f", seams in the wall {units.length(bay.seams_mm)}" * bool(bay.seams)
    )


def _room(inputs: Inputs) -> list[str]:
    stage, units = inputs.job.stage, inputs.job.units
    ceiling = units.length(stage.ceiling_mm)
    lines = item(f"Room: {stage.name}, {stage.wall}, ceiling {ceiling}", "", hang=2)
    for bay in takeoff_of(inputs).bays:
        lines += item(_bay_words(bay, units))
    for behind in stage.behind:
        lines += item(gate_words(behind, stage, units))
    return lines


def _work(problem: Problem) -> list[str]:
    tasks = problem.work.tasks
    total = sum(t.person_hours for t in tasks)
    closing = sum(t.on_stage for t in tasks)
    waits = sum(x.wait is not None for x in problem.work.links)
    job = problem.job
    return [
        f"Work: {len(tasks)} tasks ({closing} need the stage closed), "
        f"{len(problem.work.links)} links, {waits} with a wait",
        *item(f"labour {duration_words(total * 60)} in all, setting up apart"),
        *item(_painted_words(job) if job.repaint else _built_words(job.methods)),
        *_rates(problem),
    ]


def _painted_words(job: Job) -> str:
    """Return what a job that builds nothing paints again."""
    repaint = job.repaint
    assert repaint is not None
    return (
        f"painted again: {repaint.area}, {repaint.colour} colour, {repaint.coats} of "
        f"{job.methods.colour}; nothing is built"
    )


def _built_words(m: Methods) -> str:
    return (
        f"backing {m.backing}, fill {m.fill}, {m.setting_coats} setting coats, "
        f"{m.drying_coats} of drying compound, {m.topping_coats} of topping, "
        f"{m.skim_coats} of skim over all, "
        f"{m.primer_coats} of {m.primer}, {m.colour_coats} of {m.colour}"
        f"{_second(m)}"
    )


def _rates(problem: Problem) -> list[str]:
    """Return the hours of each kind of work and how they were come by."""
    rates = labour.rates(problem.job.own_rates)
    hours: dict[str, float] = {}
    for task in problem.work.tasks:
        hours[task.phase] = hours.get(task.phase, 0.0) + task.person_hours
    own = {r.work: f" ({r.source})" for r in problem.job.own_rates}
    lines = ["Hours of work by kind; [[labour]] in the job file gives the crew's own"]
    for kind, spent_h in hours.items():
        lines += item(
            f"{kind}: {duration_words(spent_h * 60)}; {_rate_words(rates[kind], problem.job.units)}"
            f"{own.get(kind, '')}"
        )
    return lines


def _rate_words(rate: labour.Rate, units: Units) -> str:
    """Return a rate in both unit systems, and what setting up takes."""
    unit, _, of = rate.unit.partition(" ")
    minutes = rate.hours * 60
    if unit in ("m", "m²"):
        per = f"{units.time_for_each(minutes, unit)} {of}"
    else:
        per = f"{minutes:.3g} min for each of the {rate.unit}"
    return f"{per}, {duration_words(rate.set_up_h * 60)} to set up each day in each bay"


def _nobody(inputs: Inputs, problem: Problem) -> list[str]:
    """Return the work that no one of the crew may lead, or no team of them can do."""
    found, _ = _in_the_way(inputs, problem)
    return [x for words in found for x in item(f"no plan can be made: {words}")]


def may_be_planned(inputs: Inputs, problem: Problem) -> bool:
    """Tell whether nothing is known before the search that no plan can be made with."""
    return not _in_the_way(inputs, problem)[0]


def _in_the_way(
    inputs: Inputs, problem: Problem
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return what no plan can be made with, and what would help, as far as is known."""
    lifts = too_few_for_lifts(problem.job, takeoff_of(inputs), problem.work.tasks)
    found = unmanned_words(problem)
    if lifts is None:
        return found, ()
    return found or lifts.conflict, lifts.helps


def _second(methods: Methods) -> str:
    second = methods.second_colour
    if second is None:
        return ""
    return f", then {second.coats} of {second.product} on {', '.join(second.bays)}"


def _crew(problem: Problem) -> list[str]:
    grid = problem.grid
    weeks = grid.ticks * grid.tick_minutes / (60 * 24 * 7)
    lines = [f"Crew: open hours in the first {weeks:.0f} weeks"]
    for person in problem.job.crew:
        hours = problem.open[person.id]
        open_h = duration_words(hours.open.total * grid.tick_minutes)
        lines += item(f"{person.name} ({', '.join(person.trades)}): {open_h}")
        by_reason: dict[str, Spans] = {}
        for reason, spans in hours.taken:
            by_reason[reason] = by_reason.get(reason, Spans()) | spans
        for reason, spans in by_reason.items():
            lines += item(f"  closed {_spans_words(problem, spans)}: {reason}")
    return lines


def _spans_words(problem: Problem, spans: Spans) -> str:
    """Return the first of some spans in words, and how many more there are."""
    grid = problem.grid
    start, end = spans.items[0]
    first = moment_words(grid.instant(start), grid.zone)
    last = moment_words(grid.instant(end), grid.zone)
    same = first[:-7] == last[:-7]
    more = len(spans.items) - 1
    tail = f" and {more} more" if more else ""
    return f"{first} to {last[-5:] if same else last}{tail}"


def _entries(
    problem: Problem, head: str, entries: Sequence[tuple[Busy, Spans]]
) -> list[str]:
    """Return calendar entries in words, those of one title together."""
    if not entries:
        return [f"{head}: none"]
    by_title: dict[str, Spans] = {}
    for busy, spans in entries:
        tag = "" if busy.kind == "busy" else f", {busy.kind}"
        words = f"{entry_words(busy)}{tag}"
        by_title[words] = by_title.get(words, Spans()) | spans
    lines = [f"{head}: {len(entries)}"]
    for words, spans in by_title.items():
        lines += item(f"{_spans_words(problem, spans)}: {words}")
    return lines


def _air(problem: Problem) -> list[str]:
    air = problem.air
    lines = item("Air: " + "; ".join(air.origin), "", hang=2)
    for what, values, say in (
        ("temperature", air.air_c, problem.job.units.temperature),
        ("humidity", air.humidity_pct, lambda v: f"{v:.0f} %"),
    ):
        low, mean, high = (say(float(f(values))) for f in (np.min, np.mean, np.max))
        lines += item(f"{what} {low} to {high}, mean {mean}")
    lines += item(f"planning margin on waits {problem.job.margin_frac:.0%}")
    lines += _no_start(problem)
    held = {h.fact: h.bad.total for t in problem.instance.tasks for h in t.holds}
    for fact, ticks in held.items():
        share = ticks / problem.grid.ticks
        lines += item(f"broken {share:.0%} of the time: {problem.facts[fact]}")
    return lines


def _no_start(problem: Problem) -> list[str]:
    """Return what keeps tasks from beginning at some hours, a line for each reason."""
    titles: dict[str, list[str]] = {}
    by_id = {t.id: t.title for t in problem.work.tasks}
    for task in problem.instance.tasks:
        for block in task.no_start:
            titles.setdefault(problem.facts[block.fact], []).append(by_id[task.id])
    lines = []
    for fact, found in titles.items():
        first, more = found[0], len(dict.fromkeys(found)) - 1
        others = f" and {more} more" if more else ""
        lines += item(f'"{first}"{others} can\'t begin at every hour: {fact}')
    return lines


def _odds(inputs: Inputs) -> list[str]:
    """Return how far the job may differ from its plan, with where each number is from."""
    lines = [
        f"A return is promised where {share_words(inputs.job.sure_percent)} cases keep it",
        "How far the job may differ from its plan, for the promise and covetime odds:",
    ]
    job = inputs.job
    for one in with_own(dict(job.own_odds)).values():
        origin = one.source if one.tag == "user" else f"{one.tag}: {one.source}"
        lines += item(f"{one.title}: {_assumed_words(one)} ({origin})")
    titles = {r.id: r.title for r in labour.rates().values()}
    for work, factor in job.own_pace:
        words = f"pace at {work} ({titles[work]}): {_factor_words(factor)}"
        lines += item(f"{words} (the job file)")
    titles = {p.id: p.title for p in job.products}
    for product, factor in job.own_waits:
        words = f"wait after a coat of {titles[product]}: {_factor_words(factor)}"
        lines += item(f"{words} (the job file)")
    return lines


def _assumed_words(one: Assumed) -> str:
    if isinstance(one.value, Factor):
        return _factor_words(one.value)
    match one.unit:
        case "chance":
            return f"{one.value * 100:.3g} %"
        case "h":
            return duration_words(one.value * 60)
        case unit:
            return f"{one.value:g} {unit}"


def _factor_words(factor: Factor) -> str:
    """Return how far something differs, and how that was said if in another way."""
    words = f"{factor.frac * 100:.3g} %"
    if factor.median != 1.0:
        words += f" around {factor.median * 100:.3g} % of what is planned"
    return words + f", from {factor.said}" * bool(factor.said)


def _movable(inputs: Inputs) -> list[str]:
    """Return the bookings of a year that may be moved at a price, each with its day."""
    zone, currency = inputs.job.zone, inputs.job.rates.currency
    lines = []
    for busy in inputs.hours.bookings:
        if busy.moving_cost is not None:
            day = day_words(busy.start, zone)
            price = f"{busy.moving_cost:,.0f} {currency}".rstrip()
            lines += item(f"{entry_words(busy)}, {day}, may be moved for {price}")
    return lines


def _window(job: Job) -> list[str]:
    """Return from when the stage may be closed and by when it is wanted back."""
    parts = []
    if job.close_from is not None:
        parts.append(f"the stage isn't closed before {job.close_from}")
    if job.back_by is not None:
        parts.append(f"it is wanted back by {end_words(job.back_by, job.zone)}")
    return item("; ".join(parts)) if parts else []


def understood_words(inputs: Inputs, problem: Problem) -> str:
    """Return what was understood, for a person to compare with what they meant."""
    job = inputs.job
    lines = [
        f"{job.name}",
        *item(
            f"times in {job.zone.key}; earliest day {job.earliest}; "
            f"steps of {job.tick_minutes} min; {job.units} measures first"
        ),
        *_window(job),
        *_room(inputs),
        *_work(problem),
        *_crew(problem),
        *_nobody(inputs, problem),
        *_entries(problem, "Bookings of the stage", problem.booked),
        *_movable(inputs),
        *_entries(problem, "Quiet hours", problem.quiet),
        f"Holidays: {len(inputs.hours.holidays)}",
        *_air(problem),
        *_odds(inputs),
        "Taken from defaults" if job.defaults_used else "No defaults were needed",
    ]
    for default in job.defaults_used:
        lines += item(default)
    for remark in inputs.remarks:
        lines += item(f"note: {remark}")
    return "\n".join(lines) + "\n"


def next_words(inputs: Inputs, problem: Problem, job: str) -> str:
    """Return what to type next; `job` is the job file as it is typed.

    Of a job that no plan can be made of, also what is to be put right before.
    """
    found, helps = _in_the_way(inputs, problem)
    if not found:
        return f"If that is what you meant: covetime plan {job}"
    lines = ["No plan can be made of this job"]
    for words in found:
        lines += item(words)
    for words in helps:
        lines += item(f"would help: {words}")
    return "\n".join((*lines, f"Put that right, then: covetime check {job}"))
