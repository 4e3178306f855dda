"""A whole problem in whole numbers, refused where it contradicts itself."""

from dataclasses import dataclass, field
from typing import Any

from planner.hours.spans import Spans
from planner.schedule.problem.parts import (
    Activity,
    AimKind,
    Apart,
    Before,
    Branch,
    Closure,
    Link,
    Lookup,
    Person,
    Pin,
    Pool,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Instance:
    """A whole problem; refuses names that lead nowhere, loops and odd numbers.

    Raises
    ------
    CycleError
        When tasks wait for each other in a loop.
    ValueError
        With every other fault, all of them together.
    """

    horizon: int
    tasks: tuple[Activity, ...]
    people: tuple[Person, ...] = ()
    pools: tuple[Pool, ...] = ()
    lookups: tuple[Lookup, ...] = ()
    links: tuple[Link, ...] = ()
    apart: tuple[Apart, ...] = ()
    closures: tuple[Closure, ...] = ()
    branches: tuple[Branch, ...] = ()
    pins: tuple[Pin, ...] = ()
    agreed: tuple[Before, ...] = ()
    days: Spans = field(default_factory=Spans)
    aims: tuple[AimKind, ...] = (AimKind.LAST_RETURN,)

    def __post_init__(self) -> None:
        """Refuse an instance that contradicts itself."""
        from planner.schedule.problem.consistency import require_consistency

        require_consistency(self)

    def to_json(self) -> dict[str, Any]:
        """Return the instance as plain JSON values."""
        from planner.schedule.problem.json_form import plain

        data: dict[str, Any] = plain(self)
        return data

    @staticmethod
    def from_json(data: dict[str, Any]) -> "Instance":
        """Return the instance that `to_json` wrote; refuses keys it doesn't know."""
        from planner.schedule.problem.json_form import build

        return build(Instance, data)
