"""The solver's variables, each with its value in the known plan, and functions of them.

Each variable is made together with that value, so that the solver starts from a
complete plan.
"""

from collections.abc import Iterable, Sequence
from itertools import pairwise

import numpy as np
from ortools.sat.python import cp_model
from ortools.sat.python.cp_model_helper import Literal

from planner.schedule.cp.straight_pieces import StraightPiece, straight_pieces
from planner.schedule.space.days import Ints

IntVar = cp_model.IntVar
Expr = cp_model.LinearExpr | int


class Variables:
    """The solver's model as it is built; it knows neither tasks nor people."""

    def __init__(self, *, hinting: bool) -> None:
        self.cp = cp_model.CpModel()
        self.true = self.cp.new_constant(1)
        self._hinting = hinting
        self._hints: dict[int, int] = {}
        self._stretches: dict[
            tuple[int, tuple[tuple[int, int], ...]], list[IntVar]
        ] = {}

    def boolean(self, name: str, hint: int | None = None) -> IntVar:
        """Return a new literal."""
        literal = self.cp.new_bool_var(name)
        if hint is not None and self._hinting:
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
        if hint is not None and self._hinting:
            self.hint(variable, hint)
        return variable

    def hint(self, variable: IntVar, value: int) -> None:
        """Record the variable's value in the known plan."""
        if variable.index not in self._hints:
            self._hints[variable.index] = value
            self.cp.add_hint(variable, value)

    def hinted(self, variable: IntVar) -> int | None:
        """Return the variable's value in the known plan, if it is known."""
        return self._hints.get(variable.index)

    def within(self, variable: IntVar, values: Ints, *literals: Literal) -> None:
        """Require that the variable is one of `values` if all the literals are true."""
        domain = cp_model.Domain.from_values(values.tolist())
        rule = self.cp.add_linear_expression_in_domain(variable, domain)
        if literals:
            rule.only_enforce_if(*literals)

    def outside(
        self, variable: IntVar, span: tuple[int, int], *literals: Literal
    ) -> None:
        """Ask that the variable isn't in [first, last] when all the literals hold."""
        domain = cp_model.Domain(*span).complement()
        rule = self.cp.add_linear_expression_in_domain(variable, domain)
        rule.only_enforce_if(*literals)

    def cases(
        self, variable: IntVar, xs: Sequence[int], values: Sequence[int]
    ) -> list[tuple[IntVar, StraightPiece]]:
        """Return straight pieces of a function of the variable, each with a literal.

        Exactly one literal is true: that of the piece in which the variable lies.
        """
        pieces = straight_pieces(xs, values)
        literals = self.stretches(variable, tuple((p.first, p.last) for p in pieces))
        return list(zip(literals, pieces, strict=True))

    def stretches(
        self, variable: IntVar, spans: tuple[tuple[int, int], ...]
    ) -> list[IntVar]:
        """Return a literal for each span (first, last) of the variable's values.

        Exactly one literal is true: that of the span in which the variable lies.
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
        """Require that target ≥ f(variable) if all the literals are true."""
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
        """Require that target ≤ f(variable) if all the literals are true."""
        for literal, piece in self.cases(variable, xs, values):
            rule = self.cp.add(target <= piece.slope * variable + piece.offset)
            rule.only_enforce_if(literal, *literals)

    def fixed(self, profile: Ints) -> tuple[list[cp_model.IntervalVar], list[int]]:
        """Return intervals, and how much each takes, that take what the profile says."""
        edges = [0, *(np.flatnonzero(np.diff(profile)) + 1).tolist(), len(profile)]
        runs = [(a, b) for a, b in pairwise(edges) if a < b and profile[a]]
        return (
            [self.cp.new_fixed_size_interval_var(a, b - a, "") for a, b in runs],
            [int(profile[a]) for a, _ in runs],
        )

    def either(self, literals: Sequence[IntVar]) -> IntVar:
        """Return a literal that is true if one of `literals` is; at most one may be."""
        if len(literals) == 1:
            return literals[0]
        hints = [self.hinted(x) for x in literals]
        hint = None if None in hints else 1 in hints
        either = self.boolean("", hint)
        self.cp.add_exactly_one(*literals, either.negated())
        return either
