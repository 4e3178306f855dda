"""When a team can begin a task and when it is done, in many futures at once.

The working days of a team are worked out once; then begin and end of thousands of
futures are looked up together.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from planner.schedule.problem.parts import Person
from planner.schedule.space.days import day_numbers, shifts_of

Ints = NDArray[np.int64]
Mask = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TeamDays:
    """The days of one team, for work that takes `set_up` ticks on each.

    `at` are the workable ticks, in order, `day` the team's day of each. A piece of work
    begins at one of them; on the days after, work goes on in those from which the
    mornings are taken that rest needs after a full day. `gained[k]` is the progress of
    all days before day k, worked in full, and `reached[n]` the tick in which the n-th
    tick of progress is made in days worked in full.
    """

    horizon: int
    set_up: int
    at: Ints  # one more at the end: the horizon
    day: Ints
    first: Ints  # place in `at` at which each day begins; one more at the end
    run: Ints  # open ticks on end from each of `at`, in one day
    gained: Ints
    reached: Ints

    def day_in(self, tick: Ints) -> Ints:
        """Return the team's day in which each workable tick lies."""
        days: Ints = self.day[np.searchsorted(self.at, tick)]
        return days


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TeamTime:
    """The working time of one team at one task.

    `start[t]` is the place in the days' `at` of the first start from tick t on, whether
    due or not; one past the end of `at` means never. Before it is `due`, a task begins
    only where `early` has a start, likewise; None: nowhere. All look-ups are tables over
    whole ticks, so that one in thousands of futures costs a single indexing.
    """

    days: TeamDays
    one_go: bool
    start: Ints
    due: int = 0  # tick
    early: Ints | None = None

    def begin(self, not_before: Ints) -> Ints:
        """Return the places in `at` of the first starts from the given ticks on."""
        since = np.minimum(not_before, self.days.horizon)
        places: Ints = self.start[np.maximum(since, self.due)]
        if self.early is not None:
            places = np.minimum(places, self.early[since])
        return places

    def beginning(self, due: int, *, called: Mask | None) -> "TeamTime":
        """Return the same with starts from a tick on; before it, where it is `called`.

        `called` holds one entry for each tick of the horizon; None: not before.
        """
        early = None
        if called is not None:
            first = self.start[:-1]
            here = self.days.at[first] == np.arange(self.days.horizon)
            early = _following(self.days, first[here & called])
        return replace(self, due=min(due, self.days.horizon), early=early)

    def tick(self, place: Ints) -> Ints:
        """Return the tick of each start; the horizon where there is none."""
        ticks: Ints = self.days.at[place]
        return ticks

    def end(self, place: Ints, ticks: Ints | int) -> Ints:
        """Return the tick after the last one worked, for `ticks` of progress each.

        A task in one go that takes longer than its stretch of open hours is finished
        all the same. One past the horizon stands for: not within it.
        """
        days = self.days
        if self.one_go:
            end = days.at[place] + days.set_up + ticks
        else:
            end = _over_days(days, place, ticks)
        never = place >= len(days.at) - 1
        return np.where(never, days.horizon + 1, np.minimum(end, days.horizon + 1))

    def past_hours(self, place: Ints, ticks: Ints) -> Ints:
        """Return how far work in one go outlasts its open hours. [ticks]."""
        if not self.one_go:
            return np.zeros(len(place), dtype=np.int64)
        past: Ints = np.maximum(self.days.set_up + ticks - self.days.run[place], 0)
        return past


def _over_days(days: TeamDays, place: Ints, ticks: Ints | int) -> Ints:
    day = days.day[place]
    today = days.first[day + 1] - place - days.set_up
    last = np.minimum(place + days.set_up + ticks, len(days.at)) - 1
    need = np.maximum(days.gained[day + 1] + ticks - today, 0)
    need = np.minimum(need, len(days.reached) - 1)
    end: Ints = np.where(ticks <= today, days.at[last], days.reached[need]) + 1
    return end


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PersonHours:
    """When a person may work, and may work who worked the shift before to its end."""

    person: Person
    open: Mask
    rested: Mask


def person_hours(person: Person, horizon: int) -> PersonHours:
    """Return a person's hours within the horizon."""
    mine = person.open.mask(horizon)
    rested = mine & _after_rest(person, horizon)
    return PersonHours(person=person, open=mine, rested=rested)


def team_days(set_up: int, team: Sequence[PersonHours], may_work: Mask) -> TeamDays:
    """Return the days of a team; `may_work` holds one entry for each tick."""
    horizon = len(may_work)
    open_to_all, rested = may_work.copy(), may_work.copy()
    for hours in team:
        open_to_all &= hours.open
        rested &= hours.rested
    at = np.flatnonzero(open_to_all)
    day = day_numbers(at, [hours.person for hours in team])
    days = int(day[-1]) + 1 if len(at) else 0
    first = np.searchsorted(day, np.arange(days + 1))
    on = np.flatnonzero(rested)
    on_day = day[np.searchsorted(at, on)]
    on_first = np.searchsorted(on_day, np.arange(days + 1))
    gain = np.maximum(np.diff(on_first) - set_up, 0)
    gained = np.concatenate(([0], np.cumsum(gain)))
    return TeamDays(
        horizon=horizon,
        set_up=set_up,
        at=np.append(at, horizon),
        day=np.append(day, days),
        first=np.append(first, len(at)),
        run=np.append(_run(at, day), 0),
        gained=np.append(gained, gained[-1]),
        reached=_reached(on, on_first, set_up, horizon),
    )


def team_time(days: TeamDays, *, one_go: bool, may_begin: Mask, ticks: int) -> TeamTime:
    """Return the working time of a team at a task.

    `may_begin` holds one entry for each tick of the horizon. `ticks` of progress are
    what the plan expects of the task: one in one go only begins where so much fits in.
    """
    at, day, run = days.at[:-1], days.day[:-1], days.run[:-1]
    left = days.first[day + 1] - np.arange(len(at))
    fits = run >= days.set_up + ticks if one_go else left > days.set_up
    places = np.flatnonzero(fits & may_begin[at])
    return TeamTime(days=days, one_go=one_go, start=_following(days, places))


def _following(days: TeamDays, places: Ints) -> Ints:
    """Return for each tick the first of these places from then on, or one past the end."""
    # of each tick: how many of these places lie before it
    before = np.zeros(days.horizon + 1, dtype=np.int64)
    before[days.at[places] + 1] = 1
    following: Ints = np.append(places, len(days.at) - 1)[np.cumsum(before)]
    return following


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
