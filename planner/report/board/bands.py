"""What lies above and below the lanes: days, closed hours, humidity, closure, people."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from planner.nouns.plan import Plan
from planner.nouns.work import ReturnKind
from planner.report.board.closed import BOOKED, NOBODY, QUIET, Closed
from planner.report.board.odds_edge import Edge, draw_edge
from planner.report.board.style import SMALL, TEXT, Axis, mark_id, room_for
from planner.report.drawing.elements import (
    Node,
    add,
    block,
    fitted,
    line_path,
    num,
    width_of,
)
from planner.report.drawing.view import View

PERSON_H = 13.0
AIR_H = 44.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Canvas:
    """Where a band is drawn: the picture, the axis, and what the plan says."""

    node: Node
    axis: Axis
    view: View


def tip(canvas: Canvas, mark: Node, say: str) -> None:
    """Say what a mark is when it is pointed at, where the sheet has such tips."""
    if canvas.axis.sheet.tips:
        add(mark, "title", say)


def days(canvas: Canvas, name: str, y: float) -> float:
    """Draw the names of the days; return where they end."""
    axis, view = canvas.axis, canvas.view
    add(canvas.node, "text", name, class_="b", x=2, y=y + 12)
    full = [view.day(d) for d in axis.row.days[:-1]]
    room = axis.x(axis.row.days[1]) - axis.sheet.left - 8
    forms = (
        full,
        [" ".join(d.split()[:3]) for d in full],
        [" ".join(d.split()[:2]) for d in full],
        [d.split()[1] for d in full],
    )
    said = next(
        (f for f in forms if max(width_of(w, TEXT) for w in f) <= room), forms[-1]
    )
    for start, words in zip(axis.row.days[:-1], said, strict=True):
        add(canvas.node, "text", words, class_="b", x=axis.x(start) + 4, y=y + 12)
    return y + 18


def day_lines(canvas: Canvas, top: float, bottom: float) -> None:
    """Draw a hairline at each midnight."""
    path = "".join(
        f"M{num(canvas.axis.x(d))} {num(top)}V{num(bottom)}"
        for d in canvas.axis.row.days
    )
    add(canvas.node, "path", class_="bday", d=path)


HOURS = (6, 12, 18)  # marked in each day
HOURS_ROOM, NOON_ROOM = 84.0, 40.0  # of a day: for their numbers, and for noon's


def hour_marks(canvas: Canvas, y: float) -> None:
    """Mark morning, noon and evening of each day above the strip of hours."""
    axis = canvas.axis
    room = axis.x(axis.row.days[1]) - axis.sheet.left
    path = []
    for day in axis.row.days[:-1]:
        for hour in HOURS:
            x = axis.x(day.astimezone(canvas.view.zone).replace(hour=hour))
            path.append(f"M{num(x)} {num(y - 4)}V{num(y)}")
            if room >= HOURS_ROOM or (hour == 12 and room >= NOON_ROOM):
                add(canvas.node, "text", f"{hour}", class_="s m", x=x, y=y - 5)
    add(canvas.node, "path", class_="bhour", d="".join(path))


def hours(canvas: Canvas, closed: Sequence[Closed], y: float) -> float:
    """Draw the strip of open and closed hours; return where it ends."""
    axis, high = canvas.axis, 16.0
    left, right = axis.sheet.left, axis.sheet.right
    _label(canvas, "hours", y + 12)
    add(
        canvas.node,
        "rect",
        class_="bground bedge",
        x=left,
        y=y,
        width=right - left,
        height=high,
    )
    for c in closed:
        if not axis.row.meets(c.start, c.end):
            continue
        a, b = axis.x(c.start), axis.x(c.end)
        half = high / 2 if c.kind == QUIET else 0.0
        mark = add(
            canvas.node,
            "rect",
            fill=f"url(#{mark_id(c.kind)})",
            class_="bface",
            x=a,
            y=y + half,
            width=max(b - a, 1),
            height=high - half,
        )
        tip(canvas, mark, f"{c.reason}: {canvas.view.span(c.start, c.end)}")
        _name_closed(canvas, c, (a, b), y)
    return y + high + 6


def _name_closed(
    canvas: Canvas, closed: Closed, place: tuple[float, float], y: float
) -> None:
    a, b = place
    if closed.kind in (QUIET, NOBODY):
        return  # too thin for words, or too plain to need them
    say = f"booked: {closed.reason}" if closed.kind == BOOKED else closed.reason
    text = fitted(say, b - a - 8, SMALL)
    if len(text) > len(BOOKED):
        add(canvas.node, "text", text, class_="s bsay", x=a + 4, y=y + 12)


def shading(
    canvas: Canvas, closed: Sequence[Closed], top: float, bottom: float
) -> None:
    """Draw closed stretches down through the lanes, behind everything."""
    axis = canvas.axis
    for booked, looks in (
        (False, {"class_": "bcol"}),
        (True, {"fill": f"url(#{mark_id(BOOKED)})"}),
    ):
        columns = [
            block(axis.x(c.start), axis.x(c.end), top, bottom - top)
            for c in closed
            if (c.kind == BOOKED) == booked
            and c.kind != QUIET
            and axis.row.meets(c.start, c.end)
        ]
        if columns:
            add(canvas.node, "path", None, **looks, d="".join(columns))


def humidity(canvas: Canvas, y: float) -> float:
    """Draw the curve of the room's humidity; return where it ends."""
    axis, plan = canvas.axis, canvas.view.plan
    points = in_row(plan, plan.stage.air.humidity_pct, axis)
    low, high = _range(plan)
    limit = min(
        (p.max_rh_pct for p in plan.products if p.max_rh_pct is not None), default=None
    )

    def up(value: float) -> float:
        return y + AIR_H - (value - low) / (high - low) * AIR_H

    _label(canvas, "humidity", y + AIR_H - 8)
    left, right = axis.sheet.left, axis.sheet.right
    add(
        canvas.node,
        "path",
        class_="bday",
        d=f"M{num(left)} {num(y + AIR_H)}H{num(right)}",
    )
    if limit is not None and low < limit < high:
        add(
            canvas.node,
            "path",
            class_="blimit",
            d=f"M{num(left)} {num(up(limit))}H{num(right)}",
        )
        add(
            canvas.node,
            "text",
            f"limit {limit:.0f} %",
            class_="s",
            x=2,
            y=up(limit) + 4,
        )
    if points:
        add(
            canvas.node,
            "path",
            class_="bair",
            d=line_path([(axis.x(t), up(v)) for t, v in points]),
        )
        dots(canvas, [(r.when, r.humidity_pct) for r in plan.stage.air.readings], up)
        _extremes(canvas, points, up)
    return y + AIR_H + 8


def dots(
    canvas: Canvas,
    read: Iterable[tuple[datetime, float]],
    up: Callable[[float], float],
) -> None:
    """Mark what was read in the room, a dot each."""
    axis = canvas.axis
    inside = [(t, v) for t, v in read if axis.row.start <= t < axis.row.end]
    if inside:
        path = "".join(f"M{num(axis.x(t))} {num(up(v))}h0" for t, v in inside)
        add(canvas.node, "path", class_="bread", d=path)


def _extremes(
    canvas: Canvas, points: list[tuple[datetime, float]], up: Callable[[float], float]
) -> None:
    """Name the dampest and the driest hour of a row, the first also if they agree."""
    damp = max(points, key=lambda p: p[1])
    dry = min(points, key=lambda p: p[1])
    taken: list[tuple[float, float]] = []
    for when, value in (damp, dry) if damp[1] - dry[1] >= 1 else (damp,):
        say = f"{value:.0f} %"
        wide = width_of(say, SMALL)
        x = min(canvas.axis.x(when) + 3, canvas.axis.sheet.right - wide - 2)
        if room_for(taken, x, x + wide):
            taken.append((x, x + wide))
            y = up(value) + 13
            add(canvas.node, "text", say, class_="s bsay", x=x, y=y)


def _range(plan: Plan) -> tuple[float, float]:
    """Return what the humidity's scale runs from and to, the same in each row."""
    values = plan.stage.air.humidity_pct or (50.0,)
    return min(20.0, min(values) - 15), max(95.0, max(values) + 5)


def in_row(
    plan: Plan, values: Sequence[float], axis: Axis
) -> list[tuple[datetime, float]]:
    """Return the points of a series within a row, those on a level left out."""
    step = timedelta(minutes=plan.stage.air.tick_minutes)
    first = max(0, (axis.row.start - plan.stage.air.start) // step)
    last = min(len(values), -((plan.stage.air.start - axis.row.end) // step))
    out: list[tuple[datetime, float]] = []
    for n in range(first, last):
        inner = first < n < last - 1
        if (
            inner
            and abs(values[n] - values[n - 1]) + abs(values[n + 1] - values[n]) < 0.02
        ):
            continue
        out.append((plan.stage.air.start + step * n, values[n]))
    return out


def closure(canvas: Canvas, y: float, bottom: float, edge: Edge | None) -> float:
    """Draw the closure's bracket, the two returns and how sure the last one is."""
    axis, view = canvas.axis, canvas.view
    start, end = view.plan.stage.closure
    base = y + 34
    until = edge.end if edge else end
    if not axis.row.meets(start, until + timedelta(minutes=1)):
        return y + 6
    light = view.plan.stage.returning(ReturnKind.LIGHT_FOOT_TRAFFIC).when
    a, b = axis.x(start), axis.x(end)
    turn = min(max(axis.x(light), a), b)
    _label(canvas, "closure", base + 4)
    if turn > a:
        add(
            canvas.node, "path", class_="bbrace", d=f"M{num(a)} {num(base)}H{num(turn)}"
        )
    if b > turn:
        path = f"M{num(turn)} {num(base - 2)}H{num(b)}M{num(turn)} {num(base + 2)}H{num(b)}"
        add(canvas.node, "path", class_="bbrace l", d=path)
    if edge:
        draw_edge(canvas.node, axis, edge, base)
    flags = _Flags(canvas, y)
    _returns(canvas, flags, base, bottom)
    if edge:
        _promise(canvas, flags, edge)
    if axis.row.start <= start < axis.row.end:
        foot = f"M{num(a)} {num(base)}V{num(base + 10)}"
        add(canvas.node, "path", class_="bbrace", d=foot)
        when = view.when(start)
        flags.write((f"stage closed from {when}", f"closed {when[-5:]}"), a)
    elif b > a:
        flags.write((f"still closed, since {view.day(start)}", "still closed"), a)
    return base + 12


def _returns(canvas: Canvas, flags: "_Flags", base: float, bottom: float) -> None:
    """Draw the returns of the working plan through the lanes."""
    axis, view = canvas.axis, canvas.view
    for r in view.plan.stage.returns:
        if not axis.row.start < r.when <= axis.row.end:
            continue
        kind = "breturn" if r.kind is ReturnKind.FULL_SERVICE else "breturn l"
        x = axis.x(r.when)
        add(canvas.node, "path", class_=kind, d=f"M{num(x)} {num(base)}V{num(bottom)}")
        when = view.when(r.when)
        flags.write((f"{r.kind} {when}", f"{r.kind} {when[-5:]}"), x, bold=True)


def _promise(canvas: Canvas, flags: "_Flags", edge: Edge) -> None:
    """Name the promise, and the last date that is told, where they lie in the row."""
    axis, view = canvas.axis, canvas.view
    if axis.row.start < edge.promise <= axis.row.end:
        when, sure = view.when(edge.promise), f"{edge.percent} of 100"
        phrases = (f"promised {when} ({sure})", f"promised {when[-5:]}", "promised")
        flags.write(phrases, axis.x(edge.promise), bold=True)
    if edge.end > edge.promise and axis.row.start < edge.end <= axis.row.end:
        back = f"{round(100 * (1 - edge.points[-1][1]))} of 100"
        when = view.when(edge.end)
        flags.write(
            (f"back in {back} by {when}", f"{back} {when[-5:]}"), axis.x(edge.end)
        )


class _Flags:
    """Words over the bracket: each on the first line, and as full, as has room."""

    def __init__(self, canvas: Canvas, y: float) -> None:
        self.canvas, self.y = canvas, y
        self.lines: list[list[tuple[float, float]]] = [[], []]

    def write(self, phrases: Sequence[str], x: float, *, bold: bool = False) -> None:
        """Write the first phrase that finds room, beginning or ending at `x`."""
        for say in phrases:
            wide = width_of(say, TEXT) * (1.08 if bold else 1.0)
            ways = [
                (start, back)
                for start, back in ((x, False), (x - wide, True))
                if start >= 0 and start + wide <= self.canvas.axis.sheet.right + 2
            ]
            for number, taken in enumerate(self.lines):
                for start, back in ways:
                    if room_for(taken, start, start + wide, gap=8):
                        taken.append((start, start + wide))
                        self._set(say, x, number, bold=bold, back=back)
                        return

    def _set(self, say: str, x: float, line: int, *, bold: bool, back: bool) -> None:
        kinds = ["bsay", *(["b"] if bold else []), *(["e"] if back else [])]
        y = self.y + 11 + line * 14
        add(self.canvas.node, "text", say, class_=" ".join(kinds), x=x, y=y)


def people(canvas: Canvas, y: float) -> float:
    """Draw who is in (thin) and who works (thick, hollow off the stage)."""
    axis, view = canvas.axis, canvas.view
    for person in view.plan.crew:
        base = y + PERSON_H / 2
        _label(canvas, person.name, base + 4, small=True)
        path = "".join(
            f"M{num(axis.x(a))} {num(base)}H{num(axis.x(b))}"
            for a, b in person.open
            if axis.row.meets(a, b)
        )
        if path:
            add(canvas.node, "path", class_="bopen", d=path)
        for on_stage, kind in ((True, "bhand"), (False, "boff")):
            marks = "".join(
                block(axis.x(a) + 0.4, axis.x(b) - 0.4, base - 3.5, 7)
                for task in view.plan.tasks
                if person.id in task.team and task.on_stage == on_stage
                for a, b in task.spans
                if axis.row.meets(a, b)
            )
            if marks:
                add(canvas.node, "path", class_=kind, d=marks)
        y += PERSON_H
    return y


def _label(canvas: Canvas, say: str, y: float, *, small: bool = False) -> None:
    size = SMALL if small else TEXT
    text = fitted(say, canvas.axis.sheet.left - 8, size)
    add(canvas.node, "text", text, class_="s" if small else "", x=2, y=y)
