"""The rules about people as constraints: one place at a time, trades, rest."""

from itertools import combinations

import numpy as np
from ortools.sat.python import cp_model
from ortools.sat.python.cp_model_helper import Literal

from planner.schedule.cp.model import Act, Choice, Model
from planner.schedule.cp.variables import IntVar
from planner.schedule.space.days import Ints, Mask, shifts_of
from planner.schedule.space.starts import near_shifts

MOST_TRADES = 40  # sets of people that are counted together


def keep_people_in_one_place(m: Model) -> None:
    """Let nobody be in two teams at a time; a team that pauses still has its people.

    A person has one interval for each task, whatever its length, because the solver's
    time grows with the number of intervals.
    """
    for act in m.acts.values():
        by_place: dict[tuple[int, int], list[IntVar]] = {}
        for c in act.choices:
            for g, count in c.option.team:
                by_place.setdefault((g, count), []).append(c.literal)
        for (g, count), literals in sorted(by_place.items()):
            if len(literals) == len(act.choices) and act.present is None:
                interval = act.interval
            else:
                interval = m.cp.new_optional_interval_var(
                    act.start, act.length, act.end, m.either(literals), ""
                )
            m.taken.setdefault(g, []).append((interval, count))
    for g, held in sorted(m.taken.items()):
        members = m.members(g)
        intervals = [i for i, _ in held]
        if members == 1:
            m.cp.add_no_overlap(intervals)
        else:
            m.cp.add_cumulative(intervals, [n for _, n in held], members)


def count_trades(m: Model) -> None:
    """Let no set of people be needed more often at a time than it has members.

    This follows from the rule before, but lets the solver count people without naming
    them. A task needs the least that any of its teams takes from the set; if its teams
    differ in size, it needs what the chosen team takes. A team is taken from the start
    of its task to the end, so the whole span counts.
    """
    for people in _sets_of_people(m):
        size = sum(len(m.space.groups[g].members) for g in people)
        held: list[tuple[cp_model.IntervalVar, IntVar | int]] = []
        most = 0
        for act in m.acts.values():
            taken: dict[int, list[IntVar]] = {}
            for c in act.choices:
                count = sum(n for g, n in c.option.team if g in people)
                taken.setdefault(count, []).append(c.literal)
            if max(taken) == 0:
                continue
            if len({c.option.size for c in act.choices}) == 1 or len(taken) == 1:
                least = min(taken)
                if least:
                    held.append((act.interval, least))
                most += least
            else:
                held.append((act.interval, _demand(m, taken)))
                most += max(taken)
        if len(held) > 1 and most > size:
            m.cp.add_cumulative([i for i, _ in held], [n for _, n in held], size)


def _demand(m: Model, taken: dict[int, list[IntVar]]) -> IntVar:
    """Return how many people a task takes, from its teams' literals by that number."""
    key = tuple((n, tuple(x.index for x in taken[n])) for n in sorted(taken) if n)
    if key not in m.demands:
        hints = [(n, m.hinted(x)) for n, row in taken.items() for x in row]
        hint = None
        if all(h is not None for _, h in hints):
            hint = sum(n for n, h in hints if h)
        demand = m.whole((0, max(taken)), "", hint)
        m.cp.add(demand == sum(n * x for n, row in taken.items() for x in row))
        m.demands[key] = demand
    return m.demands[key]


def _sets_of_people(m: Model) -> list[frozenset[int]]:
    """Return the sets of people who may do or lead a task, and unions of these."""
    found: set[frozenset[int]] = set()
    for t, act in m.acts.items():
        task = m.space.tasks[t]
        able = frozenset(g for c in act.choices for g, _ in c.option.team)
        leads = {g for g in able if m.space.groups[g].members[0] in (task.leads or ())}
        found |= {able, frozenset(leads)} - {frozenset()}
    base = sorted(found, key=lambda s: (len(s), sorted(s)))
    for one, two in combinations(base, 2):
        if len(found) >= MOST_TRADES:
            break
        found.add(one | two)
    return sorted(found, key=lambda s: (len(s), sorted(s)))


def rest_between_shifts(m: Model) -> None:
    """Let a person rest between a task in one shift and another task in the next.

    If two shifts have less time between them than the rest needs, the rest takes part
    of one or both. There is a literal for each place at which it can begin. No task of
    the person ends in the first shift after that place, and none starts in the second
    before the rest is over. A task that goes on from the first shift into the second
    rests within its own course.
    """
    for g, group in enumerate(m.space.groups):
        person = group.person
        shifts = shifts_of(person).items
        for i, j in near_shifts(person):
            literals = []
            for since, until in _rests(shifts[i], shifts[j], person.rest):
                late = (since, shifts[i][1])
                early = (shifts[j][0], until)
                hint = not any(
                    m.hinted(c.literal) == 1 and _hint_meets(m, act, c, late, early)
                    for act, c in _choices_of(m, g)
                )
                literal = m.boolean("", hint)
                keep_rested(m, g, late, early, literal)
                literals.append(literal)
            m.cp.add_bool_or(literals)


def _rests(
    one: tuple[int, int], two: tuple[int, int], rest: int
) -> list[tuple[int, int]]:
    """Return where the rest between two shifts can begin, and when it is then over.

    With the first of these, nothing is done in the first shift; with the last, nothing
    in the second.
    """
    begin = max(one[0] + 1, two[0] - rest)
    places = [(at, at + rest) for at in range(begin, one[1] + 1)]
    inside = [(since, until) for since, until in places if until < two[1]]
    return [(one[0], two[0]), *inside, (one[1], two[1])]


def keep_rested(
    m: Model,
    g: int,
    late: tuple[int, int],
    early: tuple[int, int],
    literal: Literal,
) -> None:
    """Let no task of the person end in `late` or start in `early`, given a literal.

    The rule holds if the literal is true. A task ends in the last tick that it works.
    """
    for act, c in _choices_of(m, g):
        meets = _meets(m, c.starts, c.length, late, early)
        if meets.any():
            free = c.starts[~meets]
            if len(free):
                m.within(act.start, free, literal, c.literal)
            else:
                m.cp.add_bool_or([literal.negated(), c.literal.negated()])


def _meets(
    m: Model,
    starts: Ints,
    length: int,
    late: tuple[int, int],
    early: tuple[int, int],
) -> Mask:
    """Return for each start whether it is in `early` or its last tick in `late`."""
    first, last = m.space.axis[starts], m.space.axis[starts + length - 1]
    meets: Mask = (last >= late[0]) & (last < late[1])
    return meets | ((first >= early[0]) & (first < early[1]))


def _choices_of(m: Model, g: int) -> list[tuple[Act, Choice]]:
    """Return each choice whose team has somebody of the group, with its task."""
    return [
        (act, c)
        for act in m.acts.values()
        for c in act.choices
        if any(k == g for k, _ in c.option.team)
    ]


def _hint_meets(
    m: Model, act: Act, c: Choice, late: tuple[int, int], early: tuple[int, int]
) -> bool:
    """Tell whether a choice ends in `late` or starts in `early` in the known plan."""
    at = m.hinted(act.start)
    if at is None:
        return False
    starts = np.array([at], dtype=np.int64)
    return bool(_meets(m, starts, c.length, late, early)[0])
