"""Starts that a team needn't have, because some of its people do as well by themselves.

A start of a team is needless if a smaller team, made of some of its people, can begin
at the same tick, works within a single day, and ends no later. In any plan the smaller
team can then take the place of the larger one: nobody is taken for longer or called to
another shift, and nothing that waits for the task has to begin later.
"""

from collections.abc import Iterator, Sequence
from itertools import product

import numpy as np

from planner.schedule.problem.instance import Instance
from planner.schedule.problem.parts import AimKind, LinkKind
from planner.schedule.space.days import Ints, Mask
from planner.schedule.space.option import TeamOption

Team = tuple[tuple[int, int], ...]


def with_all_teams(instance: Instance) -> frozenset[str]:
    """Return the tasks for which a team may be worth more than some of its people.

    That is so where an agreed team is to be changed little, and for every task where
    costs are weighed: a larger team may work fewer hours in all.
    """
    if AimKind.COST in instance.aims:
        return frozenset(t.id for t in instance.tasks)
    return frozenset(b.task for b in instance.agreed)


def must_be_covered(instance: Instance) -> frozenset[str]:
    """Return the tasks after which another may come too late, if they end early."""
    return frozenset(k.before for k in instance.links if k.kind is LinkKind.LATEST)


def without_needless(
    options: Sequence[TeamOption], shifts: Sequence[Ints], *, alike: bool
) -> list[TeamOption]:
    """Return a task's options without needless starts.

    Parameters
    ----------
    options
        The task's options.
    shifts
        For each group, the number of its people's shift by index.
    alike
        Whether the smaller team has to end at the same tick.
    """
    by_team: dict[Team, list[TeamOption]] = {}
    for option in options:
        by_team.setdefault(option.team, []).append(option)
    out: list[TeamOption] = []
    for option in options:
        keep = np.ones(len(option.starts), dtype=np.bool_)
        for smaller in _smaller(option.team):
            for other in by_team.get(smaller, ()):
                keep &= ~_as_good(other, option, shifts, alike=alike)
        if keep.any():
            out.append(option if keep.all() else option.cut(keep))
    return out


def _smaller(team: Team) -> Iterator[Team]:
    """Yield the teams that can be made of some people of a team, but not of all."""
    for counts in product(*(range(n + 1) for _, n in team)):
        smaller = tuple((g, n) for (g, _), n in zip(team, counts, strict=True) if n)
        if smaller and smaller != team:
            yield smaller


def _as_good(
    one: TeamOption, other: TeamOption, shifts: Sequence[Ints], *, alike: bool
) -> Mask:
    """Return for each start of `other` whether `one` can do it as well."""
    at = one.starts.searchsorted(other.starts)
    at = np.minimum(at, len(one.starts) - 1)
    ends = one.ends[at]
    good: Mask = one.starts[at] == other.starts
    good &= (ends == other.ends) if alike else (ends <= other.ends)
    if good.any():
        for g, _ in one.team:
            good &= shifts[g][other.starts] == shifts[g][ends - 1]
    return good
