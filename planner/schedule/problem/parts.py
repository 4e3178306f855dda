"""The parts of a problem in whole numbers: tasks, people, links, waits, closed ticks.

The engine knows neither dates nor plaster. Time is counted in ticks from 0. Every span
includes its start and excludes its end. An *end tick* is the tick after the last one
that is worked, so end ticks run from 0 to the horizon. A restriction that the user
could lift has a `fact`: a name that the caller can turn into words. A restriction with
an empty fact is part of the structure and is never lifted.
"""

from dataclasses import dataclass, field
from enum import StrEnum

import numpy as np

from planner.hours.spans import Spans


@dataclass(frozen=True, slots=True, kw_only=True)
class Lookup:
    """How long a wait lasts, as a table from the tick it begins to the tick it is over.

    `over[e]` is the earliest tick at which the next task may start if the wait begins
    at end tick e. There is an entry for each of 0..horizon. Entries never fall, and
    none lies before its e. An entry above the horizon means that the wait isn't over
    within it. For a link from start to start, the table is read at the start tick
    instead.
    """

    name: str
    over: tuple[int, ...]

    def __post_init__(self) -> None:
        """Refuse a look-up that goes backwards."""
        over = np.array(self.over, dtype=np.int64)
        soonest = np.maximum(np.arange(over.size), np.append(0, over)[:-1])
        early = np.flatnonzero(over < soonest)
        if early.size:
            begin = int(early[0])
            raise ValueError(
                f"lookup {self.name}: over[{begin}] = {self.over[begin]} is early"
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class ClosedTicks:
    """Ticks that are closed, and the fact that closes them."""

    fact: str
    ticks: Spans


@dataclass(frozen=True, slots=True, kw_only=True)
class Hold:
    """A condition that must hold from a task's start until its wait `until` is over.

    None of the `bad` ticks may lie in that time. `until` names a look-up that is read
    at the end of the task; if it is empty, the condition must hold until the end
    itself. If the wait isn't over within the horizon, nobody can say that the condition
    holds, so such a start is not allowed.
    """

    fact: str
    bad: Spans
    until: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Mode:
    """A size of team, and the ticks of progress that the task needs with it.

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
    """How many of a pool a task takes, from its start to its end, pauses included."""

    pool: str
    amount: int = 1

    def __post_init__(self) -> None:
        """Refuse to take nothing."""
        if self.amount < 1:
            raise ValueError(f"demand of {self.pool}: amount {self.amount}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Activity:
    """A piece of work.

    **Team.** The team has as many people as the chosen mode says, all from `eligible`,
    and at least one of them from `leads`. If `leads` is None, anyone eligible may lead;
    if it is empty nobody may, and only a mode of size 0 can be carried out. The team
    and the pools are taken from the start of the task to its end, pauses included.

    **Progress.** A tick is *workable* for a team if all its people are open then and it
    lies in no `no_work` block. A *day* of a team is the time between two nights: all
    ticks in which each of its people is in the same shift throughout. A *piece* is the
    part of the task that is worked in one day. Its first `set_up` ticks give no
    progress, each tick after them gives one. A day with no more than `set_up` workable
    ticks is left out.

    **Course.** The task starts at a workable tick that isn't in `no_start`. From then
    on it is worked in every workable tick, and ends as soon as its progress has reached
    the ticks of its mode. It may rest longer only for the sake of people's `rest`: if
    the night between two shifts is shorter than the rest of one of the team, people
    stop early, or begin late, or some of both, in the way by which the task ends
    soonest. If several ways end at the same tick, the last morning begins as late as
    possible, then the morning before it, and so on. A `one_go` task is a single piece
    without a gap.

    **Presence.** A task with too few eligible people, or with none of its leads among
    them, may be stated, but no plan can carry it out. A task that belongs to an option
    of a branch is carried out if that option is; if it is `optional` too, the plan is
    free to leave it out even then.
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
    """Which end of one task is tied to which end of the other."""

    FINISH_START = "finish-start"  # start of `after` >= over[end of `before`]
    START_START = "start-start"  # start of `after` >= over[start of `before`]
    LATEST = "latest"  # start of `after` <= over[end of `before`]


@dataclass(frozen=True, slots=True, kw_only=True)
class Link:
    """An order between two tasks. It doesn't apply if either of them is left out.

    `wait` names a look-up; if it is empty there is no wait. A LATEST link doesn't apply
    either if the optional task `unless` is carried out (the surface is sanded again).
    """

    before: str
    after: str
    kind: LinkKind = LinkKind.FINISH_START
    wait: str = ""
    unless: str = ""
    fact: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Apart:
    """No task of `others` may overlap `task`, nor its wait `until` if one is named.

    Each task of `others` either ends by the start of `task`, or starts at or after
    over[end of `task`].
    """

    task: str
    others: tuple[str, ...]
    until: str = ""
    fact: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Person:
    """A person, with the ticks in which they are open.

    `shifts` are the person's days in order, each as [first tick, end tick); every open
    tick lies in one of them. Without `shifts`, each span of `open` is a shift. If the
    person works in two shifts, there are at least `rest` ticks between the last tick
    worked in the one and the first in the other. If the night between them is shorter
    than that, the plan chooses which part of the shifts is not worked; see `Activity`.

    An ordinary tick costs `price`, and a tick in `dear` costs `dear_price` more. Each
    shift in which the person works costs `call_price`.

    If `fact` is lifted, the person is open in every tick and needs no rest. If
    `rest_fact` is lifted, the person needs no rest.
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
    """Something of which tasks take a share: a bay, a tool.

    `less` holds spans in which the capacity is lower. `day_price` is the price of each
    day of hire: a span of the instance's `days` in which a task that takes the pool is
    under way.
    """

    id: str
    capacity: int = 1
    less: tuple[tuple[int, int, int], ...] = ()  # (start, end, capacity there)
    day_price: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Term:
    """One thing that a return waits for: the end of a task, and a wait after it."""

    task: str
    wait: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Closure:
    """The closure of one stage, from the first start of its `tasks` to its return.

    The return is the latest over[end] of those `terms` whose tasks are carried out. It
    is never before the end of one of `tasks`, and lies within the horizon. At least one
    of `tasks` and one of `terms` is always carried out. The closure overlaps no tick of
    `booked`. It may overlap `soft` bookings, each at its price. Each tick of the
    closure costs `tick_price`.
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
        """The terms, and the end (without a wait) of each task that has no term."""
        named = {t.task for t in self.terms}
        return (*self.terms, *(Term(task=t) for t in self.tasks if t not in named))


@dataclass(frozen=True, slots=True, kw_only=True)
class Branch:
    """A choice: exactly one of the options is carried out. An option is a set of tasks.

    A task may stand in several options of one branch, but not in two branches.
    """

    id: str
    options: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Pin:
    """A settled task: it is carried out, and the fields that are given are fixed."""

    task: str
    start: int | None = None
    end: int | None = None
    team: tuple[str, ...] | None = None
    fact: str = ""


# A changed person counts as much as this many ticks of a moved start.
PER_CHANGED_PERSON = 8


@dataclass(frozen=True, slots=True, kw_only=True)
class Before:
    """Where a task lay in the agreed plan, from which a revision changes little."""

    task: str
    start: int
    team: tuple[str, ...]


class AimKind(StrEnum):
    """What is to be as small as possible.

    A *changed person* is one who joins or leaves the team of a task in the agreed plan.
    The *first call* of a closure is the first start among its tasks, the tasks of its
    terms, and all tasks that come before any of them.
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
    """All parts of a problem, whether or not they are consistent."""

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
