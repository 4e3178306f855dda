"""The board: the surfaces of the room from bare to colour, and all that holds them."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from markupsafe import Markup

from planner.nouns.living.earlier import EarlierPlaces
from planner.nouns.plan import Plan
from planner.report.board import bands, style
from planner.report.board.bands import Canvas
from planner.report.board.closed import BOOKED, Closed, closed
from planner.report.board.earlier import PLACE_H, past_until, places
from planner.report.board.lane import LANE_H, edges, lane
from planner.report.board.legend import (
    EARLIER,
    NOW,
    ODDS,
    OFF_STAGE,
    Shown,
    legend,
)
from planner.report.board.odds_edge import EDGE_H, Edge, edge_of
from planner.report.board.states import Surface, surfaces
from planner.report.board.story import earlier_story, row_story, row_title
from planner.report.board.style import SHEETS, TEXT, WIDE, Axis, BoardPage
from planner.report.drawing import tokens
from planner.report.drawing.drying_progress import Drying
from planner.report.drawing.elements import (
    Node,
    add,
    file_bytes,
    fitted,
    markup,
    num,
    on_paper,
    picture,
    width_of,
)
from planner.report.drawing.telling import mark_words
from planner.report.drawing.view import View
from planner.report.drawing.week_rows import WEEK, Row, reach, rows

IDLE_H = 26.0
HOURS_H = 14.0
DAYS_H = 18.0
HEAD_H = DAYS_H + HOURS_H + 22 + bands.AIR_H + 8  # days, hours, humidity


@dataclass(frozen=True, slots=True, kw_only=True)
class Scene:
    """What every row of a board is drawn from."""

    view: View
    drying: Drying
    closed: tuple[Closed, ...]
    surfaces: tuple[tuple[Surface, ...], ...]
    rows: tuple[Row, ...]
    names: dict[datetime, str]
    sheet: BoardPage
    edge: Edge | None
    earlier: EarlierPlaces | None

    @property
    def lane_h(self) -> float:
        """How high a lane is, with the earlier plan's places over it if any are shown."""
        return LANE_H + (PLACE_H if self.earlier and self.earlier.tasks else 0.0)


def scene(
    view: View,
    drying: Drying,
    sheet: BoardPage,
    earlier: EarlierPlaces | None = None,
) -> Scene:
    """Return what a board of this width shows.

    `earlier` is where the tasks of a revised plan were planned before.
    """
    edge = edge_of(view)
    found = rows(view, sheet.days_a_row, until=edge.end if edge else None)
    days = tuple(dict.fromkeys(d for r in found for d in r.days))
    return Scene(
        view=view,
        drying=drying,
        closed=tuple(sorted(closed(view, days), key=lambda c: c.kind == BOOKED)),
        surfaces=tuple(
            surfaces(view, b.id, days[0], days[-1]) for b in view.plan.stage.bays
        ),
        rows=found,
        names=_names(view, found, sheet),
        sheet=sheet,
        edge=edge,
        earlier=earlier,
    )


def _names(view: View, found: Sequence[Row], sheet: BoardPage) -> dict[datetime, str]:
    """Return what each row is called at its left: the week of the job."""
    monday = found[0].start.astimezone(view.zone).date()
    weeks = {
        r.start: f"week {(r.start.astimezone(view.zone).date() - monday).days // WEEK + 1}"
        for r in found
    }
    one = len(found) == 1 or sheet.days_a_row < WEEK
    return dict.fromkeys(weeks, "") if one else weeks


def row_height(scene: Scene, row: Row) -> float:
    """Return how high a row is drawn."""
    if row.idle:
        return IDLE_H
    if row.tail:
        return DAYS_H + _bracket_h(scene, row) + 6
    plan = scene.view.plan
    above = HEAD_H + _bracket_h(scene, row)
    lanes = scene.lane_h * len(plan.stage.bays)
    return above + lanes + bands.PERSON_H * len(plan.crew) + 14


def _bracket_h(scene: Scene, row: Row) -> float:
    """Return the room that the closure takes over the lanes, if it lies in the row."""
    edge = scene.edge
    if edge and row.meets(edge.start, edge.end):
        return 46.0 + EDGE_H - 6
    return 46.0 if row.meets(*scene.view.plan.stage.closure) else 6.0


def draw_row(node: Node, scene: Scene, row: Row) -> None:
    """Draw a row with its top at nought."""
    canvas = Canvas(node=node, axis=Axis(row=row, sheet=scene.sheet), view=scene.view)
    if row.idle:
        _idle(canvas, scene)
        return
    behind = add(node, "g")
    under = Canvas(node=behind, axis=canvas.axis, view=scene.view)
    y = bands.days(canvas, scene.names[row.start], 0)
    if row.tail:
        bands.day_lines(under, 0, row_height(scene, row) - 8)
        bands.closure(canvas, y, y, scene.edge)
        return
    y += HOURS_H
    bands.hour_marks(canvas, y)
    y = bands.hours(canvas, scene.closed, y)
    top = y - 6
    y = bands.humidity(canvas, y)
    lanes_at = y + _bracket_h(scene, row)
    bottom = lanes_at + scene.lane_h * len(scene.surfaces) - 8
    bands.shading(under, scene.closed, top, bottom)
    bands.day_lines(under, 0, row_height(scene, row) - 8)
    _lanes(canvas, scene, lanes_at)
    bands.closure(canvas, y, bottom, scene.edge)
    if scene.earlier:
        past_until(canvas, scene.earlier.now, top, bottom)
    bands.people(canvas, bottom + 8)


def _lanes(canvas: Canvas, scene: Scene, y: float) -> None:
    """Draw the lane of each bay, under the places that its tasks had before if any."""
    over = scene.lane_h - LANE_H
    edges(canvas, len(scene.surfaces), y + over, scene.lane_h)
    for bay, states in zip(scene.view.plan.stage.bays, scene.surfaces, strict=True):
        if over and scene.earlier:
            places(canvas, bay.id, scene.earlier, y)
        lane(canvas, bay.id, states, scene.drying, y + over)
        y += scene.lane_h


def _idle(canvas: Canvas, scene: Scene) -> None:
    """Write why a stretch of days is left out."""
    row, view, sheet = canvas.axis.row, scene.view, scene.sheet
    first, last = view.day(row.start), view.day(row.days[-2])
    reasons = [
        c.reason for c in scene.closed if c.kind == BOOKED and row.meets(c.start, c.end)
    ]
    booked = f"; booked: {', '.join(dict.fromkeys(reasons))}" if reasons else ""
    says = (
        f"{first} to {last}: no work, no waits, stage open{booked}",
        f"{first} to {last}: no work, no waits",
    )
    room = sheet.width - 40
    said = next((s for s in says if width_of(s, TEXT) <= room), says[-1])
    path = f"M2 {num(IDLE_H / 2)}H{num(sheet.right)}"
    add(canvas.node, "path", class_="blimit", d=path)
    text = fitted(said, room, TEXT)
    wide = width_of(text, TEXT)
    add(
        canvas.node,
        "rect",
        class_="bpaper",
        x=14,
        y=2,
        width=wide + 12,
        height=IDLE_H - 4,
    )
    add(canvas.node, "text", text, x=20, y=IDLE_H / 2 + 4)


def _head(view: View) -> tuple[str, str]:
    """Return the board's title and its story in a sentence or two."""
    plan = view.plan
    first, last = reach(view)
    weeks = -(-((last - first).days + 1) // 7)
    return (
        f"{plan.job}: the board",
        f"Working plan: stage closed {view.span(*plan.stage.closure)}; {_working(view)}. "
        f"{_promised(view)}. A lane for each of "
        f"{len(plan.stage.bays)} bays, {len(plan.tasks)} tasks, {weeks} "
        f"{'week' if weeks == 1 else 'weeks'}, times in {plan.zone}.",
    )


def _working(view: View) -> str:
    """Return the returns of the working plan, which the board shows."""
    return "; ".join(f"{r.kind} {view.when(r.when)}" for r in view.plan.stage.returns)


def _promised(view: View) -> str:
    """Return the returns that are promised."""
    stage = view.plan.stage
    never = f"later than {view.day(stage.sureness.looked_until)}"
    return "Promised: " + "; ".join(
        f"{r.kind} {view.when(r.promise) if r.promise else never}"
        for r in stage.returns
    )


def board_svg(plan: Plan, earlier: EarlierPlaces | None = None) -> bytes:
    """Return the board as a picture of its own, weeks under each other.

    `earlier` is where the tasks of a revised plan were planned before.
    """
    view = View(plan, year_said=True)
    all_ = scene(view, Drying(plan), WIDE, earlier)
    title, story = _head(view)
    story = f"{story} {earlier_story(view, earlier)}".rstrip()
    told = " ".join(
        f"{row_title(view, r)}: {row_story(view, r, all_.surfaces, all_.closed)}"
        for r in all_.rows
        if not r.idle
    )
    margin, y = 24.0, 82.0
    body = Node("g", {"class": "board"})
    for row in all_.rows:
        place = add(body, "g", transform=f"translate({num(margin)} {num(y)})")
        draw_row(place, all_, row)
        y += row_height(all_, row) + 14
    key = add(body, "g", transform=f"translate({num(margin)} {num(y)})")
    y += legend(key, WIDE, 0, _shown(all_)) + margin
    wide = WIDE.width + 2 * margin
    root = picture(wide, y, id_="board", title=title, story=f"{story} {told}")
    add(root, "style", tokens.css() + style.css() + on_paper(wide, y))
    style.patterns(root)
    add(root, "rect", class_="bpaper", width=wide, height=y)
    heading = add(root, "g", class_="board")
    name = fitted(plan.job, WIDE.width * 0.6, 19)
    add(heading, "text", name, class_="bjob", x=margin, y=30)
    add(heading, "text", _promised(view), class_="b", x=margin, y=50)
    say = f"The working plan, hour by hour: {_working(view)}"
    add(heading, "text", say, x=margin, y=68)
    origin = f"plan {mark_words(plan)}, {plan.program}, dates of {view.year}, times in {plan.zone}"
    add(heading, "text", origin, class_="s e", x=WIDE.width + margin, y=50)
    root.append(body)
    return file_bytes(root)


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardPicture:
    """A row of the board for a page: which days, for which width, and the picture."""

    days: str
    sheet: str
    svg: Markup


def board_pictures(
    view: View, drying: Drying, earlier: EarlierPlaces | None = None
) -> tuple[BoardPicture, ...]:
    """Return the board row by row, for each width; the patterns are the page's."""
    out = []
    for sheet in SHEETS:
        all_ = scene(view, drying, sheet, earlier)
        for number, row in enumerate(all_.rows):
            title = row_title(view, row)
            root = picture(
                sheet.width,
                row_height(all_, row),
                id_=f"board-{sheet.name}-{number}",
                title=title,
                story="Nothing happens on the stage."
                if row.idle
                else row_story(view, row, all_.surfaces, all_.closed),
                class_="board",
            )
            draw_row(root, all_, row)
            out.append(BoardPicture(days=title, sheet=sheet.name, svg=markup(root)))
    return tuple(out)


def _shown(scene: Scene) -> Shown:
    """Return what a board shows, so that its key holds nothing else."""
    plan = scene.view.plan
    return Shown(
        faces=frozenset(s.number for states in scene.surfaces for s in states),
        kinds=frozenset(
            (
                *(w.way for w in plan.waits),
                *(c.kind for c in scene.closed),
                *(OFF_STAGE for t in plan.tasks if not t.on_stage),
                *((ODDS,) if scene.edge else ()),
                *((NOW,) if scene.earlier else ()),
                *((EARLIER,) if scene.lane_h > LANE_H else ()),
            )
        ),
    )


def legend_pictures(
    view: View, drying: Drying, earlier: EarlierPlaces | None = None
) -> tuple[BoardPicture, ...]:
    """Return the key to the board, for each width."""
    shown = _shown(scene(view, drying, WIDE, earlier))
    out = []
    for sheet in SHEETS:
        inner = Node("g")
        high = legend(inner, sheet, 2, shown)
        root = picture(
            sheet.width,
            high,
            id_=f"key-{sheet.name}",
            title="Key to the board",
            story="Each pattern of the board with its name.",
            class_="board",
        )
        root.append(inner)
        out.append(BoardPicture(days="", sheet=sheet.name, svg=markup(root)))
    return tuple(out)


def pattern_defs() -> Markup:
    """Return the patterns for all pictures of a page, as one unseen picture."""
    root = Node("svg", {"class": "unseen", "width": "0", "height": "0"})
    root.set("aria-hidden", "true")
    style.patterns(root)
    return markup(root)
