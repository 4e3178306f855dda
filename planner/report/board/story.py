"""The board in words, row by row, for the description of its picture."""

from collections.abc import Sequence

from planner.nouns.living.earlier import EarlierPlaces
from planner.report.board.closed import BOOKED, QUIET, Closed
from planner.report.board.states import Surface
from planner.report.drawing.view import View
from planner.report.drawing.week_rows import Row


def row_title(view: View, row: Row) -> str:
    """Return what a row shows, by its days."""
    first, last = view.day(row.start), view.day(row.days[-2])
    days = first if len(row.days) == 2 else f"{first} to {last}"
    return f"Board, {days}"


def row_story(
    view: View,
    row: Row,
    surfaces: Sequence[Sequence[Surface]],
    closed: Sequence[Closed],
) -> str:
    """Return the story of a row: closure, returns, each bay's surface, closed hours."""
    said = [*_closure(view, row)]
    for bay, states in zip(view.plan.stage.bays, surfaces, strict=True):
        said.append(f"{bay.name}: {_states(view, row, states)}.")
    for c in closed:
        if c.kind in (BOOKED, QUIET) and row.meets(c.start, c.end):
            said.append(
                f"{c.kind.capitalize()} {view.span(c.start, c.end)}: {c.reason}."
            )
    return " ".join(said)


def _closure(view: View, row: Row) -> list[str]:
    start, end = view.plan.stage.closure
    said = []
    if row.start <= start < row.end:
        said.append(f"Stage closed from {view.when(start)}.")
    elif row.meets(start, end):
        said.append("Stage still closed.")
    for r in view.plan.stage.returns:
        if row.start < r.when <= row.end:
            said.append(f"{r.kind.capitalize()} {view.when(r.when)}.")
    return said


def _states(view: View, row: Row, states: Sequence[Surface]) -> str:
    here = [s for s in states if row.meets(s.start, s.end)]
    words = []
    for s in here:
        since = f" from {view.when(s.start)}" if s.start > row.start else ""
        words.append(f"{s.name}{since}")
    return ", then ".join(words)


def earlier_story(view: View, earlier: EarlierPlaces | None) -> str:
    """Return where tasks were planned that lie elsewhere now; empty where none do."""
    if earlier is None:
        return ""
    said = [f"What lies before {view.when(earlier.now)} is told as it happened."]
    said += [
        f"{t.title} was planned {view.span(t.spans[0][0], t.spans[-1][1])}."
        for t in earlier.tasks
    ]
    return " ".join(said)
