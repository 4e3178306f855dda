"""The rules about people as constraints: one place at a time, trades, rest."""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from ortools.sat.python import cp_model

from planner.schedule.cp.model import Act, Model, union
from planner.schedule.cp.variables import IntVar
from planner.schedule.space.days import Ints, shifts_of
from planner.schedule.space.starts import near_shifts

MOST_TRADES = 40  # the most sets of people for which a constraint is added
EXACT = 2  # of sets of up to so many groups, a task needs what its chosen team takes


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
        gone, how_many = m.fixed(m.space.taken[g]) if m.space.taken else ([], [])
        intervals += gone
        if members == 1:
            m.cp.add_no_overlap(intervals)
        else:
            counts = [*(n for _, n in held), *how_many]
            m.cp.add_cumulative(intervals, counts, members)


def count_trades(m: Model) -> None:
    """Let no set of people be needed more often at a time than it has members.

    This follows from the rule before, but lets the solver count people without naming
    them. A task needs the least that any of its teams takes from the set; if its teams
    differ in size, it needs of a small set what the chosen team takes. (Measured on the
    examples: with large sets, that takes longer than it saves.) A team is taken from the
    start of its task to the end, so the whole span counts.
    """
    takes = {t: _takes(m, act) for t, act in m.acts.items()}
    for people in _sets_of_people(m):
        size = sum(len(m.space.groups[g].members) for g in people)
        inside = sorted(people)
        held: list[tuple[cp_model.IntervalVar, IntVar | int]] = []
        most = 0
        for act in m.acts.values():
            taken: dict[int, list[IntVar]] = {}
            counts = takes[act.number][:, inside].sum(axis=1).tolist()
            for count, c in zip(counts, act.choices, strict=True):
                taken.setdefault(count, []).append(c.literal)
            if max(taken) == 0:
                continue
            alike = len({c.option.size for c in act.choices}) == 1 or len(taken) == 1
            if alike or len(people) > EXACT:
                least = min(taken)
                if least:
                    held.append((act.interval, least))
                most += least
            else:
                held.append((act.interval, _demand(m, taken)))
                most += max(taken)
        if m.space.taken and held:
            taken_by = np.sum([m.space.taken[g] for g in sorted(people)], axis=0)
            gone, how_many = m.fixed(taken_by)
            held += zip(gone, how_many, strict=True)
            most += max(how_many, default=0)
        if len(held) > 1 and most > size:
            m.cp.add_cumulative([i for i, _ in held], [n for _, n in held], size)


def _takes(m: Model, act: Act) -> Ints:
    """Return how many of each group (column) each choice (row) of a task takes."""
    takes = np.zeros((len(act.choices), len(m.space.groups)), dtype=np.int64)
    for row, c in enumerate(act.choices):
        for g, n in c.option.team:
            takes[row, g] = n
    return takes


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
        near = near_shifts(group.person)
        work = list(_parts(m, g)) if near else []
        if not work:
            continue
        m.check()
        starts = union(part.starts for part in work)
        ends = union(part.ends for part in work)
        shifts = shifts_of(group.person).items
        for i, j in near:
            rests = _rests(shifts[i], shifts[j], group.person.rest)
            _rest_somewhere(m, work, _places(m, rests, starts, ends))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Part:
    """A group's part in a task: whether it takes it, and every start and end with it."""

    act: Act
    literal: IntVar
    starts: Ints
    ends: Ints


@dataclass(frozen=True, slots=True, kw_only=True)
class _Place:
    """A place of a rest: end and start indices [first, last] that it leaves no task."""

    ends: tuple[int, int]
    starts: tuple[int, int]


def _parts(m: Model, g: int) -> Iterator[_Part]:
    """Yield the group's part in each task that it may do."""
    for act in m.acts.values():
        own = [c for c in act.choices if any(k == g for k, _ in c.option.team)]
        if not own:
            continue
        always = len(own) == len(act.choices) and act.present is None
        yield _Part(
            act=act,
            literal=m.true if always else m.either([c.literal for c in own]),
            starts=union(c.starts for c in own),
            ends=union(c.starts + c.length for c in own),
        )


def _rests(
    one: tuple[int, int], two: tuple[int, int], rest: int
) -> list[tuple[tuple[int, int], tuple[int, int]]]:
    """Return for each place of the rest between two shifts what it takes of each.

    With the first of these, nothing is done in the first shift; with the last, nothing
    in the second.
    """
    begin = max(one[0] + 1, two[0] - rest)
    places = [(at, at + rest) for at in range(begin, one[1] + 1)]
    inside = [(since, until) for since, until in places if until < two[1]]
    every = [(one[0], two[0]), *inside, (one[1], two[1])]
    return [((since, one[1]), (two[0], until)) for since, until in every]


def _places(
    m: Model,
    rests: list[tuple[tuple[int, int], tuple[int, int]]],
    starts: Ints,
    ends: Ints,
) -> list[_Place]:
    """Return the places of a rest, without those that another place makes needless.

    A later place takes less of the first shift and more of the second. Of places that
    take the same ends from the tasks, the one that takes the fewest starts is kept, and
    the other way round. There are none if some place takes nothing, as then no task
    can break the rest. A task ends in the last tick that it works.
    """
    out: list[_Place] = []
    counts: list[tuple[int, int]] = []
    for late, early in rests:
        ends_in = np.searchsorted(m.space.axis, late) + 1
        starts_in = np.searchsorted(m.space.axis, early)
        place = _Place(
            ends=(int(ends_in[0]), int(ends_in[1]) - 1),
            starts=(int(starts_in[0]), int(starts_in[1]) - 1),
        )
        taken = (
            int(np.diff(np.searchsorted(ends, ends_in))[0]),
            int(np.diff(np.searchsorted(starts, starts_in))[0]),
        )
        if taken == (0, 0):
            return []
        if counts and taken[0] == counts[-1][0]:
            continue
        if counts and taken[1] == counts[-1][1]:
            out.pop()
            counts.pop()
        out.append(place)
        counts.append(taken)
    return out


def _rest_somewhere(m: Model, work: list[_Part], places: list[_Place]) -> None:
    """Ask that at one of the places a rest is kept by all tasks of a group."""
    literals = []
    for place in places:
        taken = [
            (part.literal, variable, indices)
            for part in work
            for variable, values, indices in (
                (part.act.end, part.ends, place.ends),
                (part.act.start, part.starts, place.starts),
            )
            if _any_within(values, indices)
        ]
        literal = m.boolean("", not any(_hint_meets(m, *x) for x in taken))
        for taking_part, variable, indices in taken:
            m.outside(variable, indices, literal, taking_part)
        literals.append(literal)
    if literals:
        m.cp.add_bool_or(literals)


def _any_within(values: Ints, span: tuple[int, int]) -> bool:
    """Tell whether one of the rising values lies in [first, last]."""
    first, last = np.searchsorted(values, (span[0], span[1] + 1))
    return bool(first < last)


def _hint_meets(
    m: Model, literal: IntVar, variable: IntVar, span: tuple[int, int]
) -> bool:
    """Tell whether the plan at hand has the literal, and the variable in the span."""
    at = m.hinted(variable)
    holds = literal is m.true or m.hinted(literal) == 1
    return holds and at is not None and span[0] <= at <= span[1]
