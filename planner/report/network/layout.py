"""Places for a drawn network: columns are bays, rows run with time, lines keep clear.

Tasks stand on a lattice. A line leaves a box below, runs in the lane under its row,
comes down in the gutter beside the target's column and enters the target from
above. Lanes and gutters are never shared by two lines at one place, and no box
stands in either, so no line crosses a box or a word.
"""

import itertools
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from planner.nouns.plan import Plan, PlannedTask

OFF_STAGE, ALL_BAYS = "off the stage", "several bays"

Pair = tuple[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """Where a task stands: its column and its row, counted from 0."""

    column: int
    row: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Route:
    """How a line runs: lane under the first row, gutter, lane above the last row.

    `under` and `over` are tracks in their lanes, `gutter` the column whose left side
    it comes down at, with its `track` there. A straight line has none of them.
    """

    before: str
    after: str
    under: int = -1
    gutter: int = -1
    track: int = -1
    over: int = -1

    @property
    def straight(self) -> bool:
        """Whether the line runs down to the very next box of its column."""
        return self.gutter < 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Network:
    """Every task's cell and every line's route, with the tracks that lanes hold."""

    columns: tuple[str, ...]
    cells: Mapping[str, Cell]
    routes: tuple[Route, ...]
    lane_tracks: Mapping[int, int]
    gutter_tracks: Mapping[int, int]

    @property
    def rows(self) -> int:
        """How many rows there are."""
        return 1 + max((c.row for c in self.cells.values()), default=-1)


def network(plan: Plan) -> Network:
    """Return the places of a plan's network."""
    pairs = (*needed(plan), *held(plan))
    names = {b.id: b.name for b in plan.stage.bays}
    used = [_column(t) for t in plan.tasks]
    order = [OFF_STAGE, *names, ALL_BAYS]
    columns = [c for c in order if c in used]
    cells = _cells(plan.tasks, pairs, {c: n for n, c in enumerate(columns)})
    routes, lanes, gutters = _routed(pairs, cells)
    return Network(
        columns=tuple(names.get(c, c) for c in columns),
        cells=cells,
        routes=routes,
        lane_tracks=lanes,
        gutter_tracks=gutters,
    )


def _column(task: PlannedTask) -> str:
    if len(task.bays) == 1:
        return task.bays[0]
    return ALL_BAYS if task.bays else OFF_STAGE


def needed(plan: Plan) -> tuple[Pair, ...]:
    """Return the links that no chain of other links stands for (its reduction)."""
    after: dict[str, list[str]] = defaultdict(list)
    for link in plan.links:
        if link.after not in after[link.before]:
            after[link.before].append(link.after)
    reach: dict[str, frozenset[str]] = {}
    for task in reversed(plan.tasks):
        _reach(task.id, after, reach)
    out = []
    for before, nexts in after.items():
        for n in nexts:
            if not any(n in reach[other] for other in nexts if other != n):
                out.append((before, n))
    place = {t.id: k for k, t in enumerate(plan.tasks)}
    return tuple(sorted(out, key=lambda p: (place[p[0]], place[p[1]])))


def held(plan: Plan) -> tuple[Pair, ...]:
    """Return the pairs that hold the date without a link: by people, or by the room.

    The same people do one after the other, or two must not share the room.
    """
    linked = {(x.before, x.after) for x in plan.links}
    found = ((s.by, s.task) for s in plan.stage.chain if s.cause in ("person", "apart"))
    return tuple(dict.fromkeys(p for p in found if p not in linked))


def _reach(
    start: str, after: Mapping[str, Sequence[str]], known: dict[str, frozenset[str]]
) -> None:
    """Note in `known` everything that follows a task, without recursion."""
    stack = [start]
    while stack:
        here = stack[-1]
        missing = [n for n in after.get(here, ()) if n not in known]
        if missing:
            stack += missing
            continue
        known[here] = frozenset(after.get(here, ())).union(
            *(known[n] for n in after.get(here, ()))
        )
        stack.pop()


def _cells(
    tasks: Sequence[PlannedTask], pairs: Sequence[Pair], column_of: Mapping[str, int]
) -> dict[str, Cell]:
    """Return a cell for each task: below all that it follows, in its own column."""
    before: dict[str, list[str]] = defaultdict(list)
    for a, b in pairs:
        before[b].append(a)
    last: dict[int, int] = defaultdict(lambda: -1)
    cells: dict[str, Cell] = {}
    for task in tasks:  # in order of start, so what comes first has its place
        column = column_of[_column(task)]
        above = [cells[b].row for b in before[task.id] if b in cells]
        row = max([last[column], *above]) + 1
        cells[task.id] = Cell(column=column, row=row)
        last[column] = row
    return cells


class _Tracks:
    """Hands out tracks so that no two stretches of one lane share a place."""

    def __init__(self) -> None:
        self.taken: dict[int, list[list[tuple[float, float]]]] = defaultdict(list)

    def take(self, lane: int, start: float, end: float) -> int:
        low, high = min(start, end), max(start, end)
        for number, track in enumerate(self.taken[lane]):
            if all(high < a or low > b for a, b in track):
                track.append((low, high))
                return number
        self.taken[lane].append([(low, high)])
        return len(self.taken[lane]) - 1

    def counts(self) -> dict[int, int]:
        return {lane: len(tracks) for lane, tracks in self.taken.items()}


def _routed(
    pairs: Sequence[Pair], cells: Mapping[str, Cell]
) -> tuple[tuple[Route, ...], dict[int, int], dict[int, int]]:
    next_below = _next_below(cells)
    lanes, gutters = _Tracks(), _Tracks()
    routes = []
    for before, after in pairs:
        a, b = cells[before], cells[after]
        if next_below.get((a.column, a.row)) == after:
            routes.append(Route(before=before, after=after))
            continue
        gutter = b.column if a.column <= b.column else b.column + 1
        side = gutter - 0.5
        under = lanes.take(a.row, a.column, side)
        track = gutters.take(gutter, a.row + 0.4, b.row - 0.6)
        over = lanes.take(b.row - 1, side, b.column)
        routes.append(
            Route(
                before=before,
                after=after,
                under=under,
                gutter=gutter,
                track=track,
                over=over,
            )
        )
    return tuple(routes), lanes.counts(), gutters.counts()


def _next_below(cells: Mapping[str, Cell]) -> dict[tuple[int, int], str]:
    """Return for each cell the task that stands next below it in its column."""
    columns: dict[int, list[tuple[int, str]]] = defaultdict(list)
    for task, cell in cells.items():
        columns[cell.column].append((cell.row, task))
    out = {}
    for column, found in columns.items():
        ordered = sorted(found)
        for (row, _), (_, below) in itertools.pairwise(ordered):
            out[column, row] = below
    return out
