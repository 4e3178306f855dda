"""A plan mended for a problem that has changed a little, in a fraction of a search.

Most of an earlier plan still holds then. What holds is kept, what comes after the change
is placed anew in one pass over the tasks, and the solver is only asked about what got
worse by it, with the teams of the earlier plan and of that pass alone.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

from planner.schedule.check.verify import values, verify
from planner.schedule.cp.search import run_solver
from planner.schedule.first.earlier import moved_up
from planner.schedule.first.kept import kept_until, moved_on_in
from planner.schedule.first.naming import placements_of
from planner.schedule.first.tables import Seats
from planner.schedule.problem.instance import Instance
from planner.schedule.problem.limits import SearchLimits, Watch
from planner.schedule.problem.outcome import AimResult, Placement, Planned
from planner.schedule.problem.parts import AimKind
from planner.schedule.space.bounds import Floor
from planner.schedule.space.memory import Memory
from planner.schedule.space.narrowed import ImpossibleError, NarrowedWindows, cuts_of
from planner.schedule.space.search_space import make_space
from planner.schedule.space.teams import counted
from planner.schedule.space.windows import narrow

MENDED = (
    "an earlier plan was kept as far as it holds; other teams were weighed only where it "
    "doesn't"
)
# The solver's work for each aim that is worse than in the earlier plan as it stands.
WORK = {AimKind.LAST_RETURN: 0.02, AimKind.CALLS: 0.006}
# By how much of what they were the closures of a good plan may begin earlier, and by how
# much it may call more shifts.
EARLIER, MORE_CALLS = 1 / 50, 1 / 8

Plan = tuple[Placement, ...]


def mended(
    plan: Plan,
    instance: Instance,
    kept: Instance,
    memory: Memory,
    stop: Callable[[], bool],
) -> Planned | None:
    """Return a plan of an instance, mended from another one; None for no good one.

    It is a good one if its closures begin hardly any earlier and few more shifts are
    called than in the other plan as it stands. `kept` is the instance with the teams of that
    plan. Nothing is proven.
    """
    aims = instance.aims
    if aims != (AimKind.LAST_RETURN, AimKind.CLOSED, AimKind.CALLS):
        return None
    known = {t.id for t in instance.tasks}
    if any(p.task not in known for p in plan):
        return None  # with less to be done, the plan at hand is no measure
    plan = tuple(p for p in plan if p.end <= instance.horizon)
    stands = values(instance, plan)
    mending = _Mending(
        instance, plan, tuple(stands[a] for a in aims), Watch(SearchLimits(), stop)
    )
    best = mending.best(mending.same_teams(kept, memory))
    if best is None or mending.later(best):
        best = mending.best([*([best] if best else []), *mending.any_teams(memory)])
    if best is None or mending.begins_earlier(best) or stop():
        return None
    best = mending.moved_up(mending.lowered(mending.with_few_teams(best)))
    placements = placements_of(best.windows.space, best.seats)
    if not mending.is_good(best) or verify(instance, placements):
        return None
    return Planned(
        placements=placements,
        aims=tuple(
            AimResult(aim=a, value=value, bound=0)
            for a, value in zip(aims, best.worth, strict=True)
        ),
        stopped=MENDED,
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Found:
    """A plan, the windows that it lies in, and its values of the aims."""

    windows: NarrowedWindows
    seats: Seats
    worth: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class _Mending:
    """What is mended, and what the plan is worth as it stands."""

    instance: Instance
    plan: Plan
    stands: tuple[int, ...]
    watch: Watch

    def same_teams(self, kept: Instance, memory: Memory) -> Iterator[_Found]:
        """Yield plans with the teams of the plan."""
        try:
            windows = narrow(make_space(kept, memory))
        except ImpossibleError:
            return
        found = [self.found(windows, s) for s in moved_on_in(windows, self.plan)]
        yield from found
        best = self.best(found)
        if best is not None and best.worth > self.stands and not self.later(best):
            for seats in kept_until(windows, self.plan):
                yield self.found(windows, seats)

    def any_teams(self, memory: Memory) -> Iterator[_Found]:
        """Yield plans that keep the plan until some task, until one is no later."""
        try:
            windows = narrow(make_space(self.instance, memory))
        except ImpossibleError:
            return
        for seats in kept_until(windows, self.plan):
            found = self.found(windows, seats)
            yield found
            if not self.later(found):
                return

    def found(self, windows: NarrowedWindows, seats: Seats) -> _Found:
        """Return a plan with its worth."""
        reached = values(self.instance, placements_of(windows.space, seats))
        worth = tuple(reached[a] for a in self.instance.aims)
        return _Found(windows=windows, seats=seats, worth=worth)

    def best(self, plans: Iterator[_Found] | list[_Found]) -> _Found | None:
        """Return the best of some plans; of equal ones, the one with the fewest tasks."""
        return min(plans, key=lambda one: (one.worth, len(one.seats)), default=None)

    def later(self, found: _Found) -> bool:
        """Tell whether a plan returns later, or closes longer, than the one as it stands."""
        return any(a > b for a, b in zip(found.worth[:2], self.stands[:2], strict=True))

    def begins_earlier(self, found: _Found) -> bool:
        """Tell whether closures got longer by more than the last return got later."""
        late = max(found.worth[0] - self.stands[0], 0)
        longer = found.worth[1] - self.stands[1]
        return longer > late + self.stands[1] * EARLIER

    def is_good(self, found: _Found) -> bool:
        """Tell whether no longer search is worth its time."""
        few = self.stands[2] * (1 + MORE_CALLS) + 1
        return found.worth[2] <= few and not self.begins_earlier(found)

    def moved_up(self, found: _Found) -> _Found:
        """Return the plan without what is needless, each task as early as it can be."""
        space = found.windows.space
        settled = tuple(zip(self.instance.aims, found.worth, strict=True))
        seats = moved_up(
            narrow(space, cuts_of(self.instance, settled)),
            found.seats,
            lambda seats: self.found(found.windows, seats).worth <= found.worth,
            self.watch.over,
        )
        return self.found(found.windows, seats)

    def with_few_teams(self, found: _Found) -> _Found:
        """Return a plan in windows with its own teams and those of the earlier plan."""
        space = found.windows.space
        teams = counted(space.groups, (p.team for p in self.plan))
        numbers = (space.number[p.task] for p in self.plan)
        before = dict(zip(numbers, teams, strict=True))
        rows = []
        for t, row in enumerate(space.options):
            both = [before[t]] if t in before else []
            both += [dict(found.seats[t].team)] if t in found.seats else []
            few = tuple(w for w in row if dict(w.team) in both)
            rows.append(few or row)
        few_space = replace(space, options=tuple(rows), some_teams=True)
        return replace(found, windows=replace(found.windows, space=few_space))

    def lowered(self, found: _Found) -> _Found:
        """Return the plan after the solver was asked about the return, and more shifts."""
        for number, aim in enumerate(self.instance.aims):
            worse = found.worth[number] > self.stands[number]
            if aim is AimKind.LAST_RETURN or (aim in WORK and worse):
                found = self.asked(found, aim, number)
        return found

    def asked(self, found: _Found, aim: AimKind, number: int) -> _Found:
        """Return the plan, or the better one that little work of the solver finds."""
        before = zip(self.instance.aims[:number], found.worth, strict=False)
        settled, value = tuple(before), found.worth[number]
        space = found.windows.space
        cuts = cuts_of(self.instance, (*settled, (aim, value - 1)))
        if aim is not AimKind.CALLS and not Floor(space).possible(cuts):
            return found
        run = run_solver(
            narrow(space, cuts_of(self.instance, (*settled, (aim, value)))),
            found.seats,
            aim=aim,
            settled=settled,
            least=self.stands[number] if aim is AimKind.CALLS else 0,
            work=WORK[aim],
            watch=self.watch,
        )
        if run.seats is None:
            return found
        better = self.found(found.windows, run.seats)
        return min(found, better, key=lambda one: one.worth)
