"""How a bound on a task's start bounds its end, and the reverse, over its options."""

from dataclasses import dataclass

import numpy as np

from planner.schedule.problem.parts import LinkKind
from planner.schedule.space.days import Ints
from planner.schedule.space.option import TeamOption
from planner.schedule.space.search_space import SearchSpace, Tie


@dataclass(frozen=True, slots=True, eq=False)
class Reach:
    """Over all options of a task: how starts bound ends, and ends bound starts."""

    start_from: Ints  # start index → first start at or after it
    end_from: Ints  # start index → least end of a start at or after it
    end_to: Ints  # start index → greatest end of a start at or before it
    start_for: Ints  # end index → least start whose end is at or after it
    start_till: Ints  # end index → greatest start whose end is at or before it


def find_reaches(space: SearchSpace) -> list[Reach | None]:
    """Return the reach of each task; None where it has no start at all."""
    size = space.size
    cache: dict[tuple[int, ...], Reach | None] = {}
    out = []
    for options in space.options:
        key = tuple(id(option.starts) for option in options)
        if key not in cache:
            cache[key] = _reach(options, size)
        out.append(cache[key])
    return out


def _reach(options: tuple[TeamOption, ...], size: int) -> Reach | None:
    if not options:
        return None
    none = size + 1
    start = np.full(size + 2, none, dtype=np.int64)
    least = np.full(size + 2, none, dtype=np.int64)
    most = np.full(size + 2, -1, dtype=np.int64)
    begin = np.full(size + 2, none, dtype=np.int64)
    latest = np.full(size + 2, -1, dtype=np.int64)
    for option in options:
        start[option.starts] = option.starts
        least[option.starts] = np.minimum(least[option.starts], option.ends)
        most[option.starts] = np.maximum(most[option.starts], option.ends)
        begin[option.ends] = np.minimum(begin[option.ends], option.starts)
        latest[option.ends] = np.maximum(latest[option.ends], option.starts)
    return Reach(
        start_from=np.minimum.accumulate(start[::-1])[::-1],
        end_from=np.minimum.accumulate(least[::-1])[::-1],
        end_to=np.maximum.accumulate(most),
        start_for=np.minimum.accumulate(begin[::-1])[::-1],
        start_till=np.maximum.accumulate(latest),
    )


def ties_by_option(
    space: SearchSpace, *, forwards: bool
) -> list[tuple[int, list[list[Tie]]]]:
    """Return, for each task outside a branch, its ties with the branch by option."""
    out: list[tuple[int, list[list[Tie]]]] = []
    for branch in space.instance.branches:
        inside = {space.number[t] for option in branch.options for t in option}
        found: dict[int, list[list[Tie]]] = {}
        for tie in space.ties:
            near, far = (tie.before, tie.after) if forwards else (tie.after, tie.before)
            kinds = {LinkKind.FINISH_START} | (
                {LinkKind.START_START} if forwards else set()
            )
            if near not in inside or far in inside or tie.link.kind not in kinds:
                continue
            if space.tasks[near].optional:
                continue
            rows = found.setdefault(far, [[] for _ in branch.options])
            for number in space.branched[near][1]:
                rows[number].append(tie)
        out += [(far, rows) for far, rows in sorted(found.items()) if all(rows)]
    return out
