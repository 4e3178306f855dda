"""When a task works, from its start to its end, checked in plain Python.

The rule is that of `Activity`. It is judged tick by tick, by what can be reached from
the tick before, and shares no code with the search.
"""

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from itertools import groupby, pairwise

from planner.hours.spans import Spans
from planner.schedule.problem.instance import Instance
from planner.schedule.problem.outcome import Placement
from planner.schedule.problem.parts import Activity, Person

Day = tuple[int, ...]  # for each person of the team, the shift in which a tick lies


def course_faults(
    instance: Instance, task: Activity, placed: Placement, workable: Spans
) -> Iterator[str]:
    """Yield what is wrong with the ticks that a task works.

    `workable` holds all ticks in which its team is open and the task isn't closed.
    """
    here = f"{task.id}:"
    ticks = {m.size: m.ticks for m in task.modes}.get(len(placed.team))
    if ticks is None:
        return
    if not placed.worked:
        yield from _progress(task, ticks, [])
        return
    team = [p for p in instance.people if p.id in placed.team]
    if task.one_go:
        if len(placed.worked.items) > 1:
            paused = placed.worked.items[0][1]
            yield f"{here} must be done in one go, but pauses at {paused}"
        yield from _progress(task, ticks, [placed.worked.total])
        return
    worked = [t for start, end in placed.worked for t in range(start, end)]
    pieces = [list(piece) for _, piece in groupby(worked, lambda t: _day(team, t))]
    for piece in pieces:
        if len(piece) <= task.set_up:
            yield f"{here} no more than sets up from {piece[0]} on"
    yield from _progress(task, ticks, [len(piece) for piece in pieces])
    shifts = [
        (start, end)
        for person in team
        for start, end in person.shifts or person.open
        if start < placed.end and placed.start < end
    ]
    since = min([placed.start, *(start for start, _ in shifts)])
    until = max([placed.end, *(end for _, end in shifts)])
    around = workable.clip(since, until)
    everything = [t for start, end in around for t in range(start, end)]
    days = [list(day) for _, day in groupby(everything, lambda t: _day(team, t))]
    useful = [
        t
        for day in days
        if len(day) > task.set_up
        for t in day
        if placed.start <= t < placed.end
    ]
    idle = sorted(set(useful) - set(worked))
    nights = [
        (one, two)
        for one, two in pairwise(useful)
        if two - one - 1 < _rest(team, one, two)
    ]
    if idle and not nights:
        spans = Spans.of((t, t + 1) for t in idle)
        words = ", ".join(f"{start} to {end}" for start, end in spans)
        yield f"{here} idles in {words}, though the team is open"
    if nights:
        soonest = _soonest(task, team, ticks, useful)
        if soonest != worked:
            spans = Spans.of((t, t + 1) for t in soonest)
            yield (
                f"{here} works in {placed.worked.items}; done soonest, and rested as "
                f"late as can be, it works in {spans.items}"
            )


def _progress(task: Activity, ticks: int, pieces: Sequence[int]) -> Iterator[str]:
    """Yield a fault if the progress of the pieces isn't what the task needs."""
    found = sum(max(0, piece - task.set_up) for piece in pieces)
    if found != ticks:
        beside = " beside setting up" if task.set_up else ""
        yield f"{task.id}: works {found} ticks{beside}, not {ticks}"


def _day(team: Sequence[Person], tick: int) -> Day:
    """Return which of their shifts each of the team is in, or was in last."""
    shifts = (person.shifts or person.open for person in team)
    return tuple(bisect_right(s.items, tick, key=lambda span: span[0]) for s in shifts)


def _rest(team: Sequence[Person], one: int, two: int) -> int:
    """Return the rest that must lie between two ticks in which the team works."""
    days = zip(team, _day(team, one), _day(team, two), strict=True)
    return max((person.rest for person, a, b in days if a != b), default=0)


def _soonest(
    task: Activity, team: Sequence[Person], ticks: int, useful: Sequence[int]
) -> list[int]:
    """Return the ticks to work, from the first of `useful` on, so as to end soonest.

    For every tick with which a piece may end, the most progress by then is found. It is
    looked for over all ticks at which that piece may begin, and all with which the
    piece before it may have ended. If no course comes to an end, no tick is returned.
    """
    longest = max(person.rest for person in team)
    most: dict[int, int] = {}  # place in `useful` of a piece's last tick → progress
    came: dict[int, tuple[int, int | None]] = {}  # → its begin, the last tick before it
    led: list[tuple[int, int | None] | None] = []  # begin → progress, last tick before
    sure: list[
        tuple[int, int]
    ] = []  # best (progress, tick) after which all have rested
    looked = 0
    for last, tick in enumerate(useful):
        while tick - useful[looked] - 1 >= longest:
            sure += [(most[looked], looked)] if looked in most else []
            sure = [max(sure)] if sure else []
            looked += 1
        near = [
            (most[k], k)
            for k in range(looked, last)
            if k in most
            and _day(team, useful[k]) != _day(team, tick)
            and tick - useful[k] - 1 >= _rest(team, useful[k], tick)
        ]
        led.append(max([*sure, *near], default=None) if last else (0, None))
        for begin in range(last - task.set_up, -1, -1):
            if _day(team, useful[begin]) != _day(team, tick):
                break
            before = led[begin]
            if before is None:
                continue
            progress = before[0] + last - begin + 1 - task.set_up
            if progress > most.get(last, 0):
                most[last], came[last] = progress, (begin, before[1])
        if most.get(last, 0) >= ticks:
            return _traced(came, last, useful)
    return []


def _traced(
    came: dict[int, tuple[int, int | None]], last: int, useful: Sequence[int]
) -> list[int]:
    """Return the ticks of the course that ends with a place of `useful`."""
    worked: list[int] = []
    at: int | None = last
    while at is not None:
        begin, before = came[at]
        worked = [*useful[begin : at + 1], *worked]
        at = before
    return worked
