"""What was worked out of tasks and hours before, for instances that share them."""

from dataclasses import dataclass, field
from typing import Any

from planner.hours.spans import Spans
from planner.schedule.problem.parts import Person
from planner.schedule.space.days import Courses, Mask


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Found:
    """A team's useful ticks and its courses, in parts within which the ends rise."""

    kept: Any  # the objects it was worked out from, kept alive
    useful: Mask
    parts: tuple[Courses, ...]


@dataclass(slots=True)
class Memory:
    """Courses found before, kept for further instances that share their parts.

    Blocks and holds are recognised by identity. They are kept here as well,
    so that no other object can take their identity. People are recognised by their
    hours and their rest, whoever they are.
    """

    starts: dict[Any, Found] = field(default_factory=dict)
    hours: dict[tuple[Spans, Spans, int], int] = field(default_factory=dict)

    def hours_of(self, person: Person) -> int:
        """Return the number of the person's hours, which is that of the same hours."""
        key = (person.open, person.shifts, person.rest)
        return self.hours.setdefault(key, len(self.hours))
