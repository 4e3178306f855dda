"""Random crews: who knows what, and shifts of every kind that crews keep."""

from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from random import Random
from zoneinfo import ZoneInfo

from tests.random_jobs.calendars import Stretch
from tests.random_jobs.toml import Table

TRADES = ("carpenter", "finisher", "painter", "labourer")
DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


@dataclass(frozen=True, slots=True, kw_only=True)
class Shift:
    """A line of a shift: weekdays from 0, and the clock times it is made of."""

    weekdays: tuple[int, ...]
    hours: tuple[tuple[str, str], ...]

    @property
    def line(self) -> str:
        """The line as a job file has it."""
        days = ",".join(DAYS[n] for n in self.weekdays)
        return f"{days} {' '.join(f'{a}-{b}' for a, b in self.hours)}"

    def on(self, day: date, zone: ZoneInfo) -> list[Stretch]:
        """Return the UTC stretches of the shift that begins on a day.

        What follows midnight lies on the next day.
        """
        out: list[Stretch] = []
        for a, b in self.hours if day.weekday() in self.weekdays else ():
            out.append(_stretch(day, a, b, zone))
            day += timedelta(days=b <= a or b == "24:00")
        return out


def _stretch(day: date, first: str, last: str, zone: ZoneInfo) -> Stretch:
    """Return the UTC stretch of two clock times; the second may be of the next day."""
    start, end = (
        time.fromisoformat(first),
        time.fromisoformat(last.replace("24:", "00:")),
    )
    until = day if end > start else day + timedelta(days=1)
    return (
        datetime.combine(day, start, tzinfo=zone).astimezone(UTC),
        datetime.combine(until, end, tzinfo=zone).astimezone(UTC),
    )


def span(text: str, day: date, zone: ZoneInfo) -> Stretch:
    """Return the UTC stretch of "07:00-22:00" on a day."""
    first, last = text.split("-")
    return _stretch(day, first, last, zone)


def _every(days: range | tuple[int, ...], *hours: str) -> Shift:
    return Shift(
        weekdays=tuple(days),
        hours=tuple((h.split("-")[0], h.split("-")[1]) for h in hours),
    )


WEEK, WHOLE = range(5), range(7)
USUAL = (_every(WEEK, "08:00-12:00", "13:00-17:00"),)
KINDS: dict[str, tuple[Shift, ...]] = {
    "early": (_every(WEEK, "06:00-14:30"),),
    "six days": (_every(range(6), "07:00-11:00", "11:30-15:30"),),
    "short nights": (_every(WHOLE, "08:00-22:00"),),
    "shorter nights": (_every(range(6), "06:00-14:00", "14:30-23:00"),),
    "nights": (_every(range(4), "20:00-24:00"), _every(range(1, 5), "00:30-05:00")),
    "nights with a break": (_every(range(4), "20:00-24:00", "00:30-05:00"),),
    "broken nights": (_every(WEEK, "19:00-22:30", "23:00-02:00", "02:15-03:45"),),
    "over midnight": (_every(WEEK, "21:00-05:30"),),
    "weekend": (_every((5, 6), "09:00-18:00"),),
    "weekend nights": (_every((4, 5), "22:00-06:00"),),
    "split": (_every(WEEK, "07:00-11:00"), _every(WEEK, "15:00-19:00")),
    "breaks": (
        _every(WEEK, "08:00-10:00", "10:15-12:00", "12:30-14:30", "14:45-16:30"),
    ),
    "always": (_every(WHOLE, "00:00-24:00"),),
    "odd minutes": (_every(WEEK, "07:35-12:05", "12:50-15:50"),),
    "evenings": (_every((1, 3), "18:00-23:00"), _every((5,), "09:00-13:00")),
    "two halves": (_every((0, 1, 2), "08:00-16:00"), _every((3, 4), "10:00-19:00")),
}
RESTS = ("11 h", "11 h", "8 h", "0 h", "12 h", "630 min", "16 h")


@dataclass(frozen=True, slots=True, kw_only=True)
class Mate:
    """One of a crew: the section of the job file, the shifts in it."""

    table: Table
    shifts: tuple[Shift, ...]


def crew(r: Random, *, size: int) -> list[Mate]:
    """Return a crew; most share a shift, and mostly every trade is known to somebody."""
    common = _shifts(r)
    known: list[set[str]] = [
        set(r.sample(TRADES, r.choice((1, 1, 2, 2, 3, 4)))) for _ in range(size)
    ]
    if r.random() < 0.95:
        for trade in TRADES:
            r.choice(known).add(trade)
    mates = []
    for number, trades in enumerate(known):
        shifts = common if r.random() < 0.8 else _shifts(r)
        table: Table = {
            "name": f"{r.choice(NAMES)} {number + 1}",
            "trades": sorted(trades),
        }
        if shifts != USUAL or r.random() < 0.5:
            table["shifts"] = [s.line for s in shifts]
        else:
            shifts = USUAL
        if r.random() < 0.4:
            table["rest"] = r.choice(RESTS)
        if r.random() < 0.3:
            table["rate"] = r.choice((0, 28, 46.5, 120))
        mates.append(Mate(table=table, shifts=shifts))
    return mates


NAMES = (
    "Ana",
    "Bo",
    "Çelik",
    "Dmitri",
    "Ebba",
    "Fúlvia",
    "佐藤",
    "Grace-Ann",
    "O'Hara",
)


def _shifts(r: Random) -> tuple[Shift, ...]:
    return USUAL if r.random() < 0.45 else KINDS[r.choice(sorted(KINDS))]


def size(r: Random) -> int:
    """Return how many work: mostly a few, now and then one or forty."""
    sizes = ((1, 1), (2, 3), (2, 6), (5, 12), (13, 40))
    low, high = r.choices(sizes, (2, 6, 8, 3, 1))[0]
    return r.randint(low, high)
