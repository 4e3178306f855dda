"""The room in plan, as upright rectangles: its coves, and the floor in front of them.

Inside corners all turn the same way, so a chain of runs is a spiral of right angles.
The floor in front of a run is a strip as deep as the apron, from the coves' front
edge; strips of a chain that meet count once, what lies behind another run's wall or
under a cove doesn't count.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from planner.nouns.job import Kit, Stage

_STEPS = ((1.0, 0.0), (0.0, -1.0), (-1.0, 0.0), (0.0, 1.0))  # to the right, each time


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """An upright rectangle in plan or elevation. Lengths in mm."""

    left: float
    right: float
    bottom: float
    top: float

    def holds(self, x: float, y: float) -> bool:
        """Tell whether a point lies inside, its left and bottom edges included."""
        return self.left <= x < self.right and self.bottom <= y < self.top


@dataclass(frozen=True, slots=True, kw_only=True)
class Wall:
    """A run in plan: from where, which way; the room is on its right."""

    x: float
    y: float
    step: tuple[float, float]
    length_mm: float

    def band(self, near: float, far: float, start: float, end: float) -> Block:
        """Return the strip from `near` to `far` off the wall, along a stretch of it."""
        ax, ay = self.step
        nx, ny = ay, -ax  # into the room
        xs = sorted(self.x + ax * s + nx * o for s in (start, end) for o in (near, far))
        ys = sorted(self.y + ay * s + ny * o for s in (start, end) for o in (near, far))
        return Block(left=xs[0], right=xs[-1], bottom=ys[0], top=ys[-1])

    def faces(self, x: float, y: float) -> bool:
        """Tell whether a point lies on the room's side of the wall."""
        ax, ay = self.step
        return (x - self.x) * ay - (y - self.y) * ax >= 0.0


def chains(stage: Stage) -> tuple[tuple[int, ...], ...]:
    """Return the runs that hang together by corners, as places in `stage.runs`."""
    out: list[list[int]] = []
    for i in range(len(stage.runs)):
        if i - 1 in stage.corners:
            out[-1].append(i)
        else:
            out.append([i])
    return tuple(tuple(c) for c in out)


def walls(stage: Stage, chain: Sequence[int]) -> tuple[Wall, ...]:
    """Return the runs of a chain in plan, the first along x from the origin."""
    x = y = 0.0
    out: list[Wall] = []
    for turn, i in enumerate(chain):
        step = _STEPS[turn % 4]
        length = stage.runs[i].length_mm
        out.append(Wall(x=x, y=y, step=step, length_mm=length))
        x, y = x + step[0] * length, y + step[1] * length
    return tuple(out)


def coves(stage: Stage, kit: Kit, chain: Sequence[int]) -> tuple[Block, ...]:
    """Return what the modules of a chain stand on: strips, and corner squares."""
    deep, leg = kit.straight_height_mm, kit.corner_leg_mm
    placed = walls(stage, chain)
    strips = [w.band(0.0, deep, 0.0, w.length_mm) for w in placed]
    squares = [w.band(0.0, leg, w.length_mm - leg, w.length_mm) for w in placed[:-1]]
    return (*strips, *squares)


def apron_mm2(stage: Stage, kit: Kit) -> float:
    """Return the area of the floor in front of all runs."""
    return sum(_apron_of(stage, kit, chain) for chain in chains(stage))


def _apron_of(stage: Stage, kit: Kit, chain: Sequence[int]) -> float:
    placed = walls(stage, chain)
    deep = kit.straight_height_mm
    front = [w.band(deep, deep + stage.apron_mm, 0.0, w.length_mm) for w in placed]
    under = coves(stage, kit, chain)

    def counts(x: float, y: float) -> bool:
        return (
            any(b.holds(x, y) for b in front)
            and all(w.faces(x, y) for w in placed)
            and not any(b.holds(x, y) for b in under)
        )

    here = [c for w in placed for c in (w.x, w.y)]
    return area_mm2((*front, *under), counts, extra=here)


def area_mm2(
    blocks: Iterable[Block],
    counts: Callable[[float, float], bool],
    *,
    extra: Iterable[float] = (),
) -> float:
    """Return the area where `counts` holds, constant between the blocks' edges."""
    known = tuple(blocks)
    more = tuple(extra)
    xs = sorted({*more, *(v for b in known for v in (b.left, b.right))})
    ys = sorted({*more, *(v for b in known for v in (b.bottom, b.top))})
    return sum(
        (right - left) * (top - bottom)
        for left, right in pairwise(xs)
        for bottom, top in pairwise(ys)
        if counts((left + right) / 2.0, (bottom + top) / 2.0)
    )
