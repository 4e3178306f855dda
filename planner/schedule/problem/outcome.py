"""What the engine gives back: placements, proofs, and the two ways of having none."""

from dataclasses import dataclass
from enum import StrEnum

from planner.hours.spans import Spans
from planner.schedule.problem.parts import AimKind


@dataclass(frozen=True, slots=True, kw_only=True)
class Placement:
    """A task in a plan: its team (sorted), the ticks worked, its start and end."""

    task: str
    team: tuple[str, ...]
    start: int
    end: int
    worked: Spans


@dataclass(frozen=True, slots=True, kw_only=True)
class AimResult:
    """What was reached for an aim, and the least that is possible as far as proven."""

    aim: AimKind
    value: int
    bound: int

    @property
    def proven(self) -> bool:
        """Whether nothing better exists, given the aims before."""
        return self.bound >= self.value


@dataclass(frozen=True, slots=True, kw_only=True)
class Planned:
    """A plan: a placement for each task carried out, and a result for each aim.

    `stopped` says why aims may be unproven: "" (all proven), "work limit",
    "clock limit", "interrupted", or "limit of teams" where not all could be weighed.
    """

    placements: tuple[Placement, ...]
    aims: tuple[AimResult, ...]
    stopped: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class NoPlan:
    """There is no plan: a smallest set of facts that clash, as far as could be told.

    Besides the facts of the instance there are three names that can't be lifted:
    "nobody:TASK" (no team of its eligible people can be made), "pool:POOL" (a task
    takes more of it than there is) and "horizon" (no plan even with every fact
    lifted). `minimal` says whether each fact was shown to be needed. `enough` holds
    sets of facts; giving up one of the sets leaves a plan.
    """

    facts: tuple[str, ...]
    minimal: bool
    enough: tuple[tuple[str, ...], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class TimeUp:
    """Neither a plan nor a proof that there is none was found within the limits.

    `some_teams` says that there were too many teams to weigh them all, and that those
    which were looked at give no plan.
    """

    some_teams: bool = False


Outcome = Planned | NoPlan | TimeUp


@dataclass(frozen=True, slots=True, kw_only=True)
class Progress:
    """Where the search stands: seconds since it began, aim, best value, bound.

    `round` numbers the searches where one plan takes several; else it is 0.
    """

    elapsed_s: float
    aim: AimKind
    best: int | None
    bound: int | None
    round: int = 0


class Cause(StrEnum):
    """What keeps a placed task from starting a tick earlier."""

    LINK = "link"  # a predecessor's end or wait (by = its id)
    PERSON = "person"  # somebody of the team is at another task (by = that task)
    PERSON_CLOSED = "person closed"  # somebody's hours (by = person id)
    POOL = "pool"  # a bay or tool is taken (by = the task that takes it)
    BLOCK = "block"  # closed ticks of the work itself (by = fact)
    HOLD = "hold"  # limits that must hold until dry (by = fact)
    APART = "apart"  # a task that mustn't share the room (by = its id)
    BOOKING = "booking"  # the closure must begin after a booking (by = fact)
    REST = "rest"  # rest between shifts (by = person id)
    SET_UP = "set-up"  # what is left of the day is no longer than setting up
    PIN = "pin"  # the task is settled (by = fact)
    AIM = "aim"  # nothing but an aim: it could start earlier
    BEGIN = "begin"  # the first tick of all


@dataclass(frozen=True, slots=True, kw_only=True)
class BindingStep:
    """One link of what holds a return, from the return backwards.

    From tick `since` to the task's start, or to the `since` of the step before
    where that is of the same task, `cause` held the task back. Where `by` is a task,
    `since` is its end (its start for a start-start link), and its own steps follow.
    """

    task: str
    cause: Cause
    by: str
    since: int
