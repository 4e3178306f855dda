"""A lane of the board: the state of a bay's surface, who works on it, how it dries."""

import itertools
from collections.abc import Sequence

from planner.nouns.plan import PlannedWait
from planner.report.board.bands import Canvas, tip
from planner.report.board.states import Surface
from planner.report.board.style import SMALL, TEXT
from planner.report.drawing.drying_progress import Drying
from planner.report.drawing.elements import add, block, broken, line_path, num, width_of
from planner.report.drawing.view import View, passes

HAND_H, FACE_H, WET_H = 6.0, 23.0, 28.0
LANE_H = HAND_H + FACE_H + WET_H + 8

DONE = {
    "dries": "dry",
    "sets": "set",
    "cures": "cured",
    "clears": "clear",
    "lies": "to be read",
}


def edges(canvas: Canvas, bays: int, y: float, lane_h: float) -> None:
    """Draw the line at the foot of each of so many lanes, the first at `y`."""
    sheet = canvas.axis.sheet
    feet = [y + n * lane_h + HAND_H + FACE_H + WET_H for n in range(bays)]
    level = f"H{num(sheet.right)}"
    _mark(canvas, "bedge", [f"M{num(sheet.left)} {num(f)}{level}" for f in feet])


def lane(
    canvas: Canvas,
    bay: str,
    surfaces: Sequence[Surface],
    drying: Drying,
    y: float,
) -> float:
    """Draw the lane of a bay; return where it ends."""
    room = canvas.axis.sheet.left - 8
    for n, line in enumerate(broken(canvas.view.bays[bay], room, TEXT * 1.06)):
        place = {"x": 2, "y": y + HAND_H + 15 + 14 * n}
        add(canvas.node, "text", line, class_="b", **place)
    _hands(canvas, bay, y)
    _faces(canvas, surfaces, y + HAND_H)
    _slopes(canvas, bay, drying, y + HAND_H + FACE_H)
    return y + LANE_H


def _hands(canvas: Canvas, bay: str, y: float) -> None:
    """Mark the stretches in which somebody works on the bay."""
    axis, view = canvas.axis, canvas.view
    marks = [
        (
            block(axis.x(a) + 0.5, axis.x(b) - 0.5, y, HAND_H - 1),
            f"{task.title}: {view.span(a, b)}, {view.team(task)}",
        )
        for task in view.plan.tasks
        if bay in task.bays and task.on_stage
        for a, b in task.spans
        if axis.row.meets(a, b)
    ]
    if not axis.sheet.tips:
        _mark(canvas, "bhand", [path for path, _ in marks])
        return
    for path, say in marks:
        tip(canvas, add(canvas.node, "path", class_="bhand", d=path), say)


def _mark(canvas: Canvas, class_: str, paths: Sequence[str]) -> None:
    """Draw marks that need no tips of their own as one path."""
    if any(paths):
        add(canvas.node, "path", class_=class_, d="".join(paths))


def _faces(canvas: Canvas, surfaces: Sequence[Surface], y: float) -> None:
    axis = canvas.axis
    for s in surfaces:
        if not axis.row.meets(s.start, s.end):
            continue
        a, b = axis.x(s.start), axis.x(s.end)
        face = add(
            canvas.node,
            "rect",
            class_=f"f{s.number}",
            x=a,
            y=y,
            width=b - a,
            height=FACE_H,
        )
        say = f"{s.number} {s.name}"
        tip(canvas, face, f"{say}, {canvas.view.span(s.start, s.end)}")
        words = (say, f"{s.number} {s.name.split(',')[0]}", str(s.number))
        fits = next((w for w in words if width_of(w, TEXT) + 7 <= b - a), None)
        if fits:
            add(canvas.node, "text", fits, class_=f"n{s.number}", x=a + 4, y=y + 15.5)


def _slopes(canvas: Canvas, bay: str, drying: Drying, y: float) -> None:
    """Draw each wait as a slope from wet (high) to ready (down)."""
    axis, view = canvas.axis, canvas.view
    own = [
        w
        for w in view.plan.waits
        if bay in view.tasks[w.task].bays
        and w.ready > w.begins
        and axis.row.meets(w.begins, w.ready)
    ]
    gating = [w for w in own if view.gates(w)]
    for wait in gating:
        area = _points(canvas, wait, drying, y)
        closing = [(area[-1][0], y + WET_H), (area[0][0], y + WET_H)]
        add(
            canvas.node,
            "path",
            fill=f"url(#wet-{wait.way})",
            d=line_path([*area, *closing], closed=True),
        )
    for wait in own:
        weight = " h" if view.binds(wait) else ""
        trial = "" if wait in gating else " t"
        slope = add(
            canvas.node,
            "path",
            class_=f"bslope{weight}{trial}",
            d=line_path(_points(canvas, wait, drying, y)),
        )
        row = view.wait_row(wait)
        say = f"{view.tasks[wait.task].title}: {wait.product_title} {passes(wait.way)} "
        tip(canvas, slope, f"{say}{row.hours}, likely {row.likely}; {row.ready}")
    _mark(canvas, "blikely", [_likely_mark(canvas, w, y) for w in gating])
    _ready_words(canvas, gating, y)


def _likely_mark(canvas: Canvas, wait: PlannedWait, y: float) -> str:
    """Return the path of the mark of when a coat is ready if it needs no margin."""
    axis = canvas.axis
    x = axis.x(wait.likely)
    if not axis.row.start < wait.likely < axis.row.end or axis.x(wait.ready) - x < 6:
        return ""
    return f"M{num(x)} {num(y + WET_H)}v-9"


def _points(
    canvas: Canvas, wait: PlannedWait, drying: Drying, y: float
) -> list[tuple[float, float]]:
    """Return a wait's slope inside the row."""
    row, axis = canvas.axis.row, canvas.axis
    points = drying.curve(wait)
    out: list[tuple[float, float]] = []
    for (at, share), (after, next_share) in itertools.pairwise(points):
        if after <= row.start or at >= row.end or after == at:
            continue
        for edge in (at, after):
            held = min(max(edge, row.start), row.end)
            part = share + (next_share - share) * ((held - at) / (after - at))
            place = (axis.x(held), y + part * WET_H)
            if not out or out[-1] != place:
                out.append(place)
    return out


def _ready_words(canvas: Canvas, own: Sequence[PlannedWait], y: float) -> None:
    """Write when each wait is over, over the slope's low end, where there is room."""
    axis, view = canvas.axis, canvas.view
    for last in _clusters(own):
        if not axis.row.start < last.ready <= axis.row.end:
            continue
        end, start = axis.x(last.ready), axis.x(max(last.begins, axis.row.start))
        for say in _ready_phrases(view, last):
            if width_of(say, SMALL) <= (end - start) * 0.75:
                add(canvas.node, "text", say, class_="s e bsay", x=end - 2, y=y + 11)
                break


def _ready_phrases(view: View, wait: PlannedWait) -> tuple[str, ...]:
    """Return ways to say when a wait is over, the fullest first."""
    day, *_, clock = view.when(wait.ready).split()
    likely_day, *_, likely = view.when(wait.likely).split()
    done = DONE[wait.way]
    if wait.likely == wait.ready:
        sure: tuple[str, ...] = ()
    elif likely_day == day:
        sure = (f"likely {likely}, {done} {day} {clock}",)
    else:
        sure = (f"likely {likely_day} {likely}, {done} {day} {clock}",)
    return (*sure, f"{done} {day} {clock}", f"{done} {clock}", done)


def _clusters(waits: Sequence[PlannedWait]) -> list[PlannedWait]:
    """Return the wait that ends last of each group that overlaps."""
    out: list[PlannedWait] = []
    for wait in sorted(waits, key=lambda w: (w.begins, w.ready)):
        if out and wait.begins < out[-1].ready:
            if wait.ready > out[-1].ready:
                out[-1] = wait
        else:
            out.append(wait)
    return out
