"""The facts of an instance, and the instance without some of them."""

from collections.abc import Iterable
from dataclasses import replace
from functools import lru_cache

from planner.hours.spans import Spans
from planner.schedule.problem.instance import Instance
from planner.schedule.problem.parts import Activity, Closure, Person


def all_facts(instance: Instance) -> tuple[str, ...]:
    """Return every fact; those that the search for a clash leaves out first come first.

    Facts that a user can change most easily come last, so that they remain in a clash.
    """
    rows: list[Iterable[str]] = [
        (k.fact for k in instance.links),
        (a.fact for a in instance.apart),
        (h.fact for t in instance.tasks for h in t.holds),
        (b.fact for t in instance.tasks for b in (*t.no_work, *t.no_start)),
        (p.rest_fact for p in instance.people),
        (p.fact for p in instance.people),
        (p.fact for p in instance.pins),
        (b.fact for c in instance.closures for b in c.booked),
        (c.due_fact for c in instance.closures if c.due is not None),
    ]
    ordered = [fact for row in rows for fact in sorted(set(row)) if fact]
    return tuple(dict.fromkeys(ordered))


def ground_facts(instance: Instance) -> frozenset[str]:
    """Return the facts that limit when a single task can lie.

    These are open ticks, blocks, holds, bookings and pins, but not links or due ticks.
    """
    tasks = instance.tasks
    found = {
        *(h.fact for t in tasks for h in t.holds),
        *(b.fact for t in tasks for b in (*t.no_work, *t.no_start)),
        *(b.fact for c in instance.closures for b in c.booked),
        *(f for p in instance.people for f in (p.fact, p.rest_fact)),
        *(p.fact for p in instance.pins),
    }
    return frozenset(found - {""})


def lift(instance: Instance, facts: Iterable[str]) -> Instance:
    """Return the instance without some of its facts."""
    gone = set(facts) - {""}
    if not gone:
        return instance
    return replace(
        instance,
        tasks=tuple(_lift_task(t, gone) for t in instance.tasks),
        people=tuple(_lift_person(p, gone, instance.horizon) for p in instance.people),
        links=tuple(k for k in instance.links if k.fact not in gone),
        apart=tuple(a for a in instance.apart if a.fact not in gone),
        closures=tuple(_lift_closure(c, gone) for c in instance.closures),
        pins=tuple(p for p in instance.pins if p.fact not in gone),
    )


def _lift_task(task: Activity, gone: set[str]) -> Activity:
    return replace(
        task,
        no_work=tuple(b for b in task.no_work if b.fact not in gone),
        no_start=tuple(b for b in task.no_start if b.fact not in gone),
        holds=tuple(h for h in task.holds if h.fact not in gone),
    )


def _lift_person(person: Person, gone: set[str], horizon: int) -> Person:
    if person.fact in gone:
        always = _always(horizon)
        return replace(person, open=always, shifts=always, rest=0)
    return replace(person, rest=0) if person.rest_fact in gone else person


@lru_cache(maxsize=8)
def _always(horizon: int) -> Spans:
    return Spans.of([(0, horizon)])


def _lift_closure(closure: Closure, gone: set[str]) -> Closure:
    return replace(
        closure,
        booked=tuple(b for b in closure.booked if b.fact not in gone),
        due=None if closure.due_fact in gone else closure.due,
    )
