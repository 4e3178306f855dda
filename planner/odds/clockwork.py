"""When a team can begin a task and when it is done, in many futures at once.

The working days of a team are worked out once; then begin and end of thousands of
futures are looked up together.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from planner.schedule.problem.parts import Activity, Person
from planner.schedule.space.days import day_numbers, shifts_of

Ints = NDArray[np.int64]
Mask = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TeamTime:
    """The working time of one team at one task.

    `at` are the workable ticks, in order, `day` the team's day of each. A piece of work
    begins at one of them; on the days after, work goes on in `on`, from which the
    mornings are taken that rest needs after a full day. `gained[k]` is the progress of
    all days before day k, worked in full, and `reached[n]` the tick in which the n-th
    tick of progress is made in days worked in full. `start[t]` is the place in `at` of
    the first start from tick t on; one past the end of `at` means never.

    All of them are tables over whole ticks, so that a look-up in thousands of futures
    costs a single indexing.
    """

    horizon: int
    set_up: int
    one_go: bool
    at: Ints
    day: Ints
    first: Ints  # place in `at` at which each day begins; one more at the end
    run: Ints  # open ticks on end from each of `at`, in one day
    gained: Ints
    reached: Ints
    start: Ints

    def begin(self, not_before: Ints) -> Ints:
        """Return the places in `at` of the first starts from the given ticks on."""
        places: Ints = self.start[np.minimum(not_before, self.horizon)]
        return places

    def tick(self, place: Ints) -> Ints:
        """Return the tick of each start; the horizon where there is none."""
        ticks: Ints = self.at[place]
        return ticks

    def end(self, place: Ints, ticks: Ints) -> Ints:
        """Return the tick after the last one worked, for `ticks` of progress each.

        A task in one go that takes longer than its stretch of open hours is finished
        all the same. One past the horizon stands for: not within it.
        """
        if self.one_go:
            end = self.at[place] + self.set_up + ticks
        else:
            end = self._over_days(place, ticks)
        never = place >= len(self.at) - 1
        return np.where(never, self.horizon + 1, np.minimum(end, self.horizon + 1))

    def past_hours(self, start: Ints, ticks: Ints) -> Ints:
        """Return how far work in one go outlasts its open hours. [ticks]."""
        if not self.one_go:
            return np.zeros(len(start), dtype=np.int64)
        place = np.searchsorted(self.at, start)
        past: Ints = np.maximum(self.set_up + ticks - self.run[place], 0)
        return past

    def _over_days(self, place: Ints, ticks: Ints) -> Ints:
        day = self.day[place]
        today = self.first[day + 1] - place - self.set_up
        last = np.minimum(place + self.set_up + ticks, len(self.at)) - 1
        need = np.clip(self.gained[day + 1] + ticks - today, 0, len(self.reached) - 1)
        end: Ints = np.where(ticks <= today, self.at[last], self.reached[need]) + 1
        return end


def team_time(
    task: Activity,
    team: Iterable[Person],
    *,
    may_begin: Mask,
    may_work: Mask,
    ticks: int,
) -> TeamTime:
    """Return the working time of a team at a task.

    `may_begin` and `may_work` hold one entry for each tick of the horizon: where the
    task may begin, and where it may be worked on. `ticks` of progress are what the
    plan expects of it: a task in one go only begins where so much fits in.
    """
    people = tuple(team)
    horizon = len(may_work)
    open_to_all = may_work.copy()
    rested = may_work.copy()
    for person in people:
        mine = person.open.mask(horizon)
        open_to_all &= mine
        rested &= mine & _after_rest(person, horizon)
    at = np.flatnonzero(open_to_all)
    day = day_numbers(at, people)
    days = int(day[-1]) + 1 if len(at) else 0
    first = np.searchsorted(day, np.arange(days + 1))
    on = np.flatnonzero(rested)
    on_day = day[np.searchsorted(at, on)]
    on_first = np.searchsorted(on_day, np.arange(days + 1))
    gain = np.maximum(np.diff(on_first) - task.set_up, 0)
    run = _run(at, day)
    left = first[day + 1] - np.arange(len(at))
    fits = run >= task.set_up + ticks if task.one_go else left > task.set_up
    good = fits & may_begin[at]
    nearest = np.append(np.where(good, np.arange(len(at)), len(at)), len(at))
    nearest = np.minimum.accumulate(nearest[::-1])[::-1]
    gained = np.concatenate(([0], np.cumsum(gain)))
    return TeamTime(
        horizon=horizon,
        set_up=task.set_up,
        one_go=task.one_go,
        at=np.append(at, horizon),
        day=np.append(day, days),
        first=np.append(first, len(at)),
        run=np.append(run, 0),
        gained=np.append(gained, gained[-1]),
        reached=_reached(on, on_first, task.set_up, horizon),
        start=nearest[np.searchsorted(at, np.arange(horizon + 1))],
    )


def _reached(on: Ints, on_first: Ints, set_up: int, horizon: int) -> Ints:
    """Return the tick in which each tick of progress is made, in days worked in full.

    Progress is counted from 1; more than there is lies at the horizon.
    """
    number = np.arange(len(on))
    day = np.searchsorted(on_first, number, side="right") - 1
    makes_progress = number - on_first[day] >= set_up
    return np.concatenate(([0], on[makes_progress], [horizon]))


def _after_rest(person: Person, horizon: int) -> Mask:
    """Return the ticks that a person may work who worked the shift before to its end."""
    out = np.ones(horizon, dtype=np.bool_)
    shifts = shifts_of(person).items
    for (_, end), (start, _) in pairwise(shifts):
        out[start : max(start, end + person.rest)] = False
    return out


def _run(at: Ints, day: Ints) -> Ints:
    """Return how many ticks of one day follow each other from each tick on."""
    if not len(at):
        return np.zeros(0, dtype=np.int64)
    breaks = np.flatnonzero((np.diff(at) > 1) | (np.diff(day) > 0)) + 1
    ends = np.append(breaks, len(at))
    return ends[np.searchsorted(ends, np.arange(len(at)), side="right")] - np.arange(
        len(at)
    )
