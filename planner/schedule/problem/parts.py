"""The problem in whole numbers: tasks, teams, links, look-ups, open ticks.

It knows neither dates nor plaster. Ticks are numbered from 0; every span
includes its start and excludes its end; an *end tick* is the tick after the
last one worked, so it runs from 0 to the horizon. Every restriction that a
user could lift carries a `fact`, a name that the caller can turn into words; an
empty fact belongs to the structure and is never lifted.
"""

from dataclasses import dataclass, field
from enum import StrEnum

from planner.hours.spans import Spans


@dataclass(frozen=True, slots=True, kw_only=True)
class Lookup:
    """A wait that depends on when it begins: tick it begins → tick it is over.

    `over[e]` is the earliest tick at which what follows may start when the wait
    begins at end tick e; one entry for each of 0..horizon. It never falls, and
    never lies before e. An entry above the horizon means: not within it. For a
    start-start link it is read at the start tick instead.
    """

    name: str
    over: tuple[int, ...]

    def __post_init__(self) -> None:
        """Refuse a look-up that goes backwards."""
        last = 0
        for begin, over in enumerate(self.over):
            if over < begin or over < last:
                raise ValueError(f"lookup {self.name}: over[{begin}] = {over} is early")
            last = over


@dataclass(frozen=True, slots=True, kw_only=True)
class ClosedTicks:
    """Ticks that are closed, and the user's fact that closes them."""

    fact: str
    ticks: Spans


@dataclass(frozen=True, slots=True, kw_only=True)
class Hold:
    """No bad tick from the task's start until its wait `until` is over.

    `until` names a look-up on the task's end; empty means until the end itself.
    A wait that isn't over within the horizon can't be shown to hold, so such a
    start is closed.
    """

    fact: str
    bad: Spans
    until: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Mode:
    """A team size with the ticks of progress that the task then needs.

    Size 0 is work that needs nobody (a machine, a published benchmark).
    """

    size: int
    ticks: int

    def __post_init__(self) -> None:
        """Refuse a size below 0 and work of no ticks."""
        if self.size < 0 or self.ticks < 1:
            raise ValueError(f"mode: size {self.size}, ticks {self.ticks}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Demand:
    """How much of a pool a task takes from its start to its end, pauses included."""

    pool: str
    amount: int = 1

    def __post_init__(self) -> None:
        """Refuse to take nothing."""
        if self.amount < 1:
            raise ValueError(f"demand of {self.pool}: amount {self.amount}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Activity:
    """A piece of work.

    The team is a set of `size` people, all from `eligible`, at least one of them
    from `leads`: None means that anyone eligible may lead, and no names that nobody
    may, so that only a mode of size 0 can be carried out. The team and the pools are
    taken from start to end, pauses included.

    A tick is *workable* for a team when all its people are open in it and no `no_work`
    block covers it. A *day* of a team is what lies between two nights: ticks in which
    each of its people is in the same shift all through. A *piece* is what is worked of
    the task in one day; it gives as much progress as it is longer than `set_up`, and
    it is longer: a day with no more workable ticks than that is left out.

    The task works every workable tick from its start until its progress has come to
    its mode's ticks, and then ends; its start is a workable tick outside `no_start`.
    Else only rest makes it pause: where the night between two shifts is shorter than
    the `rest` of one of the team, they stop early, or begin late, or part of each, so
    that the task is done soonest. Of courses that end at the same tick, the last
    morning begins as late as it can, then the morning before, and so on. A `one_go`
    task is one piece without a gap.

    A task with too few eligible people, or none of its leads among them, can be
    said, but no plan carries it out. A task that belongs to an option of a branch
    is carried out when that option is; `optional` leaves it free even then.
    """

    id: str
    modes: tuple[Mode, ...]
    eligible: tuple[str, ...] = ()
    leads: tuple[str, ...] | None = None
    set_up: int = 0  # ticks at the beginning of each piece that give no progress
    one_go: bool = False
    no_work: tuple[ClosedTicks, ...] = ()
    no_start: tuple[ClosedTicks, ...] = ()
    holds: tuple[Hold, ...] = ()
    demands: tuple[Demand, ...] = ()
    optional: bool = False
    pays: int = 0  # price of carrying the task out, where it is optional


class LinkKind(StrEnum):
    """What a link ties to what."""

    FINISH_START = "finish-start"  # start of `after` >= over[end of `before`]
    START_START = "start-start"  # start of `after` >= over[start of `before`]
    LATEST = "latest"  # start of `after` <= over[end of `before`]


@dataclass(frozen=True, slots=True, kw_only=True)
class Link:
    """What must come before what; void when either task is left out.

    `wait` names a look-up; empty means no wait. A LATEST link is also void when
    the optional task `unless` is carried out (the surface is sanded again).
    """

    before: str
    after: str
    kind: LinkKind = LinkKind.FINISH_START
    wait: str = ""
    unless: str = ""
    fact: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Apart:
    """No other task of `others` overlaps `task`, nor its wait `until` if named.

    For each task of `others`: it ends by the start of `task`, or starts no earlier
    than over[end of `task`].
    """

    task: str
    others: tuple[str, ...]
    until: str = ""
    fact: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Person:
    """Somebody with open ticks.

    `shifts` are the person's days, in order, as hulls [first tick, end tick); every
    open tick lies in one. Where the person works in two shifts, at least `rest`
    ticks lie between the last tick worked in one and the first in the next.
    Where that is longer than the night, the plan chooses where it lies; see `Task`.
    `dear` are open ticks that cost `dear_price` more than an ordinary tick, whose
    price is `price`; `call_price` is the price of a shift in which the person works.
    Without `shifts`, each span of `open` is a shift. Lifting `fact` opens every
    tick to the person and drops the rest; lifting `rest_fact` drops the rest alone.
    """

    id: str
    open: Spans
    shifts: Spans = field(default_factory=Spans)
    rest: int = 0
    price: int = 0
    dear: Spans = field(default_factory=Spans)
    dear_price: int = 0
    call_price: int = 0
    fact: str = ""
    rest_fact: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Pool:
    """Something that can be taken: a bay, a tool. Capacity falls in `less` spans.

    `day_price` is the price of each hire day: a span of `days` in which a task
    that takes the pool is under way.
    """

    id: str
    capacity: int = 1
    less: tuple[tuple[int, int, int], ...] = ()  # (start, end, capacity there)
    day_price: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Term:
    """One thing a return waits for: the end of a task and a wait after it."""

    task: str
    wait: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Closure:
    """One stage's closure: from the first start of `tasks` to its return.

    The return is the latest over[end] among the `terms` that are carried out, no
    earlier than the end of any of `tasks`, and within the horizon. The closure
    overlaps no tick of `booked`; `soft` bookings may be overlapped at a price each.
    `tick_price` is the price of a closed tick. At least one of `tasks` and of `terms`
    is always carried out.
    """

    id: str
    tasks: tuple[str, ...]
    terms: tuple[Term, ...]
    booked: tuple[ClosedTicks, ...] = ()
    soft: tuple[tuple[int, int, int], ...] = ()  # (start, end, price)
    due: int | None = None  # the return is no later than this tick
    due_fact: str = ""
    tick_price: int = 0

    @property
    def all_terms(self) -> tuple[Term, ...]:
        """The terms, and the bare end of each task that is none of them."""
        named = {t.task for t in self.terms}
        return (*self.terms, *(Term(task=t) for t in self.tasks if t not in named))


@dataclass(frozen=True, slots=True, kw_only=True)
class Branch:
    """Exactly one of the options is carried out; an option is a set of tasks.

    A task may stand in several options of one branch, but not in two branches.
    """

    id: str
    options: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Pin:
    """A part that is settled: carried out, and the fields given can't move."""

    task: str
    start: int | None = None
    end: int | None = None
    team: tuple[str, ...] | None = None
    fact: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Before:
    """Where a task lay in the plan that was agreed, for revising with least change."""

    task: str
    start: int
    team: tuple[str, ...]


class AimKind(StrEnum):
    """What is made as small as possible.

    A changed person is one who joins or leaves the team of a task that was agreed.
    The first call of a closure is the first start among its tasks and all that
    lead to them or to its terms.
    """

    LAST_RETURN = "last-return"  # the latest return of all closures
    RETURNS = "returns"  # the sum of the returns
    CLOSED = "closed"  # the sum of the closures' lengths
    COST = "cost"  # all prices together
    CALLS = "calls"  # shifts in which somebody is called, one per person and shift
    CHANGE = "change"  # sum |start - agreed start| + 8 per changed person
    EARLY = "early"  # sum of the ends: work lies as early as it can
    TIDY = "tidy"  # sum of (first call to return): early work not scattered


@dataclass(frozen=True, slots=True, kw_only=True)
class Stated:
    """All that is said of a problem, whether or not it is consistent."""

    horizon: int
    tasks: tuple[Activity, ...]
    people: tuple[Person, ...] = ()
    pools: tuple[Pool, ...] = ()
    lookups: tuple[Lookup, ...] = ()
    links: tuple[Link, ...] = ()
    apart: tuple[Apart, ...] = ()
    closures: tuple[Closure, ...] = ()
    branches: tuple[Branch, ...] = ()
    pins: tuple[Pin, ...] = ()
    agreed: tuple[Before, ...] = ()
    days: Spans = field(default_factory=Spans)
    aims: tuple[AimKind, ...] = (AimKind.LAST_RETURN,)
