"""What is left of the space once windows are narrowed, and what a plan must keep to."""

from dataclasses import dataclass, field

from planner.schedule.problem.instance import Instance
from planner.schedule.problem.parts import AimKind
from planner.schedule.space.search_space import SearchSpace


class ImpossibleError(Exception):
    """A task that every plan carries out has no possible start left."""

    def __init__(self, task: str) -> None:
        super().__init__(task)
        self.task = task


@dataclass(frozen=True, slots=True, kw_only=True)
class Cuts:
    """Limits besides the rules: on returns, on lengths of closures, on first starts."""

    returns: dict[str, int] = field(default_factory=dict)
    lengths: dict[str, int] = field(default_factory=dict)


def cuts_of(instance: Instance, kept: tuple[tuple[AimKind, int], ...]) -> Cuts:
    """Return the limits on returns and lengths that the kept aims ask for."""
    returns: dict[str, int] = {}
    lengths: dict[str, int] = {}
    for aim, value in kept:
        for c in instance.closures:
            if aim in {AimKind.LAST_RETURN, AimKind.RETURNS}:
                returns[c.id] = min(value, returns.get(c.id, value))
            if aim is AimKind.CLOSED:
                lengths[c.id] = min(value, lengths.get(c.id, value))
    return Cuts(returns=returns, lengths=lengths)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class NarrowedWindows:
    """The space with only the starts that some plan may use.

    Bounds are arrays by task number: first and last start index, first and last end
    index. `gone` holds the tasks that no plan can carry out. Bounds of returns are in
    ticks.
    """

    space: SearchSpace
    start_lo: tuple[int, ...]
    start_hi: tuple[int, ...]
    end_lo: tuple[int, ...]
    end_hi: tuple[int, ...]
    gone: frozenset[int]
    gaps: dict[str, tuple[tuple[int, int], ...]]
    returns: dict[str, tuple[int, int]]
