"""The nouns of a calendar as it was read; times are UTC instants."""

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class Busy:
    """A stretch of a calendar that is taken, and the entry that takes it.

    `kind` is "busy", "unavailable" or "tentative". `title` is empty for a private
    entry. `all_day` is true where the entry was given as whole days. `moving_cost` is
    what moving the booking costs, where the job file says so.
    """

    start: datetime
    end: datetime
    kind: str
    title: str
    file: str
    uid: str
    all_day: bool = False
    moving_cost: float | None = None

    @property
    def movable(self) -> bool:
        """Whether it may be moved: it is tentative, or the job file prices it."""
        return self.kind == "tentative" or self.moving_cost is not None


@dataclass(frozen=True, slots=True, kw_only=True)
class Calendar:
    """What a calendar file says of a window: taken stretches and remarks on reading."""

    file: str
    busy: tuple[Busy, ...]
    remarks: tuple[str, ...] = ()
