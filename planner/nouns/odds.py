"""The nouns of how sure a date is: what may differ from plan, and what came of it."""

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from planner.nouns.work import ReturnKind


class Threat(StrEnum):
    """What makes a job differ from its plan, in words."""

    PACE = "the pace of work"
    WAITS = "how long coats take"
    AIR = "the room's air"
    DELIVERY = "late crates"
    DAMAGE = "damaged pieces"
    BOOKING = "the booking before"
    TOUCH_UP = "joints that show through"
    ABSENCE = "people away"


@dataclass(frozen=True, slots=True, kw_only=True)
class Factor:
    """By how much something takes longer than planned: a log-normal factor.

    `frac` is the standard deviation of its logarithm: about one factor in six is above
    its median times 1 + frac. `said` is what it was made of, in words, where that was
    something else.
    """

    frac: float
    median: float = 1.0
    said: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """How far work, waits, air, deliveries and people may differ from plan.

    Chances lie between 0 and 1. What the chance of a touch-up is, the kinds of work
    say. What the job says of a kind of work or of a product stands for `pace_work` or
    `waits_coat` there.
    """

    pace_job: Factor  # of the crew, for all of the job
    pace_work: Factor  # of a kind of work
    pace_task: Factor  # of a task
    waits_job: Factor  # of the laws and the substrate, for all of the job
    waits_coat: Factor  # of a coat
    air_delta_k: float  # standard deviation of the room's temperature, [K]
    air_delta_rh_pct: float  # and of its relative humidity, in points
    air_memory_h: float  # time in which the correlation of an error falls to 1/e
    late_chance: float  # that the crates come late
    late_h: float  # how late they then are, on average
    away_chance: float  # that a person is away on a day
    touch_up_h: float  # of one person, for the joints of a bay
    touch_ups: bool = True
    damaged_chance: float = 0.0  # that a piece is found damaged in the crates
    replaced_h: float = 168.0  # until another one is there, on average
    overrun_chance: float = 0.0  # that the booking before the closure ends late
    overrun_h: float = 3.0  # how late it then ends, on average
    own_pace: tuple[tuple[str, Factor], ...] = ()  # by kind of work
    own_waits: tuple[tuple[str, Factor], ...] = ()  # by product
    # what is left of pace_job times pace_work, and of waits_job, by what was learned
    learned_pace: tuple[tuple[str, Factor], ...] = ()  # by kind of work
    learned_waits: tuple[tuple[str, Factor], ...] = ()  # by product


@dataclass(frozen=True, slots=True, kw_only=True)
class Chance:
    """The instant by which a return has come in so many of a hundred futures."""

    percent: int
    when: datetime | None  # None: later than was looked at


@dataclass(frozen=True, slots=True, kw_only=True)
class ReturnOdds:
    """How sure a return is: as planned, how often it is kept, by when it has come."""

    kind: ReturnKind
    planned: datetime
    kept_frac: float
    by: tuple[Chance, ...]
    late_days: (
        float  # expected, where it comes later than planned; [d] over all futures
    )

    def promised(self, percent: int) -> datetime | None:
        """Return what can be promised in so many of a hundred cases.

        Not before it is planned, for that is when the crew works; None: later than was
        looked at.
        """
        when = next(c.when for c in self.by if c.percent == percent)
        return None if when is None else max(when, self.planned)


@dataclass(frozen=True, slots=True, kw_only=True)
class Collision:
    """A booking after the closure, and how often it begins while the stage is closed."""

    words: str
    start: datetime
    end: datetime
    frac: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ThreatOdds:
    """A cause of the spread of full service.

    `share_frac` is its first-order index: the part of the variance that knowing this
    cause alone would take away; None: not worked out. `without` is what could be
    promised if this cause went as planned. `days` is how much sooner full service would
    then be on average, [d], and `cost` what the stage's days would cost less.
    """

    threat: Threat
    share_frac: float | None
    without: datetime | None
    days: float
    cost: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class OneMore:
    """What one more person like one of the crew would win, in the same futures.

    `when` is what could then be promised, `days` how much sooner full service would be on average,
    [d], and `cost` what the stage's days would cost less; their pay isn't counted.
    """

    like: str  # id of a person
    when: datetime | None
    days: float
    cost: float | None


class Holder(StrEnum):
    """What a start may be held for."""

    PERSON = "person"
    WAIT = "wait"
    OTHER = "other"


@dataclass(frozen=True, slots=True, kw_only=True)
class HoldingCause:
    """A person or a wait, and how often the date of full service was held by it.

    A person holds it whose earlier task had to end first, a wait that had to be over.
    """

    holder: Holder
    name: str  # id of a person; product and stage of a wait, parted by a colon
    frac: float


@dataclass(frozen=True, slots=True, kw_only=True)
class HoldingTask:
    """A task and how often it was on the way that held full service."""

    task: str
    frac: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Curve:
    """For a picture: how many futures have returned by each instant, rising."""

    kind: ReturnKind
    when: tuple[datetime, ...]
    frac: tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class WantedBack:
    """By when the job wants full service, and how often it has come by then.

    A wish, which no plan is made by.
    """

    by: datetime
    frac: float


@dataclass(frozen=True, slots=True, kw_only=True)
class HindsightBound:
    """The earliest return that any plan could promise, told from a few futures.

    `when` is the `percent` point of the futures' bounds; between `low` and `high` lies
    that of all futures, nineteen times in twenty; None: too few futures to say, or later
    than was looked at.
    """

    percent: int
    futures: int
    when: datetime | None
    low: datetime | None
    high: datetime | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Odds:
    """What came of many futures of one plan."""

    futures: int
    seed: int
    sure_percent: int  # how sure a promise is, as the job has it
    spread: Spread
    looked_until: datetime
    returns: tuple[ReturnOdds, ...]
    collisions: tuple[Collision, ...]
    threats: tuple[ThreatOdds, ...]
    more: tuple[OneMore, ...]
    held: tuple[HoldingTask, ...]
    held_for: tuple[HoldingCause, ...]
    curves: tuple[Curve, ...]
    late_cost: float | None  # expected, of the stage's days past the planned closure
    overtime_h: float  # expected, of one-go work that outlasts its open hours
    wanted: WantedBack | None = None  # null: the job has no such wish
    bound: HindsightBound | None = None  # null: it wasn't asked for, or can't be told


# --------------------------------------------------------- what a plan promises

TENTATIVE_PERCENT = 95  # until when a promise is tentative, if it isn't as sure itself


def tentative_percent(sure_percent: int) -> int:
    """Return in how many of a hundred futures the stage is back by its tentative date."""
    return max(sure_percent, TENTATIVE_PERCENT)


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedReturn:
    """A return to service: in the working plan, as promised, and at the latest.

    `when` is the return of the working plan, which the crew follows. By `promise` the
    stage is back in as many of a hundred futures as `Sureness.sure_percent` says, and by
    `tentative_until` in `tentative_percent` of them. Neither lies before `when`; null:
    later than `Sureness.looked_until`. `kept_frac` of the futures are back by `when`.
    """

    kind: ReturnKind
    when: datetime
    promise: datetime | None
    tentative_until: datetime | None
    kept_frac: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Sureness:
    """How the promises of a stage were made: so many futures of it, out of one seed.

    Whoever plays the plan in these futures with this spread finds the same dates.
    `collisions` are bookings that begin in some futures while the stage is closed;
    `threats` what makes full service unsure, each with the date promised if it went as
    planned. There are none where the run had to end before they were told apart. `wanted`
    is by when the job wants full service; null: it doesn't say. `bound` is what no plan
    can promise; null: it wasn't asked for, or can't be told.
    """

    sure_percent: int
    tentative_percent: int
    futures: int
    seed: int
    looked_until: datetime
    spread: Spread
    collisions: tuple[Collision, ...]
    threats: tuple[ThreatOdds, ...]
    wanted: WantedBack | None = None
    bound: HindsightBound | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Lesson:
    """What was learned of one kind of work, or of one product.

    `times` is how many times the hours of its rate, or of its law, are planned with from
    now on. `left` is by how much what comes may still differ from that. `seen` is how
    many tasks of this kind, or coats of this product, it was learned from.
    """

    of: str  # id of a labour rate, or of a product
    times: float
    left: Factor
    seen: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Learned:
    """All that was learned; a kind of work that nothing is known of isn't in it."""

    pace: tuple[Lesson, ...] = ()
    waits: tuple[Lesson, ...] = ()

    def __bool__(self) -> bool:
        """Tell whether anything was learned."""
        return bool(self.pace or self.waits)


NOTHING = Learned()
