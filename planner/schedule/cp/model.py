"""The variables of the solver's model, and what all rules use to refer to them.

Starts and ends are indices of useful ticks (see `SearchSpace.axis`). Returns are ticks,
because waits also run at night. The *known plan* is the one from which the solver
starts.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

import numpy as np
from ortools.sat.python import cp_model

from planner.schedule.cp.variables import IntVar, Variables
from planner.schedule.first.greedy import Seats
from planner.schedule.problem.limits import Watch
from planner.schedule.problem.parts import Closure
from planner.schedule.space.days import Ints
from planner.schedule.space.narrowed import NarrowedWindows
from planner.schedule.space.option import TeamOption


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Choice:
    """A literal for a team option at one length on the axis, and its starts."""

    option: TeamOption
    length: int
    starts: Ints
    literal: IntVar


@dataclass(slots=True, kw_only=True, eq=False)
class Act:
    """A task as variables. `present` is None where every plan carries it out."""

    number: int
    start: IntVar
    end: IntVar
    length: IntVar
    interval: cp_model.IntervalVar
    present: IntVar | None
    choices: list[Choice] = field(default_factory=list)

    @property
    def literals(self) -> list[IntVar]:
        """The literals under which the task is carried out: one or none."""
        return [] if self.present is None else [self.present]


class Model(Variables):
    """The model as it is built: first the variables, then the rules, then an aim."""

    def __init__(
        self, windows: NarrowedWindows, seats: Seats | None, watch: Watch | None = None
    ) -> None:
        super().__init__(hinting=seats is not None)
        self.windows = windows
        self._watch = watch
        self.space = windows.space
        self.seats = seats
        self.acts: dict[int, Act] = {}
        self.demands: dict[tuple[tuple[int, tuple[int, ...]], ...], IntVar] = {}
        self.taken: dict[int, list[tuple[cp_model.IntervalVar, int]]] = {}  # by group
        self.called: dict[tuple[int, int], IntVar] | None = None
        self._worked: dict[int, Ints] = {}
        for t, task in enumerate(self.space.tasks):
            self.check()
            if t not in windows.gone:
                self._add_act(t, task.id)
        self.branch_options = self._add_options()
        self.gaps = self._add_gaps()
        self.begins, self.returns = self._add_closures()

    def check(self) -> None:
        """Raise StoppedError if it is time to stop; building a model takes time too."""
        if self._watch is not None:
            self._watch.check()

    def members(self, g: int) -> int:
        """Return how many people a group has."""
        return len(self.space.groups[g].members)

    def seated(self, g: int) -> Iterator[tuple[TeamOption, int, int]]:
        """Yield option, start and end of what takes the group in the known plan."""
        for t, seat in (self.seats or {}).items():
            if any(k == g for k, _ in seat.team):
                option = next(
                    w
                    for w in self.space.options[t]
                    if w.team == seat.team and seat.start in w.starts
                )
                yield option, seat.start, seat.end

    def worked_in(
        self, option: TeamOption, starts: Ints, first: int, last: int
    ) -> Ints:
        """Return how many ticks of [first, last) are worked from each start of an option."""
        key = id(option.workable)
        if key not in self._worked:
            self._worked[key] = np.concatenate(([0], np.cumsum(option.workable)))
        count, axis = self._worked[key], self.space.axis

        def inside(since: Ints, until: Ints) -> Ints:
            since, until = np.maximum(since, first), np.minimum(until, last)
            worked: Ints = count[np.maximum(since, until)] - count[since]
            return worked

        at = np.searchsorted(option.starts, starts)
        worked = inside(axis[starts], axis[option.ends[at] - 1] + 1)
        if option.rests is not None:
            rests = option.rests[at]
            worked = worked - inside(rests[..., 0], rests[..., 1]).sum(axis=1)
        return worked

    def start_values(self, t: int) -> Ints:
        """Return every start index that some option of the task has."""
        return union(option.starts for option in self.space.options[t])

    def end_values(self, t: int) -> Ints:
        """Return every end index that some option of the task has."""
        return union(option.ends for option in self.space.options[t])

    def _add_act(self, t: int, name: str) -> None:
        """Add a task's variables, and require one team option if it is carried out."""
        act = self._new_act(t, name)
        self._add_choices(act)
        self._tie_length(act)
        self.acts[t] = act

    def _new_act(self, t: int, name: str) -> Act:
        """Return a task's start, end and length; the least of each if left out."""
        seat = self.seats.get(t) if self.seats is not None else None
        sure = t in self.space.sure
        present = (
            None if sure else self.boolean(f"{name} carried out", seat is not None)
        )
        starts, ends = self.start_values(t), self.end_values(t)
        lengths = self._lengths(t)
        at = (seat.start, seat.end) if seat else (int(starts[0]), int(ends[0]))
        start = self.whole(starts.tolist(), f"{name} start", at[0])
        end = self.whole(ends.tolist(), f"{name} end", at[1])
        size = at[1] - at[0] if seat else int(lengths[0])
        length = self.whole(lengths.tolist(), f"{name} length", size)
        if present is None:
            interval = self.cp.new_interval_var(start, length, end, name)
        else:
            interval = self.cp.new_optional_interval_var(
                start, length, end, present, name
            )
            self.cp.add(start == int(starts[0])).only_enforce_if(present.negated())
            self.cp.add(end == int(ends[0])).only_enforce_if(present.negated())
        return Act(
            number=t,
            start=start,
            end=end,
            length=length,
            interval=interval,
            present=present,
        )

    def _add_choices(self, act: Act) -> None:
        """Add a literal for each option and length; one is true if the task is done."""
        seat = self.seats.get(act.number) if self.seats is not None else None
        rows = [
            (option, int(size), option.starts[option.ends - option.starts == size])
            for option in self.space.options[act.number]
            for size in np.unique(option.ends - option.starts)
        ]
        every = self.start_values(act.number)
        only = len(rows) == 1 and act.present is None
        for option, size, starts in rows:
            taken = (
                seat is not None
                and seat.team == option.team
                and seat.ticks == option.ticks
                and seat.end - seat.start == size
                and seat.start in starts
            )
            literal = self.true if only else self.boolean("", taken)
            act.choices.append(
                Choice(option=option, length=size, starts=starts, literal=literal)
            )
            if len(starts) < len(every):
                self.within(act.start, starts, literal)
        if not only:
            done = [x.negated() for x in act.literals]
            self.cp.add_exactly_one(*(c.literal for c in act.choices), *done)

    def _tie_length(self, act: Act) -> None:
        """Make the task as long as its choice, or as the first if it is left out."""
        by_length: dict[int, list[IntVar]] = {}
        for choice in act.choices:
            by_length.setdefault(choice.length, []).append(choice.literal)
        if len(by_length) < 2:
            return
        chosen = sum(n * x for n, group in by_length.items() for x in group)
        rule = self.cp.add(act.length == chosen)
        if act.present is not None:
            rule.only_enforce_if(act.present)
            rest = self.cp.add(act.length == min(by_length))
            rest.only_enforce_if(act.present.negated())

    def _lengths(self, t: int) -> Ints:
        """Return every length on the axis that some option of the task has."""
        return union(option.ends - option.starts for option in self.space.options[t])

    def _add_options(self) -> dict[str, list[IntVar]]:
        """Return a literal for each option of each branch."""
        seats = self.seats or {}
        options: dict[str, list[IntVar]] = {}
        for branch in self.space.instance.branches:
            row: list[IntVar] = []
            for number, option in enumerate(branch.options):
                numbers = {self.space.number[t] for t in option}
                others = {
                    self.space.number[t] for o in branch.options for t in o
                } - numbers
                required = {t for t in numbers if not self.space.tasks[t].optional}
                hint = required <= set(seats) and not others & set(seats)
                hint = hint and not any(self.hinted(x) for x in row)
                row.append(self.boolean(f"{branch.id} option {number}", hint))
            options[branch.id] = row
        return options

    def _add_gaps(self) -> dict[str, list[IntVar]]:
        """Return a literal for each gap between bookings, where there are several."""
        gaps: dict[str, list[IntVar]] = {}
        for c, spans in self.windows.gaps.items():
            if len(spans) < 2:
                continue
            begin = self._begin_hint(c)
            row = []
            for start, end in spans:
                hint = None
                if begin is not None:
                    hint = start <= int(self.space.axis[begin]) < end
                row.append(self.boolean(f"{c} from {start} to {end}", hint))
            gaps[c] = row
        return gaps

    def _begin_hint(self, closure: str) -> int | None:
        if self.seats is None:
            return None
        numbers = [self.space.number[t] for t in self.closure(closure).tasks]
        return min(self.seats[t].start for t in numbers if t in self.seats)

    def _add_closures(self) -> tuple[dict[str, IntVar], dict[str, IntVar]]:
        """Return each closure's first start as an index and its return as a tick."""
        begins, returns = {}, {}
        for c in self.space.instance.closures:
            acts = [self.acts[n] for n in self.numbers(c.tasks)]
            low = min(int(self.start_values(a.number)[0]) for a in acts)
            sure = [a for a in acts if a.present is None]
            high = min(int(self.start_values(a.number)[-1]) for a in sure)
            begins[c.id] = self.whole(
                (low, high), f"{c.id} begins", self._begin_hint(c.id)
            )
            hint = None
            if self.seats is not None:
                hint = max(
                    int(self.space.over[term.wait][self.seats[n].end])
                    for term in c.all_terms
                    if (n := self.space.number[term.task]) in self.seats
                )
            returns[c.id] = self.whole(
                self.windows.returns[c.id], f"{c.id} returns", hint
            )
        return begins, returns

    def closure(self, name: str) -> Closure:
        """Return the closure of that name."""
        return next(c for c in self.space.instance.closures if c.id == name)

    def numbers(self, names: Iterable[str]) -> list[int]:
        """Return the numbers of those of the named tasks that can be carried out."""
        return [n for name in names if (n := self.space.number[name]) in self.acts]


def union(rows: Iterable[Ints]) -> Ints:
    """Return the values that stand in any of the rows, rising."""
    return np.unique(np.concatenate(list(rows)))
