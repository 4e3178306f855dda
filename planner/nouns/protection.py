"""The nouns of a promise: what protects a plan, and what each protection comes to."""

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class Protection:
    """By how much labour and waits are taken to be longer while a plan is searched for.

    Fractions of what the job says: with `labour_frac` 0.2 a task of five hours is
    looked for six hours of room. `waits_frac` is added to the job's margin, for waits
    that hang on the air. The plan that is told has the real lengths.
    """

    labour_frac: float = 0.0
    waits_frac: float = 0.0

    def __post_init__(self) -> None:
        """Refuse to make anything shorter."""
        if self.labour_frac < 0.0 or self.waits_frac < 0.0:
            raise ValueError(f"protection below 0: {self}")


UNPROTECTED = Protection()


@dataclass(frozen=True, slots=True, kw_only=True)
class Offer:
    """What a plan comes to in many futures, to be weighed against others.

    `promised` is the instant by which full service has come in so many futures as was
    asked for; None: later than was looked at. `closed_days` are the days of the site
    that the stage is closed on if it is back as promised, the first and the last with
    them; `expected_days` the same as expected over all futures. `expected_cost` is the
    stage's money for those and what the plan's people are paid, idle time with it;
    None where the job gives no rates.
    """

    protection: Protection
    closed_from: datetime
    planned: datetime  # full service if all goes as planned
    promised: datetime | None
    closed_days: int | None
    expected_days: float
    expected_cost: float | None
    shifts: int
    idle_min: int
