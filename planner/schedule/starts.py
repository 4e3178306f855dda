"""What a task's own rules allow its team, by tick, the other tasks left aside."""

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from planner.hours.spans import Spans
from planner.schedule.instance import Hold, Lookup, Person, Task

Ints = NDArray[np.int64]
Mask = NDArray[np.bool_]


def workable_mask(task: Task, opens: Iterable[Mask], horizon: int) -> Mask:
    """Return the ticks in which a team with these open ticks could do the task."""
    mask = np.ones(horizon, dtype=np.bool_)
    for one in opens:
        mask &= one
    for block in task.no_work:
        mask &= ~block.ticks.mask(horizon)[:horizon]
    return mask


def allowed_starts(
    task: Task,
    ticks: int,
    workable: Mask,
    lookups: dict[str, Ints],
    team: Iterable[Person] = (),
) -> tuple[Ints, Ints]:
    """Return each start tick that the task's own rules allow, and its end tick.

    Those are the calendar, one go, starts that are closed, holds, and the rest of
    the team between shifts of this task; the other tasks aren't looked at.
    """
    horizon = len(workable)
    at = np.flatnonzero(workable)
    if len(at) < ticks:
        return at[:0], at[:0]
    starts, ends = at[: len(at) - ticks + 1], at[ticks - 1 :] + 1
    keep = np.ones(len(starts), dtype=np.bool_)
    if task.one_go:
        keep &= ends - starts == ticks
    for block in task.no_start:
        keep &= ~block.ticks.mask(horizon)[:horizon][starts]
    for hold in task.holds:
        keep &= held(hold, starts, ends, lookups, horizon)
    for person in team:
        if person.rest:
            keep &= _rested(person, at, ticks)
    return starts[keep], ends[keep]


def _rested(person: Person, at: Ints, ticks: int) -> Mask:
    """Return whether `ticks` ticks worked from each of `at` on keep the rest."""
    begins = np.array([start for start, _ in shifts_of(person)], dtype=np.int64)
    shift = np.searchsorted(begins, at, side="right")
    short = (np.diff(at) - 1 < person.rest) & (np.diff(shift) > 0)
    count = np.concatenate(([0], np.cumsum(short)))
    kept: Mask = count[ticks - 1 :] == count[: len(count) - ticks + 1]
    return kept


def held(
    hold: Hold, starts: Ints, ends: Ints, lookups: dict[str, Ints], horizon: int
) -> Mask:
    """Return whether the hold is kept for each start and end."""
    bad = np.concatenate(([0], np.cumsum(hold.bad.mask(horizon)[:horizon])))
    until = lookups[hold.until][ends]
    within: Mask = until <= horizon
    kept: Mask = within & (bad[np.minimum(until, horizon)] == bad[starts])
    return kept


def lookup_arrays(lookups: Iterable[Lookup], horizon: int) -> dict[str, Ints]:
    """Return the look-ups by name; the empty name is no wait at all."""
    arrays = {k.name: np.array(k.over, dtype=np.int64) for k in lookups}
    arrays[""] = np.arange(horizon + 1, dtype=np.int64)
    return arrays


def shifts_of(person: Person) -> Spans:
    """Return the person's shifts; without any, each open span is one."""
    return person.shifts or person.open


def near_shifts(person: Person) -> list[tuple[int, int]]:
    """Return the pairs of shifts that lie nearer than the person's rest."""
    shifts = shifts_of(person).items
    return [
        (i, j)
        for i in range(len(shifts))
        for j in range(i + 1, len(shifts))
        if shifts[j][0] - shifts[i][1] < person.rest
    ]
