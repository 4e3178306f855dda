"""The rules of a plan as constraints, one function a rule.

What concerns a task alone is already in its starts and ends: open ticks, setting up,
rest within the task, closed starts, one go, holds and pins (see `allowed_courses`).
"""

from itertools import combinations, pairwise

import numpy as np
from ortools.sat.python import cp_model
from ortools.sat.python.cp_model_helper import Literal

from planner.schedule.cp.model import Act, Choice, IntVar, Model
from planner.schedule.problem.parts import LinkKind
from planner.schedule.space.days import Ints, Mask, shifts_of
from planner.schedule.space.search_space import Tie
from planner.schedule.space.starts import near_shifts

MOST_TRADES = 40  # sets of people that are counted together


def keep_all_rules(m: Model) -> None:
    """Add every rule to the model."""
    for rule in (
        keep_people_in_one_place,
        count_trades,
        keep_pools_within_capacity,
        carry_out_one_option_of_each_branch,
        wait_for_what_comes_before,
        cover_in_time,
        keep_apart,
        close_around_the_tasks,
        fit_closures_between_bookings,
        rest_between_shifts,
    ):
        m.check()
        rule(m)


def keep_people_in_one_place(m: Model) -> None:
    """Let nobody be in two teams at a time, pauses included.

    A person has one interval a task, whatever its length: the solver's time goes
    with the number of intervals.
    """
    for act in m.acts.values():
        by_place: dict[tuple[int, int], list[IntVar]] = {}
        for c in act.choices:
            for g, count in c.way.team:
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
    """Ask no set of people for more of them than there are.

    It follows from the rule before, but lets the solver count without naming. The
    demand of a task is the least that any of its teams takes from the set, or
    follows its team where teams of several sizes are possible; a team is held from
    start to end, so the whole span counts.
    """
    for people in _sets_of_people(m):
        size = sum(len(m.ground.groups[g].members) for g in people)
        held: list[tuple[cp_model.IntervalVar, IntVar | int]] = []
        most = 0
        for act in m.acts.values():
            taken: dict[int, list[IntVar]] = {}
            for c in act.choices:
                count = sum(n for g, n in c.way.team if g in people)
                taken.setdefault(count, []).append(c.literal)
            if max(taken) == 0:
                continue
            if len({c.way.size for c in act.choices}) == 1 or len(taken) == 1:
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
    """Return how many a task takes, given the literals of its teams by that number."""
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
    """Return the sets that tasks draw on, their leads, and unions of these."""
    found: set[frozenset[int]] = set()
    for t, act in m.acts.items():
        task = m.ground.tasks[t]
        able = frozenset(g for c in act.choices for g, _ in c.way.team)
        leads = {g for g in able if m.ground.groups[g].members[0] in (task.leads or ())}
        found |= {able, frozenset(leads)} - {frozenset()}
    base = sorted(found, key=lambda s: (len(s), sorted(s)))
    for one, two in combinations(base, 2):
        if len(found) >= MOST_TRADES:
            break
        found.add(one | two)
    return sorted(found, key=lambda s: (len(s), sorted(s)))


def keep_pools_within_capacity(m: Model) -> None:
    """Take at no tick more of a bay's or tool's places than there are."""
    takers: dict[str, list[tuple[Act, int]]] = {}
    for act in m.acts.values():
        for d in m.ground.tasks[act.number].demands:
            takers.setdefault(d.pool, []).append((act, d.amount))
    for pool in sorted(m.ground.instance.pools, key=lambda p: p.id):
        held = takers.get(pool.id, [])
        for act, amount in held:
            if amount > pool.capacity:
                m.cp.add_bool_or([x.negated() for x in act.literals])
        held = [(act, amount) for act, amount in held if amount <= pool.capacity]
        if not held:
            continue
        intervals = [act.interval for act, _ in held]
        amounts = [amount for _, amount in held]
        missing = np.zeros(m.ground.instance.horizon, dtype=np.int64)
        for start, end, capacity in pool.less:
            missing[start:end] = np.maximum(
                missing[start:end], pool.capacity - capacity
            )
        for start, end, gone in _runs(missing[m.ground.axis]):
            interval = m.cp.new_fixed_size_interval_var(start, end - start, "")
            intervals.append(interval)
            amounts.append(gone)
        if pool.capacity == 1:
            m.cp.add_no_overlap(intervals)
        elif sum(amounts) > pool.capacity:
            m.cp.add_cumulative(intervals, amounts, pool.capacity)


def _runs(values: Ints) -> list[tuple[int, int, int]]:
    """Return (start, end, value) for each run of one value above 0."""
    edges = np.flatnonzero(np.diff(values)) + 1
    bounds = [0, *edges.tolist(), len(values)]
    return [(a, b, int(values[a])) for a, b in pairwise(bounds) if a < b and values[a]]


def carry_out_one_option_of_each_branch(m: Model) -> None:
    """Carry out exactly one option of each branch, and nothing of the others."""
    for branch in m.ground.instance.branches:
        options = m.options[branch.id]
        m.cp.add_exactly_one(options)
        homes: dict[int, list[IntVar]] = {}
        for literal, option in zip(options, branch.options, strict=True):
            for name in option:
                homes.setdefault(m.ground.number[name], []).append(literal)
        for t, literals in sorted(homes.items()):
            act = m.acts.get(t)
            optional = m.ground.tasks[t].optional
            if act is None:
                if not optional:
                    m.cp.add_bool_and([x.negated() for x in literals])
                continue
            present = m.true if act.present is None else act.present
            m.cp.add_bool_or([present.negated(), *literals])
            if not optional:
                for literal in literals:
                    m.cp.add_implication(literal, present)


def wait_for_what_comes_before(m: Model) -> None:
    """Start each task no earlier than the waits of those before it are over."""
    for tie in m.ground.ties:
        if tie.link.kind is LinkKind.LATEST or not _both(m, tie):
            continue
        one, two = m.acts[tie.before], m.acts[tie.after]
        from_start = tie.link.kind is LinkKind.START_START
        begin = one.start if from_start else one.end
        xs = m.start_values(tie.before) if from_start else m.end_values(tie.before)
        starts = m.start_values(tie.after)
        ready = tie.ready[xs]
        fits = np.searchsorted(starts, ready)
        reachable = fits < len(starts)
        if not reachable.all():
            # only possible where one of the two may be left out
            both = [*one.literals, *two.literals]
            if not reachable.any():
                m.cp.add_bool_or([x.negated() for x in both])
                continue
            m.within(begin, xs[reachable], *both)
        snapped = starts[fits[reachable]]
        if int(snapped[-1]) > int(starts[0]):
            m.at_least(
                two.start,
                begin,
                *_filled(xs, xs[reachable], snapped),
                *one.literals,
                *two.literals,
            )


def _filled(xs: Ints, known: Ints, values: Ints) -> tuple[list[int], list[int]]:
    """Return xs with a value for each; beyond the known ones, the last is kept."""
    full = np.concatenate([values, np.full(len(xs) - len(known), values[-1])])
    return xs.tolist(), full.tolist()


def _both(m: Model, tie: Tie) -> bool:
    """Tell whether both tasks of a link can be carried out."""
    return tie.before in m.acts and tie.after in m.acts


def cover_in_time(m: Model) -> None:
    """Follow within the window what must be covered, unless the surface is redone."""
    for tie in m.ground.ties:
        if tie.link.kind is not LinkKind.LATEST or not _both(m, tie):
            continue
        one, two = m.acts[tie.before], m.acts[tie.after]
        literals: list[Literal] = [*one.literals, *two.literals]
        if tie.unless is not None and tie.unless in m.acts:
            redone = m.acts[tie.unless].present
            if redone is None:
                continue
            literals.append(redone.negated())
        xs = m.end_values(tie.before)
        last = int(m.start_values(tie.after)[-1])
        still = np.minimum(tie.still[xs], last)
        if int(still[0]) < last:
            m.at_most(two.start, one.end, xs.tolist(), still.tolist(), *literals)


def keep_apart(m: Model) -> None:
    """End before the task what mustn't share the room, or start it after the wait."""
    for apart in m.ground.instance.apart:
        one = m.acts.get(m.ground.number[apart.task])
        if one is None:
            continue
        ready = m.ground.index(m.ground.over[apart.until])
        xs = m.end_values(one.number)
        for two in (m.acts[n] for n in m.numbers(apart.others)):
            hint = None
            if m.seats is not None and one.number in m.seats and two.number in m.seats:
                hint = m.seats[two.number].end <= m.seats[one.number].start
            first = m.boolean("", hint)
            both = [*one.literals, *two.literals]
            m.cp.add(two.end <= one.start).only_enforce_if(first, *both)
            m.at_least(
                two.start,
                one.end,
                xs.tolist(),
                ready[xs].tolist(),
                first.negated(),
                *both,
            )


def close_around_the_tasks(m: Model) -> None:
    """Begin each closure by the first start of its tasks; return it after all."""
    for c in m.ground.instance.closures:
        begin, returns = m.begins[c.id], m.returns[c.id]
        for act in (m.acts[n] for n in m.numbers(c.tasks)):
            rule = m.cp.add(begin <= act.start)
            if act.present is not None:
                rule.only_enforce_if(act.present)
        for term in c.all_terms:
            for n in m.numbers([term.task]):
                if not term.wait and _leads_on(m, n, set(m.numbers(c.tasks))):
                    continue
                xs = m.end_values(n)
                over = m.ground.over[term.wait][xs]
                act = m.acts[n]
                m.at_least(returns, act.end, xs.tolist(), over.tolist(), *act.literals)


def _leads_on(m: Model, t: int, others: set[int]) -> bool:
    """Tell whether another of these tasks always follows this one."""
    return any(
        tie.before == t
        and tie.after in others
        and tie.link.kind is LinkKind.FINISH_START
        and m.ground.implies(t, tie.after)
        for tie in m.ground.ties
    )


def fit_closures_between_bookings(m: Model) -> None:
    """Lay each closure in one gap between bookings, from first start to return."""
    for c in m.ground.instance.closures:
        if c.id not in m.gaps:
            continue
        m.cp.add_exactly_one(m.gaps[c.id])
        acts = [m.acts[n] for n in m.numbers(c.tasks)]
        for literal, (start, end) in zip(m.gaps[c.id], m.room.gaps[c.id], strict=True):
            first, last = int(m.ground.first[start]), int(m.ground.first[end])
            m.cp.add(m.returns[c.id] <= end).only_enforce_if(literal)
            m.cp.add(m.begins[c.id] >= first).only_enforce_if(literal)
            for act in acts:
                inside = m.cp.add_linear_constraint(act.start, first, last - 1)
                inside.only_enforce_if(literal, *act.literals)


def rest_between_shifts(m: Model) -> None:
    """Let a person rest between a task in one shift and another in the next.

    Where two shifts lie nearer than the rest, the rest between them begins somewhere:
    one literal for each place it can have. No task of the person ends in the first
    shift after that, and none starts in the second before the rest is over. A task
    that goes on from the one into the other rests within its own course.
    """
    for g, group in enumerate(m.ground.groups):
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
    """Return where the rest between two shifts can begin, and when it is over then.

    At the first place, nothing is done in the first shift, at the last one nothing in
    the second.
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
    """Ask that no task of the person ends in `late` or starts in `early`.

    It is asked when the literal holds. A task ends in a tick when that is the last
    tick it works.
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
    """Return for each start whether it lies in `early`, or the last tick in `late`."""
    first, last = m.ground.axis[starts], m.ground.axis[starts + length - 1]
    meets: Mask = (last >= late[0]) & (last < late[1])
    return meets | ((first >= early[0]) & (first < early[1]))


def _choices_of(m: Model, g: int) -> list[tuple[Act, Choice]]:
    """Return each choice whose team has somebody of the group, with its task."""
    return [
        (act, c)
        for act in m.acts.values()
        for c in act.choices
        if any(k == g for k, _ in c.way.team)
    ]


def _hint_meets(
    m: Model, act: Act, c: Choice, late: tuple[int, int], early: tuple[int, int]
) -> bool:
    """Tell whether the plan at hand ends in `late` or starts in `early` by a choice."""
    at = m.hinted(act.start)
    if at is None:
        return False
    starts = np.array([at], dtype=np.int64)
    return bool(_meets(m, starts, c.length, late, early)[0])
