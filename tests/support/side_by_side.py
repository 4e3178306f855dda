"""A small job, and plans made side by side in the tests' own process."""

from collections.abc import Iterator, Sequence

from planner.nouns.choices.comparison import Alternative
from planner.usecases.comparing.side_by_side import (
    Attempt,
    Made,
    Together,
    made,
    tried,
)
from tests.support.values import STRAIGHT, changed

SMALL = changed(
    STRAIGHT, ("5 m", "2.5 m"), ("[stage]", '[methods]\n[stage]\napron = "0 m"')
)


class OneByOne(Together):
    """Plans in this process, one attempt after the other, until it is stopped."""

    def __init__(self, count: int = 99) -> None:
        self.left = count

    def stopped(self) -> bool:
        return not self.left

    def here(self, attempt: Attempt) -> Made:
        self.left -= 1
        return made(attempt)

    def all(self, attempts: Sequence[Attempt]) -> Iterator[tuple[int, Alternative]]:
        for number, one in enumerate(attempts[: self.left]):
            self.left -= 1
            yield number, tried(one)
