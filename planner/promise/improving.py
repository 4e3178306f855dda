"""The same work in other orders and by other teams, until a plan is kept earlier.

A plan is changed a little, made anew in one pass, and played in a few hundred futures;
what does better there stays. Changes are made where plans are held up: to tasks that
are often on the way that holds full service.
"""

from collections.abc import Callable, Container, Mapping
from dataclasses import dataclass, replace
from random import Random

from planner.hours.spans import Spans
from planner.planning.problem import Problem
from planner.promise.judging import Rough
from planner.schedule.check.verify import verify
from planner.schedule.first.reordered import Reordering, Team
from planner.schedule.problem.instance import Instance
from planner.schedule.problem.limits import StoppedError
from planner.schedule.problem.outcome import Placement
from planner.schedule.problem.parts import ClosedTicks

PATIENCE = 90  # plans in a row that better nothing, after which the search ends
MOST_TRIES = 4  # changes that are tried for each plan that may be played
ON_THE_WAY = 0.7  # of changes are made to tasks that often hold the return
OF_ORDER = 0.6  # of changes move a task in the order, the others change a team
FAR = 6.0  # places that a task moves, on average
FREE_TEAM = 0.3  # of changed teams: the one that ends the task soonest

Placements = tuple[Placement, ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Arranged:
    """A plan, the order and teams that it was made of, and how well it is kept."""

    placements: Placements
    order: tuple[str, ...]
    teams: Mapping[str, Team]
    rough: Rough


class Improving:
    """Looks for plans that are kept earlier, their closure not before a given tick.

    Raises
    ------
    ImpossibleError
        When it is made, if no plan begins its closure then.
    StoppedError
        When it is over before it is made.
    """

    def __init__(
        self,
        problem: Problem,
        not_before: int,
        rough: Callable[[Placements], Rough],
        over: Callable[[], bool],
    ) -> None:
        self.instance = problem.instance
        self.rough, self.over, self.not_before = rough, over, not_before
        self.passes = Reordering(_closed_from(problem, not_before), self.check)

    def check(self) -> None:
        """Return nothing unless it is over."""
        if self.over():
            raise StoppedError

    def arranged(
        self,
        order: tuple[str, ...],
        teams: Mapping[str, Team],
        but: Container[Placements] = (),
    ) -> Arranged | None:
        """Return the plan of an order and teams, played; None if there is none.

        None, too, if it is one of those that were to be left out.
        """
        made = self.passes.plan(order, teams)
        if made is None or made in but:
            return None
        return Arranged(
            placements=made, order=order, teams=teams, rough=self.rough(made)
        )

    def improved(self, best: Arranged, *, changes: int, random: Random) -> Arranged:
        """Return the best plan found, or the given one.

        As many other plans as there are `changes` are played at most; changes that make
        no plan, or one that was played, are many, and take little time.
        """
        if changes == 0 or self.over():
            return best
        ways, idle = best.rough.on_way(), 0
        worse: set[Placements] = set()
        for _ in range(MOST_TRIES * changes):
            if changes == 0 or idle >= PATIENCE or self.over():
                break
            order, teams = self.changed(best, ways, random)
            made = self.passes.plan(order, teams)
            if made is None or made in worse:
                continue
            if made == best.placements:  # the same plan, from which to go on
                best = replace(best, order=order, teams=teams)
                continue
            changes, idle = changes - 1, idle + 1
            found = Arranged(
                placements=made, order=order, teams=teams, rough=self.rough(made)
            )
            if found.rough.score > best.rough.score or verify(self.instance, made):
                worse.add(made)
                continue
            if found.rough.score < best.rough.score:
                ways, idle = found.rough.on_way(), 0
            best = found
        return best

    def changed(
        self, best: Arranged, ways: Mapping[str, float], random: Random
    ) -> tuple[tuple[str, ...], Mapping[str, Team]]:
        """Return the order and teams of a plan with one change."""
        task = _drawn(best.order, ways, random)
        if random.random() >= OF_ORDER:
            teams = dict(best.teams)
            others = self.passes.teams(task)
            if random.random() < FREE_TEAM or not others:
                teams.pop(task, None)
            else:
                teams[task] = random.choice(others)
            return best.order, teams
        order = list(best.order)
        place = order.index(task)
        order.pop(place)
        far = 1 + int(random.expovariate(1.0 / FAR))
        there = place + random.choice((-far, far))
        order.insert(min(max(there, 0), len(order)), task)
        return tuple(order), best.teams


def _drawn(order: tuple[str, ...], ways: Mapping[str, float], random: Random) -> str:
    """Return a task to change, often one that holds the return."""
    often = [ways.get(task, 0.0) for task in order]
    if random.random() < ON_THE_WAY and sum(often) > 0.0:
        return random.choices(order, often)[0]
    return random.choice(order)


def as_arranged(
    problem: Problem, placements: Placements
) -> tuple[tuple[str, ...], Mapping[str, Team]]:
    """Return the order of a plan's tasks, those that it leaves out last, and its teams."""
    ranked = sorted(placements, key=lambda p: (p.start, p.end, p.task))
    order = [p.task for p in ranked]
    order += sorted({t.id for t in problem.instance.tasks} - set(order))
    return tuple(order), {p.task: p.team for p in placements}


def _closed_from(problem: Problem, tick: int) -> Instance:
    """Return the instance in which no task on the stage begins before a tick."""
    on_stage = {t.id for t in problem.work.tasks if t.on_stage}
    shut = ClosedTicks(fact="", ticks=Spans.of([(0, tick)]))
    return replace(
        problem.instance,
        tasks=tuple(
            replace(t, no_start=(*t.no_start, shut)) if t.id in on_stage and tick else t
            for t in problem.instance.tasks
        ),
    )
