"""Planning in rounds, until a plan holds in the air that its own coats make.

Wet work dampens the room, and its hours come from the plan. The first search looks at
each coat as if it were alone in the room (`least`): no plan can do better. The plan
that it finds is then put into the air that its own coats make, and what comes too
early there, or breaks a limit, is moved on, until nothing does. Tasks only ever move
to later ticks, so that ends. Further searches, in the air of the plan at hand, look
for a better one; only a plan that holds in its own air takes the other's place.
"""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace

from planner.nouns.case import Case
from planner.planning.answer import EVERYWHERE, Proof
from planner.planning.inside import coats_of, gives_water
from planner.planning.least import bounds_hold, least
from planner.planning.posing import posed, weeks_of
from planner.planning.problem import Problem
from planner.planning.refusals.no_plan import Damp
from planner.planning.searching import Search, solved, time_up
from planner.schedule.check.tally import over_at
from planner.schedule.check.verify import values, verify
from planner.schedule.first.later import moved_on
from planner.schedule.problem.instance import Instance
from planner.schedule.problem.outcome import (
    AimResult,
    NoPlan,
    Placement,
    Planned,
    TimeUp,
)
from planner.schedule.problem.parts import AimKind, LinkKind, Lookup

MOST_ROUNDS = 4  # searches; each but the first looks for a better plan than the last
FIRST_SHARE, NEXT_SHARE, BOUND_SHARE = 0.25, 0.25, 0.25  # of the work
GRACE_S = 2.0  # beyond the clock, to make a plan hold that was found in time
MAIN = 2  # aims that are worth another round: the return, and the closure
STEP_H = 1.0  # by which a coat that makes the room too damp is moved on; then doubled

Placements = tuple[Placement, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """A plan with the problem in its own air, which it keeps, and its aims there."""

    problem: Problem
    placements: Placements
    worth: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Settled:
    """What was found in an air, what its proofs are worth, after how many searches."""

    problem: Problem
    found: Planned
    proof: Proof = EVERYWHERE
    rounds: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class NotHeld:
    """A plan was found that its own air didn't let stand; another may well stand.

    `damp` is the coat that found no place in it; None where it was something else.
    """

    damp: Damp | None


class AirRounds:
    """The rounds over one grid."""

    def __init__(self, case: Case, dry: Problem, search: Search) -> None:
        self.case = case
        self.dry = dry
        self.least = least(case.inputs, dry)
        self.search = search
        self.damp: Damp | None = None

    def settled(self) -> Settled | NotHeld | TimeUp | None:
        """Return the best plan found that holds; None where this grid surely has none.

        TimeUp where not all teams were weighed, so that a longer grid may have one.

        Raises
        ------
        TimeUpError
            When the limits ran out before a plan was found that holds.
        """
        first = solved(
            self.least,
            self.search.part(FIRST_SHARE),
            round_number=1,
            most_rounds=MOST_ROUNDS,
        )
        match first:
            case NoPlan():
                return None
            case TimeUp(some_teams=True):
                return first
            case TimeUp():
                raise time_up()
            case Planned():
                pass
        best = self.held(first.placements)
        if best is None:
            return NotHeld(damp=self.damp)
        floor = tuple(a.value for a in first.aims)
        best, here, rounds = self.bettered(best, floor)
        found, everywhere = self.proven(best, first)
        return Settled(
            problem=best.problem,
            found=found,
            proof=Proof(everywhere=everywhere, here=here),
            rounds=rounds,
        )

    # -- a plan that holds ---------------------------------------------------

    def held(self, placements: Placements) -> Held | None:
        """Return a plan moved on until it holds in its own air; None off the grid.

        Tasks only move to later ticks, so there is an end; a coat that makes the room
        too damp moves on by twice as much each time, so it comes soon.
        """
        pushed: Counter[str] = Counter()
        step = self.dry.grid.ticks_up(STEP_H)
        while True:
            own = self.in_own_air(placements)
            if not verify(own.instance, placements):
                worth = values(own.instance, placements)
                aims = own.instance.aims
                return Held(
                    problem=own,
                    placements=placements,
                    worth=tuple(worth[a] for a in aims),
                )
            if self.search.late(GRACE_S):
                raise time_up()
            not_before: dict[str, int] = {}
            for damp, late in self.too_damp(own, placements):
                self.damp = damp
                not_before[late.task] = late.start + step * 2 ** pushed[late.task]
            pushed.update(not_before.keys())
            moved = moved_on(self.rules(own), placements, not_before)
            if moved is None or moved == placements:
                return None
            placements = moved

    def in_own_air(self, placements: Placements) -> Problem:
        """Return the problem in the air that a plan's own coats make."""
        coats = coats_of(self.dry.work, self.dry.products, placements)
        return posed(self.case, weeks=weeks_of(self.dry), coats=coats)

    def rules(self, own: Problem) -> Instance:
        """Return the waits of a plan's own air with the starts that no air allows.

        Which starts a plan's own air closes hangs on where its coats lie, and they
        are about to move; see `too_damp`.
        """
        least_of = {t.id: t for t in self.least.instance.tasks}
        named = {k.name for k in own.instance.lookups}
        tasks = tuple(
            replace(
                t,
                no_start=least_of[t.id].no_start,
                holds=tuple(
                    replace(h, until=_bare(h.until))
                    for h in least_of[t.id].holds
                    if _bare(h.until) in named
                ),
            )
            for t in own.instance.tasks
        )
        return replace(own.instance, tasks=tasks)

    def too_damp(
        self, own: Problem, placements: Placements
    ) -> Iterator[tuple[Damp, Placement]]:
        """Yield each coat that breaks its limits, with the coat that is to move on.

        That is the last one laid before the limits break: what is wet already stays,
        and what comes on top of it waits.
        """
        plan = {p.task: p for p in placements}
        wet = gives_water(own.work, own.products)
        for task in own.instance.tasks:
            placed = plan.get(task.id)
            if placed is None:
                continue
            for hold in task.holds:
                until = over_at(own.instance, hold.until, placed.end)
                bad = hold.bad.clip(placed.start, min(until, own.instance.horizon))
                if not bad:
                    continue
                first, last = bad.items[0][0], bad.items[-1][1]
                laid = [p for p in placements if p.task in wet and p.start <= first]
                late = max(laid, key=lambda p: (p.start, p.task))
                yield (
                    Damp(task=task.id, fact=hold.fact, first=first, last=last),
                    late,
                )

    # -- a better one --------------------------------------------------------

    def bettered(
        self, best: Held, floor: tuple[int, ...]
    ) -> tuple[Held, frozenset[AimKind], int]:
        """Return the best of a few more plans, what is proven in its air, the rounds.

        Each search is for the air of the plan at hand; one that comes to nothing
        makes the next one keep the damper of its own air and that.
        """
        here: frozenset[AimKind] = frozenset()
        rules = best.problem.instance
        for number in range(2, MOST_ROUNDS + 1):
            if best.worth[:MAIN] == floor[:MAIN] or self.search.over():
                return best, here, number - 1
            found = solved(
                replace(best.problem, instance=rules),
                self.search.part(NEXT_SHARE),
                round_number=number,
                most_rounds=MOST_ROUNDS,
            )
            if not isinstance(found, Planned):
                return best, here, number
            if rules is best.problem.instance:
                here = _proven_here(best, found)
            asked = tuple(a.value for a in found.aims)
            if asked[:MAIN] >= best.worth[:MAIN]:
                return best, here, number
            other = self.held(found.placements)
            if other is not None and other.worth < best.worth:
                best, here = other, frozenset()
                rules = best.problem.instance
            else:
                rules = _damper(rules, self.in_own_air(found.placements).instance)
        return best, here, MOST_ROUNDS

    # -- what is proven ------------------------------------------------------

    def proven(self, best: Held, first: Planned) -> tuple[Planned, frozenset[AimKind]]:
        """Return the plan with its bounds, and which hold for plans with any other air.

        The bound of an aim is for plans that are as good in the aims before; so those
        of the first search will do as far as the plan is as good as its own.
        """
        bound, same = first, 1
        for one, value in zip(first.aims, best.worth, strict=True):
            if one.value != value:
                break
            same += 1
        if same <= len(best.worth) and not self.search.over():
            given = dict(zip(best.problem.instance.aims, best.worth, strict=True))
            again = solved(self.least, self.search.part(BOUND_SHARE), given=given)
            if isinstance(again, Planned):
                bound, same = again, len(best.worth)
        aims = tuple(
            AimResult(
                aim=a.aim,
                value=value,
                bound=min(a.bound, value),
                bound_of_teams=min(a.bound_of_teams, value),
            )
            for a, value in zip(bound.aims, best.worth, strict=True)
        )
        holds = bounds_hold(self.case.inputs, self.dry)
        everywhere = frozenset(a.aim for a in aims[:same]) if holds else frozenset()
        stopped = bound.stopped or self.search.why_over()
        return (
            Planned(placements=best.placements, aims=aims, stopped=stopped),
            everywhere,
        )


def _bare(name: str) -> str:
    """Return the name of a wait without the task that it is for."""
    return name.partition("@")[0]


def _proven_here(best: Held, found: Planned) -> frozenset[AimKind]:
    """Return the aims in which no plan for the air of the best one betters it."""
    out = []
    for result, value in zip(found.aims, best.worth, strict=True):
        if result.bound < value:
            break
        out.append(result.aim)
    return frozenset(out)


def _damper(one: Instance, two: Instance) -> Instance:
    """Return the instance with the longer waits and all the bad ticks of both."""
    other = {k.name: k.over for k in two.lookups}
    latest = {k.wait for k in one.links if k.kind is LinkKind.LATEST}
    holds = {t.id: {h.fact: h for h in t.holds} for t in two.tasks}
    tasks = []
    for task in one.tasks:
        mine = {h.fact: h for h in task.holds}
        both = {**holds[task.id], **mine}
        tasks.append(
            replace(
                task,
                holds=tuple(
                    replace(h, bad=h.bad | holds[task.id].get(fact, h).bad)
                    for fact, h in both.items()
                ),
            )
        )
    return replace(
        one,
        tasks=tuple(tasks),
        lookups=tuple(
            Lookup(
                name=k.name,
                over=tuple(
                    map(min if k.name in latest else max, k.over, other[k.name])
                ),
            )
            for k in one.lookups
        ),
    )
