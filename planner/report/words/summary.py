"""What the command prints of a plan: one screenful, and the answer to `why`."""

from collections.abc import Iterator
from itertools import pairwise
from zoneinfo import ZoneInfo

from planner.nouns.plan import CUT_SHORT, MADE_TO_BE_KEPT, OWN_AIR, Plan, PlannedTask
from planner.nouns.purchase import Cost, days_touched
from planner.nouns.work import ReturnKind
from planner.report.columns import item, labelled
from planner.report.drawing.view import View, minutes_between, passes
from planner.report.words.around import around_rows
from planner.report.words.dependencies import wait_words
from planner.report.words.sure.cases import until_words
from planner.report.words.sure.promise import (
    at_best_words,
    owner_words,
    promise_words,
    risk_words,
    wanted_words,
    working_words,
)
from planner.units import days_and_hours, duration_words, year_once

COLUMN = 21


def _chain_words(view: View) -> str:
    """Return what holds the date in one breath: how many tasks, and the waits between."""
    rows = [task for task, _ in view.chain_rows()]
    waits = [(task, _wait_between(view, task, after)) for task, after in pairwise(rows)]
    last, end = view.return_terms(ReturnKind.FULL_SERVICE)[0]
    if end is not None:
        hours = duration_words(minutes_between(end.begins, end.ready))
        waits.append((last, f"{passes(end.way)} {hours}"))
    told = "; ".join(f'"{task.title}" {wait}' for task, wait in waits if wait)
    if not rows:
        return f"Only waits: {told}" if told else f'"{last.title}", which comes last'
    count = "1 task" if len(rows) == 1 else f"{len(rows)} tasks in a row"
    tail = f", with the waits after them: {told}" if told else ""
    return f'{count} from "{rows[0].title}" on{tail}'


def _wait_between(view: View, task: PlannedTask, after: PlannedTask) -> str:
    """Return the wait that stands between two tasks of the chain, if one does."""
    plan, pair = view.plan, (task.id, after.id)
    between = (
        *((x.before, x.after, x.product, x.stage) for x in plan.links),
        *((x.task, x.other, x.product, x.stage) for x in plan.apart),
    )
    waits = [
        view.waits[(one, of, stage)]
        for one, two, of, stage in between
        if (one, two) == pair and of and stage
    ]
    if not waits:
        return ""
    last = max(waits, key=lambda w: w.ready)
    minutes = minutes_between(last.begins, last.ready)
    return f"{passes(last.way)} {duration_words(minutes)}" if minutes else ""


def _money(plan: Plan) -> list[str]:
    sums = money_words(plan)
    if not sums:
        return []
    idle = [x for said in idle_money(plan.cost) for x in _row("", said)]
    return [*_row("Costs", f"{' + '.join(sums)} {plan.cost.currency}".rstrip()), *idle]


def money_words(plan: Plan) -> tuple[str, ...]:
    """Return the stage's money with the days that it pays, and the labour's."""
    days = days_touched(*plan.stage.promised_closure, ZoneInfo(plan.zone))
    stage, labour = plan.cost.stage, plan.cost.labour
    sums = (
        "" if stage is None else f"stage {stage:,.0f} for {days} days",
        "" if labour is None else f"labour {labour:,.0f}",
    )
    return tuple(s for s in sums if s)


def idle_money(cost: Cost) -> tuple[str, ...]:
    """Return how labour's money divides, where some of it pays for waiting."""
    if cost.labour is None or not cost.labour_idle:
        return ()
    idle = round(cost.labour_idle)
    work = round(cost.labour) - idle  # so that the parts add up as they are shown
    return (f"labour: {work:,} for work, {idle:,} for waiting between tasks",)


def _working(plan: Plan) -> str:
    """Return what the working plan is, and how good where it is the earliest."""
    words = working_words(plan, plan.stage)
    return words if plan.made_to_be_kept else f"{words}; {_best_words(plan)}"


def _best_words(plan: Plan) -> str:
    """Return whether the plan is proven best, or how far off it may be."""
    first, *others = plan.aims[:3]
    shown = others if first.proven else [first, *others]
    text = "; ".join(f"{a.aim} {'proven' if a.proven else a.words}" for a in shown)
    return f"{text} ({plan.stopped})" if _unproven(plan) and plan.stopped else text


def _unproven(plan: Plan) -> bool:
    return not all(a.proven for a in plan.aims[:2])


def _made_to_be_kept(plan: Plan) -> list[str]:
    """Return over which plan this one was chosen, where it was made to be kept."""
    begin = MADE_TO_BE_KEPT
    said = [r.removeprefix(begin) for r in plan.remarks if r.startswith(begin)]
    return _row("Made to be kept", said[0]) if said else []


def _cut_short(plan: Plan) -> list[str]:
    """Return what was left out for want of time."""
    begin = CUT_SHORT
    said = [r.removeprefix(begin) for r in plan.remarks if r.startswith(begin)]
    return [x for r in said for x in _row("Cut short", r)]


def _own_air(plan: Plan) -> list[str]:
    """Return in which air the plan holds, where its own coats make it."""
    said = (r.removeprefix(OWN_AIR) for r in plan.remarks if r.startswith(OWN_AIR))
    return [x for r in said for x in _row("Own air", r)]


def _around(plan: Plan) -> list[str]:
    """Return what has a day before or after the work, a line each.

    From when the floor takes feet and trolleys is said of the returns already.
    """
    dated = [r for r in around_rows(plan) if r.day and not r.of_return]
    lines = ["  Before and after"] if dated else []
    for row in dated:
        word = "from" if row.when == "after" else "by"
        lines += item(f"{row.title}: {word} {row.day}", "    ", hang=2)
    return lines


def _clear(view: View) -> Iterator[str]:
    """Yield what to book: the stretch to the promise, and how long it may yet take."""
    stage = view.plan.stage
    start, end = stage.promised_closure
    full, sure = stage.returning(ReturnKind.FULL_SERVICE), stage.sureness
    yield f"  Keep the stage clear from {view.when(start)}"
    if full.promise is None:
        yield f"                      until later than {view.day(end)}"
        return
    length = days_and_hours(minutes_between(start, end))
    yield f"                         to {view.when(end)}  ({length})"
    if full.tentative_until != full.promise:
        late = until_words(full.tentative_until, sure.looked_until, view.zone)
        yield f"             tentatively to {late}"


def _row(label: str, text: str) -> list[str]:
    return labelled(f"  {label}", text, COLUMN)


def _promised(view: View) -> Iterator[str]:
    """Yield both returns as promised and as the crew works for, and how sure that is."""
    plan, stage = view.plan, view.plan.stage
    for r in stage.returns:
        said = f"{promise_words(plan, stage, r)} (working plan {view.when(r.when)})"
        yield from _row(r.kind.capitalize(), said)
    yield from _row("How sure", owner_words(plan, stage))
    yield from (
        _row("Wanted back", wanted) if (wanted := wanted_words(plan, stage)) else ()
    )
    for label, said in risk_words(plan, stage):
        yield from _row(label, said)
    yield from _row("At best", best) if (best := at_best_words(plan, stage)) else ()


def plan_summary(plan: Plan, files: tuple[str, ...]) -> str:
    """Return the plan on one screen: promise, returns, cost, the working plan."""
    view = View(plan)
    lines = [
        f"{plan.job}, times in {plan.zone}",
        *_clear(view),
        *_promised(view),
        *_money(plan),
        *_row("Working plan", _working(plan)),
        *_made_to_be_kept(plan),
        *_cut_short(plan),
        *_own_air(plan),
        "  The working plan's closure, "
        f"{days_and_hours(minutes_between(*plan.stage.closure))}",
    ]
    for share in plan.stage.division:
        if share.minutes:
            lines.append(f"    {duration_words(share.minutes):>13}  {share.part}")
    lines.append("  What holds the date")
    lines += item(_chain_words(view), "    ", hang=0)
    lines += _around(plan)
    lines.append("  Written")
    lines += item(", ".join(files), "    ", hang=0)
    return year_once("\n".join(lines)) + "\n"


def why_words(plan: Plan, said: str) -> str:
    """Return what a task waits for, what binds it, and how far it could slip.

    `said` is its id, which may leave the stage out where only one has such a task.
    """
    view = View(plan)
    task = plan.task(said)
    row = view.task_row(task)
    lines = [
        row.title,
        *item(f"{row.when}, {row.team}"),
        *item(f"{row.work}; {row.bay}"),
        "  It waits for" if row.before else "  It waits for nothing",
    ]
    for before in row.before:
        lines += item(
            f"{before.title} [{before.id}], ended {before.ended}: {before.reason}",
            "    ",
            hang=2,
        )
        if before.wait:
            lines += item(wait_words(before.wait), "      ", hang=2)
    if row.covers:
        lines += item(f"It {row.covers}" if row.covers[0] == "c" else row.covers)
    lines += item(f"What kept it from starting earlier: {task.held_by}")
    if task.total_slack_min:
        slack = days_and_hours(task.total_slack_min)
        lines += item(f"It could start {slack} later without delaying full service.")
        lines += item(
            f"{days_and_hours(task.free_slack_min)} later would delay no other task."
            if task.free_slack_min
            else "Any delay of it delays another task, though."
        )
    else:
        lines += item("It is binding: any delay of it delays full service.")
    return "\n".join(lines) + "\n"
