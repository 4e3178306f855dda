"""The rules of a plan as constraints, one function for each rule.

Rules about a task alone have been applied already, when its starts and ends were worked
out: open ticks, setting up, rest within the task, closed starts, one go, holds and pins
(see `allowed_courses`). Rules about people stand in `people`.
"""

import numpy as np
from ortools.sat.python.cp_model_helper import Literal

from planner.schedule.cp.model import Act, Model
from planner.schedule.cp.people import (
    count_trades,
    keep_people_in_one_place,
    rest_between_shifts,
)
from planner.schedule.cp.variables import IntVar
from planner.schedule.problem.parts import LinkKind
from planner.schedule.space.days import Ints
from planner.schedule.space.search_space import Tie


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


def keep_pools_within_capacity(m: Model) -> None:
    """Take at no tick more of a pool (a bay, a tool) than it has."""
    takers: dict[str, list[tuple[Act, int]]] = {}
    for act in m.acts.values():
        for d in m.space.tasks[act.number].demands:
            takers.setdefault(d.pool, []).append((act, d.amount))
    for pool in sorted(m.space.instance.pools, key=lambda p: p.id):
        held = takers.get(pool.id, [])
        for act, amount in held:
            if amount > pool.capacity:
                m.cp.add_bool_or([x.negated() for x in act.literals])
        held = [(act, amount) for act, amount in held if amount <= pool.capacity]
        if not held:
            continue
        intervals = [act.interval for act, _ in held]
        amounts = [amount for _, amount in held]
        missing = np.zeros(m.space.instance.horizon, dtype=np.int64)
        for start, end, capacity in pool.less:
            missing[start:end] = np.maximum(
                missing[start:end], pool.capacity - capacity
            )
        gone, how_much = m.fixed(missing[m.space.axis])
        intervals += gone
        amounts += how_much
        if pool.capacity == 1:
            m.cp.add_no_overlap(intervals)
        elif sum(amounts) > pool.capacity:
            m.cp.add_cumulative(intervals, amounts, pool.capacity)


def carry_out_one_option_of_each_branch(m: Model) -> None:
    """Carry out exactly one option of each branch, and nothing of the others."""
    for branch in m.space.instance.branches:
        options = m.branch_options[branch.id]
        m.cp.add_exactly_one(options)
        homes: dict[int, list[IntVar]] = {}
        for literal, option in zip(options, branch.options, strict=True):
            for name in option:
                homes.setdefault(m.space.number[name], []).append(literal)
        for t, literals in sorted(homes.items()):
            act = m.acts.get(t)
            optional = m.space.tasks[t].optional
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
    """Start no task before the waits of its predecessors are over."""
    for tie in m.space.ties:
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
    """Return a value for each of xs; beyond the last known one, that value is kept."""
    full = np.concatenate([values, np.full(len(xs) - len(known), values[-1])])
    return xs.tolist(), full.tolist()


def _both(m: Model, tie: Tie) -> bool:
    """Tell whether both tasks of a link can be carried out."""
    return tie.before in m.acts and tie.after in m.acts


def cover_in_time(m: Model) -> None:
    """Cover a coat within its window, unless the surface is sanded again."""
    for tie in m.space.ties:
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
    """End what mustn't be in the room before the task, or start it after the wait."""
    for apart in m.space.instance.apart:
        one = m.acts.get(m.space.number[apart.task])
        if one is None:
            continue
        ready = m.space.index(m.space.over[apart.until])
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
    """Begin a closure by the first start of its tasks; return after its terms."""
    for c in m.space.instance.closures:
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
                over = m.space.over[term.wait][xs]
                act = m.acts[n]
                m.at_least(returns, act.end, xs.tolist(), over.tolist(), *act.literals)


def _leads_on(m: Model, t: int, others: set[int]) -> bool:
    """Tell whether another of these tasks always follows this one."""
    return any(
        tie.before == t
        and tie.after in others
        and tie.link.kind is LinkKind.FINISH_START
        and m.space.implies(t, tie.after)
        for tie in m.space.ties
    )


def fit_closures_between_bookings(m: Model) -> None:
    """Fit each closure into one gap between bookings, from first start to return."""
    for c in m.space.instance.closures:
        if c.id not in m.gaps:
            continue
        m.cp.add_exactly_one(m.gaps[c.id])
        acts = [m.acts[n] for n in m.numbers(c.tasks)]
        for literal, (start, end) in zip(
            m.gaps[c.id], m.windows.gaps[c.id], strict=True
        ):
            first, last = int(m.space.first[start]), int(m.space.first[end])
            m.cp.add(m.returns[c.id] <= end).only_enforce_if(literal)
            m.cp.add(m.begins[c.id] >= first).only_enforce_if(literal)
            for act in acts:
                inside = m.cp.add_linear_constraint(act.start, first, last - 1)
                inside.only_enforce_if(literal, *act.literals)
