"""The nouns of the work: tasks, links, waits, returns. Hours of one person, areas in m²."""

from dataclasses import dataclass
from enum import StrEnum

from planner.nouns.told.saying import Saying


class Pace(StrEnum):
    """Whether work may stop at night and go on."""

    PAUSABLE = "pausable"
    ONE_GO = "one go"


class ReturnKind(StrEnum):
    """A return to service: what the stage may be used for again."""

    LIGHT_FOOT_TRAFFIC = "light foot traffic"  # clean soft soles, no stands or carts
    FULL_SERVICE = "full service"


@dataclass(frozen=True, slots=True, kw_only=True)
class Wait:
    """What a follow-on waits for after a task: a stage of a product's hardening.

    `covered_by` are the products of coats laid over it before it was dry, whose water
    leaves after its own.
    """

    product: str
    stage: str
    covered_by: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Team:
    """A team size and how much of each person's hour counts (1.0: all of it)."""

    size: int
    yield_frac: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Task:
    """A piece of work in a bay, with labour, trades and what to mind.

    `person_hours` are the work itself; on each day of it the team first takes
    `set_up_h` to set up and clean up.
    """

    id: str
    title: str
    how: str
    phase: str
    bays: tuple[str, ...]
    lead: tuple[str, ...]
    help: tuple[str, ...]
    person_hours: float
    set_up_h: float
    elapsed_h: float
    quantity: str
    teams: tuple[Team, ...]
    pace: Pace
    on_stage: bool = True
    visit: bool = False  # on the stage between bookings, which doesn't close it
    loud: bool = False
    dusty: bool = False
    product: str | None = None  # whose limits hold from the start until `dry_stage`
    dry_stage: str | None = None
    wet_m2: float = 0.0  # area that its product is laid on
    over: str | None = None  # the coat below, where that may still be wet
    covered_by: tuple[str, ...] = ()  # products of coats that may go over it wet
    fumes: bool = False
    on_delivery_day: bool = False  # done on the day the crates come, carrier present
    finds_damage: bool = False  # tells whether a piece of the kit must be replaced
    lifts: tuple[str, ...] = ()  # in words: what, its mass, how many people
    lifters: int = 0  # people who lift at least; 0 where nothing heavy is lifted
    optional: bool = False  # done only where a window can't be kept without it
    touch_up_frac: float = 0.0  # chance, for each bay, of one more touch-up coat
    bring: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    source: str = ""
    sayings: tuple[Saying, ...] = ()  # of its words, those that were put together


@dataclass(frozen=True, slots=True, kw_only=True)
class TaskLink:
    """What must come before what, always with the reason in words."""

    before: str
    after: str
    reason: str
    wait: Wait | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Window:
    """A coat that `after` must cover in time, or the task `unless` is done.

    With an empty `unless` nothing else will do.

    `latest` names a latest time of the product, which runs from the end of `before`
    to the start of `after`.
    """

    before: str
    after: str
    product: str
    latest: str
    unless: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Return:
    """A return to service: everything it waits for, by task and wait."""

    kind: ReturnKind
    after: tuple[tuple[str, Wait | None], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Work:
    """All that the room and the methods ask for."""

    bays: tuple[str, ...]
    tasks: tuple[Task, ...]
    links: tuple[TaskLink, ...]
    returns: tuple[Return, ...]
    windows: tuple[Window, ...] = ()
