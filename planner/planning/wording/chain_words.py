"""What holds the return date, in words: why each task on the way began no earlier."""

from collections.abc import Callable, Mapping, Sequence

from planner import units
from planner.hours.grid import Grid
from planner.nouns.plan import ChainStep
from planner.nouns.product import HardeningWay
from planner.nouns.work import Wait
from planner.planning.apart import kept_apart
from planner.planning.problem import Problem, hardening
from planner.schedule.problem.outcome import BindingStep, Cause, Placement

VERBS = {
    HardeningWay.DRIES: "dried",
    HardeningWay.SETS: "set",
    HardeningWay.CURES: "cured",
    HardeningWay.CLEARS: "cleared",
    HardeningWay.LIES: "given its result",
}


def moment(grid: Grid, tick: int) -> str:
    """Return a tick as the site says it: 'Tue 16 Feb 2027, 14:15'."""
    return units.moment_words(grid.instant(tick), grid.zone)


def chain_words(
    problem: Problem,
    placed: Mapping[str, Placement],
    steps: Sequence[BindingStep],
    ready: Callable[[str, Wait | None], int],
) -> tuple[ChainStep, ...]:
    """Return the steps of what holds the date, from the first start to the return."""
    out = [
        ChainStep(
            task=s.task,
            cause=s.cause.value,
            by=s.by,
            because=because(problem, placed, s, ready),
            held_from=problem.grid.instant(s.since),
        )
        for s in steps
    ]
    return tuple(reversed(out))


def because(
    problem: Problem,
    placed: Mapping[str, Placement],
    step: BindingStep,
    ready: Callable[[str, Wait | None], int],
) -> str:
    """Return what kept a task from starting earlier, in words."""
    titles = {t.id: t.title for t in problem.work.tasks}
    names = {p.id: p.name for p in problem.job.crew}
    grid = problem.grid
    match step.cause:
        case Cause.LINK:
            return _link_words(problem, step, ready, titles)
        case Cause.PERSON:
            both = set(placed[step.task].team) & set(placed[step.by].team)
            who = " and ".join(sorted(names[p] for p in both)) or "the team"
            return f'{who} had "{titles[step.by]}" to finish first'
        case Cause.PERSON_CLOSED:
            return f"{names.get(step.by, 'the team')}'s hours: {_closed(problem, step)}"
        case Cause.POOL:
            return f'the bay was taken by "{titles.get(step.by, step.by)}"'
        case Cause.BLOCK | Cause.HOLD | Cause.BOOKING | Cause.PIN:
            return problem.facts.get(step.by, step.by)
        case Cause.APART:
            shared = f'it must not share the room with "{titles[step.by]}"'
            wait = kept_apart_by(problem, step)
            if wait is None:
                return shared
            until = moment(grid, ready(step.by, wait))
            way = hardening(problem.products, wait).way
            return f"{shared}, which had {VERBS[way]} {until}"
        case Cause.REST:
            return f"{names[step.by]} must rest between shifts"
        case Cause.SET_UP:
            return "what was left of the day was no longer than setting up takes"
        case Cause.BEGIN:
            return f"the first day is {units.day_words(grid.start, grid.zone)}"
        case Cause.AIM:
            return "nothing: an earlier start would bring the stage back no sooner"


def kept_apart_by(problem: Problem, step: BindingStep) -> Wait | None:
    """Return the wait after the task that a step was kept apart from, if any counts."""
    for apart in kept_apart(problem.work, problem.products):
        if apart.task == step.by and step.task in apart.others:
            return apart.until
    return None


def _link_words(
    problem: Problem,
    step: BindingStep,
    ready: Callable[[str, Wait | None], int],
    titles: Mapping[str, str],
) -> str:
    """Return why a task waited for another, by the wait that ended last."""
    links = [
        x for x in problem.work.links if (x.before, x.after) == (step.by, step.task)
    ]
    if not links:
        return (
            f'"{titles[step.by]}" could not have covered it in time, had it been '
            "done sooner"
        )
    last = max(links, key=lambda x: ready(x.before, x.wait))
    title = titles[step.by]
    if last.wait is None or ready(last.before, last.wait) == ready(last.before, None):
        return f'"{title}" comes first: {last.reason}'
    stage = hardening(problem.products, last.wait)
    product = problem.products[last.wait.product].title
    until = moment(problem.grid, ready(last.before, last.wait))
    return f'{product} of "{title}" had to have {VERBS[stage.way]}, {until}'


def _closed(problem: Problem, step: BindingStep) -> str:
    """Return why a person was not open just before a task could start."""
    hours = problem.open.get(step.by)
    if hours is None:
        return "closed"
    for reason, spans in hours.taken:
        if any(a <= t < b for a, b in spans for t in (step.since, step.since - 1)):
            return reason
    return "break, night or day off"
