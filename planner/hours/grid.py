"""Dates to whole ticks and back: the one place where hours are rounded."""

from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from planner.hours.spans import Spans


@dataclass(frozen=True, slots=True, kw_only=True)
class Grid:
    """Whole ticks from `start`: tick i is the span [start + i·tick, + (i+1)·tick).

    `start` is midnight at the site on the earliest day, as a UTC instant; ticks
    are counted in UTC, so a day with a clock change has more or fewer of them.
    """

    start: datetime
    tick_minutes: int
    ticks: int
    zone: ZoneInfo

    def __post_init__(self) -> None:
        """Refuse a start that isn't a UTC instant and a tick that isn't whole."""
        if self.start.utcoffset() != timedelta(0):
            raise ValueError(f"start: {self.start} is not in UTC")
        if self.tick_minutes < 1 or 60 % self.tick_minutes:
            raise ValueError(f"tick_minutes: {self.tick_minutes} does not divide 60")
        if self.ticks < 1:
            raise ValueError(f"ticks: {self.ticks} is not positive")

    @classmethod
    def from_day(
        cls, day: date, *, days: int, tick_minutes: int, zone: ZoneInfo
    ) -> "Grid":
        """Return the grid of `days` site days that begins at midnight of `day`."""
        start = datetime.combine(day, time(), tzinfo=zone).astimezone(UTC)
        last = datetime.combine(day + timedelta(days=days), time(), tzinfo=zone)
        minutes = (last.astimezone(UTC) - start) // timedelta(minutes=1)
        return cls(
            start=start,
            tick_minutes=tick_minutes,
            ticks=minutes // tick_minutes,
            zone=zone,
        )

    @property
    def step(self) -> timedelta:
        """The length of a tick."""
        return timedelta(minutes=self.tick_minutes)

    @property
    def end(self) -> datetime:
        """The instant at which the last tick ends."""
        return self.instant(self.ticks)

    def instant(self, tick: int) -> datetime:
        """Return the UTC instant at which `tick` begins."""
        return self.start + tick * self.step

    def local(self, tick: int) -> datetime:
        """Return the site's local time at which `tick` begins."""
        return self.instant(tick).astimezone(self.zone)

    def floor(self, when: datetime) -> int:
        """Return the tick that `when` lies in; it may lie outside the grid."""
        return (when.astimezone(UTC) - self.start) // self.step

    def ceil(self, when: datetime) -> int:
        """Return the first tick that begins at or after `when`."""
        return -((self.start - when.astimezone(UTC)) // self.step)

    def outward(self, spans: list[tuple[datetime, datetime]]) -> Spans:
        """Return every tick that one of `spans` touches (for closed hours)."""
        pairs = ((self.floor(a), self.ceil(b)) for a, b in spans)
        return Spans.of((max(a, 0), min(b, self.ticks)) for a, b in pairs)

    def inward(self, spans: list[tuple[datetime, datetime]]) -> Spans:
        """Return the ticks that lie wholly in the union of `spans` (for open hours)."""
        merged: list[tuple[datetime, datetime]] = []
        for a, b in sorted((a.astimezone(UTC), b.astimezone(UTC)) for a, b in spans):
            if merged and a <= merged[-1][1]:
                merged[-1] = (merged[-1][0], max(merged[-1][1], b))
            else:
                merged.append((a, b))
        pairs = ((self.ceil(a), self.floor(b)) for a, b in merged)
        return Spans.of((max(a, 0), min(b, self.ticks)) for a, b in pairs)

    def ticks_up(self, hours: float) -> int:
        """Return the whole ticks that `hours` need, rounded up."""
        exact = hours * 60 / self.tick_minutes
        whole = round(exact)
        return whole if abs(exact - whole) < 1e-9 else int(-(-exact // 1))

    def days(self) -> list[tuple[date, int, int]]:
        """Return each site day with its first tick and the tick after its last."""
        out: list[tuple[date, int, int]] = []
        day = self.local(0).date()
        while True:
            midnight = datetime.combine(day, time(), tzinfo=self.zone)
            after = datetime.combine(day + timedelta(days=1), time(), tzinfo=self.zone)
            first, last = self.floor(midnight), self.floor(after)
            if first >= self.ticks:
                return out
            out.append((day, max(first, 0), min(last, self.ticks)))
            day += timedelta(days=1)
