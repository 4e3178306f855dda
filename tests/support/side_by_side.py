"""A small job, and plans made side by side in the tests' own process."""

from collections.abc import Callable, Iterator, Sequence

from planner.nouns.choices.comparison import Alternative
from planner.promise.playing import say_nothing
from planner.usecases.comparing.attempts import Attempt, Made, made, tried
from planner.usecases.comparing.side_by_side import Together
from tests.support.values import STRAIGHT, changed

SMALL = changed(
    STRAIGHT, ('"5 m"', '"2.5 m"'), ("[stage]", '[methods]\n[stage]\napron = "0 m"')
)


class OneByOne(Together):
    """Plans in this process, one attempt after the other, until it is stopped."""

    def __init__(self, count: int = 99) -> None:
        self.left = count

    def stopped(self) -> bool:
        return not self.left

    def here(self, attempt: Attempt, step: Callable[[str], None] = say_nothing) -> Made:
        self.left -= 1
        return made(attempt, step=step)

    def all(self, attempts: Sequence[Attempt]) -> Iterator[tuple[int, Alternative]]:
        for number, one in enumerate(attempts[: self.left]):
            self.left -= 1
            yield number, tried(one)
