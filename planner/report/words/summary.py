"""What the command prints of a plan: one screenful, and the answer to `why`."""

from planner.nouns.odds import Odds
from planner.nouns.plan import OWN_AIR, Plan, PlannedTask
from planner.nouns.purchase import Cost
from planner.nouns.work import ReturnKind
from planner.report.columns import item, wrapped
from planner.report.drawing.view import View, minutes_between, passes
from planner.report.words.around import around_rows
from planner.report.words.dependencies import wait_words
from planner.report.words.odds_text import sure_words
from planner.units import days_and_hours, duration_words


def _chain_words(view: View) -> str:
    """Return what holds the date in one breath: tasks, and the long waits between."""
    rows = view.chain_rows()
    parts: list[str] = []
    for (task, _), after in zip(rows, [*[r for r, _ in rows[1:]], None], strict=True):
        parts.append(view.plan.short_id(task.id))
        if after is None:
            continue
        wait = _wait_between(view, task, after)
        if wait:
            parts[-1] += f" ({wait})"
    end = view.return_terms(ReturnKind.FULL_SERVICE)[0][1]
    if end is not None:
        hours = duration_words(minutes_between(end.begins, end.ready))
        parts[-1] += f" ({passes(end.way)} {hours})"
    return " > ".join([*parts, ReturnKind.FULL_SERVICE])


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
    cost = plan.cost
    parts = [
        f"{what} {value:,.0f}"
        for what, value in (("stage", cost.stage), ("labour", cost.labour))
        if value is not None
    ]
    if not parts:
        return []
    lines = [f"  Costs              {' + '.join(parts)} {cost.currency}".rstrip()]
    return lines + [f"{' ' * 21}{idle}" for idle in idle_money(cost)]


def idle_money(cost: Cost) -> tuple[str, ...]:
    """Return how labour's money divides, where some of it pays for waiting."""
    if cost.labour is None or not cost.labour_idle:
        return ()
    idle = round(cost.labour_idle)
    work = round(cost.labour) - idle  # so that the parts add up as they are shown
    return (f"labour: {work:,} for work, {idle:,} for waiting between tasks",)


def _best_words(plan: Plan) -> str:
    """Return whether the plan is proven best, or how far off it may be."""
    shown = plan.aims[:2]
    text = "; ".join(f"{a.aim} {a.words}" for a in shown)
    return f"{text} ({plan.stopped})" if _unproven(plan) and plan.stopped else text


def _unproven(plan: Plan) -> bool:
    return not all(a.proven for a in plan.aims[:2])


def _own_air(plan: Plan) -> list[str]:
    """Return in which air the plan holds, where its own coats make it."""
    said = (r.removeprefix(OWN_AIR) for r in plan.remarks if r.startswith(OWN_AIR))
    return [
        x
        for r in said
        for x in wrapped(f"Own air            {r}", first="  ", rest=" " * 21)
    ]


def _around(plan: Plan) -> list[str]:
    """Return what has a day before or after the work, a line each."""
    dated = [r for r in around_rows(plan) if r.day]
    lines = ["  Before and after"] if dated else []
    for row in dated:
        word = "from" if row.when == "after" else "by"
        lines += item(f"{row.title}: {word} {row.day}", "    ", hang=2)
    return lines


def plan_summary(plan: Plan, odds: Odds, files: tuple[str, ...]) -> str:
    """Return the plan on one screen: closure, returns, what holds, how it divides."""
    view = View(plan)
    start, end = plan.stage.closure
    total = minutes_between(start, end)
    lines = [
        f"{plan.job}, times in {plan.zone}",
        f"  Closed from        {view.when(start)}",
        f"           to        {view.when(end)}  ({days_and_hours(total)})",
        *(
            f"  {r.kind.capitalize():<18} {view.when(r.when)}"
            f"  (cautious {view.when(r.cautious)})"
            for r in plan.stage.returns
        ),
        *_money(plan),
        *wrapped(
            f"How sure           {sure_words(plan, odds)}", first="  ", rest=" " * 21
        ),
        *wrapped(
            f"How good           if all goes as planned, {_best_words(plan)}",
            first="  ",
            rest=" " * 21,
        ),
        *_own_air(plan),
        "  The closure's hours",
    ]
    for share in plan.stage.division:
        if share.minutes:
            lines.append(f"    {duration_words(share.minutes):>13}  {share.part}")
    lines.append("  What holds the date")
    lines += item(_chain_words(view), "    ", hang=0)
    lines += _around(plan)
    lines.append("  Written")
    lines += item(", ".join(files), "    ", hang=0)
    return "\n".join(lines) + "\n"


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
