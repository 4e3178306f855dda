"""Limits on the air that clash: those that break, beside the air that there is."""

import numpy as np
from numpy.typing import NDArray

from planner.air.limits import breaks_by_limit, found_by_limit
from planner.planning.problem import LIMITS, Problem
from planner.schedule.problem.parts import Hold


def never_kept(problem: Problem) -> tuple[str, ...]:
    """Return the facts that are limits on the air and that no start of a task keeps."""
    holds = _holds(problem)
    count = problem.grid.ticks
    never = (
        hold.fact
        for hold, least in holds
        if _never(problem, hold, least, hold.bad.mask(count))
    )
    return tuple(dict.fromkeys(never))


def never_words(problem: Problem, never: tuple[str, ...]) -> tuple[str, ...]:
    """Return each limit that no hour keeps, with the air that there is."""
    return tuple(_never_words(problem, fact) for fact in never)


def limits_told(problem: Problem, fact: str) -> str:
    """Return a limit that clashes: of all that its product asks for, what ever breaks."""
    product = problem.products[fact.removeprefix(LIMITS)]
    broken = breaks_by_limit(product.limits, problem.air)
    names = [words for words, mask in broken.items() if mask.any()]
    return _told(problem, fact, names) if names else problem.facts[fact]


def _holds(problem: Problem) -> list[tuple[Hold, int]]:
    """Return the limits of work that must be done, with the least ticks of that work."""
    return [
        (hold, min(m.ticks for m in task.modes) + task.set_up)
        for task in problem.instance.tasks
        if not task.optional
        for hold in task.holds
    ]


def _never(problem: Problem, hold: Hold, least: int, broken: NDArray[np.bool_]) -> bool:
    """Tell whether no start is free of broken ticks until the wait after it is over."""
    count = problem.grid.ticks
    ends = np.arange(count + 1)
    over = next(
        (np.array(x.over) for x in problem.instance.lookups if x.name == hold.until),
        ends,
    )
    until = over[least:]
    bad = np.concatenate(([0], np.cumsum(broken)))
    starts = ends[: len(until)]
    within = until <= count
    kept = bad[np.where(within, until, starts)] == bad[starts]
    return not (within & kept).any()


def _never_words(problem: Problem, fact: str) -> str:
    """Return a limit that no hour keeps: what alone would be enough, if anything is."""
    product = problem.products[fact.removeprefix(LIMITS)]
    broken = breaks_by_limit(product.limits, problem.air)
    holds = [(h, least) for h, least in _holds(problem) if h.fact == fact]
    alone = [
        words
        for words, mask in broken.items()
        if any(_never(problem, h, least, mask) for h, least in holds)
    ]
    names = alone or [words for words, mask in broken.items() if mask.any()]
    if not names:  # the air is beyond what is known of how the product dries
        return f"no hour keeps {problem.facts[fact]}"
    return f"no hour keeps {_told(problem, fact, names)}"


def _told(problem: Problem, fact: str, names: list[str]) -> str:
    product = problem.products[fact.removeprefix(LIMITS)]
    there = found_by_limit(product.limits, problem.air)
    found = "; ".join(dict.fromkeys(there[words] for words in names))
    return f"{product.title}: {', '.join(names)} until dry; {found}"
