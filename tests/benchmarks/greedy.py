"""A plain start for projects: one activity after another, pushed right and left.

It serves the lean model of `peers`, and shares nothing with the engine.
"""

from dataclasses import dataclass
from random import Random

from tests.benchmarks.projects import Project


@dataclass(frozen=True, slots=True, kw_only=True)
class Bounds:
    """The longest way to and from each activity, and the least possible length."""

    head: tuple[int, ...]  # before its start
    tail: tuple[int, ...]  # after its end
    least: int


def bounds(project: Project) -> Bounds:
    """Return heads and tails along the arcs, and the least length that they leave."""
    head = _ways(project, project.arcs)
    tail = _ways(project, tuple((b, a) for a, b in project.arcs))
    chain = max(h + d + t for h, d, t in zip(head, project.ticks, tail, strict=True))
    work = max(
        -(
            -sum(d * n[j] for d, n in zip(project.ticks, project.needs, strict=True))
            // c
        )
        for j, c in enumerate(project.capacity)
    )
    return Bounds(head=tuple(head), tail=tuple(tail), least=max(chain, work))


def _ways(project: Project, arcs: tuple[tuple[int, int], ...]) -> list[int]:
    """Return the longest way along the arcs to each activity."""
    way = [0] * project.size
    after: list[list[int]] = [[] for _ in way]
    open_arcs = [0] * project.size
    for a, b in arcs:
        after[a].append(b)
        open_arcs[b] += 1
    ready = [k for k, count in enumerate(open_arcs) if not count]
    while ready:
        a = ready.pop()
        for b in after[a]:
            way[b] = max(way[b], way[a] + project.ticks[a])
            open_arcs[b] -= 1
            if not open_arcs[b]:
                ready.append(b)
    return way


def first_starts(project: Project, known: Bounds, *, tries: int = 60) -> list[int]:
    """Return the starts of the best plan of some tries; stops at the least length."""
    r = Random(0)
    back = tuple((b, a) for a, b in project.arcs)
    best: list[int] = []
    best_length = project.longest + 1
    for number in range(tries):
        noise = 0.0 if number == 0 else 0.25 * known.least
        rank = [
            -t - d + r.uniform(-noise, noise)
            for t, d in zip(known.tail, project.ticks, strict=True)
        ]
        starts = _serial(project, project.arcs, rank)
        for arcs in (back, project.arcs):  # pushed right, seen from the end, then left
            rank = [-float(s + d) for s, d in zip(starts, project.ticks, strict=True)]
            starts = _serial(project, arcs, rank)
        length = max(s + d for s, d in zip(starts, project.ticks, strict=True))
        if length < best_length:
            best, best_length = starts, length
        if best_length <= known.least:
            break
    return best


def _serial(
    project: Project, arcs: tuple[tuple[int, int], ...], rank: list[float]
) -> list[int]:
    """Return the earliest starts when activities are placed by rank, lowest first."""
    before: list[list[int]] = [[] for _ in project.ticks]
    after: list[list[int]] = [[] for _ in project.ticks]
    for a, b in arcs:
        before[b].append(a)
        after[a].append(b)
    waits = [len(b) for b in before]
    ready = {k for k, count in enumerate(waits) if not count}
    left = [[capacity] * project.longest for capacity in project.capacity]
    starts = [0] * project.size
    while ready:
        k = min(ready, key=lambda a: (rank[a], a))
        ready.remove(k)
        ticks = project.ticks[k]
        need = [(left[j], n) for j, n in enumerate(project.needs[k]) if n]
        at = max((starts[a] + project.ticks[a] for a in before[k]), default=0)
        while any(min(row[at : at + ticks]) < n for row, n in need):
            at += max(_last_below(row[at : at + ticks], n) for row, n in need) + 1
        starts[k] = at
        for row, n in need:
            row[at : at + ticks] = [free - n for free in row[at : at + ticks]]
        for b in after[k]:
            waits[b] -= 1
            if not waits[b]:
                ready.add(b)
    return starts


def _last_below(row: list[int], amount: int) -> int:
    """Return the last place in a row that is below an amount; -1 for none."""
    for at in range(len(row) - 1, -1, -1):
        if row[at] < amount:
            return at
    return -1
