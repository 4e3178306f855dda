"""Refusals of what no hour can hold: asked of a short grid first, told of the longest."""

from collections.abc import Callable, Iterable, Sequence
from typing import TypeVar

from planner.errors import NoPlanError
from planner.planning.problem import Problem

Found = TypeVar("Found")


def refuse_even_longest(
    message: str,
    problem: Problem,
    longest: Callable[[], Problem],
    *,
    find: Callable[[Problem], Sequence[Found]],
    words: Callable[[Problem, Found], str],
    helps: Callable[[Problem, Found], Iterable[str]],
) -> None:
    """Refuse with a message if something is found on a grid and on the longest one too.

    Raises
    ------
    NoPlanError
        With the words and the helps of each thing that is found.
    """
    if not find(problem):
        return
    last = longest()
    found = find(last)
    if found:
        raise NoPlanError(
            message,
            conflict=tuple(words(last, f) for f in found),
            helps=tuple(h for f in found for h in helps(last, f)),
            facts=("too long",),
        )
