"""Each task by itself: its kind of work, when it is worked, its labour, its place."""

import math
from collections.abc import Iterator
from itertools import pairwise

import numpy as np

from planner.judge import lifts
from planner.judge.case import JudgedPlan, Mask, runs_of
from planner.judge.crew import Crew
from planner.judge.methods import Room
from planner.judge.rates import JudgedRate, rates
from planner.nouns.plan import PlannedTask

ROUNDED_H = 0.0006  # a plan writes person-hours to a thousandth


class Works:
    """What the labour data and the calendars of the stage say of each task."""

    def __init__(self, case: JudgedPlan, crew: Crew, room: Room) -> None:
        self.case, self.crew = case, crew
        self.lifters = lifts.least(case, room)
        self.rates = rates(case.job.own_rates)
        stage = case.job.stage_hours
        self.shut: Mask = np.zeros(case.ticks, dtype=np.bool_)
        if stage is not None:
            self.shut = ~case.within(case.daily(stage))
        self.quiet: dict[str, Mask] = {}
        for entry in case.inputs.hours.quiet:
            span = (case.at(entry.start), case.at(entry.end))
            taken = case.touched([span])
            self.quiet[entry.file] = self.quiet.get(entry.file, taken) | taken

    def faults(self) -> Iterator[str]:
        """Yield what is wrong with each task by itself."""
        seen: set[str] = set()
        case = self.case
        for task in case.plan.tasks:
            if task.id in seen:
                yield f'"{task.title}" is in the plan twice'
            seen.add(task.id)
            rate = self.rates.get(task.phase)
            if rate is None:
                yield f'"{task.title}": {task.phase} is no kind of work known here'
                continue
            if case.happened(task):
                continue  # it was as it was; see `asked`
            yield from self._said(task, rate)
            yield from self._spans(task)
            yield from self._closed(task)
            yield from self._idle(task)
            yield from self._labour(task, rate)

    # ---------------------------------------------------------------- kinds

    def _said(self, task: PlannedTask, rate: JudgedRate) -> Iterator[str]:
        """Yield where a task isn't what its kind of work is."""
        title, product = (
            f'"{task.title}"',
            self.case.inputs.products.get(task.product or ""),
        )
        if set(task.lead) != rate.lead or set(task.help) != rate.help:
            yield f"{title}: other trades than the labour data give"
        yield from self._lifted(task, rate)
        on_stage = rate.on_stage
        if task.phase == "sand-modules":
            on_stage = self.case.job.methods.sanding == "stage"
        for word, said, right in (
            ("on the stage", task.on_stage, on_stage),
            ("a visit", task.visit, rate.visit),
            ("loud", task.loud, rate.loud),
            ("dusty", task.dusty, rate.dusty),
            ("giving off fumes", task.fumes, product is not None and product.fumes),
        ):
            if said != right:
                yield f"{title}: {'is' if right else 'is not'} {word}, the plan errs"
        if rate.one_go and not task.one_go:
            yield f"{title}: is done in one go, the plan lets it pause"
        if task.one_go and not (rate.one_go or rate.in_batches):
            yield f"{title}: may pause, the plan has it in one go"
        if task.product is not None and product is None:
            yield f"{title}: {task.product} is no product known here"

    def _lifted(self, task: PlannedTask, rate: JudgedRate) -> Iterator[str]:
        """Yield teams of a size that nobody foresaw, or too small for what they lift."""
        title, size = f'"{task.title}"', len(task.team)
        least = max(
            (self.lifters.get((task.phase, b), 0) for b in task.bays or ("",)),
            default=0,
        )
        if task.lifters != least:
            yield f"{title}: {task.lifters} are said to lift in it, it takes {least}"
        if size < least:
            yield f"{title}: {least} people lift in it, the team is {size}"
        # Where no team of the data is large enough, others come to lift alone.
        if size not in rate.teams and not (size == least > max(rate.teams)):
            sizes = " or ".join(str(n) for n in sorted(rate.teams))
            yield f"{title}: a team of {size}, it takes {sizes}"

    # ---------------------------------------------------------------- hours

    def _spans(self, task: PlannedTask) -> Iterator[str]:
        case, title = self.case, f'"{task.title}"'
        if not task.spans:
            yield f"{title}: is never worked"
            return
        if (task.spans[0][0], task.spans[-1][1]) != (task.start, task.end):
            yield f"{title}: isn't worked from its start to its end"
        for stretch in task.spans:
            if stretch[0] >= stretch[1]:
                yield f"{title}: a stretch of no length, {case.span(stretch)}"
            if any(case.at(x) % case.step for x in stretch):
                yield f"{title}: {case.span(stretch)} is off the steps of the plan"
        for (_, end), (start, _) in pairwise(task.spans):
            if start <= end:
                yield f"{title}: its stretches overlap or touch"
        if case.at(task.start) < 0:
            yield f"{title}: begins before the job's earliest day"
        if case.tick(task.end) > case.ticks:
            yield f"{title}: ends beyond the plan's grid"
        if task.one_go and len(task.spans) > 1:
            yield f"{title}: must be done in one go, but pauses at " + case.when(
                task.spans[0][1]
            )
        if task.phase == "intake" and case.job.delivery is not None:
            yield from self._delivered(task)

    def _delivered(self, task: PlannedTask) -> Iterator[str]:
        case, come = self.case, self.case.job.delivery
        if come is None:
            return
        if task.start < come:
            yield f'"{task.title}": begins before the crates come, {case.when(come)}'
        if case.now is not None and case.now >= come:
            return  # they came, and weren't opened: that can't be helped any more
        if task.start.astimezone(case.zone).date() > come.astimezone(case.zone).date():
            yield f'"{task.title}": not on the day the crates come, {case.when(come)}'

    def _closed(self, task: PlannedTask) -> Iterator[str]:
        case = self.case
        for stretch in task.spans:
            here = slice(case.tick(stretch[0]), case.tick(stretch[1]))
            visit = self.rates[task.phase].visit
            if (task.on_stage or visit) and self.shut[here].any():
                yield f'"{task.title}": {case.span(stretch)}, the building is shut'
            for entry in case.inputs.hours.bookings if visit else ():
                if entry.start < stretch[1] and stretch[0] < entry.end:
                    yield (
                        f'"{task.title}": {case.span(stretch)}, while the stage is '
                        f"booked ({entry.file})"
                    )
            if not self._loud(task):
                continue
            for file, quiet in self.quiet.items():
                if quiet[here].any():
                    yield (
                        f'"{task.title}": is loud in the quiet hours of {file}, '
                        f"{case.span(stretch)}"
                    )

    def _loud(self, task: PlannedTask) -> bool:
        return self.rates[task.phase].loud

    def _workable(self, task: PlannedTask) -> Mask:
        """Return the ticks in which a task's team could go on with it."""
        out = np.logical_and.reduce(
            [self.crew.open[p] for p in task.team if p in self.crew.open]
            or [np.zeros(self.case.ticks, dtype=np.bool_)]
        )
        if task.on_stage:
            out = out & ~self.shut
        if self._loud(task):
            for quiet in self.quiet.values():
                out = out & ~quiet
        return np.asarray(out)

    def _idle(self, task: PlannedTask) -> Iterator[str]:
        """Yield where a team could go on and doesn't.

        It need not in the rest of one of it, nor in a day that leaves it no more than
        the time to set up.
        """
        case = self.case
        if len(task.spans) < 2:
            return
        workable = self._workable(task)
        for person in task.team:
            workable = workable & ~self.crew.resting(person)
        day = self.crew.days(task.team)
        short = np.bincount(day[workable], minlength=int(day.max()) + 1) * case.step
        workable = workable & (short[day] > task.set_up_h * 3600 + 1e-6)
        for (_, end), (start, _) in pairwise(task.spans):
            first = case.tick(end)
            idle = runs_of(workable[first : case.tick(start)])
            if idle:
                stretch = (
                    case.of_tick(first + idle[0][0]),
                    case.of_tick(first + idle[0][1]),
                )
                yield (
                    f'"{task.title}": idles {case.span(stretch)}, though its team is open'
                )

    # --------------------------------------------------------------- labour

    def _labour(self, task: PlannedTask, rate: JudgedRate) -> Iterator[str]:
        """Yield where a team gives less than a task takes, or much more."""
        case, title = self.case, f'"{task.title}"'
        worked_h = sum(case.at(b) - case.at(a) for a, b in task.spans) / 3600
        minutes = round(worked_h * 60) * len(task.team)
        if minutes != task.worked_min:
            yield f"{title}: {task.worked_min} min said to be worked, it has {minutes}"
        size, largest = len(task.team), max(rate.teams)
        if size not in rate.teams and size < largest:
            return
        # Those who only lift bring no more work than the largest team of the data.
        strength = rate.teams.get(size, rate.teams[largest]) * min(size, largest)
        if abs(task.elapsed_h - rate.elapsed) > 1e-9:
            yield f"{title}: {task.elapsed_h:g} h of watching, it takes {rate.elapsed:g}"
        if abs(task.set_up_h - rate.set_up_h) > 1e-9:
            yield f"{title}: {task.set_up_h:g} h to set up, it takes {rate.set_up_h:g}"
        set_up_h = math.ceil(rate.set_up_h * 3600 / case.step - 1e-9) * case.step / 3600
        given_h = -rate.elapsed * strength
        for piece_h in self._pieces(task):
            if piece_h <= set_up_h + 1e-9:
                yield f"{title}: is set up for {piece_h:g} h of a day, and no more done"
            given_h += max(0.0, piece_h - set_up_h) * strength
        if given_h < task.person_hours - ROUNDED_H:
            yield (
                f"{title}: its team gives {given_h:.2f} h of work, it takes "
                f"{task.person_hours:.2f} h"
            )
        if given_h - strength * case.step / 3600 > task.person_hours + ROUNDED_H:
            yield (
                f"{title}: its team stays {worked_h:g} h, longer than "
                f"{task.person_hours:.2f} h of work take"
            )

    def _pieces(self, task: PlannedTask) -> Iterator[float]:
        """Yield how long a task is worked on each day of its team. [h]."""
        case = self.case
        worked = np.zeros(case.ticks, dtype=np.bool_)
        for start, end in task.spans:
            worked[case.tick(start) : case.tick(end)] = True
        if task.one_go:
            yield float(worked.sum()) * case.step / 3600
            return
        counts = np.bincount(self.crew.days(task.team)[worked])
        yield from (float(n) * case.step / 3600 for n in counts if n)
