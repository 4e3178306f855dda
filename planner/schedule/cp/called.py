"""How many people of each group are called in each shift, as variables of the model.

The model counts people who are alike and doesn't name them. Names are given afterwards
(see `naming`): a task goes to whoever became free last. So somebody who wasn't called
in a shift yet gets a task only while everybody who was called is busy. The number of
people called in a shift is therefore the largest number that is at work at one time in
it. People who only wait in a shift aren't called: their team pauses over the whole
shift, because somebody else of it is away or has to rest.
"""

from dataclasses import dataclass

import numpy as np
from ortools.sat.python import cp_model

from planner.schedule.cp.call_bound import least_calls, open_ticks
from planner.schedule.cp.model import Act, Choice, Model
from planner.schedule.cp.variables import IntVar
from planner.schedule.space.days import Ints, Mask, shifts_of
from planner.schedule.space.option import TeamOption

Chosen = list[
    tuple[Act, Choice, int]
]  # choices that take people of a group, and how many


@dataclass(frozen=True, slots=True, kw_only=True)
class _Shift:
    """A shift by its number: ticks [first, last), indices [begin, end)."""

    number: int
    first: int
    last: int
    begin: int
    end: int


def calls(m: Model) -> dict[tuple[int, int], IntVar]:
    """Return, by group and shift, a variable for the least number of people called.

    For each shift, an interval over the whole shift takes those who aren't called out
    of the group; the rest must be enough for all tasks there. Those who only wait are
    added back, as if no task had taken them.
    """
    if m.called is not None:
        return m.called
    m.called = {}
    taking = _taking(m)
    for g, chosen in sorted(taking.items()):
        m.check()
        fillers = []
        for shift in _shifts_reached(m, g, chosen):
            called = m.whole((0, m.members(g)), "", _most_at_work(m, g, shift))
            m.called[g, shift.number] = called
            fillers.append((shift, called, _waiting(m, shift, chosen)))
        _keep_free(m, g, fillers)
        _work_fits_calls(m, g, chosen)
    for people, least in least_calls(m, set(m.called)).items():
        m.cp.add(sum(x for (g, _), x in m.called.items() if g in people) >= least)
    return m.called


def _taking(m: Model) -> dict[int, Chosen]:
    taking: dict[int, Chosen] = {}
    for act in m.acts.values():
        for c in act.choices:
            for g, count in c.option.team:
                taking.setdefault(g, []).append((act, c, count))
    return taking


def _shifts_reached(m: Model, g: int, chosen: Chosen) -> list[_Shift]:
    """Return the shifts in which somebody of the group could be taken."""
    numbers = sorted({act.number for act, _, _ in chosen})
    spans = [(m.windows.start_lo[t], m.windows.end_hi[t]) for t in numbers]
    out = []
    for number, (first, last) in enumerate(shifts_of(m.space.groups[g].person)):
        begin, end = int(m.space.first[first]), int(m.space.first[last])
        if any(max(lo, begin) < min(hi, end) for lo, hi in spans):
            out.append(
                _Shift(number=number, first=first, last=last, begin=begin, end=end)
            )
    return out


def _at_work(m: Model, option: TeamOption, starts: Ints, shift: _Shift) -> Mask:
    """Return for each start whether the task is worked in the shift or only waits."""
    at_work: Mask = m.worked_in(option, starts, shift.first, shift.last) > 0
    return at_work


def _most_at_work(m: Model, g: int, shift: _Shift) -> int | None:
    """Return the most of the group who are at work at one time in the known plan."""
    if m.seats is None:
        return None
    taken = np.zeros(shift.end - shift.begin, dtype=np.int64)
    for option, start, end in m.seated(g):
        if _at_work(m, option, np.array([start]), shift)[0]:
            lo, hi = max(start, shift.begin), min(end, shift.end)
            taken[lo - shift.begin : max(lo, hi) - shift.begin] += dict(option.team)[g]
    return int(taken.max())


def _waiting(m: Model, shift: _Shift, chosen: Chosen) -> list[tuple[int, IntVar]]:
    """Return numbers of people who wait, each with a literal that allows it."""
    waiting = []
    for act, c, count in chosen:
        if c.length <= shift.end - shift.begin:
            continue  # too short to cover the whole shift
        over = (c.starts < shift.begin) & (c.starts + c.length > shift.end)
        starts = c.starts[over]
        starts = starts[~_at_work(m, c.option, starts, shift)]
        if not len(starts):
            continue
        at = m.hinted(act.start)
        picked = c.literal is m.true or m.hinted(c.literal) == 1
        waits = m.boolean("", picked and at is not None and at in starts)
        m.cp.add_implication(waits, c.literal)
        m.within(act.start, starts, waits)
        waiting.append((count, waits))
    return waiting


def _keep_free(
    m: Model, g: int, fillers: list[tuple[_Shift, IntVar, list[tuple[int, IntVar]]]]
) -> None:
    """Take out of the group, for each shift, those who are neither called nor wait."""
    members = m.members(g)
    intervals = [interval for interval, _ in m.taken[g]]
    counts: list[cp_model.LinearExprT] = [count for _, count in m.taken[g]]
    for shift, called, waiting in fillers:
        free = m.whole((0, members), "", _hinted_rest(m, members, called, waiting))
        m.cp.add(free + called + sum(n * x for n, x in waiting) >= members)
        size = shift.end - shift.begin
        intervals.append(
            m.cp.new_optional_fixed_size_interval_var(shift.begin, size, free, "")
            if members == 1
            else m.cp.new_fixed_size_interval_var(shift.begin, size, "")
        )
        counts.append(free)
    if members == 1:
        m.cp.add_no_overlap(intervals)
    else:
        m.cp.add_cumulative(intervals, counts, members)


def _hinted_rest(
    m: Model, members: int, called: IntVar, waiting: list[tuple[int, IntVar]]
) -> int | None:
    at = m.hinted(called)
    if at is None:
        return None
    return members - at - sum(n * (m.hinted(x) or 0) for n, x in waiting)


def _work_fits_calls(m: Model, g: int, chosen: Chosen) -> None:
    """Require that the shifts in which people are called are long enough for the work.

    This follows from the other rules, and gives the solver a bound at once.
    """
    group = m.space.groups[g]
    shifts = shifts_of(group.person).items
    room = sum(
        open_ticks(group, *shifts[number]) * called
        for (k, number), called in (m.called or {}).items()
        if k == g
    )
    asked = sum(c.option.ticks * count * c.literal for _, c, count in chosen)
    m.cp.add(asked <= room)
