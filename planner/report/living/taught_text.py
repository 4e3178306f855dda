"""What a job's log taught, as people read it."""

from collections.abc import Iterator, Mapping

from planner.nouns.odds import Learned, Lesson


def taught_lines(
    learned: Learned, works: Mapping[str, str], products: Mapping[str, str]
) -> Iterator[str]:
    """Yield what is planned otherwise than by the rates and laws, a line each.

    `works` and `products` are titles by id. What was seen, but changes nothing in what
    is planned, isn't told.
    """
    for one in learned.pace:
        seen = f"{one.seen} logged" if one.seen else "by how other work went"
        if one.times != 1.0:
            yield f"{works[one.of]} ({seen}): {_times(one)} of its rate"
    for one in learned.waits:
        if one.times != 1.0:
            coats = "1 coat" if one.seen == 1 else f"{one.seen} coats"
            yield f"{products[one.of]} ({coats} looked at): {_times(one)} of its law"


def _times(lesson: Lesson) -> str:
    return f"{lesson.times:.2f} times the hours"
