"""The nouns of when to paint again: gaps that hold it, and how worn the colour is by then."""

from dataclasses import dataclass

from planner.nouns.choices.closures import ClosureChoices, ClosureOption
from planner.nouns.job import Repaint
from planner.nouns.living.wear import Wear


@dataclass(frozen=True, slots=True, kw_only=True)
class RepaintOption:
    """A gap that holds the work, and the days of wear by the day on which it closes."""

    closure: ClosureOption
    worn_days: float

    @property
    def cost(self) -> float:
        """What it costs, moving bookings too; nothing where no rates are given."""
        return self.closure.cost or 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class RepaintChoices:
    """Every gap of the coming weeks, and what speaks for each that holds the work.

    `options` are those that hold it, in order of time.
    """

    closures: ClosureChoices
    repaint: Repaint
    product: str  # its title
    wear: Wear
    options: tuple[RepaintOption, ...]

    @property
    def least_worn(self) -> RepaintOption | None:
        """The option before which the colour is used least; of equals the cheapest."""
        return min(self.options, key=lambda o: (o.worn_days, o.cost), default=None)

    @property
    def cheapest(self) -> RepaintOption | None:
        """The option that costs least; of equals the one with least wear."""
        return min(self.options, key=lambda o: (o.cost, o.worn_days), default=None)

    @property
    def last_in_time(self) -> RepaintOption | None:
        """The last option before the colour is worn; None: it is worn before each."""
        lasts = self.wear.lasts_days
        in_time = [o for o in self.options if o.worn_days < lasts]
        return in_time[-1] if in_time else None
