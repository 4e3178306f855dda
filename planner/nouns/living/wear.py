"""How worn a colour is: days of use since it was painted, and how many it lasts."""

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True, kw_only=True)
class UsedDay:
    """A day on which the stage was used, or will be: how much of a day's wear, and by whom.

    `share_frac` is 1 without protection. `is_logged`: it was logged, not taken from a
    booking.
    """

    day: date
    share_frac: float
    words: str
    is_logged: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Wear:
    """The days of use since a colour was last painted, in order of time.

    `painted` is that day; None: it wasn't logged. `lasts_days` is how many days without
    protection the colour lasts.
    """

    painted: date | None
    days: tuple[UsedDay, ...]
    lasts_days: float

    def by(self, day: date) -> float:
        """Return how many days of wear there are before a day begins."""
        return sum(d.share_frac for d in self.days if d.day < day)

    @property
    def due(self) -> date | None:
        """The day with which the colour is worn; None: later than is known of."""
        sum_days = 0.0
        for used in self.days:
            sum_days += used.share_frac
            if sum_days >= self.lasts_days - 1e-9:
                return used.day
        return None
