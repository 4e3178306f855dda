"""Who is called in which shift, as literals of the model."""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from planner.schedule.callbound import least_calls, open_ticks
from planner.schedule.model import Act, Choice, IntVar, Model
from planner.schedule.rules import works_in
from planner.schedule.starts import Mask, shifts_of


def calls(m: Model) -> dict[tuple[int, int], IntVar]:
    """Return a literal for each person and shift that holds when the person works.

    For each task, its starts fall into spans within which every team works in the
    same shifts; a span and somebody's place in the team ask for the shift.
    """
    if m.called is not None:
        return m.called
    m.called = {}
    held: dict[int, list[tuple[Act, Choice]]] = {}
    for act in m.acts.values():
        for c in act.choices:
            for g, _ in c.way.team:
                held.setdefault(g, []).append((act, c))
    worked: dict[int, list[_Worked]] = {}
    for g, choices in sorted(held.items()):
        by_shift: dict[int, list[_Worked]] = {}
        for act, c in choices:
            for number, (first, last) in _near(m, g, c):
                mask = works_in(m, c.way, c.starts, c.length, first, last)
                if mask.any():
                    row = _Worked(group=g, shift=number, act=act, choice=c, mask=mask)
                    by_shift.setdefault(number, []).append(row)
                    worked.setdefault(act.number, []).append(row)
        for number, rows in sorted(by_shift.items()):
            hint = any(_hint_works(m, row) for row in rows)
            m.called[g, number] = m.boolean("", hint)
    for _, task_rows in sorted(worked.items()):
        _call_for(m, task_rows)
    for g, choices in sorted(held.items()):
        _work_fits_calls(m, g, choices)
    for people, least in least_calls(m, set(m.called)).items():
        m.cp.add(sum(x for (g, _), x in m.called.items() if g in people) >= least)
    return m.called


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Worked:
    """Which starts of a choice work in a shift of somebody of the team."""

    group: int
    shift: int
    act: Act
    choice: Choice
    mask: Mask


def _near(m: Model, g: int, c: Choice) -> Iterator[tuple[int, tuple[int, int]]]:
    """Yield the shifts, numbered, that the choice's starts could reach."""
    begin = int(m.ground.axis[c.starts[0]])
    end = int(m.ground.axis[c.starts[-1] + c.length - 1]) + 1
    for number, (first, last) in enumerate(shifts_of(m.ground.groups[g].person)):
        if first < end and last > begin:
            yield number, (first, last)


def _call_for(m: Model, rows: list[_Worked]) -> None:
    """Ask for the shifts that a task works in; all rows are of that task."""
    act = rows[0].act
    xs = m.start_values(act.number)
    edges = np.zeros(len(xs), dtype=np.bool_)
    masks = []
    for row in rows:
        at = np.searchsorted(xs, row.choice.starts)
        edges[at[1:]] |= row.mask[1:] != row.mask[:-1]
        full = np.zeros(len(xs), dtype=np.bool_)
        full[at] = row.mask
        masks.append(full)
    cuts = [0, *(np.flatnonzero(edges[1:]) + 1).tolist(), len(xs)]
    spans = tuple((int(xs[a]), int(xs[b - 1])) for a, b in pairwise(cuts))
    literals = m.stretches(act.start, spans)
    for (a, b), literal in zip(pairwise(cuts), literals, strict=True):
        asked: dict[tuple[int, int], list[IntVar]] = {}
        for row, mask in zip(rows, masks, strict=True):
            if mask[a:b].any():
                asked.setdefault((row.group, row.shift), []).append(row.choice.literal)
        inside: dict[int, int] = {}
        for c in act.choices:
            if np.searchsorted(c.starts, xs[a]) < np.searchsorted(
                c.starts, xs[b - 1] + 1
            ):
                for g, _ in c.way.team:
                    inside[g] = inside.get(g, 0) + 1
        for (g, shift), chosen in asked.items():
            called = (m.called or {})[g, shift]
            whole = len(chosen) == inside[g]
            for member in m.joined[act.number, g] if whole else chosen:
                m.cp.add_bool_or([called, literal.negated(), member.negated()])


def _hint_works(m: Model, row: _Worked) -> bool:
    """Tell whether the plan at hand works in the shift by this choice."""
    if m.hinted(row.choice.literal) != 1 and row.choice.literal is not m.true:
        return False
    at = np.flatnonzero(row.choice.starts == m.hinted(row.act.start))
    return bool(len(at)) and bool(row.mask[at[0]])


def _work_fits_calls(m: Model, g: int, choices: list[tuple[Act, Choice]]) -> None:
    """Ask that the shifts a person is called in hold the person's work.

    It follows from the rest, and gives the solver a bound at once.
    """
    shifts, group = shifts_of(m.ground.groups[g].person).items, m.ground.groups[g]
    room = sum(
        open_ticks(group, *shifts[number]) * literal
        for (person, number), literal in (m.called or {}).items()
        if person == g
    )
    asked = sum(
        c.way.ticks * n * c.literal for _, c in choices for k, n in c.way.team if k == g
    )
    m.cp.add(asked <= room)
