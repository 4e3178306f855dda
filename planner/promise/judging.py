"""Plans judged by the same futures: what each can promise, and what it costs."""

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from planner.nouns.case import Case
from planner.nouns.odds import Odds
from planner.nouns.protection import Offer, Protection
from planner.nouns.work import ReturnKind
from planner.odds.draws import Draws
from planner.odds.play import play
from planner.odds.script import script_of
from planner.odds.tally import kept_by, odds_of
from planner.odds.weather import airs
from planner.planning.answer import Answer
from planner.planning.cost import paid_times
from planner.planning.horizons import HORIZON_WEEKS
from planner.planning.inside import coats_of
from planner.planning.posing import posed
from planner.planning.problem import Problem
from planner.schedule.problem.parts import AimKind
from planner.trade.data.odds import spread

Ints = NDArray[np.int64]

LATE_WEEKS = 8  # how long after the plan's return futures are looked at, at least


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """An answer and what it comes to in the futures that all plans meet."""

    answer: Answer
    offer: Offer
    promised_tick: int  # past the horizon: later than was looked at

    @property
    def rank(self) -> tuple[object, ...]:
        """How good the plan is to promise from; of two, the lesser is the better.

        The day of the promised return comes first: the stage is booked by the day.
        Then what closure and lateness cost as expected, or the days closed where the
        job gives no rates; then fewer shifts; then the earlier hour.
        """
        offer = self.offer
        cost = (
            offer.expected_days if offer.expected_cost is None else offer.expected_cost
        )
        day = date.max
        if offer.promised is not None:
            day = offer.promised.astimezone(self.answer.grid.zone).date()
        return (day, round(cost, 6), offer.shifts, self.promised_tick)


@dataclass(frozen=True, slots=True, kw_only=True)
class Judge:
    """The futures by which the plans of a case are judged.

    `percent` of them keep what is promised; `seed` is of all draws, so that every plan
    meets the same ones. `weeks` is a grid that is long enough for late futures.
    """

    case: Case
    percent: int
    seed: int
    weeks: int

    def judged(self, answer: Answer, protection: Protection, futures: int) -> Judged:
        """Return what an answer to the case comes to in so many futures."""
        problem = self._problem(answer)
        spread_of = spread(self.case.inputs.job)
        air = airs(
            problem.air,
            delta_k=spread_of.air_delta_k,
            delta_rh_pct=spread_of.air_delta_rh_pct,
            memory_h=spread_of.air_memory_h,
            seed=self.seed,
        )
        draws = Draws(
            spread=spread_of, futures=futures, series=len(air), seed=self.seed
        )
        played = play(script_of(problem, answer.placements, air), draws)
        back = played.returns[ReturnKind.FULL_SERVICE]
        promised = kept_by(back, self.percent)
        return Judged(
            answer=answer,
            promised_tick=promised,
            offer=_offer(problem, answer, protection, promised, back),
        )

    def odds(self, answer: Answer, futures: int) -> Odds:
        """Return how sure an answer's returns are; causes are not told apart."""
        return odds_of(
            self._problem(answer),
            answer.placements,
            spread(self.case.inputs.job),
            planned={r.kind: r.when for r in answer.returns},
            seed=self.seed,
            futures=futures,
            threats=False,
            step=lambda _: None,
        )

    def _problem(self, answer: Answer) -> Problem:
        """Return the problem in the answer's own air, on the long grid."""
        problem = posed(self.case, weeks=self.weeks)
        if not answer.rounds:
            return problem
        coats = coats_of(problem.work, problem.products, answer.placements)
        return posed(self.case, weeks=self.weeks, coats=coats)


def late_weeks(answer: Answer, case: Case) -> int:
    """Return the weeks of a grid that reaches far beyond an answer's return."""
    job = case.inputs.job
    end = max(r.when for r in answer.returns) + timedelta(weeks=LATE_WEEKS)
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
    shifts = {a.aim: a.value for a in answer.aims}[AimKind.CALLS]
    return Offer(
        protection=protection,
        closed_from=answer.closure[0],
        planned=answer.closure[1],
        promised=grid.instant(promised) if there else None,
        closed_days=int(_days_touched(problem, closed_from, until)[0])
        if there
        else None,
        expected_days=expected_days,
        expected_cost=cost,
        shifts=shifts,
        idle_min=sum(t.idle_min for t in paid_times(problem, placed)),
    )


def _days_touched(problem: Problem, first: int, until: Ints) -> Ints:
    """Return how many of the site's days lie, in whole or in part, in each closure."""
    begins = np.array([a for _, a, _ in problem.grid.days()], dtype=np.int64)
    day = np.searchsorted(begins, first, side="right") - 1
    touched: Ints = np.searchsorted(begins, until, side="left") - day
    return touched
