"""The nouns of when to close: free stretches of the stage, and what each could hold."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from planner.nouns.calendar import Busy
from planner.nouns.choices.comparison import Figures


@dataclass(frozen=True, slots=True, kw_only=True)
class Gap:
    """A stretch in which nothing is booked on the stage; the bookings around, in words.

    `end` and `after` are empty for the stretch after the last booking that is known.
    `moving` are tentative bookings in it, which would have to move.
    """

    start: datetime
    end: datetime | None
    before: str = ""
    after: str = ""
    moving: tuple[Busy, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class ClosureOption:
    """What a gap could hold: the best plan found in it, or why there is none.

    `needs_until` is set where the gap is too short: whatever the plan, the stage isn't
    back before. `moved` says what else would have to move for it, in words.
    """

    gap: Gap
    figures: Figures | None = None
    needs_until: datetime | None = None
    why: str = ""
    moved: tuple[str, ...] = ()

    @property
    def hits(self) -> float:
        """How often the stage is still closed when the next booking begins."""
        return 0.0 if self.figures is None else self.figures.next_hit_frac


@dataclass(frozen=True, slots=True, kw_only=True)
class ClosureChoices:
    """Every gap of the stage in a stretch of months, and what it could hold."""

    job: str
    zone: str
    currency: str
    until: datetime
    sure_percent: int  # dates are kept in so many of a hundred futures
    options: tuple[ClosureOption, ...]
    not_reached: int = 0  # gaps that weren't planned before the run was stopped

    def kept(self) -> tuple[ClosureOption, ...]:
        """Return the options that no other one beats in every way, in order of time."""
        return undominated([o for o in self.options if o.figures is not None])

    def beaten(self) -> tuple[ClosureOption, ...]:
        """Return the options that are worse than another one in every way."""
        kept = self.kept()
        return tuple(o for o in self.options if o.figures and o not in kept)


def criteria(option: ClosureOption) -> tuple[float, float, float, float]:
    """Return what an option is weighed by; less is better in each.

    The date that is kept, the length of the closure up to it, all costs, and how often
    the next booking is hit.
    """
    figures = option.figures
    assert figures is not None
    back = figures.full.kept
    if back is None:
        return (float("inf"), float("inf"), figures.cost or 0.0, option.hits)
    closed = (back - figures.closure[0]).total_seconds()
    return (back.timestamp(), closed, figures.cost or 0.0, option.hits)


def undominated(options: Sequence[ClosureOption]) -> tuple[ClosureOption, ...]:
    """Return the options that none other equals or beats in all ways, beating it in one."""
    rows = [(criteria(o), o) for o in options]

    def beaten(mine: tuple[float, ...]) -> bool:
        return any(
            other != mine and all(a <= b for a, b in zip(other, mine, strict=True))
            for other, _ in rows
        )

    return tuple(o for row, o in rows if not beaten(row))
