"""One stretch of a run's wall, drawn to scale with all that a carpenter marks by."""

from dataclasses import dataclass

from planner.report.drawing.elements import Node, add, line_path, num, width_of
from planner.report.opening import dimensions as dims
from planner.report.opening.style import SMALL, ElevationPage
from planner.trade.opening.nouns import Rect, RunOpening, StripKind
from planner.trade.opening.studs import STUD_MM

HEAD_H = 78.0  # the title, and how long the strips are
PAST_MM = 160.0  # of wall shown past its ends


@dataclass(frozen=True, slots=True, kw_only=True)
class Panel:
    """A stretch of a run on a sheet: from where to where, and at what scale."""

    run: RunOpening
    sheet: ElevationPage
    low_mm: float
    high_mm: float
    scale: float  # units a mm
    number: int
    count: int
    hatch: str  # the id of the hatching

    @property
    def floor(self) -> float:
        """Where the floor lies."""
        return HEAD_H + self.run.ceiling_mm * self.scale

    @property
    def height(self) -> float:
        """How high the drawing is, its dimensions included."""
        return self.floor + 2 * dims.row_height(self.sheet)

    def x(self, along_mm: float) -> float:
        """Return the place of a length along the run."""
        return self.sheet.left + (along_mm - self.low_mm) * self.scale

    def y(self, up_mm: float) -> float:
        """Return the place of a height above the floor."""
        return self.floor - up_mm * self.scale

    def shows(self, along_mm: float) -> bool:
        """Tell whether a place along the run lies on this stretch."""
        return self.low_mm <= along_mm <= self.high_mm

    def held(self, left: float, right: float) -> tuple[float, float] | None:
        """Return the part of a stretch that is shown here, if any is."""
        a, b = max(left, self.low_mm), min(right, self.high_mm)
        return (a, b) if a < b else None


def draw(node: Node, panel: Panel) -> None:
    """Draw a panel: wall, studs, opening, kit, cuts, dimensions."""
    _title(node, panel)
    _wall(node, panel)
    for strip in panel.run.strips:
        _box(node, panel, strip.rect, "", fill=f"url(#{panel.hatch})")
    _studs(node, panel)
    _kit(node, panel)
    _backing(node, panel)
    _cuts(node, panel)
    _behind(node, panel)
    _ends(node, panel)
    _spans(node, panel)
    _heights(node, panel)
    _along(node, panel)


def _title(node: Node, panel: Panel) -> None:
    run = panel.run
    part = f", part {panel.number} of {panel.count}" if panel.count > 1 else ""
    add(node, "text", f"{run.run}{part}", class_="b", x=0, y=14)
    narrow = panel.sheet.width < 600
    say = panel.sheet.say(run.layout.length_mm, run.units)
    far = "" if narrow else ", seen from the room; lengths from its left end"
    at = width_of(f"{run.run}{part}", 14) + 12
    add(node, "text", f"{say}{far}", class_="s q", x=at, y=14)


def _wall(node: Node, panel: Panel) -> None:
    left, right = panel.x(panel.low_mm), panel.x(panel.high_mm)
    top = panel.y(panel.run.ceiling_mm)
    add(node, "rect", class_="owall", x=left, y=top, width=right - left,
        height=panel.floor - top)  # fmt: skip
    for y in (top, panel.floor):
        add(node, "path", class_="oend", d=line_path([(left, y), (right, y)]))


def _studs(node: Node, panel: Panel) -> None:
    run = panel.run
    for stud in run.studs_mm:
        span = panel.held(stud - STUD_MM / 2, stud + STUD_MM / 2)
        if span is None:
            continue
        top, low = panel.y(run.ceiling_mm), panel.floor
        add(node, "rect", class_="ostud", x=panel.x(span[0]), y=top,
            width=(span[1] - span[0]) * panel.scale, height=low - top)  # fmt: skip
        x = panel.x(stud)
        add(node, "path", class_="oaxis", d=line_path([(x, top), (x, low + 6)]))


def _kit(node: Node, panel: Panel) -> None:
    """Draw where the pieces will stand: their edges and joints."""
    run, layout = panel.run, panel.run.layout
    edge = run.edge_mm
    _line(node, panel, layout.start_mm, edge, layout.end_mm, edge, "okit")
    for seam in layout.seams_mm:
        _line(node, panel, seam, 0.0, seam, edge, "okit j")
    for cut in layout.cuts:
        middle = cut.left_mm + cut.width_mm / 2.0
        if panel.shows(middle) and cut.width_mm * panel.scale > width_of("cut", SMALL):
            place = {"x": panel.x(middle), "y": panel.y(edge / 2.0)}
            add(node, "text", "cut", class_="s m q", **place)
    if run.column is None:
        return
    sides = (
        (layout.legs_mm[0], 0.0),
        (layout.length_mm - layout.legs_mm[1], layout.length_mm),
    )
    for leg, (side, corner) in zip(layout.legs_mm, sides, strict=True):
        if not leg:
            continue
        _line(node, panel, side, 0.0, side, run.ceiling_mm, "okit")
        for height in (run.corner_mm, *run.column.seams_mm[1:]):
            _line(node, panel, side, height, corner, height, "okit j")


def _backing(node: Node, panel: Panel) -> None:
    for piece in panel.run.backing:
        span = panel.held(piece.rect.left_mm, piece.rect.right_mm)
        if span is None:
            continue
        _box(node, panel, piece.rect, "opart", fill="none")
        middle = panel.x((span[0] + span[1]) / 2.0)
        y = panel.y(piece.rect.bottom_mm + piece.rect.height_mm / 2.0) + SMALL * 0.36
        add(node, "text", piece.label, class_="oname s m", x=middle, y=y)


def _cuts(node: Node, panel: Panel) -> None:
    for cut in panel.run.cuts:
        (x0, y0), (x1, y1) = cut.from_mm, cut.to_mm
        kind = "ocut" if cut.sawn else "ocut k"
        _line(node, panel, x0, y0, x1, y1, kind)


def _behind(node: Node, panel: Panel) -> None:
    """Draw what lies behind the cove: a cross where it is, with its name."""
    for one in panel.run.behind:
        if not panel.shows(one.from_start_mm):
            continue
        x, y = panel.x(one.from_start_mm), panel.y(one.height_mm)
        cross = f"M{num(x - 5)} {num(y - 5)}l10 10m0 -10l-10 10"
        add(node, "path", class_="ohid", d=cross)
        room = panel.x(panel.high_mm) - x > width_of(one.what, SMALL) + 8
        place = {"x": x + 8 if room else x - 8, "y": y + 4}
        add(node, "text", one.what, class_="s" if room else "s e", **place)


def _ends(node: Node, panel: Panel) -> None:
    layout = panel.run.layout
    top = panel.y(panel.run.ceiling_mm)
    for at, leg in ((0.0, layout.legs_mm[0]), (layout.length_mm, layout.legs_mm[1])):
        if panel.shows(at):
            x = panel.x(at)
            kind = "oend" if leg else "oend f"
            add(node, "path", class_=kind, d=line_path([(x, top), (x, panel.floor)]))


def _spans(node: Node, panel: Panel) -> None:
    """Draw how long each strip of backing is, above the ceiling."""
    spans: list[dims.Span] = []
    for strip in panel.run.strips:
        rect = strip.rect
        span = panel.held(rect.left_mm, rect.right_mm)
        if span is not None:
            spans.append(
                dims.Span(
                    left=panel.x(span[0]),
                    right=panel.x(span[1]),
                    mm=rect.width_mm,
                    units=panel.run.units,
                    whole=span == (rect.left_mm, rect.right_mm),
                    sheet=panel.sheet,
                )
            )
    dims.level(node, spans, HEAD_H - 8, panel.sheet.width)


def _heights(node: Node, panel: Panel) -> None:
    run = panel.run
    marks: dict[float, str] = {}

    def note(height: float, word: str) -> None:
        at = next((v for v in marks if abs(v - height) < 0.5), height)
        if word not in marks.get(at, ""):
            marks[at] = f"{marks[at]}, {word}" if at in marks else word

    note(run.edge_mm, "modules' edge")
    if run.column is not None:
        note(run.corner_mm, "corner piece")
        for seam in run.column.seams_mm[1:]:
            note(seam, "uprights' seam")
    for strip in run.strips:
        note(strip.rect.bottom_mm, "backing from")
        if strip.kind is StripKind.STRAIGHT:
            note(strip.rect.top_mm, "backing to")
    for piece in run.backing:
        if all(abs(piece.rect.top_mm - s.rect.top_mm) > 1 for s in run.strips):
            note(piece.rect.top_mm, "backing joint")
    note(run.ceiling_mm, "ceiling")
    dims.heights(
        node,
        [(panel.y(v), v, word) for v, word in sorted(marks.items(), reverse=True)],
        right=panel.x(panel.low_mm),
        top=HEAD_H - 20,
        bottom=panel.floor - 4,
        sheet=panel.sheet,
        units=run.units,
    )


def _along(node: Node, panel: Panel) -> None:
    run, layout, units = panel.run, panel.run.layout, panel.run.units
    kept = {v for s in run.strips for v in (s.rect.left_mm, s.rect.right_mm)}
    kept |= {v for p in run.backing for v in (p.rect.left_mm, p.rect.right_mm)}
    studs = [(panel.x(v), v, v in kept) for v in run.studs_mm if panel.shows(v)]
    sides = [layout.legs_mm[0], layout.length_mm - layout.legs_mm[1]]
    places = sorted(
        {
            0.0,
            layout.start_mm,
            layout.end_mm,
            layout.length_mm,
            *layout.seams_mm,
            *(v for v in sides if 0.0 < v < layout.length_mm),
        }
    )
    joints = [
        (panel.x(v), v, v in sides and 0.0 < v < layout.length_mm)
        for v in places
        if panel.shows(v)
    ]
    low, high = panel.x(panel.low_mm), panel.sheet.width - 6
    rows = (
        (studs, panel.floor, "studs, centre lines"),
        (
            joints,
            panel.floor + dims.row_height(panel.sheet),
            "ends, corner edges, module joints",
        ),
    )
    for marks, floor, words in rows:
        dims.running(
            node,
            marks,
            floor,
            words,
            low=low,
            high=high,
            sheet=panel.sheet,
            units=units,
        )


def _line(
    node: Node, panel: Panel, x0: float, y0: float, x1: float, y1: float, kind: str
) -> None:
    """Draw an upright or level line as far as it lies on this stretch."""
    a, b = sorted((x0, x1))
    low, high = max(a, panel.low_mm), min(b, panel.high_mm)
    if low > high:
        return
    points = [(panel.x(low), panel.y(y0)), (panel.x(high), panel.y(y1))]
    add(node, "path", class_=kind, d=line_path(points))


def _box(node: Node, panel: Panel, rect: Rect, kind: str, *, fill: str) -> None:
    span = panel.held(rect.left_mm, rect.right_mm)
    if span is None:
        return
    box = add(
        node,
        "rect",
        x=panel.x(span[0]),
        y=panel.y(rect.top_mm),
        width=(span[1] - span[0]) * panel.scale,
        height=rect.height_mm * panel.scale,
    )
    box.set("fill", fill)
    if kind:
        box.set("class", kind)


def panels(
    runs: tuple[RunOpening, ...], sheet: ElevationPage, hatch: str
) -> tuple[tuple[Panel, ...], ...]:
    """Return the panels of each run, all at one scale."""
    scale = sheet.most / 1000.0
    cut: list[list[tuple[float, float]]] = []
    for run in runs:
        low = min(0.0, run.studs_mm[0]) - PAST_MM
        high = max(run.layout.length_mm, run.studs_mm[-1]) + PAST_MM
        count = max(1, -int(-(high - low) // sheet.stretch_mm))
        step = (high - low) / count
        scale = min(scale, sheet.room / step)
        cut.append([(low + step * n, low + step * (n + 1)) for n in range(count)])
    return tuple(
        tuple(
            Panel(
                run=run,
                sheet=sheet,
                low_mm=low,
                high_mm=high,
                scale=scale,
                number=n,
                count=len(parts),
                hatch=hatch,
            )
            for n, (low, high) in enumerate(parts, 1)
        )
        for run, parts in zip(runs, cut, strict=True)
    )


def placed(parent: Node, y: float, x: float = 0.0) -> Node:
    """Return a group moved to a place."""
    return add(parent, "g", transform=f"translate({num(x)} {num(y)})")
