"""The nouns of when to close: free stretches of the stage, and what each could hold."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from math import ceil, inf
from zoneinfo import ZoneInfo

from planner.measures import Units
from planner.nouns.calendar import Busy
from planner.nouns.choices.comparison import Figures
from planner.nouns.purchase import days_touched

AFTER = timedelta(days=6)  # the last date of all, where closures are shown
Criteria = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Gap:
    """A stretch in which nothing is booked on the stage; the bookings around, in words.

    `end` and `after` are empty for the stretch after the last booking that is known.
    `moving` are bookings in it, which would have to move. With `in_free_time` it begins
    with a month, in the middle of free time.
    """

    start: datetime
    end: datetime | None
    before: str = ""
    after: str = ""
    moving: tuple[Busy, ...] = ()
    in_free_time: bool = False

    @property
    def moving_cost(self) -> float:
        """What moving its bookings costs; nothing where the job file gives no price."""
        return sum(b.moving_cost or 0.0 for b in self.moving)

    @property
    def minutes(self) -> float | None:
        """How long it lasts; None: no end is known."""
        return None if self.end is None else _minutes(self.start, self.end)


@dataclass(frozen=True, slots=True, kw_only=True)
class ClosureOption:
    """What a gap could hold: the best plan found in it, or why there is none.

    `needs_until` is when the stage is back at the earliest, whatever the plan; where
    the gap ends before, it is too short. `moved` says what else would have to move for
    it, in words. `too_late` gaps weren't planned: the stage isn't back in any of them
    when it is wanted back, and in another it is.
    """

    gap: Gap
    figures: Figures | None = None
    needs_until: datetime | None = None
    why: str = ""
    moved: tuple[str, ...] = ()
    too_late: bool = False

    @property
    def too_short(self) -> bool:
        """Whether the gap ends before the stage can be back."""
        end, needs = self.gap.end, self.needs_until
        return end is not None and needs is not None and needs > end

    @property
    def needs_minutes(self) -> float | None:
        """How long the gap has to be at least; None: not known."""
        if self.needs_until is None:
            return None
        return _minutes(self.gap.start, self.needs_until)

    @property
    def hits(self) -> float:
        """How often the stage is still closed when the next booking begins."""
        return 0.0 if self.figures is None else self.figures.next_hit_frac

    @property
    def cost(self) -> float | None:
        """All costs, those of moving bookings too; None where none are known."""
        own = None if self.figures is None else self.figures.cost
        if own is None and not self.gap.moving_cost:
            return None
        return (own or 0.0) + self.gap.moving_cost


@dataclass(frozen=True, slots=True, kw_only=True)
class SeasonMonth:
    """A month, or the part of it that is looked at, and its mean air. [°C, %]."""

    start: datetime
    end: datetime
    air_c: float
    humidity_pct: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Season:
    """How the air goes through the months; `outside` is false of a room's own air."""

    outside: bool
    months: tuple[SeasonMonth, ...]
    units: Units


@dataclass(frozen=True, slots=True, kw_only=True)
class StandingClosure:
    """The closure of the plan that stands, to compare the others with.

    `kept` is the promise of full service; None: later than was looked at. `hits` is how
    often a booking begins before the stage is back. Costs are None without rates.
    """

    start: datetime
    kept: datetime | None
    stage_cost: float | None
    labour_cost: float | None
    hits: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ClosureChoices:
    """Every gap of the stage in a stretch of months, and what it could hold."""

    job: str
    zone: str
    currency: str
    since: datetime
    until: datetime
    sure_percent: int  # dates are kept in so many of a hundred futures
    options: tuple[ClosureOption, ...]
    bookings: tuple[Busy, ...] = ()
    back_by: datetime | None = None  # when the stage is wanted back
    not_reached: int = 0  # gaps that weren't planned before the run was stopped
    time_is_up: bool = False  # some may have been given up before a plan was found
    work: str = "the backdrop"  # what the stage is closed for
    standing: StandingClosure | None = None  # None: no plan of this job stands
    in_turn: bool = False  # all that hold the work are to choose from, in order of time

    @property
    def whole(self) -> bool:
        """Tell whether every gap was planned to its end."""
        return not self.not_reached and not self.time_is_up

    def ranked(self) -> tuple[ClosureOption, ...]:
        """Return the options that no other one beats in every way, the best first.

        Those that are back when the job wants it come before those that are later, and
        these by how late; then the cheaper, the shorter and the earlier one comes first.
        Where they are told in turn, all are returned, in order of time.
        """
        if self.in_turn:
            return tuple(o for o in self.options if o.figures is not None)
        found = undominated([o for o in self.options if o.figures is not None])
        return tuple(sorted(found, key=self._rank))

    def beaten(self) -> tuple[ClosureOption, ...]:
        """Return the options that are worse than another one in every way."""
        kept = self.ranked()
        return tuple(o for o in self.options if o.figures and o not in kept)

    @property
    def shown_until(self) -> datetime:
        """Some days after the last date of all: to begin, or to be back at the latest."""
        ends = [self.until]
        for option in self.ranked():
            if option.figures is not None:
                back = option.figures.full
                ends.append(back.latest or back.kept or back.planned)
        return max(ends) + AFTER

    def in_time(self, option: ClosureOption) -> bool:
        """Tell whether an option is promised by when the job wants the stage back."""
        back = None if option.figures is None else option.figures.full.kept
        return self.back_by is None or (back is not None and back <= self.back_by)

    def days(self, option: ClosureOption) -> int | None:
        """Return how many days it takes, to the date kept; None: later than looked at."""
        figures = option.figures
        if figures is None or figures.full.kept is None:
            return None
        return days_touched(figures.closure[0], figures.full.kept, ZoneInfo(self.zone))

    def _late_days(self, option: ClosureOption) -> float:
        """Return how many days an option is promised after the job wants it, begun ones."""
        back = None if option.figures is None else option.figures.full.kept
        if self.back_by is None or self.in_time(option):
            return 0
        return inf if back is None else ceil((back - self.back_by) / timedelta(days=1))

    def _rank(self, option: ClosureOption) -> tuple[float, float, float, float, float]:
        back, closed, cost, _ = criteria(option)
        days = self.days(option) or inf
        return (self._late_days(option), cost, days, back, closed)


def criteria(option: ClosureOption) -> Criteria:
    """Return what an option is weighed by; less is better in each.

    The date that is kept, the length of the closure up to it, all costs, and how often
    the next booking is hit.
    """
    figures = option.figures
    assert figures is not None
    back, cost = figures.full.kept, option.cost or 0.0
    if back is None:
        return (inf, inf, cost, option.hits)
    closed = (back - figures.closure[0]).total_seconds()
    return (back.timestamp(), closed, cost, option.hits)


def undominated(options: Sequence[ClosureOption]) -> tuple[ClosureOption, ...]:
    """Return the options that none other equals or beats in all ways, beating it in one.

    They are taken in the order of their criteria: whatever beats one comes before it,
    and one that is kept does, so that each is held against those kept alone.
    """
    rows = sorted(
        ((criteria(o), number) for number, o in enumerate(options)),
    )
    kept: list[tuple[Criteria, int]] = []
    for mine, number in rows:
        if not any(_beats(other, mine) for other, _ in kept):
            kept.append((mine, number))
    return tuple(options[number] for number in sorted(n for _, n in kept))


def _beats(one: Criteria, other: Criteria) -> bool:
    return one != other and all(a <= b for a, b in zip(one, other, strict=True))


def _minutes(start: datetime, end: datetime) -> float:
    return (end - start).total_seconds() / 60
