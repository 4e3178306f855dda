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
    own_pace: tuple[tuple[str, Factor], ...] = ()  # by kind of work
    own_waits: tuple[tuple[str, Factor], ...] = ()  # by product


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
    cause alone would take away. `without` is the 80 % date if this cause went as planned.
    `days` is how much sooner full service would then be on average, [d], and `cost`
    what the stage's days would cost less.
    """

    threat: Threat
    share_frac: float
    without: datetime | None
    days: float
    cost: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class OneMore:
    """What one more person like one of the crew would win, in the same futures.

    `when` is the 80 % date, `days` how much sooner full service would be on average,
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
class Odds:
    """What came of many futures of one plan."""

    futures: int
    seed: int
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
