"""What a job's log taught, as people read it."""

from collections.abc import Iterator, Mapping

from planner.nouns.odds import Learned, Lesson


def taught_lines(
    learned: Learned, works: Mapping[str, str], products: Mapping[str, str]
) -> Iterator[str]:
    """Yield what is planned otherwise than by the rates and laws, a sentence each.

    `works` and `products` are titles by id, those of work that is still to come alone.
    What was seen, but changes nothing in what is planned, isn't told.
    """
    for one in learned.pace:
        if one.seen and one.times != 1.0:
            title = works.get(one.of)
            if title is not None:
                yield f"{title} ({one.seen} logged): {_times(one)} of its rate"
    yield from _by_other_work(learned, works)
    for one in learned.waits:
        if one.times != 1.0:
            coats = "1 coat" if one.seen == 1 else f"{one.seen} coats"
            yield f"{products[one.of]} ({coats} looked at): {_times(one)} of its law"


def _by_other_work(learned: Learned, works: Mapping[str, str]) -> Iterator[str]:
    """Yield what is planned otherwise though nobody logged any, for alike work once."""
    left = [one for one in learned.pace if not one.seen and one.of in works]
    for times in sorted({one.times for one in left} - {1.0}):
        alike = [one for one in left if one.times == times]
        if len(alike) == len(left) > 1:
            titles = "All other work of the crew's own"
        else:
            titles = ", ".join(sorted(works[one.of] for one in alike))
        yield f"{titles} (by how what was logged went): {_times(alike[0])} of its rate"


def _times(lesson: Lesson) -> str:
    return f"{lesson.times:.2f} times the hours"
