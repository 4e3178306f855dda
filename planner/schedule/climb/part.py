"""A part of a problem: some tasks may move, and all others stay where a plan has them.

The others are left out. What they take of people and pools is taken off what there is,
and starts that they leave no room for are dropped (see `left`). So the part is as small
as the tasks that may move. Only a few of the others are kept, as tasks with a single
start: those that bound a closure, and those after or before which people need rest.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace

from planner.schedule.climb.left import StartsLeft, capacity_left, people_taken
from planner.schedule.first.greedy import Seat, Seats
from planner.schedule.problem.instance import Instance
from planner.schedule.problem.parts import Apart, Closure
from planner.schedule.space.option import TeamOption
from planner.schedule.space.search_space import SearchSpace, Tie
from planner.schedule.space.starts import near_shifts


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Subproblem:
    """A space of some tasks of another space; `tasks` holds their numbers there."""

    space: SearchSpace
    tasks: tuple[int, ...]

    def seats_here(self, seats: Seats) -> Seats:
        """Return a plan of the whole as one of the part."""
        return {k: seats[t] for k, t in enumerate(self.tasks) if t in seats}

    def seats_there(self, seats: Seats, found: Seats) -> Seats:
        """Return a plan of the whole in which the part's tasks lie as found."""
        inside = set(self.tasks)
        others = {t: seat for t, seat in seats.items() if t not in inside}
        return others | {self.tasks[k]: seat for k, seat in found.items()}


def with_what_depends(space: SearchSpace, free: set[int]) -> set[int]:
    """Return the tasks with all those that can't stay as they are if these move.

    These are the other tasks of a branch, and two tasks of which the one covers the
    other in time unless a free one is carried out.
    """
    branches = [
        {space.number[t] for option in b.options for t in option}
        for b in space.instance.branches
    ]
    found, before = set(free), set[int]()
    while found != before:
        before = set(found)
        found.update(*(row for row in branches if row & before))
        found.update(*({k.before, k.after} for k in space.ties if k.unless in before))
    return found


def part_of(
    space: SearchSpace, seats: Seats, free: set[int], *, whole: bool = False
) -> Subproblem:
    """Return the part of a problem in which only the free tasks may move.

    Parameters
    ----------
    space
        The whole problem.
    seats
        A plan of it.
    free
        The tasks that may move, with what depends on them (see `with_what_depends`).
    whole
        Whether to leave none of the others out, because what is asked of the part
        counts them as well.
    """
    still = {t: seat for t, seat in seats.items() if t not in free}
    kept = set(still) if whole else _bounding(space, still)
    tasks = tuple(sorted(free | kept))
    here = {t: k for k, t in enumerate(tasks)}
    out = {t: seat for t, seat in still.items() if t not in kept}
    binding = _binding(space, free, still)
    starts = StartsLeft(space, still, binding)
    ties = tuple(
        replace(
            tie,
            before=here[tie.before],
            after=here[tie.after],
            unless=None if tie.unless is None else here[tie.unless],
        )
        for tie in binding
        if tie.before in here and tie.after in here
    )
    instance = _instance(space, tasks, free, ties)
    instance = replace(instance, pools=capacity_left(space, out))
    return Subproblem(
        space=replace(
            space,
            instance=instance,
            tasks=instance.tasks,
            number={t.id: k for k, t in enumerate(instance.tasks)},
            sure=frozenset(here[t] for t in tasks if t in space.sure or t in kept),
            branched={here[t]: b for t, b in space.branched.items() if t in free},
            options=tuple(
                starts.left(t) if t in free else _single(space.options[t], seats[t])
                for t in tasks
            ),
            ties=ties,
            taken=people_taken(space, out),
        ),
        tasks=tasks,
    )


def _bounding(space: SearchSpace, still: Seats) -> set[int]:
    """Return the tasks that bound a closure, and those around which people rest."""
    found = set[int]()
    for c in space.instance.closures:
        tasks = [n for t in c.tasks if (n := space.number[t]) in still]
        terms = [
            (int(space.over[term.wait][still[n].end]), n)
            for term in c.terms
            if (n := space.number[term.task]) in still
        ]
        if tasks:
            found.add(min(tasks, key=lambda t: (still[t].start, t)))
            found.add(max(tasks, key=lambda t: (still[t].end, t)))
        if terms:
            found.add(max(terms)[1])
    resting = {g for g, group in enumerate(space.groups) if near_shifts(group.person)}
    return found | {
        t for t, seat in still.items() if any(g in resting for g, _ in seat.team)
    }


def _binding(space: SearchSpace, free: set[int], still: Seats) -> list[Tie]:
    """Return the ties that bind a free task; those that a settled task lifts don't."""
    out = []
    for tie in space.ties:
        if not {tie.before, tie.after} & free or tie.unless in still:
            continue
        lifted_by_free = tie.unless is None or tie.unless in free
        out.append(tie if lifted_by_free else replace(tie, unless=None))
    return out


def _instance(
    space: SearchSpace, tasks: tuple[int, ...], free: set[int], ties: Iterable[Tie]
) -> Instance:
    """Return the instance of some tasks; those that aren't free are carried out."""
    whole = space.instance
    rows = tuple(
        space.tasks[t] if t in free else replace(space.tasks[t], optional=False)
        for t in tasks
    )
    names = {t.id for t in rows}
    return replace(
        whole,
        tasks=rows,
        links=tuple(
            tie.link if tie.unless is not None else replace(tie.link, unless="")
            for tie in ties
        ),
        apart=tuple(a for apart in whole.apart for a in _apart_of(apart, names)),
        closures=tuple(_closure_of(c, names) for c in whole.closures),
        branches=tuple(
            b
            for b in whole.branches
            if any(space.number[t] in free for option in b.options for t in option)
        ),
        pins=tuple(p for p in whole.pins if p.task in names),
        agreed=tuple(a for a in whole.agreed if a.task in names),
    )


def _apart_of(apart: Apart, names: set[str]) -> list[Apart]:
    others = tuple(t for t in apart.others if t in names)
    return [replace(apart, others=others)] if others and apart.task in names else []


def _closure_of(closure: Closure, names: set[str]) -> Closure:
    return replace(
        closure,
        tasks=tuple(t for t in closure.tasks if t in names),
        terms=tuple(term for term in closure.terms if term.task in names),
    )


def _single(options: Iterable[TeamOption], seat: Seat) -> tuple[TeamOption, ...]:
    """Return the one option of a task with the one start that it has."""
    for option in options:
        if option.team == seat.team and option.ticks == seat.ticks:
            here = option.cut(option.starts == seat.start)
            if len(here.starts):
                return (here,)
    raise AssertionError(f"no option to begin at {seat.start} with team {seat.team}")
