"""What many played futures come to: dates by their chance, collisions, causes."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from planner.hours.grid import Grid
from planner.hours.open import entry_words
from planner.nouns.inputs import Inputs
from planner.nouns.odds import (
    Chance,
    Collision,
    Curve,
    Holder,
    HoldingCause,
    HoldingTask,
    Odds,
    OneMore,
    ReturnOdds,
    Spread,
    Threat,
    ThreatOdds,
    WantedBack,
    tentative_percent,
)
from planner.nouns.product import Air
from planner.nouns.work import ReturnKind
from planner.odds.draws import Draws
from planner.odds.outcome import Played
from planner.odds.play import play
from planner.odds.script import Script, script_of
from planner.odds.weather import series_of
from planner.planning.problem import Problem
from planner.schedule.problem.limits import StoppedError
from planner.schedule.problem.outcome import Placement

Ints = NDArray[np.int64]

PERCENTS = (50, 80, 95)  # besides those that the job asks for
FUTURES, SEED = 10_000, 1
HURRIED = 2_000  # at most, once it is over
CAUSE_FUTURES = 4_000  # enough for a share of the variance to within 0.02


def odds_of(
    inputs: Inputs,
    problem: Problem,
    placements: Sequence[Placement],
    spread: Spread,
    *,
    planned: Mapping[ReturnKind, datetime],
    seed: int,
    futures: int = FUTURES,
    threats: bool = True,
    shares: bool = True,
    over: Callable[[], bool] = lambda: False,
    step: Callable[[str], None],
) -> Odds:
    """Return how sure a plan's returns are.

    Parameters
    ----------
    inputs
        Of the job; its record of the air outside may hold several years.
    problem
        The problem on a grid that is long enough for late futures, in the air that the
        plan's own coats make.
    placements
        The plan, in ticks of this grid.
    spread
        How far things may differ.
    planned
        When the plan has the stage back.
    seed
        Of all draws: the same seed meets the same futures.
    futures
        How many.
    threats
        Whether to tell the causes apart, which takes as long again.
    shares
        Whether to work out the causes' shares of the variance, too: as long once more.
    over
        Asked again and again; once it says yes, few futures are played, and causes are
        not told apart.
    step
        Told in words what is being done.
    """
    air = series_of(inputs, problem, placements, spread, seed)
    script = script_of(problem, placements, air, inputs.kept)
    draws = Draws(spread=spread, futures=futures, series=len(air), seed=seed)
    step(f"playing {futures:,} futures")
    try:
        played = play(script, draws, over)
    except StoppedError:
        draws = replace(draws, futures=min(futures, HURRIED))
        played = play(script, draws)
    threats = threats and not over()
    sure = problem.job.sure_percent
    percents = sorted({*PERCENTS, sure, tentative_percent(sure)})
    few = replace(draws, futures=min(futures, CAUSE_FUTURES))
    if threats:
        step("telling the causes apart")
    holding, held_for = held_by(script, played)
    return Odds(
        futures=draws.futures,
        seed=seed,
        sure_percent=sure,
        spread=spread,
        looked_until=problem.grid.end,
        returns=tuple(
            _return(kind, back, planned[kind], problem.grid, percents)
            for kind, back in played.returns.items()
        ),
        collisions=tuple(_collisions(problem, script, played)),
        threats=_threats(problem, script, few, shares=shares, over=over)
        if threats
        else (),
        more=tuple(_one_more(problem, placements, air, draws, played))
        if threats and shares
        else (),
        held=tuple(holding),
        held_for=tuple(held_for),
        curves=tuple(
            _curve(kind, back, problem.grid) for kind, back in played.returns.items()
        ),
        late_cost=_late_cost(problem, planned, played),
        wanted=_wanted(problem, played),
        overtime_h=float(played.overtime.mean()) * problem.grid.tick_minutes / 60,
    )


def kept_by(back: Ints, percent: float) -> int:
    """Return the least tick by which so many of a hundred futures have returned."""
    return int(np.quantile(back, percent / 100.0, method="inverted_cdf"))


def _instant(grid: Grid, tick: int) -> datetime | None:
    return grid.instant(tick) if tick <= grid.ticks else None


def _return(
    kind: ReturnKind,
    back: Ints,
    planned: datetime,
    grid: Grid,
    percents: Sequence[int],
) -> ReturnOdds:
    promised = grid.ceil(planned)
    late = np.maximum(back - promised, 0)
    return ReturnOdds(
        kind=kind,
        planned=planned,
        kept_frac=float(np.mean(back <= promised)),
        by=tuple(
            Chance(percent=p, when=_instant(grid, kept_by(back, p))) for p in percents
        ),
        late_days=float(late.mean()) * grid.tick_minutes / (24 * 60),
    )


def _wanted(problem: Problem, played: Played) -> WantedBack | None:
    """Return how often full service has come by when the job wants it."""
    by = problem.job.back_by
    if by is None:
        return None
    back = played.returns[ReturnKind.FULL_SERVICE]
    last = min(problem.grid.floor(by), problem.grid.ticks)  # later isn't looked at
    return WantedBack(by=by, frac=float(np.mean(back <= last)))


def _collisions(
    problem: Problem, script: Script, played: Played
) -> Iterator[Collision]:
    """Yield the bookings that begin, in some futures, while the stage is still closed."""
    back = played.returns[ReturnKind.FULL_SERVICE]
    for busy, spans in problem.booked:
        start, end = spans.items[0][0], spans.items[-1][1]
        frac = float(np.mean(back > start))
        if end > script.closed_from and start >= problem.now and frac > 0.0:
            words = entry_words(busy)
            yield Collision(words=words, start=busy.start, end=busy.end, frac=frac)


def _threats(
    problem: Problem,
    script: Script,
    draws: Draws,
    *,
    shares: bool,
    over: Callable[[], bool],
) -> tuple[ThreatOdds, ...]:
    """Return each cause with the date that is kept without it, and its share.

    None of them if it is over before the last.

    The first-order index of a cause is the correlation of full service in two sets of
    futures that share the draws of this cause and of no other (Sobol 1993; the
    estimator of Janon et al. 2014).
    """
    whole = _full_service(play(script, draws))
    found: list[ThreatOdds] = []
    for threat in draws.threats():
        if over():
            return ()
        without = _full_service(play(script, draws.as_planned(threat)))
        share = None
        if shares:
            others = draws.drawn_anew(*(c for c in Threat if c is not threat))
            share = first_order(whole, _full_service(play(script, others)))
        days, cost = _won(problem, whole, without)
        found.append(
            ThreatOdds(
                threat=threat,
                share_frac=share,
                without=_instant(
                    problem.grid, kept_by(without, problem.job.sure_percent)
                ),
                days=days,
                cost=cost,
            )
        )
    return tuple(found)


def _one_more(
    problem: Problem,
    placements: Sequence[Placement],
    air: Sequence[Air],
    draws: Draws,
    played: Played,
) -> Iterator[OneMore]:
    """Yield what one more person would win, for each kind of person in the crew."""
    seen = set()
    for member in problem.job.crew:
        if frozenset(member.trades) in seen:
            continue
        seen.add(frozenset(member.trades))
        script = script_of(with_one_more(problem, member.id), placements, air)
        back = _full_service(play(script, draws))
        days, cost = _won(problem, _full_service(played), back)
        yield OneMore(
            like=member.id,
            when=_instant(problem.grid, kept_by(back, problem.job.sure_percent)),
            days=days,
            cost=cost,
        )


def with_one_more(problem: Problem, like: str) -> Problem:
    """Return a problem with one more person, who may do all that another may."""
    instance, new = problem.instance, f"+{like}"  # sorts before every id
    person = next(p for p in instance.people if p.id == like)

    def joined(ids: tuple[str, ...]) -> tuple[str, ...]:
        return (*ids, new) if like in ids else ids

    tasks = tuple(
        replace(
            t,
            eligible=joined(t.eligible),
            leads=None if t.leads is None else joined(t.leads),
        )
        for t in instance.tasks
    )
    people = (*instance.people, replace(person, id=new))
    return replace(problem, instance=replace(instance, people=people, tasks=tasks))


def _won(problem: Problem, back: Ints, sooner: Ints) -> tuple[float, float | None]:
    """Return the days by which full service is sooner on average, and their cost."""
    most = problem.grid.ticks
    ticks = np.minimum(back, most).mean() - np.minimum(sooner, most).mean()
    days = float(ticks) * problem.grid.tick_minutes / (24 * 60)
    rate = problem.job.rates.stage_per_day
    if rate is None:
        return days, None
    touched = _day(problem.grid, back) - _day(problem.grid, sooner)
    return days, float(touched.mean()) * rate


def _day(grid: Grid, back: Ints) -> Ints:
    """Return the number of the site's day in which each return lies."""
    begins = np.array([a for _, a, _ in grid.days()])
    return np.searchsorted(begins, np.minimum(back, grid.ticks))


def _full_service(played: Played) -> Ints:
    return played.returns[ReturnKind.FULL_SERVICE]


def first_order(one: NDArray[np.number], two: NDArray[np.number]) -> float:
    """Return a first-order index from two results that share one input alone.

    0 where nothing varies; an estimate below 0 is one of 0.
    """
    mean = (one.mean() + two.mean()) / 2
    square = (np.square(one).mean() + np.square(two).mean()) / 2 - mean**2
    if square <= 0.0:
        return 0.0
    return max(float(((one * two).mean() - mean**2) / square), 0.0)


def held_by(
    script: Script, played: Played
) -> tuple[list[HoldingTask], list[HoldingCause]]:
    """Return the tasks on the way that held full service, and whom or what it held for."""
    steps, futures = len(script.steps), np.arange(len(played.last))
    on_way = np.zeros((steps + 1, len(futures)), dtype=np.bool_)  # the last: none
    on_way[played.last, futures] = True
    held_for = np.zeros((len(played.holders), len(futures)), dtype=np.bool_)
    held_for[played.last_for, futures] = True
    for number in range(steps - 1, -1, -1):
        task = script.steps[number].task.id
        here = np.flatnonzero(on_way[number])
        on_way[played.held_by[task][here], here] = True
        held_for[played.held_for[task][here], here] = True
    tasks = [
        HoldingTask(task=step.task.id, frac=float(on_way[number].mean()))
        for number, step in enumerate(script.steps)
    ]
    return tasks, list(_holders(played, held_for))


def _holders(played: Played, held_for: NDArray[np.bool_]) -> Iterator[HoldingCause]:
    """Yield each person and wait; waits for one stage of a product are one."""
    joined: dict[tuple[Holder, str], NDArray[np.bool_]] = {}
    for (holder, name), often in zip(played.holders, held_for, strict=True):
        if holder is not Holder.OTHER:
            key = (holder, name.partition("+")[0] if holder is Holder.WAIT else name)
            joined[key] = joined.get(key, np.zeros_like(often)) | often
    for (holder, name), often in joined.items():
        yield HoldingCause(holder=holder, name=name, frac=float(often.mean()))


def _late_cost(
    problem: Problem, planned: Mapping[ReturnKind, datetime], played: Played
) -> float | None:
    """Return what the stage's days past the planned closure cost, as expected."""
    rate = problem.job.rates.stage_per_day
    if rate is None:
        return None
    promised = problem.grid.ceil(planned[ReturnKind.FULL_SERVICE])
    planned_day = _day(problem.grid, np.array([promised]))
    days = _day(problem.grid, _full_service(played)) - planned_day
    return float(np.maximum(days, 0).mean()) * rate


def _curve(kind: ReturnKind, back: Ints, grid: Grid) -> Curve:
    """Return how many futures have returned by each tick at which one does."""
    ticks, counts = np.unique(back[back <= grid.ticks], return_counts=True)
    return Curve(
        kind=kind,
        when=tuple(grid.instant(int(t)) for t in ticks),
        frac=tuple((np.cumsum(counts) / len(back)).tolist()),
    )
