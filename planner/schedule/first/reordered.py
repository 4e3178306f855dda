"""Plans of one instance in any order of its tasks, each by the team that is asked for."""

from collections.abc import Callable, Mapping, Sequence
from random import Random

from planner.hours.spans import Spans
from planner.schedule.first.greedy import Passes, Seat
from planner.schedule.first.naming import placements_of, worked_in
from planner.schedule.problem.instance import Instance
from planner.schedule.problem.outcome import Placement
from planner.schedule.space.option import TeamOption
from planner.schedule.space.search_space import SearchSpace, make_space
from planner.schedule.space.teams import counted
from planner.schedule.space.windows import narrow

Team = tuple[str, ...]


class Reordering:
    """Makes plans of an instance in a pass each, a few milliseconds for a common job.

    Raises
    ------
    ImpossibleError
        When it is made, if the windows leave no plan.

    `check` is called again and again while it is made; it raises an error when it is
    time to stop.
    """

    def __init__(
        self, instance: Instance, check: Callable[[], None] = lambda: None
    ) -> None:
        self._space = make_space(instance, check=check)
        self._passes = Passes(narrow(self._space))
        table = self._passes.table
        self._all = [list(row) for row in table.options]
        self._worked: dict[tuple[int, Seat], Spans] = {}

    def teams(self, task: str) -> tuple[Team, ...]:
        """Return the teams that may do a task; people who are alike stand for others."""
        row = self._all[self._space.number[task]]
        return tuple(dict.fromkeys(self._named(option) for option, _, _ in row))

    def plan(
        self, order: Sequence[str], teams: Mapping[str, Team]
    ) -> tuple[Placement, ...] | None:
        """Return the plan in which tasks are placed in an order; None if there is none.

        Each is placed as early as every rule allows, once all that it follows is
        placed; by its team in `teams`, else by the one with which it ends soonest.
        """
        space, table = self._space, self._passes.table
        wanted = dict(zip(teams, counted(space.groups, teams.values()), strict=True))
        rank = {task: float(place) for place, task in enumerate(order)}
        for t, task in enumerate(space.tasks):
            row = self._all[t]
            if task.id in teams:
                row = [x for x in row if dict(x[0].team) == wanted[task.id]] or row
            table.options[t] = row
        key = [rank.get(t.id, float(len(rank))) for t in space.tasks]
        seats = self._passes.run(self._passes.trial(key, Random(20), 0))
        return None if seats is None else placements_of(space, seats, self._worked_in)

    def _worked_in(self, space: SearchSpace, t: int, seat: Seat) -> Spans:
        """Return the ticks that a seat works; most seats are those of an earlier plan."""
        if (t, seat) not in self._worked:
            self._worked[t, seat] = worked_in(space, t, seat)
        return self._worked[t, seat]

    def _named(self, option: TeamOption) -> Team:
        """Return an option's team by names, the first of people who are alike."""
        groups = self._space.groups
        return tuple(sorted(p for g, n in option.team for p in groups[g].members[:n]))
