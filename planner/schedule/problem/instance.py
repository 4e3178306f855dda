"""A whole problem in whole numbers, refused where it contradicts itself."""

from dataclasses import dataclass

from planner.schedule.problem.consistency import require_consistency
from planner.schedule.problem.parts import Stated


@dataclass(frozen=True, slots=True, kw_only=True)
class Instance(Stated):
    """A whole problem; refuses names that lead nowhere, loops and odd numbers.

    Raises
    ------
    CycleError
        When tasks wait for each other in a loop.
    ValueError
        With every other fault, all of them together.
    """

    def __post_init__(self) -> None:
        """Refuse an instance that contradicts itself."""
        require_consistency(self)
