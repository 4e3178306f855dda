"""Plans judged by the same futures: what each can promise, and what it costs."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

import numpy as np
from numpy.typing import NDArray

from planner.nouns.case import Case
from planner.nouns.odds import Odds
from planner.nouns.protection import Offer, Protection
from planner.nouns.work import ReturnKind
from planner.odds.draws import Draws
from planner.odds.outcome import Played
from planner.odds.play import play
from planner.odds.script import Script, script_in
from planner.odds.setting import Circumstances
from planner.odds.tally import held_by, kept_by, odds_of
from planner.odds.weather import series_of
from planner.planning.answer import Answer
from planner.planning.cost import paid_times
from planner.planning.horizons import HORIZON_WEEKS
from planner.planning.problem import Problem
from planner.promise.telling import in_air_of
from planner.schedule.problem.outcome import Placement
from planner.schedule.problem.parts import AimKind
from planner.trade.data.odds import spread

Ints = NDArray[np.int64]

LATE_WEEKS = 8  # how long after the plan's return futures are looked at, at least
# By when the stage must be back to be booked for a day. Common practice, no source.
MORNING = time(8)
FEW = 400  # futures in which plans that differ a little are told apart
# What weighs beside the promised tick where plans are improved: the mean return, and
# for each shift that is called the ticks of the promise that it must be worth.
OF_MEAN, OF_SHIFT = 0.5, 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """An answer and what it comes to in the futures that all plans meet."""

    answer: Answer
    offer: Offer
    promised_tick: int  # past the horizon: later than was looked at

    @property
    def rank(self) -> tuple[date, float, int, int]:
        """How good the plan is to promise from; of two, the lesser is the better.

        The first day that the stage can be booked for comes first: by that day's
        morning it is back as promised. Then what closure and lateness cost as expected,
        or the days closed where the job gives no rates; then fewer shifts; then the
        earlier hour.
        """
        offer = self.offer
        cost = (
            offer.expected_days if offer.expected_cost is None else offer.expected_cost
        )
        day = date.max
        if offer.promised is not None:
            back = offer.promised.astimezone(self.answer.grid.zone)
            day = back.date() + timedelta(days=back.time() > MORNING)
        return (day, round(cost, 6), offer.shifts, self.promised_tick)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Rough:
    """How well a plan is kept in a few futures; the lesser score is the better one."""

    score: float
    promised_tick: int
    script: Script
    played: Played

    def on_way(self) -> Mapping[str, float]:
        """Return in what share of futures each task was on the way that held the return."""
        return {h.task: h.frac for h in held_by(self.script, self.played)[0]}


class Judge:
    """The futures by which the plans of a case are judged.

    In `percent` of a hundred of them a promise is kept; `seed` is of all draws, so that
    every plan meets the same ones. `first` is the plan without protection: its return
    says how far the futures are looked at, and its air is that of rough judgements.
    Once it is `over`, no plan is judged, and a StoppedError is raised instead.
    """

    def __init__(
        self,
        case: Case,
        first: Answer,
        *,
        percent: int,
        seed: int,
        over: Callable[[], bool] = lambda: False,
    ) -> None:
        self.case, self.first, self.over = case, first, over
        self.percent, self.seed = percent, seed
        self.spread = spread(case.inputs.job)
        self.weeks = late_weeks(max(r.when for r in first.returns), case)
        self._known: dict[tuple[Placement, ...], Circumstances] = {}
        self._draws: dict[int, Draws] = {}

    def judged(self, answer: Answer, protection: Protection, futures: int) -> Judged:
        """Return what an answer to the case comes to in so many futures."""
        back = self.returned(answer, futures)
        promised = kept_by(back, self.percent)
        problem = self._setting(answer).problem
        offer = _offer(problem, answer, protection, promised, back)
        return Judged(answer=answer, promised_tick=promised, offer=offer)

    def returned(self, answer: Answer, futures: int) -> Ints:
        """Return the tick of full service in each of so many futures."""
        _, played = self._played(self._setting(answer), answer.placements, futures)
        return played.returns[ReturnKind.FULL_SERVICE]

    def rough(self, placements: tuple[Placement, ...]) -> Rough:
        """Return how well a plan is kept in a few futures, in the first plan's air."""
        script, played = self._played(self._setting(self.first), placements, FEW)
        back = np.minimum(played.returns[ReturnKind.FULL_SERVICE], script.horizon + 1)
        promised = kept_by(back, self.percent)
        shifts = {
            (who, int(script.shift_of[n][first]))
            for p in placements
            for n, who in enumerate(script.people)
            if who in p.team
            for first, _ in p.worked
        }
        return Rough(
            score=promised + OF_MEAN * float(back.mean()) + OF_SHIFT * len(shifts),
            promised_tick=promised,
            script=script,
            played=played,
        )

    def odds(self, answer: Answer, futures: int) -> Odds:
        """Return how sure an answer's returns are; causes are not told apart."""
        return odds_of(
            self.case.inputs,
            self._setting(answer).problem,
            answer.placements,
            self.spread,
            planned={r.kind: r.when for r in answer.returns},
            seed=self.seed,
            futures=futures,
            threats=False,
            step=lambda _: None,
        )

    def _played(
        self, setting: Circumstances, placements: tuple[Placement, ...], futures: int
    ) -> tuple[Script, Played]:
        if futures not in self._draws:
            self._draws[futures] = Draws(
                spread=self.spread,
                futures=futures,
                series=len(setting.airs),
                seed=self.seed,
            )
        script = script_in(setting, placements)
        return script, play(script, self._draws[futures], self.over)

    def _setting(self, answer: Answer) -> Circumstances:
        """Return what an answer is played in: the air that its own coats make."""
        key = answer.placements if answer.rounds else ()
        if key not in self._known:
            problem = in_air_of(self.case, answer, self.weeks)
            air = series_of(
                self.case.inputs, problem, answer.placements, self.spread, self.seed
            )
            self._known[key] = Circumstances(problem, air)
        return self._known[key]


def late_weeks(last: datetime, case: Case) -> int:
    """Return the weeks of a grid that reaches far beyond the last return of a plan."""
    job = case.inputs.job
    end = last + timedelta(weeks=LATE_WEEKS)
    days = (end.astimezone(job.zone).date() - job.earliest).days
    return next((w for w in HORIZON_WEEKS if 7 * w >= days), HORIZON_WEEKS[-1])


def _offer(
    problem: Problem,
    answer: Answer,
    protection: Protection,
    promised: int,
    back: Ints,
) -> Offer:
    grid = problem.grid
    closed_from = grid.floor(answer.closure[0])
    days = _days_touched(problem, closed_from, np.minimum(back, grid.ticks))
    expected_days = float(days.mean())
    rate, labour = problem.job.rates.stage_per_day, answer.cost.labour
    cost = None if rate is None else rate * expected_days + (labour or 0.0)
    there = promised <= grid.ticks
    until = np.array([promised], dtype=np.int64)
    placed = {p.task: p for p in answer.placements}
    return Offer(
        protection=protection,
        closed_from=answer.closure[0],
        planned=answer.closure[1],
        promised=grid.instant(promised) if there else None,
        closed_days=(
            int(_days_touched(problem, closed_from, until)[0]) if there else None
        ),
        expected_days=expected_days,
        expected_cost=cost,
        shifts={a.aim: a.value for a in answer.aims}[AimKind.CALLS],
        idle_min=sum(t.idle_min for t in paid_times(problem, placed)),
    )


def _days_touched(problem: Problem, first: int, until: Ints) -> Ints:
    """Return how many of the site's days lie, in whole or in part, in each closure."""
    begins = np.array([a for _, a, _ in problem.grid.days()], dtype=np.int64)
    day = np.searchsorted(begins, first, side="right") - 1
    touched: Ints = np.searchsorted(begins, until, side="left") - day
    return touched
