"""Plans that keep another plan as far as they can, each made in one pass over the tasks.

Where a job has changed a little, most of an earlier plan still holds. What holds may
stay; what comes after the change is placed as soon as it can be.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from random import Random

from planner.schedule.first.greedy import Passes
from planner.schedule.first.tables import Seats
from planner.schedule.problem.outcome import Placement
from planner.schedule.problem.parts import Before
from planner.schedule.space.narrowed import NarrowedWindows
from planner.schedule.space.option import TeamOption
from planner.schedule.space.search_space import SearchSpace
from planner.schedule.space.teams import counted

CUTS = 10  # after how many tasks of a plan what follows is placed anew

Options = tuple[TeamOption, ...]


def moved_on_in(
    windows: NarrowedWindows, plan: tuple[Placement, ...]
) -> Iterator[Seats]:
    """Yield up to two plans with a plan's tasks in its order, by the teams given.

    In the first, no task begins before its start in the plan, if it can begin later at
    all; in the second, each as soon as it can.
    """
    old = _Old(windows.space, plan)
    later = tuple(old.later(t, row) for t, row in enumerate(windows.space.options))
    for rows in (later, windows.space.options):
        seats = _placed(windows, rows, old.order(windows, len(rows)))
        if seats is not None:
            yield seats


def as_agreed(windows: NarrowedWindows) -> Seats | None:
    """Return what was agreed, moved on as far as the rules ask; None if that fails.

    Where a task can have the agreed team from the agreed start on, it has no other.
    """
    old = _Old(windows.space, windows.space.instance.agreed)
    later = (old.later(t, row) for t, row in enumerate(windows.space.options))
    rows = tuple(old.by_team(t, row) or row for t, row in enumerate(later))
    return _placed(windows, rows, old.order(windows, len(rows)))


def kept_until(
    windows: NarrowedWindows, plan: tuple[Placement, ...]
) -> Iterator[Seats]:
    """Yield plans that keep fewer and fewer of a plan's first tasks where they are.

    The others are placed by any team: those first that may be late the least, each by
    those who end it soonest.
    """
    old, options = _Old(windows.space, plan), windows.space.options
    ranked = sorted(old.starts, key=lambda t: (old.starts[t], t))
    last = max(windows.start_hi, default=0)
    for cut in range(CUTS, -1, -1):
        first = ranked[: len(ranked) * cut // CUTS]
        kept = {t: seat for t in first if (seat := old.seat(t, options[t]))}
        rows = tuple(kept.get(t, row) for t, row in enumerate(options))
        key = [
            float(old.starts[t] - last - 1 if t in kept else late)
            for t, late in enumerate(windows.start_hi)
        ]
        seats = _placed(windows, rows, key)
        if seats is not None:
            yield seats


def _placed(
    windows: NarrowedWindows, rows: tuple[Options, ...], key: list[float]
) -> Seats | None:
    """Return the plan of one pass that has only these options, in this order."""
    passes = Passes(replace(windows, space=replace(windows.space, options=rows)))
    return passes.run(passes.trial(key, Random(20), 0))


class _Old:
    """A plan in terms of a space: where and by whom each task was done."""

    def __init__(self, space: SearchSpace, plan: Sequence[Placement | Before]) -> None:
        known = {space.number[p.task]: p for p in plan if p.task in space.number}
        self.space = space
        self.starts = {
            t: int(space.first[min(p.start, space.instance.horizon)])
            for t, p in known.items()
        }
        teams = counted(space.groups, (p.team for p in known.values()))
        self.teams = dict(zip(known, teams, strict=True))

    def order(self, windows: NarrowedWindows, count: int) -> list[float]:
        """Return the starts of tasks; of one that is new, the latest that it can have."""
        late = windows.start_hi
        return [float(self.starts.get(t, late[t])) for t in range(count)]

    def by_team(self, t: int, row: Options) -> Options:
        """Return the options of the team that a task had."""
        return tuple(w for w in row if dict(w.team) == self.teams.get(t))

    def seat(self, t: int, row: Options) -> Options:
        """Return the option of a task's team at its old start; empty if there is none."""
        if t not in self.starts:
            return ()
        here = (w.cut(w.starts == self.starts[t]) for w in self.by_team(t, row))
        return tuple(w for w in here if len(w.starts))[:1]

    def later(self, t: int, row: Options) -> Options:
        """Return the options from a task's old start on; all, if there are none."""
        if t not in self.starts:
            return row
        later = (w.cut(w.starts >= self.starts[t]) for w in row)
        return tuple(w for w in later if len(w.starts)) or row
