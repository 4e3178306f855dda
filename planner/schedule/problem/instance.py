"""A whole scheduling problem in whole numbers; an inconsistent one is refused."""

from dataclasses import dataclass

from planner.schedule.problem.consistency import require_consistency
from planner.schedule.problem.parts import Stated


@dataclass(frozen=True, slots=True, kw_only=True)
class Instance(Stated):
    """A whole scheduling problem in whole numbers, checked when it is made.

    Raises
    ------
    CycleError
        If tasks wait for each other in a loop.
    ValueError
        For every other fault, such as an unknown name; the message lists all of them.
    """

    def __post_init__(self) -> None:
        """Refuse an instance that is inconsistent."""
        require_consistency(self)
