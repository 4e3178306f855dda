"""What the engine returns: a plan with proofs, no plan with reasons, or neither."""

from dataclasses import dataclass
from enum import StrEnum

from planner.hours.spans import Spans
from planner.schedule.problem.parts import AimKind


@dataclass(frozen=True, slots=True, kw_only=True)
class Placement:
    """Where a task lies in a plan: team (sorted), ticks worked, start and end."""

    task: str
    team: tuple[str, ...]
    start: int
    end: int
    worked: Spans


@dataclass(frozen=True, slots=True, kw_only=True)
class AimResult:
    """The value that was reached for an aim, and the bound that was proven for it.

    `bound_of_teams` is the bound for plans with the teams of an earlier plan, where only
    those were weighed; 0: nothing is known of them.
    """

    aim: AimKind
    value: int
    bound: int
    bound_of_teams: int = 0

    @property
    def proven(self) -> bool:
        """Whether no better value exists, given those of the aims before it."""
        return self.bound >= self.value


@dataclass(frozen=True, slots=True, kw_only=True)
class Planned:
    """A plan: a placement for each task that is carried out, and a result for each aim.

    `stopped` says why some aims may be unproven: "" (all are proven, but perhaps for the
    calls, which are only sought), "work limit", "clock limit", "interrupted", or "limit
    of teams" if not all teams were considered.
    """

    placements: tuple[Placement, ...]
    aims: tuple[AimResult, ...]
    stopped: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class NoPlan:
    """There is no plan; says which facts contradict each other.

    `facts` is a smallest set of facts that can't all hold, as far as one was found;
    `minimal` says whether each of them was shown to be needed. Besides the facts of the
    instance it may hold three names that the user can't change: "nobody:TASK" (no team
    can be made of the people who may do the task), "pool:POOL" (a task takes more of
    the pool than there is) and "horizon" (no plan fits into the horizon even without
    any fact). `enough` holds sets of facts; if all facts of one set are given up, there
    is a plan. `some_teams` says that there were too many teams to consider them all, so
    that the facts were looked for as if anybody could do the work.
    """

    facts: tuple[str, ...]
    minimal: bool
    enough: tuple[tuple[str, ...], ...] = ()
    some_teams: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class TimeUp:
    """The limits were reached before a plan was found or shown not to exist.

    `some_teams` says that there were too many teams to consider them all, and that
    there is no plan with those that were considered.
    """

    some_teams: bool = False


Outcome = Planned | NoPlan | TimeUp


@dataclass(frozen=True, slots=True, kw_only=True)
class Progress:
    """How far the search has come: seconds since its begin, aim, best value, bound.

    `round` is the number of the search where one plan takes up to `most_rounds`;
    otherwise both are 0.
    """

    elapsed_s: float
    aim: AimKind
    best: int | None
    bound: int | None
    round: int = 0
    most_rounds: int = 0


class Cause(StrEnum):
    """Why a task in the plan can't start a tick earlier."""

    LINK = "link"  # a predecessor's end or wait (by = its id)
    PERSON = "person"  # somebody of the team is at another task (by = that task)
    PERSON_CLOSED = "person closed"  # somebody of the team isn't open (by = person id)
    POOL = "pool"  # a bay or tool is taken (by = the task that takes it)
    BLOCK = "block"  # ticks that are closed to this work (by = fact)
    HOLD = "hold"  # limits that must hold until dry (by = fact)
    APART = "apart"  # a task that mustn't share the room (by = its id)
    BOOKING = "booking"  # the closure must begin after a booking (by = fact)
    REST = "rest"  # rest between shifts (by = person id)
    SET_UP = "set-up"  # the rest of the day is too short to do more than set up
    PIN = "pin"  # the task is settled (by = fact)
    AIM = "aim"  # no rule, only an aim: the task could start earlier
    BEGIN = "begin"  # the first tick of all


@dataclass(frozen=True, slots=True, kw_only=True)
class BindingStep:
    """One step of the chain that holds a return, told from the return backwards.

    From tick `since` to the start of the task, `cause` kept the task from starting. (If
    the step before tells of the same task, it is up to the `since` of that step.) If
    `by` is a task, `since` is its end, or its start where the link is from start to
    start, and the steps of that task follow.
    """

    task: str
    cause: Cause
    by: str
    since: int
