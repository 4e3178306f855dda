"""Pausable work, day by day: set up again on each day, cut short where rest demands it.

A *day* of a team is the time between two nights: ticks in which each of the team is in
the same shift throughout. A *piece* is what is worked of a task in one day. The first
`set_up` ticks of each piece give no progress, so a day with no more workable ticks than
that is left out. If the night between two shifts is shorter than the rest of one of the
team, people stop early or begin late. The course is chosen by which the task ends
soonest; of such courses, the one whose last morning begins latest, then the morning
before it, and so on.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.hours.spans import Spans
from planner.schedule.problem.parts import Person

Ints = NDArray[np.int64]
Mask = NDArray[np.bool_]

NEVER = -(10**9)  # stands for progress that can't be reached


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Courses:
    """A task's possible courses with a team: start and end of each, starts rising.

    `rests` holds for each course the stretches [from, to) of workable ticks that are
    not worked, for the sake of rest. Rows are filled up to the same length with empty
    stretches. If `rests` is None, no course has any.
    """

    starts: Ints
    ends: Ints
    rests: Ints | None = None

    def cut(self, keep: Mask) -> "Courses":
        """Return some of the courses, by number."""
        return Courses(
            starts=self.starts[keep],
            ends=self.ends[keep],
            rests=None if self.rests is None else self.rests[keep],
        )


def shifts_of(person: Person) -> Spans:
    """Return the person's shifts; if none are given, each open span is one."""
    return person.shifts or person.open


def shift_numbers(person: Person, at: Ints) -> Ints:
    """Return for each tick the number of its shift, or of the last one before it."""
    begins = np.array([start for start, _ in shifts_of(person)], dtype=np.int64)
    return np.searchsorted(begins, at, side="right")


def day_numbers(at: Ints, people: Iterable[Person]) -> Ints:
    """Return for each workable tick of the team the number of its day."""
    later = np.zeros(len(at), dtype=np.bool_)
    for person in people:
        later[1:] |= np.diff(shift_numbers(person, at)) > 0
    return np.cumsum(later)


def without_short_days(workable: Mask, people: Iterable[Person], set_up: int) -> Mask:
    """Return the workable ticks, without the days that only setting up would fill."""
    at = np.flatnonzero(workable)
    day = day_numbers(at, people)
    left = np.zeros(len(workable), dtype=np.bool_)
    left[at[np.bincount(day)[day] > set_up]] = True
    return left


def courses(
    workable: Mask, people: Sequence[Person], ticks: int, set_up: int
) -> Courses:
    """Return every course of a pausable task that the team's hours allow.

    Parameters
    ----------
    workable
        The ticks in which the team could work, without the days that are too short.
    people
        The team.
    ticks
        The ticks of progress that the task needs.
    set_up
        The ticks at the beginning of each piece that give no progress.
    """
    at = np.flatnonzero(workable)
    if len(at) < ticks + set_up:
        return Courses(starts=at[:0], ends=at[:0])
    if _short_nights(at, people):
        return _Nights(at, people, ticks, set_up).courses()
    if set_up:
        return _day_by_day(at, day_numbers(at, people), ticks, set_up)
    return Courses(starts=at[: len(at) - ticks + 1], ends=at[ticks - 1 :] + 1)


def rest_between(people: Iterable[Person], one: Ints, two: Ints) -> Ints:
    """Return the rest needed between two ticks of a team; 0 if both are in one day."""
    rest = np.zeros(np.broadcast(one, two).shape, dtype=np.int64)
    for person in people:
        if person.rest:
            apart = shift_numbers(person, one) != shift_numbers(person, two)
            rest = np.maximum(rest, np.where(apart, person.rest, 0))
    return rest


def _short_nights(at: Ints, people: Iterable[Person]) -> bool:
    """Tell whether some night is shorter than the rest of one of the team."""
    return bool((np.diff(at) - 1 < rest_between(people, at[:-1], at[1:])).any())


def _day_by_day(at: Ints, day: Ints, ticks: int, set_up: int) -> Courses:
    """Return the courses of a team for whom every night is long enough to rest."""
    last = np.flatnonzero(np.diff(day, append=day[-1] + 1))
    first = np.concatenate(([0], last[:-1] + 1))
    done = np.cumsum(
        last - first + 1 - set_up
    )  # progress by the end of each day, if begun before it
    here = np.arange(len(at))
    today = last[day] - here + 1 - set_up  # progress of a piece until the day's end
    here, day, today = here[today > 0], day[today > 0], today[today > 0]
    end = here + set_up + ticks - 1
    left = ticks - today
    on = np.searchsorted(done, done[day] + left)
    goes_on, within = left > 0, (left <= 0) | (on < len(done))
    on = np.minimum(on, len(done) - 1)
    before = done[np.maximum(on - 1, 0)]
    later = first[on] + set_up + left - (before - done[day]) - 1
    end = np.where(goes_on, later, end)[within]
    return Courses(starts=at[here[within]], ends=at[end] + 1)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Day:
    """What is known of a day, for the courses from `low` on that began before it.

    `begun[c, y]` is the most progress that course c can have when its piece of this
    day begins at the day's tick y, `best[c, y]` the most less y when it begins by
    then. After the last y that they hold, begun stays what it is there: the rest since
    the days before is over, however late they were worked.
    """

    first: int
    at: Ints
    low: int
    begun: Ints
    best: Ints

    @property
    def high(self) -> int:
        """The first course that doesn't begin by the end of the day."""
        return self.first + len(self.at)


class _Nights:
    """Courses of a team with nights that are shorter than somebody's rest.

    All courses, numbered by their start among the workable ticks, are worked out
    together, from day to day. Having made more progress by a tick is never worse, so
    only the most progress by each tick needs to be kept.
    """

    def __init__(
        self, at: Ints, people: Sequence[Person], ticks: int, set_up: int
    ) -> None:
        day = day_numbers(at, people)
        self.at, self.ticks, self.set_up = at, ticks, set_up
        last = np.flatnonzero(np.diff(day, append=day[-1] + 1))
        self.last = last
        self.first = np.concatenate(([0], last[:-1] + 1))
        resting = [p for p in people if p.rest]
        self.rests = np.array([p.rest for p in resting], dtype=np.int64)
        self.shifts = np.array([shift_numbers(p, at[self.first]) for p in resting])
        self.days: dict[int, _Day] = {}
        self.end = np.full(len(at), -1, dtype=np.int64)
        self.taken: list[tuple[Ints, Ints, Ints]] = []  # course, rest from, rest to

    def courses(self) -> Courses:
        """Return the courses that come to an end."""
        carried = np.full(len(self.at), NEVER, dtype=np.int64)
        low = far = 0
        for k in range(len(self.first)):
            while low < self.first[k] and self.end[low] >= 0:
                low += 1
            longest = int(self.rests.max())
            while (
                self._gap(far, k) >= longest
            ):  # long enough to rest, whatever was worked
                day = self.days[far]
                rows = np.arange(day.low, day.high)
                done = self._done(day, rows, np.array(len(day.at) - 1))
                carried[rows] = np.maximum(carried[rows], done)
                far += 1
            self.days[k] = self._day(k, low, far, carried)
            self._finish(k)
            for old in [d for d in self.days if self.last[d] < low and d < far]:
                del self.days[old]
        found = self.end >= 0
        return Courses(
            starts=self.at[found],
            ends=self.at[self.end[found]] + 1,
            rests=self._rests(np.cumsum(found) - 1, int(found.sum())),
        )

    def _gap(self, one: int, two: int) -> int:
        """Return the ticks between two days."""
        return int(self.at[self.first[two]] - self.at[self.last[one]]) - 1

    def _stops(self, one: int, two: int) -> Ints:
        """Return, for each tick of day `two`, where to stop in day `one`; or -1."""
        apart = self.shifts[:, one] != self.shifts[:, two]
        rest = int(self.rests[apart].max(initial=0))
        stops = self.days[one].at
        at = self.at[self.first[two] : self.last[two] + 1]
        return np.searchsorted(stops, at - 1 - rest, side="right") - 1

    def _done(self, day: _Day, rows: Ints, stops: Ints) -> Ints:
        """Return the most progress of courses when a day's piece ends with a tick.

        Courses and ticks of the day (-1: none) are broadcast together.
        """
        rows, begin = np.broadcast_arrays(rows, stops - self.set_up)
        own = rows - day.first  # the tick at which it begins, where it does so this day
        done = np.where(own <= begin, begin + 1 - own, NEVER)
        old = own < 0
        if old.any():
            until = np.clip(begin[old], 0, day.best.shape[1] - 1)
            done[old] = day.best[rows[old] - day.low, until] + begin[old] + 1
        done[begin < 0] = NEVER
        return done

    def _day(self, k: int, low: int, far: int, carried: Ints) -> _Day:
        first, size = int(self.first[k]), int(self.last[k] - self.first[k]) + 1
        stops = {j: self._stops(j, k) for j in range(far, k)}
        rested = [
            int(np.searchsorted(stops[j], len(self.days[j].at) - 1)) for j in stops
        ]
        width = min(max(rested, default=0) + 1, size)
        begun = np.repeat(carried[low:first, None], width, axis=1)
        for j, stopped in stops.items():
            rows = np.arange(low, self.days[j].high)
            if len(rows):
                came = self._done(self.days[j], rows[:, None], stopped[:width])
                begun[: len(rows)] = np.maximum(begun[: len(rows)], came)
        best = np.maximum.accumulate(begun - np.arange(width), axis=1)
        at = self.at[first : first + size]
        return _Day(first=first, at=at, low=low, begun=begun, best=best)

    def _finish(self, k: int) -> None:
        """Note the end of each course that is done in a day, and where it rested."""
        day = self.days[k]
        begin = np.arange(day.best.shape[1])
        left = self.set_up + self.ticks - 1
        old = np.maximum(begin + self.set_up, left - day.best).min(axis=1)
        stop = np.concatenate((old, np.arange(len(day.at)) + left))
        rows = np.arange(day.low, day.high)
        enough = (stop < len(day.at)) & (self.end[rows] < 0)
        rows, stop = rows[enough], stop[enough]
        if not len(rows):
            return
        self.end[rows] = day.first + stop
        open_ = {k: [(rows, stop, np.full(len(rows), self.ticks))]}
        for j in range(k, -1, -1):
            for back in self._back(j, open_.pop(j, [])):
                open_.setdefault(back[0], []).append(back[1:])
            if not open_:
                break

    def _back(
        self, k: int, found: list[tuple[Ints, Ints, Ints]]
    ) -> Iterator[tuple[int, Ints, Ints, Ints]]:
        """Yield backwards: the day before, courses, where they stopped, progress."""
        if not found:
            return
        rows, stop, progress = (np.concatenate(c) for c in zip(*found, strict=True))
        day = self.days[k]
        on = rows < day.first
        rows, stop, progress = rows[on], stop[on], progress[on]
        ticks = np.arange(day.begun.shape[1])
        length = stop[:, None] - ticks + 1 - self.set_up
        begun = day.begun[rows - day.low]
        fits = (begun + length == progress[:, None]) & (length > 0)
        begin = len(ticks) - 1 - np.argmax(fits[:, ::-1], axis=1)
        before = begun[np.arange(len(rows)), begin]
        for j in range(k - 1, -1, -1):
            if not len(rows):
                return
            one = self.days[j]
            stops = self._stops(j, k)[begin]
            there = (rows < one.high) & (stops >= 0)
            there[there] = self._done(one, rows[there], stops[there]) == before[there]
            if there.any():
                last, next_ = one.first + stops[there], day.first + begin[there]
                cut = next_ - last > 1
                self.taken.append(
                    (rows[there][cut], self.at[last[cut]] + 1, self.at[next_[cut]])
                )
                yield j, rows[there], stops[there], before[there]
                rows, begin, before = rows[~there], begin[~there], before[~there]

    def _rests(self, number: Ints, count: int) -> Ints | None:
        """Return the `count` stretches of rest of each course."""
        rows, since, until = (
            (np.concatenate(c) for c in zip(*self.taken, strict=True))
            if self.taken
            else (np.empty(0, dtype=np.int64),) * 3
        )
        if not len(rows):
            return None
        order = np.lexsort((since, rows))
        rows, since, until = number[rows[order]], since[order], until[order]
        place = np.arange(len(rows)) - np.searchsorted(rows, rows)
        rests = np.zeros((count, int(place.max()) + 1, 2), dtype=np.int64)
        rests[rows, place, 0] = since
        rests[rows, place, 1] = until
        return rests


def undominated(found: Courses, people: Sequence[Person]) -> Courses:
    """Return the courses, without those that another course makes needless.

    A course is needless if another one starts later and ends no later, and starts on
    the same day or after the team has rested in between. Then whatever fits before and
    after the needless course also fits before and after the other.
    """
    starts, ends = found.starts, found.ends
    soonest = np.minimum.accumulate(ends[::-1])[::-1]
    keep = np.ones(len(starts), dtype=np.bool_)
    for i in np.flatnonzero(soonest[1:] <= ends[:-1]).tolist():
        later = i + 1 + np.flatnonzero(ends[i + 1 :] <= ends[i])
        rest = rest_between(people, starts[i : i + 1], starts[later])
        keep[i] = not (starts[later] - starts[i] >= rest).any()
    return found.cut(keep)


def rising(found: Courses) -> Iterator[Courses]:
    """Yield the courses in parts; within each part a later start never ends earlier."""
    while len(found.starts):
        soonest = np.minimum.accumulate(found.ends[::-1])[::-1]
        keep = np.ones(len(found.starts), dtype=np.bool_)
        keep[:-1] = found.ends[:-1] < soonest[1:]
        yield found.cut(keep)
        found = found.cut(~keep)
