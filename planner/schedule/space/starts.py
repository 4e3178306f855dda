"""Which starts a task's own rules allow a team, by tick; other tasks don't matter."""

from collections.abc import Iterable, Sequence

import numpy as np

from planner.schedule.problem.parts import Activity, Hold, Lookup, Person
from planner.schedule.space.days import (
    Courses,
    Ints,
    Mask,
    courses,
    shifts_of,
    without_short_days,
)


def workable_mask(task: Activity, opens: Iterable[Mask], horizon: int) -> Mask:
    """Return a mask of the ticks in which a team, open as given, could do the task."""
    mask = np.ones(horizon, dtype=np.bool_)
    for one in opens:
        mask &= one
    for block in task.no_work:
        mask &= ~block.ticks.mask(horizon)[:horizon]
    return mask


def useful_mask(
    task: Activity, opens: Iterable[Mask], people: Iterable[Person], horizon: int
) -> Mask:
    """Return the workable ticks, without days that only setting up would fill."""
    mask = workable_mask(task, opens, horizon)
    if task.set_up and not task.one_go:
        return without_short_days(mask, people, task.set_up)
    return mask


def open_courses(
    task: Activity, ticks: int, useful: Mask, people: Sequence[Person]
) -> Courses:
    """Return every course that the hours of the task's team allow.

    `ticks` is the progress that the task needs, `useful` the mask of `useful_mask`.
    """
    if not task.one_go:
        return courses(useful, people, ticks, task.set_up)
    at, length = np.flatnonzero(useful), ticks + task.set_up
    if len(at) < length:
        return Courses(starts=at[:0], ends=at[:0])
    starts, ends = at[: len(at) - length + 1], at[length - 1 :] + 1
    through = ends - starts == length
    return Courses(starts=starts[through], ends=ends[through])


def allowed_courses(
    task: Activity,
    ticks: int,
    useful: Mask,
    lookups: dict[str, Ints],
    people: Sequence[Person],
) -> Courses:
    """Return the courses that the task's own rules allow its team.

    These rules are the team's hours and rests, one go, starts that are closed, and
    holds. The other tasks aren't looked at.
    """
    found = open_courses(task, ticks, useful, people)
    horizon = len(useful)
    keep = np.ones(len(found.starts), dtype=np.bool_)
    for block in task.no_start:
        keep &= ~block.ticks.mask(horizon)[:horizon][found.starts]
    for hold in task.holds:
        keep &= held(hold, found.starts, found.ends, lookups, horizon)
    return found.cut(keep)


def held(
    hold: Hold, starts: Ints, ends: Ints, lookups: dict[str, Ints], horizon: int
) -> Mask:
    """Return for each start and end whether the hold is kept."""
    bad = np.concatenate(([0], np.cumsum(hold.bad.mask(horizon)[:horizon])))
    until = lookups[hold.until][ends]
    within: Mask = until <= horizon
    kept: Mask = within & (bad[np.minimum(until, horizon)] == bad[starts])
    return kept


def lookup_arrays(lookups: Iterable[Lookup], horizon: int) -> dict[str, Ints]:
    """Return the look-ups as arrays by name; the empty name stands for no wait."""
    arrays = {k.name: np.array(k.over, dtype=np.int64) for k in lookups}
    arrays[""] = np.arange(horizon + 1, dtype=np.int64)
    return arrays


def near_shifts(person: Person) -> list[tuple[int, int]]:
    """Return the pairs of shifts that lie nearer to each other than the rest."""
    shifts = shifts_of(person).items
    found = []
    for i, (_, end) in enumerate(shifts):
        for j in range(i + 1, len(shifts)):
            if shifts[j][0] - end >= person.rest:
                break
            found.append((i, j))
    return found
