"""What changes for one of the crew when a plan takes the place of another one."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

Stretch = tuple[datetime, datetime]


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangedTask:
    """A task of a person: the stretches to come and who else is there, before and after.

    Stretches are empty where the person isn't, or isn't any more, of its team. `is_done`
    tells that it was done sooner than planned.
    """

    id: str
    title: str
    before: Sequence[Stretch]
    after: Sequence[Stretch]
    with_before: Sequence[str] = ()  # ids of people
    with_after: Sequence[str] = ()
    is_done: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangedDay:
    """A day of a person, from the first work to the last; None: not called on it."""

    day: date
    before: Stretch | None
    after: Stretch | None


@dataclass(frozen=True, slots=True, kw_only=True)
class PersonChanges:
    """All that changes for a person from a moment on, in order of time."""

    id: str
    name: str
    days: tuple[ChangedDay, ...]
    tasks: tuple[ChangedTask, ...]
