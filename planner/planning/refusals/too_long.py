"""Work in one go that no open span of any team could hold: found before the search."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from itertools import combinations

from planner import units
from planner.hours.spans import Span, Spans
from planner.nouns.work import Task
from planner.planning.problem import Problem
from planner.planning.refusals.even_longest import refuse_even_longest
from planner.schedule.problem.parts import Activity, Mode
from planner.trade.data.labour import rates


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenSpan:
    """A team size of a task, setting up counted, and its longest open span.

    `team` is empty where the crew has none of that size.
    """

    mode: Mode
    span: Span
    team: tuple[str, ...]

    @property
    def ticks(self) -> int:
        """The length of the span."""
        return self.span[1] - self.span[0]


@dataclass(frozen=True, slots=True, kw_only=True)
class TooLong:
    """Work in one go that fits no span, the first task of its kind, by team size."""

    task: Task
    alike: int  # tasks of this kind that fit no span either
    tries: tuple[OpenSpan, ...]


def refuse(problem: Problem, longest: Callable[[], Problem]) -> None:
    """Refuse work in one go that fits no open span, even on the longest grid.

    Raises
    ------
    NoPlanError
        Naming each such kind of work, its hours by team size, the longest open span
        of a team of that size, and what would help.
    """
    refuse_even_longest(
        "no open span of the crew is long enough for work that is done in one go",
        problem,
        longest,
        find=_found,
        words=_words,
        helps=_helps,
    )


def _found(problem: Problem) -> list[TooLong]:
    """Return the first task of each kind that fits no span, in order of the work."""
    named = {t.id: t for t in problem.work.tasks}
    out: dict[str, TooLong] = {}
    for task in problem.instance.tasks:
        if not task.one_go or task.optional or task.leads == ():
            continue
        tries: list[OpenSpan] = []
        for mode in task.modes:
            whole = Mode(size=mode.size, ticks=mode.ticks + task.set_up)
            tries.append(_longest(problem, task, whole))
            if tries[-1].ticks >= whole.ticks:
                break
        else:
            kind = named[task.id].phase
            before = out.get(kind)
            out[kind] = TooLong(
                task=before.task if before else named[task.id],
                alike=before.alike + 1 if before else 0,
                tries=before.tries if before else tuple(tries),
            )
    return list(out.values())


def _longest(problem: Problem, task: Activity, mode: Mode) -> OpenSpan:
    """Return the longest span in which a team of a size is open, and that team.

    Stops at the first team whose span holds the work.
    """
    shut = [b.ticks for b in task.no_work]
    closure = problem.instance.closures[0]
    if task.id in closure.tasks:
        shut += [b.ticks for b in closure.booked]
    open_of = {p.id: p.open for p in problem.instance.people}
    best = OpenSpan(mode=mode, span=(0, 0), team=())
    for team in _teams(task, mode.size):
        free = _without(_common([open_of[p] for p in team]), shut)
        span = max(free, key=lambda s: s[1] - s[0], default=(0, 0))
        if not best.team or span[1] - span[0] > best.ticks:
            best = OpenSpan(mode=mode, span=span, team=team)
        if best.ticks >= mode.ticks:
            break
    return best


def _teams(task: Activity, size: int) -> Iterable[tuple[str, ...]]:
    leads = set(task.eligible if task.leads is None else task.leads)
    return (t for t in combinations(task.eligible, size) if leads & set(t))


def _common(open_hours: Sequence[Spans]) -> Spans:
    out = open_hours[0]
    for one in open_hours[1:]:
        out = out & one
    return out


def _without(free: Spans, shut: Iterable[Spans]) -> Spans:
    for one in shut:
        free = free - one
    return free


def _hours(problem: Problem, ticks: int) -> str:
    return units.duration_words(ticks * problem.grid.tick_minutes)


def _words(problem: Problem, found: TooLong) -> str:
    """Return the work, its hours by team size, and the longest span of each."""
    names = {p.id: p.name for p in problem.job.crew}
    grid = problem.grid
    parts = []
    for one in found.tries:
        if not one.team:
            continue
        who = ", ".join(names[p] for p in one.team)
        since = units.moment_words(grid.instant(one.span[0]), grid.zone)
        parts.append(
            f"{_hours(problem, one.mode.ticks)} by {units.people_words(one.mode.size)} "
            f"where the longest open span is {_hours(problem, one.ticks)} ({who}, {since})"
        )
    more = f" and {found.alike} more like it" if found.alike else ""
    whole = "; colour isn't split anywhere: a lap shows"
    tail = whole if rates()[found.task.phase].lap_shows else ""
    return (
        f'"{found.task.title}"{more}, {found.task.quantity}, takes '
        f"{'; '.join(parts) or 'a team that the crew can not form'}{tail}"
    )


def _helps(problem: Problem, found: TooLong) -> Iterable[str]:
    """Yield what would make a task fit: a longer shift, a bigger team, bays."""
    title = f'"{found.task.title}"'
    there = [one for one in found.tries if one.team]
    span = max((one.ticks for one in there), default=0)
    if there:
        least = min(there, key=lambda one: one.mode.ticks).mode
        yield (
            f"for {title}, a longer shift: {_hours(problem, least.ticks)} without a "
            f"break for {least.size} at once"
        )
    bigger = [one.mode for one in found.tries if not one.team]
    fits = [m for m in bigger if m.ticks <= span]
    if bigger:
        mode = fits[0] if fits else bigger[-1]
        trades = ", ".join(dict.fromkeys((*found.task.lead, *found.task.help)))
        and_yet = "" if fits else ", and a longer shift with it"
        yield (
            f"for {title}, a bigger team: {mode.size} ({trades}) take "
            f"{_hours(problem, mode.ticks)}{and_yet}"
        )
    if words := in_bays(found.task):
        yield f"for {title}, {words}"


def in_bays(task: Task) -> str:
    """Return how a task may be done bay by bay, in words; empty where it can't be."""
    method = rates()[task.phase].in_bays
    if not method or len(task.bays) < 2:
        return ""
    return f'bay by bay: {method} = "bays" in [methods]'
