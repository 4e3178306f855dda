"""The variables of the solver's model, and what the rules share to speak about them.

Times are indices of useful ticks (see `ground`); returns are ticks, because waits go
on at night. Each variable is made together with its value in the plan that is at
hand, so that the solver starts from a complete plan.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np
from ortools.sat.python import cp_model
from ortools.sat.python.cp_model_helper import Literal

from planner.schedule.cp.straight_pieces import StraightPiece, straight_pieces
from planner.schedule.first.greedy import Seats
from planner.schedule.problem.limits import Watch
from planner.schedule.problem.parts import Closure
from planner.schedule.space.days import Ints
from planner.schedule.space.narrowed import NarrowedWindows
from planner.schedule.space.search_space import TeamOption

IntVar = cp_model.IntVar
Expr = cp_model.LinearExpr | int


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Choice:
    """A literal for a way with one length on the axis, and the starts that have it."""

    way: TeamOption
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


class Model:
    """The model in the making: variables first, then rules, then an aim."""

    def __init__(
        self, room: NarrowedWindows, seats: Seats | None, watch: Watch | None = None
    ) -> None:
        self.room = room
        self._watch = watch
        self.ground = room.ground
        self.seats = seats
        self.cp = cp_model.CpModel()
        self.true = self.cp.new_constant(1)
        self.acts: dict[int, Act] = {}
        self._stretches: dict[
            tuple[int, tuple[tuple[int, int], ...]], list[IntVar]
        ] = {}
        self.demands: dict[tuple[tuple[int, tuple[int, ...]], ...], IntVar] = {}
        self.taken: dict[int, list[tuple[cp_model.IntervalVar, int]]] = {}  # by group
        self.called: dict[tuple[int, int], IntVar] | None = None
        self._hints: dict[int, int] = {}
        self._worked: dict[int, Ints] = {}
        for t, task in enumerate(self.ground.tasks):
            self.check()
            if t not in room.gone:
                self._add_act(t, task.id)
        self.options = self._add_options()
        self.gaps = self._add_gaps()
        self.begins, self.returns = self._add_closures()

    def check(self) -> None:
        """Raise StoppedError when it is time to stop; making a model takes time too."""
        if self._watch is not None:
            self._watch.check()

    def boolean(self, name: str, hint: int | None = None) -> IntVar:
        """Return a new literal."""
        literal = self.cp.new_bool_var(name)
        if hint is not None and self.seats is not None:
            self.hint(literal, int(hint))
        return literal

    def whole(
        self,
        values: Iterable[int] | tuple[int, int],
        name: str,
        hint: int | None = None,
    ) -> IntVar:
        """Return a new variable that takes one of `values`, or lies in (low, high)."""
        if isinstance(values, tuple):
            variable = self.cp.new_int_var(values[0], values[1], name)
        else:
            domain = cp_model.Domain.from_values(list(values))
            variable = self.cp.new_int_var_from_domain(domain, name)
        if hint is not None and self.seats is not None:
            self.hint(variable, hint)
        return variable

    def hint(self, variable: IntVar, value: int) -> None:
        """Note the variable's value in the plan at hand."""
        if variable.index not in self._hints:
            self._hints[variable.index] = value
            self.cp.add_hint(variable, value)

    def hinted(self, variable: IntVar) -> int | None:
        """Return the variable's value in the plan at hand, where it is known."""
        return self._hints.get(variable.index)

    def within(self, variable: IntVar, values: Ints, *literals: Literal) -> None:
        """Ask that the variable takes one of `values` when all the literals hold."""
        domain = cp_model.Domain.from_values(values.tolist())
        rule = self.cp.add_linear_expression_in_domain(variable, domain)
        if literals:
            rule.only_enforce_if(*literals)

    def cases(
        self, variable: IntVar, xs: Sequence[int], values: Sequence[int]
    ) -> list[tuple[IntVar, StraightPiece]]:
        """Return, for a function of the variable, literals of its straight pieces.

        Exactly one of them holds, and the variable lies in its piece.
        """
        pieces = straight_pieces(xs, values)
        literals = self.stretches(variable, tuple((p.first, p.last) for p in pieces))
        return list(zip(literals, pieces, strict=True))

    def stretches(
        self, variable: IntVar, spans: tuple[tuple[int, int], ...]
    ) -> list[IntVar]:
        """Return a literal for each span (first, last) of the variable's values.

        Exactly one of them holds, and the variable lies in its span.
        """
        if len(spans) == 1:
            return [self.true]
        key = (variable.index, spans)
        if key not in self._stretches:
            value = self.hinted(variable)
            literals = []
            for first, last in spans:
                hint = None if value is None else first <= value <= last
                literal = self.boolean("", hint)
                rule = self.cp.add_linear_constraint(variable, first, last)
                rule.only_enforce_if(literal)
                literals.append(literal)
            self.cp.add_exactly_one(literals)
            self._stretches[key] = literals
        return self._stretches[key]

    def at_least(
        self,
        target: Expr,
        variable: IntVar,
        xs: Sequence[int],
        values: Sequence[int],
        *literals: Literal,
    ) -> None:
        """Ask that target ≥ f(variable) when all the literals hold."""
        for literal, piece in self.cases(variable, xs, values):
            rule = self.cp.add(target >= piece.slope * variable + piece.offset)
            rule.only_enforce_if(literal, *literals)

    def at_most(
        self,
        target: Expr,
        variable: IntVar,
        xs: Sequence[int],
        values: Sequence[int],
        *literals: Literal,
    ) -> None:
        """Ask that target ≤ f(variable) when all the literals hold."""
        for literal, piece in self.cases(variable, xs, values):
            rule = self.cp.add(target <= piece.slope * variable + piece.offset)
            rule.only_enforce_if(literal, *literals)

    def members(self, g: int) -> int:
        """Return how many people a group has."""
        return len(self.ground.groups[g].members)

    def seated(self, g: int) -> Iterator[tuple[TeamOption, int, int]]:
        """Yield what takes people of the group in the plan at hand: way, start, end."""
        for t, seat in (self.seats or {}).items():
            if any(k == g for k, _ in seat.team):
                way = next(
                    w
                    for w in self.ground.ways[t]
                    if w.team == seat.team and seat.start in w.starts
                )
                yield way, seat.start, seat.end

    def worked_in(self, way: TeamOption, starts: Ints, first: int, last: int) -> Ints:
        """Return how many ticks of [first, last) are worked from each start of a way."""
        key = id(way.workable)
        if key not in self._worked:
            self._worked[key] = np.concatenate(([0], np.cumsum(way.workable)))
        count, axis = self._worked[key], self.ground.axis

        def inside(since: Ints, until: Ints) -> Ints:
            since, until = np.maximum(since, first), np.minimum(until, last)
            worked: Ints = count[np.maximum(since, until)] - count[since]
            return worked

        at = np.searchsorted(way.starts, starts)
        worked = inside(axis[starts], axis[way.ends[at] - 1] + 1)
        if way.rests is not None:
            rests = way.rests[at]
            worked = worked - inside(rests[..., 0], rests[..., 1]).sum(axis=1)
        return worked

    def start_values(self, t: int) -> Ints:
        """Return every start index that some way of the task has."""
        return _union(way.starts for way in self.ground.ways[t])

    def end_values(self, t: int) -> Ints:
        """Return every end index that some way of the task has."""
        return _union(way.ends for way in self.ground.ways[t])

    def either(self, literals: Sequence[IntVar]) -> IntVar:
        """Return a literal that holds when one of `literals` does; at most one may."""
        if len(literals) == 1:
            return literals[0]
        hints = [self.hinted(x) for x in literals]
        hint = None if None in hints else 1 in hints
        either = self.boolean("", hint)
        self.cp.add_exactly_one(*literals, either.negated())
        return either

    def _add_act(self, t: int, name: str) -> None:
        """Add a task's variables, and that it is done in exactly one way."""
        ways = self.ground.ways[t]
        seat = self.seats.get(t) if self.seats is not None else None
        sure = t in self.ground.sure
        present = (
            None if sure else self.boolean(f"{name} carried out", seat is not None)
        )
        starts, ends = self.start_values(t), self.end_values(t)
        lengths = _union(way.ends - way.starts for way in ways)
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
        act = Act(
            number=t,
            start=start,
            end=end,
            length=length,
            interval=interval,
            present=present,
        )
        options = [
            (way, int(size), way.starts[way.ends - way.starts == size])
            for way in ways
            for size in np.unique(way.ends - way.starts)
        ]
        for way, size, starts_of in options:
            taken = (
                seat is not None
                and seat.team == way.team
                and seat.ticks == way.ticks
                and seat.end - seat.start == size
                and seat.start in starts_of
            )
            only = len(options) == 1 and sure
            literal = self.true if only else self.boolean("", taken)
            act.choices.append(
                Choice(way=way, length=size, starts=starts_of, literal=literal)
            )
            if len(options) > 1 and len(starts_of) < len(starts):
                self.within(start, starts_of, literal)
        if len(options) > 1 or not sure:
            done = [] if present is None else [present.negated()]
            self.cp.add_exactly_one(*(c.literal for c in act.choices), *done)
        by_length: dict[int, list[IntVar]] = {}
        for choice in act.choices:
            by_length.setdefault(choice.length, []).append(choice.literal)
        if len(by_length) > 1:
            chosen = sum(n * x for n, group in by_length.items() for x in group)
            rule = self.cp.add(length == chosen)
            if present is not None:
                rule.only_enforce_if(present)
                rest = self.cp.add(length == int(lengths[0]))
                rest.only_enforce_if(present.negated())
        self.acts[t] = act

    def _add_options(self) -> dict[str, list[IntVar]]:
        """Return a literal for each option of each branch."""
        seats = self.seats or {}
        options: dict[str, list[IntVar]] = {}
        for branch in self.ground.instance.branches:
            row: list[IntVar] = []
            for number, option in enumerate(branch.options):
                numbers = {self.ground.number[t] for t in option}
                others = {
                    self.ground.number[t] for o in branch.options for t in o
                } - numbers
                required = {t for t in numbers if not self.ground.tasks[t].optional}
                hint = required <= set(seats) and not others & set(seats)
                hint = hint and not any(self.hinted(x) for x in row)
                row.append(self.boolean(f"{branch.id} option {number}", hint))
            options[branch.id] = row
        return options

    def _add_gaps(self) -> dict[str, list[IntVar]]:
        """Return a literal for each gap between bookings, where there are several."""
        gaps: dict[str, list[IntVar]] = {}
        for c, spans in self.room.gaps.items():
            if len(spans) < 2:
                continue
            begin = self._begin_hint(c)
            row = []
            for start, end in spans:
                hint = None
                if begin is not None:
                    hint = start <= int(self.ground.axis[begin]) < end
                row.append(self.boolean(f"{c} from {start} to {end}", hint))
            gaps[c] = row
        return gaps

    def _begin_hint(self, closure: str) -> int | None:
        if self.seats is None:
            return None
        numbers = [self.ground.number[t] for t in self.closure(closure).tasks]
        return min(self.seats[t].start for t in numbers if t in self.seats)

    def _add_closures(self) -> tuple[dict[str, IntVar], dict[str, IntVar]]:
        """Return each closure's first start as an index and its return as a tick."""
        begins, returns = {}, {}
        for c in self.ground.instance.closures:
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
                    int(self.ground.over[term.wait][self.seats[n].end])
                    for term in c.all_terms
                    if (n := self.ground.number[term.task]) in self.seats
                )
            returns[c.id] = self.whole(self.room.returns[c.id], f"{c.id} returns", hint)
        return begins, returns

    def closure(self, name: str) -> Closure:
        """Return the closure of that name."""
        return next(c for c in self.ground.instance.closures if c.id == name)

    def numbers(self, names: Iterable[str]) -> list[int]:
        """Return the numbers of those named tasks that can be carried out."""
        return [n for name in names if (n := self.ground.number[name]) in self.acts]


def _union(rows: Iterable[Ints]) -> Ints:
    """Return the values that stand in any of the rows, rising."""
    return np.unique(np.concatenate(list(rows)))
