"""The ready set of levers of a job, and which two of them are worth trying together."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Any

from planner.levers.air import of_the_air
from planner.levers.crew import of_the_crew
from planner.levers.lever import Lever
from planner.levers.methods import of_methods
from planner.nouns.job import Job

MOST_PAIRS = 4  # tried


def levers(job: Job, file: Mapping[str, Any]) -> tuple[Lever, ...]:
    """Return every lever that the job's file can say, in order of their titles.

    `file` are the values of the job file.
    """
    found = (*of_the_crew(job), *of_the_air(job, file), *of_methods(job))
    return tuple(sorted(found, key=lambda x: x.title))


@dataclass(frozen=True, slots=True, kw_only=True)
class Pulled:
    """A lever and its plan: days gained on the date kept, the closure's minutes."""

    lever: Lever
    days: float
    minutes: Mapping[str, int]


def pairs(tried: Sequence[Pulled]) -> tuple[tuple[Lever, Lever], ...]:
    """Return the pairs of levers most likely to win more together than apart.

    After each lever its plan's closure divides anew. Two are worth trying where each
    eases what the other leaves, those first that gain most apart, then those that leave
    each other most to ease. What loses days apart isn't tried, and no lever twice.
    """
    ranked = sorted(
        (_order(one, two), one.lever.title, two.lever.title)
        for one, two in combinations(sorted(tried, key=lambda t: t.lever.title), 2)
        if min(one.days, two.days) >= 0.0
        and not one.lever.keys & two.lever.keys
        and one.lever.eases != two.lever.eases
        and _left(one, two)
    )
    by_title = {one.lever.title: one.lever for one in tried}
    out: list[tuple[Lever, Lever]] = []
    used: set[str] = set()
    for _, *titles in ranked:
        if not used & set(titles):
            out.append((by_title[titles[0]], by_title[titles[1]]))
            used |= set(titles)
    return tuple(out[:MOST_PAIRS])


def _order(one: Pulled, two: Pulled) -> tuple[float, int]:
    return (-(one.days + two.days), -_left(one, two))


def _left(one: Pulled, two: Pulled) -> int:
    """Return the minutes that each leaves in what the other eases; the lesser of both."""
    return min(
        sum(after.minutes.get(part, 0) for part in other.lever.eases)
        for after, other in ((one, two), (two, one))
    )


def joint(one: Lever, two: Lever) -> Lever:
    """Return two levers as one."""
    return Lever(
        title=f"{one.title}, and {two.title}",
        say=f"{one.say}; {two.say}",
        keys=one.keys | two.keys,
        eases=one.eases | two.eases,
    )
