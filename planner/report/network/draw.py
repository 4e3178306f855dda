"""The network as a picture: boxes with their words, lines that keep clear of them."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import accumulate, pairwise

from markupsafe import Markup

from planner.report.drawing.elements import (
    Node,
    add,
    broken,
    fitted,
    line_path,
    markup,
    num,
    rounded_path,
)
from planner.report.drawing.view import View, minutes_between, passes
from planner.report.network.layout import Network, Route, held, network
from planner.units import duration_words

BOX_W, BOX_H = 176.0, 68.0
BOLD, SMALL = 14.0, 12.0  # bold words are wider than their size
TRACK = 7.0
PAD = 10.0
HEAD_H = 26.0
BAND_ROWS = 10


@dataclass(frozen=True, slots=True, kw_only=True)
class NetworkPictures:
    """A network cut between its rows into bands, so that paper never cuts a box.

    `whole` is unseen and holds the drawing; each band shows a part of it.
    """

    whole: Markup
    bands: tuple[Markup, ...]


class _Places:
    """The coordinates of columns, rows, lanes and gutters."""

    def __init__(self, net: Network) -> None:
        gutters = [
            PAD * 2 + TRACK * net.gutter_tracks.get(n, 0)
            for n in range(len(net.columns) + 1)
        ]
        lanes = [PAD * 2 + TRACK * net.lane_tracks.get(n, 0) for n in range(net.rows)]
        self.left = [
            *accumulate(gutters[1:], lambda x, g: x + BOX_W + g, initial=gutters[0])
        ]
        self.top = [*accumulate(lanes, lambda y, h: y + BOX_H + h, initial=HEAD_H)]
        self.gutters = gutters
        self.width = self.left[len(net.columns) - 1] + BOX_W + gutters[-1]
        self.height = self.top[-1]

    def lane(self, row: int, track: int) -> float:
        """Return the height of a track in the lane under a row (-1: above all)."""
        below = self.top[row] + BOX_H if row >= 0 else HEAD_H - PAD * 2
        return below + PAD + TRACK * track

    def gutter(self, column: int, track: int) -> float:
        """Return the place of a track in the gutter left of a column."""
        start = (
            self.left[column] - self.gutters[column] if column < len(self.left) else 0.0
        )
        return start + PAD + TRACK * track


def network_pictures(view: View) -> NetworkPictures:
    """Return the network of a plan as pictures."""
    net = network(view.plan)
    at = _Places(net)
    root = Node("svg", {"class": "unseen", "width": "0", "height": "0"})
    root.set("aria-hidden", "true")
    whole = add(root, "symbol", id="network", overflow="visible", class_="net")
    for name, x in zip(net.columns, at.left, strict=False):
        add(whole, "text", fitted(name, BOX_W, 13), class_="b", x=x, y=16)
    _lines(whole, view, net, at)
    for task, cell in net.cells.items():
        _box(whole, view, task, at.left[cell.column], at.top[cell.row])
    return NetworkPictures(whole=markup(root), bands=tuple(_bands(net, at)))


def _bands(net: Network, at: _Places) -> Sequence[Markup]:
    edges = [0.0, *at.top[BAND_ROWS : net.rows : BAND_ROWS], at.height]
    out = []
    for top, bottom in pairwise(edges):
        cut = top - PAD if top else 0.0
        high = (bottom - PAD if bottom < at.height else bottom) - cut
        band = Node(
            "svg",
            {
                "class": "net",
                "viewBox": f"0 {num(cut)} {num(at.width)} {num(high)}",
                "width": num(at.width),
                "height": num(high),
                "aria-hidden": "true",
            },
        )
        size = {"width": num(at.width), "height": num(at.height)}
        add(band, "use", href="#network", **size)
        out.append(markup(band))
    return out


def _box(node: Node, view: View, task_id: str, x: float, y: float) -> None:
    task = view.tasks[task_id]
    kind = "nbox h" if task_id in view.binding else "nbox"
    box = add(node, "rect", class_=kind, x=x, y=y, width=BOX_W, height=BOX_H, rx=3)
    add(box, "title", f"{task.title}: {view.span(task.start, task.end)}")
    bay = view.bays[task.bays[0]] if len(task.bays) == 1 else ""
    below = y + 16
    for line in broken(task.title.removesuffix(f", {bay}"), BOX_W - 14, BOLD):
        add(node, "text", line, class_="b", x=x + 7, y=below)
        below += 15
    day, date, month, *_, clock = view.when(task.start).split()
    starts = f"{day} {date} {month.rstrip(',')} {clock}"
    for say in (starts, _after(view, task_id)):
        if say:
            line = fitted(say, BOX_W - 14, SMALL)
            add(node, "text", line, class_="s", x=x + 7, y=below)
            below += 14


def _after(view: View, task: str) -> str:
    """Return the longest wait after a task that another task must wait for."""
    waits = [w for w in view.plan.waits if w.task == task and view.gates(w)]
    last = max(waits, key=lambda w: w.ready, default=None)
    if last is None or last.ready <= last.begins:
        return ""
    hours = duration_words(minutes_between(last.begins, last.ready))
    return f"then {passes(last.way)} {hours}"


def _lines(node: Node, view: View, net: Network, at: _Places) -> None:
    leaving, entering = _ports(net)
    bound = {(s.by, s.task) for s in view.plan.stage.chain}
    unlinked = set(held(view.plan))
    for route in net.routes:
        pair = route.before, route.after
        heavy = (" h" if pair in bound else "") + (" p" if pair in unlinked else "")
        points = _course(route, net, at, leaving[route], entering[route])
        add(node, "path", class_=f"nline{heavy}", d=rounded_path(points, 4))
        x, y = points[-1]
        tip = [(x - 3.5, y - 7), (x + 3.5, y - 7), (x, y)]
        add(node, "path", class_="ntip", d=line_path(tip, closed=True))


def _ports(net: Network) -> tuple[Mapping[Route, float], Mapping[Route, float]]:
    """Return how far from a box's middle each line leaves it and enters the next.

    Lines leave on the right and enter on the left, so that none lies on another.
    """
    out: dict[str, list[Route]] = {}
    into: dict[str, list[Route]] = {}
    for r in net.routes:
        out.setdefault(r.before, []).append(r)
        into.setdefault(r.after, []).append(r)
    leaving = {r: d for found in out.values() for r, d in _spread(found)}
    entering = {r: -d for found in into.values() for r, d in _spread(found)}
    return leaving, entering


def _spread(routes: Sequence[Route]) -> Sequence[tuple[Route, float]]:
    """Return a distance for each: none for a straight line, steps for the others."""
    straight = [r for r in routes if r.straight]
    bent = sorted((r for r in routes if not r.straight), key=lambda r: r.gutter)
    step = min(14.0, (BOX_W / 2 - 14) / max(len(bent), 1))
    placed = [(r, 0.0) for r in straight]
    return [*placed, *((r, (n + 1) * step) for n, r in enumerate(bent))]


def _course(
    route: Route, net: Network, at: _Places, leave: float, enter: float
) -> list[tuple[float, float]]:
    a, b = net.cells[route.before], net.cells[route.after]
    x0 = at.left[a.column] + BOX_W / 2 + leave
    x1 = at.left[b.column] + BOX_W / 2 + enter
    y0, y1 = at.top[a.row] + BOX_H, at.top[b.row]
    if route.straight:
        return [(x0, y0), (x0, y1)]
    under, over = at.lane(a.row, route.under), at.lane(b.row - 1, route.over)
    side = at.gutter(route.gutter, route.track)
    return [(x0, y0), (x0, under), (side, under), (side, over), (x1, over), (x1, y1)]


def css() -> str:
    """Return the classes of the network."""
    return (
        ".net{font:13px var(--type-text);fill:var(--ink)}"
        ".net .b{font-weight:600}.net .s{font-size:12px;fill:var(--soft)}"
        ".nbox{fill:var(--card);stroke:var(--rule)}"
        ".nbox.h{stroke:var(--ink);stroke-width:3}"
        ".nline{fill:none;stroke:var(--rule);stroke-width:1.4}"
        ".nline.h{stroke:var(--ink);stroke-width:3.2}"
        ".nline.p{stroke-dasharray:7 4}"
        ".ntip{fill:var(--ink)}"
    )
