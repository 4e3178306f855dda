"""Old and new plan on one board: where tasks were planned that lie elsewhere now."""

from datetime import datetime

from planner.nouns.living.earlier import EarlierPlaces
from planner.report.board.bands import Canvas, tip
from planner.report.drawing.elements import add, block, num

PLACE_H = 8.0  # over a lane, where the earlier plan's places are outlined


def places(canvas: Canvas, bay: str, earlier: EarlierPlaces, y: float) -> None:
    """Outline, over a lane, each place that a task of the bay had in the earlier plan."""
    axis, view = canvas.axis, canvas.view
    marks = [
        (block(axis.x(a) + 1, axis.x(b) - 1, y + 1, PLACE_H - 3), task.title, a, b)
        for task in earlier.tasks
        if bay in task.bays and task.on_stage
        for a, b in task.spans
        if axis.row.meets(a, b)
    ]
    if not axis.sheet.tips:
        if marks:
            whole = "".join(path for path, *_ in marks)
            add(canvas.node, "path", class_="bwas", d=whole)
        return
    for path, title, a, b in marks:
        mark = add(canvas.node, "path", class_="bwas", d=path)
        tip(canvas, mark, f"{title}: was planned {view.span(a, b)}")


def past_until(canvas: Canvas, now: datetime, top: float, bottom: float) -> None:
    """Draw the line up to which the board shows what happened."""
    axis = canvas.axis
    if axis.row.start <= now < axis.row.end:
        x = num(axis.x(now))
        add(canvas.node, "path", class_="bnow", d=f"M{x} {num(top)}V{num(bottom)}")
