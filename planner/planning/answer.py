"""An answer: a checked plan as numbers, cheap to make, to compare and to send on."""

from dataclasses import dataclass
from datetime import datetime
from typing import NamedTuple

from planner.errors import ProgramFaultError
from planner.hours.grid import Grid
from planner.nouns.purchase import Cost
from planner.nouns.work import ReturnKind
from planner.planning.begun.past import as_worked
from planner.planning.cost import cost_of, paid_times
from planner.planning.problem import Problem, wait_name
from planner.schedule.check.tally import closure_span
from planner.schedule.check.verify import values, verify
from planner.schedule.problem.outcome import AimResult, Placement, Planned
from planner.schedule.problem.parts import AimKind


@dataclass(frozen=True, slots=True, kw_only=True)
class Proof:
    """What the bounds of an answer are worth where its coats make the room's air.

    `everywhere` names the aims whose bound holds for plans with any other air too,
    `here` those in which no plan betters this one in its own air.
    """

    everywhere: frozenset[AimKind]
    here: frozenset[AimKind] = frozenset()


EVERYWHERE = Proof(everywhere=frozenset(AimKind))


@dataclass(frozen=True, slots=True, kw_only=True)
class Returned:
    """A step of the return to service, and the UTC instant of it."""

    kind: ReturnKind
    when: datetime


class Worth(NamedTuple):
    """How good an answer is; of two, the lesser is the better one.

    The earlier full service comes first; then what the search calls the closure: its
    length and that of the wait from the last coat to light foot traffic, together;
    then fewer shifts. It is the order in which the search weighs plans of one case,
    in instants and minutes, so that answers to different cases compare too.
    """

    full_service: datetime
    closed_min: int
    shifts: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """A checked plan as numbers: no words, no slack, no pictures.

    It has passed the checker of the engine, which works every rule and aim out once
    more, and not the judge, who looks at plans in dates and words before they leave.
    It doesn't hold the problem that it answers but names it, by the fingerprint of
    the case and by its grid; `posing.answered` gives the problem again. `closure` is
    from the first task on the stage to full service. `rounds` counts the searches
    where a plan's coats make the room's air; 0: wet work changes nothing in it.
    `stopped` says why aims may be unproven, as the engine does.

    Answers are equal where all of this is equal; `worth` says which is better.
    """

    fingerprint: str
    grid: Grid
    placements: tuple[Placement, ...]
    closure: tuple[datetime, datetime]
    returns: tuple[Returned, ...]
    cost: Cost
    aims: tuple[AimResult, ...]
    proof: Proof = EVERYWHERE
    rounds: int = 0
    stopped: str = ""

    @property
    def worth(self) -> Worth:
        """How good it is, to compare with other answers."""
        value = {a.aim: a.value for a in self.aims}
        return Worth(
            full_service=self.closure[1],
            closed_min=value[AimKind.CLOSED] * self.grid.tick_minutes,
            shifts=value[AimKind.CALLS],
        )

    @property
    def closure_min(self) -> int:
        """How long the closure is. [min]."""
        return round((self.closure[1] - self.closure[0]).total_seconds() / 60)


def checked(
    problem: Problem,
    found: Planned,
    *,
    fingerprint: str,
    proof: Proof = EVERYWHERE,
    rounds: int = 0,
) -> Answer:
    """Return what the engine found as an answer, once the checker has passed it.

    `problem` is posed in the air that the plan's own coats make.

    Raises
    ------
    ProgramFaultError
        When the plan breaks a rule, or an aim doesn't come to what the engine says.
    """
    broken = verify(problem.instance, found.placements)
    if not broken:
        counted = values(problem.instance, found.placements)
        broken = tuple(
            f"{a.aim} is {counted[a.aim]}, not {a.value}"
            for a in found.aims
            if counted[a.aim] != a.value
        )
    if broken:
        raise ProgramFaultError(
            "the plan found breaks the rules it was made by", found=broken
        )
    grid, placed = problem.grid, {p.task: p for p in found.placements}
    span = closure_span(problem.instance, problem.instance.closures[0], placed)
    assert span is not None  # a closure always has a first start and a return
    return Answer(
        fingerprint=fingerprint,
        grid=grid,
        placements=found.placements,
        closure=(grid.instant(span[0]), grid.instant(span[1])),
        returns=tuple(
            Returned(
                kind=r.kind,
                when=grid.instant(
                    max(
                        end if w is None else problem.lookups[wait_name(w)].over[end]
                        for t, w in r.after
                        for end in [placed[t].end]
                    )
                ),
            )
            for r in problem.work.returns
        ),
        cost=cost_of(problem, span, paid_times(problem, as_worked(problem, placed))),
        aims=found.aims,
        proof=proof,
        rounds=rounds,
        stopped=found.stopped,
    )
