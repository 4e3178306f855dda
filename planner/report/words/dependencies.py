"""The dependency report: what waits for what, and why, as text."""

from planner.nouns.plan import Plan
from planner.nouns.work import ReturnKind
from planner.report.columns import item
from planner.report.drawing.telling import mark_words
from planner.report.drawing.view import TaskRow, View, WaitRow, minutes_between, passes
from planner.units import duration_words


def _wrap(text: str, indent: int, hang: int = 2) -> str:
    return "\n".join(item(text, " " * indent, hang=hang))


DEFINED = (
    "Each task begins when it does because of the one before it.",
    "A task is binding if any delay of it delays full service. The others have some "
    "slack: a night, or something else that comes after them, absorbs a delay.",
)


def wait_words(wait: WaitRow) -> str:
    """Return a wait as one sentence."""
    return (
        f"{wait.product} {wait.verb} {wait.hours} (likely {wait.likely}) at "
        f" {wait.air}; ready {wait.ready}"
    )


def _task_text(row: TaskRow) -> list[str]:
    mark = ">" if row.binding else " "
    lines = [_wrap(f"{mark} {row.title}  [{row.id}]", 0, 4)]
    lines.append(_wrap(row.when, 4))
    lines.append(_wrap(f"{row.team}; {row.work}; bay: {row.bay}", 4))
    lines.append(
        _wrap(
            f"slack {row.slack} before full service moves, {row.free} before "
            "any other task moves",
            4,
        )
    )
    if row.binding:
        lines.append("    binding: any delay of it delays full service")
    if row.held:
        lines.append(_wrap(f"holds the date; held by: {row.held}", 4))
    if not row.before:
        lines.append("    waits for nothing")
    for before in row.before:
        lines.append(
            _wrap(
                f"after {before.title} [{before.id}], ended {before.ended}: "
                f"{before.reason}",
                4,
            )
        )
        if before.wait:
            lines.append(_wrap(wait_words(before.wait), 6))
    if row.covers:
        lines.append(_wrap(row.covers, 4))
    return [*lines, ""]


def chain_lines(view: View) -> list[str]:
    """Return what holds the date from the first start to full service, a line each."""
    lines = [
        f"{task.title}, {view.span(task.start, task.end)}: {because} "
        f"[{view.hidden(task) or 'binding'}]"
        for task, because in view.chain_rows()
    ]
    last, wait = view.return_terms(ReturnKind.FULL_SERVICE)[0]
    end = view.when(view.plan.stage.returning(ReturnKind.FULL_SERVICE).when)
    if wait is None:
        return [*lines, f"Full service when {last.title} ends, {end}"]
    hours = duration_words(minutes_between(wait.begins, wait.ready))
    row = view.wait_row(wait)
    return [
        *lines,
        f"Full service {end}: {wait.product_title} {passes(wait.way)} {hours} after "
        f"{last.title} (likely {row.likely})",
    ]


def dependencies_text(plan: Plan) -> str:
    """Return the report as plain text, 80 columns wide."""
    view = View(plan)
    head = [
        f"{plan.job}: what waits for what",
        f"Plan {mark_words(plan)}, {plan.program}, all times {plan.zone}",
        f"Closed {view.span(*plan.stage.closure)}",
        *(f"{r.kind.capitalize()} {view.when(r.when)}" for r in plan.stage.returns),
        "",
        "What holds the date, from the first start to full service",
        *(_wrap(x, 2) for x in DEFINED),
        *(_wrap(f"{i}. {line}", 2, 4) for i, line in enumerate(chain_lines(view), 1)),
        "",
        "Every task in order of start (> marks those that are binding)",
        "",
    ]
    body = [line for row in view.task_rows() for line in _task_text(row)]
    sources = sorted(
        {
            f"{w.product_title}, {w.stage}: {w.source} ({w.source_tag})"
            for w in plan.waits
        }
    )
    tail = ["Where the waits come from", *(_wrap(s, 2) for s in sources)]
    return "\n".join([*head, *body, *tail]) + "\n"
