"""By which a plan is known to people: the day it was made, and its number there."""

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True, order=True, kw_only=True)
class PlanMark:
    """The day on which a plan was first written, and how many were written by then.

    The number counts the plans of one folder, one up for each that differs from the one
    that stands there; a plan that is made again just as it is keeps its mark. So as long
    as the folder's plan.json is kept, no two different plans of a folder share a mark,
    and the later one has the higher number. Plans of two folders, or of a folder whose
    plan.json was lost, may: what a plan was made of is told by its fingerprint.
    """

    day: date
    number: int

    def __post_init__(self) -> None:
        """Refuse a number below 1."""
        if self.number < 1:
            raise ValueError(f"number: {self.number} is less than 1")

    @property
    def words(self) -> str:
        """The mark as English has it: '27 Nov 2026, no. 3'."""
        return f"{self.day.day} {self.day:%b %Y}, no. {self.number}"

    @property
    def code(self) -> str:
        """The mark in a form that every language reads: '2026-11-27/3'."""
        return f"{self.day.isoformat()}/{self.number}"


def following(before: PlanMark | None, day: date) -> PlanMark:
    """Return the mark of a plan made on a day after the one that stands, if one does."""
    return PlanMark(day=day, number=1 if before is None else before.number + 1)
