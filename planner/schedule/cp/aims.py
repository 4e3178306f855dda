"""What each aim minimises, as expressions of the model's variables."""

from collections.abc import Iterable

import numpy as np

from planner.hours.spans import Spans
from planner.schedule.cp.called import calls
from planner.schedule.cp.model import Act, Choice, Model
from planner.schedule.cp.variables import Expr, IntVar
from planner.schedule.problem.instance import Instance
from planner.schedule.problem.parts import PER_CHANGED_PERSON, AimKind, Pool
from planner.schedule.space.days import Ints
from planner.schedule.space.option import TeamOption


def aim_expression(m: Model, aim: AimKind) -> Expr:
    """Return the expression that the aim minimises; adds the variables it needs."""
    match aim:
        case AimKind.LAST_RETURN:
            return last_return(m)
        case AimKind.RETURNS:
            return sum(m.returns.values())
        case AimKind.CLOSED:
            return sum(closed_ticks(m, c) for c in m.returns)
        case AimKind.COST:
            return cost(m)
        case AimKind.CALLS:
            return sum(calls(m).values())
        case AimKind.CHANGE:
            return change(m)
        case AimKind.EARLY:
            return sum(end_tick(m, act) for act in m.acts.values())
        case AimKind.TIDY:
            return tidiness(m)


def leads_to(instance: Instance, closure: str) -> set[str]:
    """Return the tasks of a closure and of its terms, and all that come before them."""
    c = next(c for c in instance.closures if c.id == closure)
    found = {*c.tasks, *(t.task for t in c.terms)}
    before: dict[str, list[str]] = {}
    for link in instance.links:
        if link.kind != "latest":
            before.setdefault(link.after, []).append(link.before)
    rest = sorted(found)
    while rest:
        new = [t for t in before.get(rest.pop(), ()) if t not in found]
        found.update(new)
        rest += new
    return found


def last_return(m: Model) -> Expr:
    """Return the latest return of all closures."""
    returns = list(m.returns.values())
    if len(returns) < 2:
        return returns[0] if returns else 0
    low = max(lo for lo, _ in m.windows.returns.values())
    high = max(hi for _, hi in m.windows.returns.values())
    values = [v for r in returns if (v := m.hinted(r)) is not None]
    last = m.whole((low, high), "last return", max(values) if values else None)
    for returned in returns:
        m.cp.add(last >= returned)
    return last


def closed_ticks(m: Model, closure: str) -> Expr:
    """Return the length of a closure."""
    return m.returns[closure] - _begin_tick(m, closure)


def _begin_tick(m: Model, closure: str) -> IntVar:
    """Return the tick of a closure's first start."""
    acts = [m.acts[n] for n in m.numbers(m.closure(closure).tasks)]
    xs = np.unique(np.concatenate([m.start_values(a.number) for a in acts]))
    return _tick_of(m, m.begins[closure], xs)


def _tick_of(m: Model, index: IntVar, xs: Ints) -> IntVar:
    """Return the tick of a start index that is one of `xs`; elsewhere, no later one."""
    ticks = m.space.axis[xs]
    hint = m.hinted(index)
    tick = m.whole(
        (int(ticks[0]), int(ticks[-1])),
        "",
        None if hint is None else int(m.space.axis[hint]),
    )
    m.at_most(tick, index, xs.tolist(), ticks.tolist())
    return tick


def end_tick(m: Model, act: Act) -> IntVar:
    """Return the tick at which a task ends; 0 when it is left out."""
    xs = m.end_values(act.number)
    ticks = m.space.axis[xs - 1] + 1
    hint = m.hinted(act.end)
    value = None if hint is None else int(m.space.axis[hint - 1]) + 1
    low = int(ticks[0]) if act.present is None else 0
    if act.present is not None and m.hinted(act.present) == 0:
        value = 0
    tick = m.whole((low, int(ticks[-1])), "", value)
    m.at_least(tick, act.end, xs.tolist(), ticks.tolist(), *act.literals)
    return tick


def cost(m: Model) -> Expr:
    """Return the sum of all prices."""
    total: Expr = 0
    for act in m.acts.values():
        pays = m.space.tasks[act.number].pays
        total += pays if act.present is None else pays * act.present
        for c in act.choices:
            total += _least_price(m, c) * c.literal
        total += _further_price(m, act)
    for (g, _), literal in _priced_calls(m):
        total += m.space.groups[g].person.call_price * literal
    for closure in m.space.instance.closures:
        if closure.tick_price:
            total += closure.tick_price * closed_ticks(m, closure.id)
        for start, end, price in closure.soft:
            total += price * _overlaps(m, closure.id, start, end)
    for pool in m.space.instance.pools:
        if pool.day_price:
            total += pool.day_price * sum(hire_days(m, pool))
    return total


def _priced_calls(m: Model) -> Iterable[tuple[tuple[int, int], IntVar]]:
    if any(g.person.call_price for g in m.space.groups):
        return calls(m).items()
    return ()


def _least_price(m: Model, c: Choice) -> int:
    """Return the ordinary price of the fewest ticks that the choice can work."""
    return _tick_price(m, c) * c.option.ticks


def _tick_price(m: Model, c: Choice) -> int:
    return sum(m.space.groups[g].person.price * n for g, n in c.option.team)


def _further_price(m: Model, act: Act) -> Expr:
    """Return what the task costs beyond that: for dear ticks and setting up again."""
    rows = [(c, _further_prices(m, c)) for c in act.choices]
    highest = max(int(prices.max()) for _, prices in rows)
    if highest == 0:
        return 0
    at, value = m.hinted(act.start), None
    for c, prices in rows:
        if at is not None and (m.hinted(c.literal) == 1 or c.literal is m.true):
            value = int(prices[np.searchsorted(c.starts, at)])
    absent = act.present is not None and m.hinted(act.present) == 0
    paid = m.whole((0, highest), "", 0 if absent else value)
    for c, prices in rows:
        if prices.max() == prices.min():
            if prices[0]:
                m.cp.add(paid >= int(prices[0])).only_enforce_if(c.literal)
            continue
        m.at_least(paid, act.start, *_spread(m, act, c, prices), c.literal)
    return paid


def _spread(m: Model, act: Act, c: Choice, prices: Ints) -> tuple[list[int], list[int]]:
    """Return a price for every start of the task, even if the choice doesn't have it.

    A start that the choice doesn't have gets the price of the start before it. Any
    price would do, and with this one the function has few pieces.
    """
    xs = m.start_values(act.number)
    at = np.maximum(np.searchsorted(c.starts, xs, side="right") - 1, 0)
    return xs.tolist(), prices[at].tolist()


def _further_prices(m: Model, c: Choice) -> Ints:
    horizon = m.space.instance.horizon
    worked = m.worked_in(c.option, c.starts, 0, horizon)
    prices = _tick_price(m, c) * (worked - c.option.ticks)
    for g, n in c.option.team:
        person = m.space.groups[g].person
        if person.dear_price:
            for first, last in person.dear:
                dear = m.worked_in(c.option, c.starts, first, last)
                prices = prices + n * person.dear_price * dear
    return prices


def _overlaps(m: Model, closure: str, start: int, end: int) -> IntVar:
    """Return a literal that holds when the closure overlaps a soft booking."""
    begin, returned = m.begins[closure], m.returns[closure]
    last = len(m.space.first) - 1
    after = int(m.space.first[min(end, last)])
    hint_begin, hint_return = m.hinted(begin), m.hinted(returned)
    hint = before_hint = None
    if hint_begin is not None and hint_return is not None:
        before_hint = hint_return <= start
        hint = not before_hint and hint_begin < after
    overlap = m.boolean("", hint)
    before = m.boolean("", before_hint)
    m.cp.add(returned <= start).only_enforce_if(before)
    m.cp.add(begin >= after).only_enforce_if(overlap.negated(), before.negated())
    return overlap


def hire_days(m: Model, pool: Pool) -> list[IntVar]:
    """Return a literal for each day of hire, true if a task takes the pool then."""
    acts = [
        act
        for act in m.acts.values()
        if any(d.pool == pool.id for d in m.space.tasks[act.number].demands)
    ]
    literals, off = [], []
    for start, end in m.space.instance.days if acts else Spans():
        begin, after = int(m.space.first[start]), int(m.space.first[end])
        hint = any(
            m.seats is not None
            and a.number in m.seats
            and m.seats[a.number].start < after
            and m.seats[a.number].end > begin
            for a in acts
        )
        literal = m.boolean("", hint)
        literals.append(literal)
        off.append(
            m.cp.new_optional_fixed_size_interval_var(
                begin, after - begin, literal.negated(), ""
            )
        )
    if literals:
        intervals = [a.interval for a in acts]
        m.cp.add_cumulative(
            [*intervals, *off], [1] * len(acts) + [len(acts)] * len(off), len(acts)
        )
    return literals


def change(m: Model) -> Expr:
    """Return how much the plan differs from the agreed one."""
    total: Expr = 0
    for before in m.space.instance.agreed:
        act = m.acts.get(m.space.number[before.task])
        if act is None:
            continue
        xs = m.start_values(act.number)
        far = np.abs(m.space.axis[xs] - before.start)
        hint = m.hinted(act.start)
        value = None
        if hint is not None:
            value = abs(int(m.space.axis[hint]) - before.start)
        if act.present is not None and m.hinted(act.present) == 0:
            value = 0
        moved = m.whole((0, int(far.max())), "", value)
        m.at_least(moved, act.start, xs.tolist(), far.tolist(), *act.literals)
        total += moved
        for c in act.choices:
            swapped = len(_people(m, c.option) ^ set(before.team))
            total += PER_CHANGED_PERSON * swapped * c.literal
    return total


def _people(m: Model, option: TeamOption) -> set[str]:
    """Return a team by name; of people who are alike, the first ones are named."""
    return {p for g, n in option.team for p in m.space.groups[g].members[:n]}


def tidiness(m: Model) -> Expr:
    """Return the sum over closures of the time from the first call to the return."""
    total: Expr = 0
    for closure in m.space.instance.closures:
        names = sorted(leads_to(m.space.instance, closure.id))
        acts = [m.acts[n] for n in m.numbers(names)]
        xs = np.unique(np.concatenate([m.start_values(a.number) for a in acts]))
        starts = [m.hinted(a.start) for a in acts]
        present = [
            s
            for a, s in zip(acts, starts, strict=True)
            if s is not None and (a.present is None or m.hinted(a.present) == 1)
        ]
        first = m.whole((int(xs[0]), int(xs[-1])), "", min(present, default=None))
        for act in acts:
            rule = m.cp.add(first <= act.start)
            if act.present is not None:
                rule.only_enforce_if(act.present)
        total += m.returns[closure.id] - _tick_of(m, first, xs)
    return total
