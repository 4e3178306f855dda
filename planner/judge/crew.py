"""People: trades, one place at a time, open hours, rest between shifts."""

from collections.abc import Iterable, Iterator
from datetime import date, datetime, timedelta
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from planner.judge.case import JudgedPlan, Mask, Seconds, joined, runs_of
from planner.nouns.job import CrewMember, Shift
from planner.nouns.plan import Crewmate, PlannedTask

BREAK_S = 6 * 3600  # hours less than that apart are one shift (examples/GUIDE.md)


def _line(case: JudgedPlan, day: date, shift: Shift) -> list[Seconds]:
    """Return the stretches of a shift; past midnight its clock runs on a day later."""
    out: list[Seconds] = []
    late = timedelta(0)
    for start, end in shift.hours:
        begin = case.clock(day + late, start)
        if end <= start:
            late += timedelta(days=1)
        out.append((begin, case.clock(day + late, end)))
    return out


def _one_shift(hulls: list[Seconds]) -> list[Seconds]:
    """Return hours as shifts: those that nobody could sleep between are one."""
    longer = joined((start, end + BREAK_S - 1) for start, end in hulls)
    return [(start, end - BREAK_S + 1) for start, end in longer]


class Crew:
    """The open hours of everybody, worked out from shifts and calendars alone."""

    def __init__(self, case: JudgedPlan) -> None:
        self.case = case
        off = {day for day, _ in case.inputs.hours.holidays}
        days = [day for day, _, _ in case.local_days() if day not in off]
        self.shifts: dict[str, list[Seconds]] = {}
        self.open: dict[str, Mask] = {}
        for person in case.job.crew:
            hours: list[Seconds] = []
            hulls: list[Seconds] = []
            for day in days:
                for shift in person.shifts:
                    if day.weekday() not in shift.weekdays:
                        continue
                    line = _line(case, day, shift)
                    hours += line
                    hulls.append((line[0][0], line[-1][1]))
            busy = [
                (case.at(b.start), case.at(b.end))
                for b in case.inputs.hours.people.get(person.id, ())
            ]
            self.open[person.id] = case.within(hours) & ~case.touched(busy)
            self.shifts[person.id] = _one_shift(hulls)

    def faults(self) -> Iterator[str]:
        """Yield what is wrong with who works when."""
        for task in self.case.plan.tasks:
            if not self.case.happened(task):
                yield from self._team(task)
                yield from self._hours(task)
        for person in self.case.job.crew:
            yield from self._places(person)
            yield from self._rest(person)
        yield from self._said()

    def _team(self, task: PlannedTask) -> Iterator[str]:
        case, title = self.case, f'"{task.title}"'
        if not task.team:
            yield f"{title}: nobody does it"
        if len(set(task.team)) < len(task.team):
            yield f"{title}: somebody is named twice in its team"
        trades = {p: set(case.people[p].trades) for p in task.team if p in case.people}
        for person in task.team:
            if person not in trades:
                yield f"{title}: {person} is none of the crew"
            elif not trades[person] & {*task.lead, *task.help}:
                yield (
                    f"{title}: {case.name(person)} has none of its trades, "
                    f"{', '.join({*task.lead, *task.help})}"
                )
        if task.team and not any(t & set(task.lead) for t in trades.values()):
            yield f"{title}: nobody in the team is a {' or '.join(task.lead)} to lead it"

    def _hours(self, task: PlannedTask) -> Iterator[str]:
        case = self.case
        for stretch in task.spans:
            first, last = case.tick(stretch[0]), case.tick(stretch[1])
            for person in task.team:
                if person in self.open and not self.open[person][first:last].all():
                    yield (
                        f'"{task.title}": {case.name(person)} is not open all of '
                        f"{case.span(stretch)}"
                    )

    def worked(self, person: str) -> list[tuple[int, int, PlannedTask]]:
        """Return what a person works, in order: seconds from and to, and the task."""
        return sorted(
            (
                (self.case.at(a), self.case.at(b), t)
                for t in self.case.plan.tasks
                if person in t.team
                for a, b in t.spans
            ),
            key=lambda x: x[:2],
        )

    def _places(self, person: CrewMember) -> Iterator[str]:
        """Yield where somebody is in two places; a pause between stretches is free."""
        for (_, end, one), (start, _, two) in pairwise(self._stays(person)):
            if start < end and self._is_to_come(two, start):
                yield (
                    f'{person.name} is in two places: at "{one.title}" until '
                    f'{self.case.when(self.case.moment(end))} and at "{two.title}" '
                    f"from {self.case.when(self.case.moment(start))}"
                )

    def _is_to_come(self, task: PlannedTask, start: int) -> bool:
        """Tell whether a plan is free to say that somebody is at a task from a moment."""
        now = self.case.now
        ahead = now is not None and start >= self.case.at(now)
        return ahead or not self.case.happened(task)

    def _stays(self, person: CrewMember) -> list[tuple[int, int, PlannedTask]]:
        """Return how long each task holds a person: from its start to its end.

        One that was stopped holds nobody until it goes on.
        """
        return sorted(
            (
                (self.case.at(self._goes_on(t)), self.case.at(t.end), t)
                for t in self.case.plan.tasks
                if person.id in t.team
            ),
            key=lambda x: x[:2],
        )

    def _goes_on(self, task: PlannedTask) -> datetime:
        """Return when a task begins; of one under way, when what is left of it does."""
        now = self.case.now
        left = [a for a, b in task.spans if now is not None and b > now]
        under_way = self.case.happened(task) and left
        return max(left[0], now) if under_way and now is not None else task.start

    def _rest(self, person: CrewMember) -> Iterator[str]:
        """Yield rests that are too short, from the last work of a shift to the next."""
        spent: dict[int, list[int]] = {}
        for start, end, _ in self.worked(person.id):
            shift = next(
                (
                    i
                    for i, (a, b) in enumerate(self.shifts[person.id])
                    if a <= start < b
                ),
                None,
            )
            if shift is not None:
                spent.setdefault(shift, []).extend((start, end))
        for (_, one), (_, two) in pairwise(sorted(spent.items())):
            rest_h = (min(two) - max(one)) / 3600
            now = self.case.now
            if now is not None and min(two) < self.case.at(now):
                continue
            if rest_h < person.rest_h - 1e-9:
                yield (
                    f"{person.name} rests {rest_h:g} h before "
                    f"{self.case.when(self.case.moment(min(two)))}, "
                    f"not {person.rest_h:g} h"
                )

    def days(self, team: Iterable[str]) -> NDArray[np.int64]:
        """Return a number for each tick that changes when one of a team's shifts begins.

        So a team's day, what lies between two nights, has one number.
        """
        begins = np.zeros(self.case.ticks, dtype=np.bool_)
        for person in team:
            for start, _ in self.shifts.get(person, ()):
                begins[min(max(start // self.case.step, 0), len(begins) - 1)] = True
        return np.cumsum(begins)

    def resting(self, person: str) -> Mask:
        """Return the ticks in which a person rests, by the plan's word."""
        case = self.case
        rests = [r for c in case.plan.crew if c.id == person for r in c.rests]
        return case.touched(case.seconds(rests))

    def _rests_said(self, person: CrewMember, mate: Crewmate) -> Iterator[str]:
        """Yield rests of the plan that are none: no such night, too long, or worked in."""
        case, own = self.case, self.worked(person.id)
        rest = person.rest_h * 3600
        nights = [(one[1], two[0]) for one, two in pairwise(self.shifts[person.id])]
        for start, end in case.seconds(mate.rests):
            said = f"{person.name}: the rest {case.span((case.moment(start), case.moment(end)))}"
            over = [(a, b) for a, b in nights if start <= a and b <= end]
            if not over:
                yield f"{said} is over no night"
            elif all(b - a >= rest for a, b in over):
                yield f"{said} is over a night that is long enough"
            most = (len(over) + 1) * (rest + case.step)
            if not rest - 1e-6 <= end - start < most:
                yield f"{said} is no rest of {person.rest_h:g} h"
            if any(a < end and start < b for a, b, _ in own):
                yield f"{said} is worked in"
            if all(b != start for _, b, _ in own) and all(a != end for a, _, _ in own):
                yield f"{said} neither follows work nor leads to it"

    def _said(self) -> Iterator[str]:
        """Yield where the plan's page of a person isn't what the job says."""
        case = self.case
        said = {c.id: c for c in case.plan.crew}
        for person in case.job.crew:
            if person.id not in said:
                yield f"{person.name} is missing from the plan's crew"
                continue
            mate = said.pop(person.id)
            yield from self._mate(person, mate)
        for mate in said.values():
            yield f"{mate.name} is in the plan's crew, but not in the job's"

    def paid(self, person: str) -> tuple[int, int]:
        """Return the seconds that a person works, and those that are paid.

        Paid are, of each shift, the open ones from the first work to the last.
        """
        own = self.worked(person)
        step = self.case.step
        worked = np.zeros(self.case.ticks, dtype=np.bool_)
        for start, end, _ in own:
            worked[start // step : end // step] = True
        waited = np.zeros(self.case.ticks, dtype=np.bool_)
        for start, end in self.shifts[person]:
            inside = [
                (max(a, start), min(b, end)) for a, b, _ in own if a < end and start < b
            ]
            if inside:
                first, last = min(a for a, _ in inside), max(b for _, b in inside)
                waited[first // step : last // step] = True
        waited &= self.open[person] & ~worked
        return int(worked.sum()) * step, int((worked | waited).sum()) * step

    def _mate(self, person: CrewMember, mate: Crewmate) -> Iterator[str]:
        case = self.case
        if (mate.name, set(mate.trades), mate.rest_h) != (
            person.name,
            set(person.trades),
            person.rest_h,
        ):
            yield f"{person.name}: name, trades or rest are not as in the job"
        yield from self._rests_said(person, mate)
        shown = case.within(case.seconds(mate.open))
        wrong = runs_of(shown ^ self.open[person.id])
        if wrong:
            first = case.span((case.of_tick(wrong[0][0]), case.of_tick(wrong[0][1])))
            yield f"{person.name}: open hours are shown wrong, first {first}"
        own = self.worked(person.id)
        worked_s, paid_s = self.paid(person.id)
        minutes = worked_s // 60
        if minutes != mate.worked_min:
            yield (
                f"{person.name}: {mate.worked_min} min are said to be worked, the "
                f"plan has {minutes}"
            )
        waited = (paid_s - worked_s) // 60
        if waited != mate.idle_min:
            yield (
                f"{person.name}: {mate.idle_min} min are said to be waited between "
                f"tasks, the plan has {waited}"
            )
        called = sum(
            any(a < end and start < b for start, end, _ in own)
            for a, b in self.shifts[person.id]
            if self.open[person.id][a // case.step : b // case.step].any()
        )  # nobody is called for a shift that they are away from, even if they came
        if called != mate.days_called:
            yield (
                f"{person.name}: {mate.days_called} shifts are said to be called, the "
                f"plan has {called}"
            )
