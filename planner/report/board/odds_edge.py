"""How sure the return is, as an edge that fades: the chance that the stage is still closed."""

import itertools
from dataclasses import dataclass
from datetime import datetime, timedelta

from planner.nouns.work import ReturnKind
from planner.report.board.style import Axis
from planner.report.drawing.elements import Node, add, block, line_path, num
from planner.report.drawing.view import View

EDGE_H = 22.0
STEP = timedelta(hours=6)


@dataclass(frozen=True, slots=True, kw_only=True)
class Edge:
    """The chance that the stage is still closed, by the dates that the plan tells.

    `points` fall from the working plan's return to the last date that is told.
    `promise` is the moment promised, kept in `percent` of a hundred futures.
    """

    points: tuple[tuple[datetime, float], ...]
    promise: datetime
    percent: int

    @property
    def start(self) -> datetime:
        """When the working plan has the stage back."""
        return self.points[0][0]

    @property
    def end(self) -> datetime:
        """The last date that is told."""
        return self.points[-1][0]

    def chance(self, when: datetime) -> float:
        """Return the chance at a moment, straight between the dates that are told."""
        for (a, high), (b, low) in itertools.pairwise(self.points):
            if a <= when <= b:
                return high + (low - high) * ((when - a) / (b - a))
        return 0.0


def edge_of(view: View) -> Edge | None:
    """Return the edge of a plan; None where the promise is its return, or none is told."""
    stage = view.plan.stage
    full, sure = stage.returning(ReturnKind.FULL_SERVICE), stage.sureness
    if full.promise is None or (full.tentative_until or full.promise) <= full.when:
        return None
    told = [
        (full.when, 1 - full.kept_frac),
        (full.promise, 1 - sure.sure_percent / 100),
        (full.tentative_until, 1 - sure.tentative_percent / 100),
    ]
    points: dict[datetime, float] = {}
    for when, chance in told:
        if when is not None:
            points[when] = min(chance, *points.values(), 1.0)
    return Edge(
        points=tuple(points.items()), promise=full.promise, percent=sure.sure_percent
    )


def draw_edge(node: Node, axis: Axis, edge: Edge, y: float) -> None:
    """Draw an edge as far as it lies in a row: as high, and as dark, as it is likely.

    At `y` the stage is surely closed, at the foot of the edge it is surely back.
    """
    row, foot = axis.row, y + EDGE_H
    if not row.meets(edge.start, edge.end):
        return
    start, end = max(edge.start, row.start), min(edge.end, row.end)
    at = start
    while at < end:
        after = min(at + STEP, end)
        chance = edge.chance(at + (after - at) / 2)
        high = chance * EDGE_H
        d = block(axis.x(at), axis.x(after), foot - high, high)
        add(
            node, "path", class_="bfade", fill_opacity=f"{0.15 + chance * 0.6:.2f}", d=d
        )
        at = after
    inner = [start, *(t for t, _ in edge.points if start < t < end), end]
    line = [(axis.x(t), foot - edge.chance(t) * EDGE_H) for t in inner]
    add(node, "path", class_="bedgeline", d=line_path(line))
    level = f"M{num(axis.x(start))} {num(foot)}H{num(axis.x(end))}"
    add(node, "path", class_="bday", d=level)
    if row.start < edge.promise <= row.end:
        d = f"M{num(axis.x(edge.promise))} {num(y - 2)}V{num(foot + 2)}"
        add(node, "path", class_="bpromise", d=d)
