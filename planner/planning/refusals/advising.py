"""Which ventilation, dehumidifier or heat would let a coat keep its limits."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from planner import units
from planner.air.limits import breaks_by_limit
from planner.air.waits import Beyond, ready_ticks
from planner.air.wet_work import Laid, coat_water_kg, drying_stage
from planner.hours.spans import Spans
from planner.measures import Units
from planner.nouns.air import Climate, Dehumidifier, Thermostat, Ventilation
from planner.nouns.inputs import Inputs
from planner.nouns.product import Air
from planner.planning.apart import kept_until
from planner.planning.inside import inside
from planner.planning.least import ends_of
from planner.planning.problem import (
    Problem,
    before_frac,
    hardening,
    margin_frac,
    stacked_times,
)

APART_H = 5 * 24  # between two tries, so that one's water is gone before the next
CHANGES_PER_H = (0.5, 1.0, 2.0, 4.0, 8.0)
RATED_L_PER_DAY = (10.0, 20.0, 40.0, 80.0, 160.0)
WARMER_K = (2.0, 4.0, 6.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Try:
    """A coat alone in the room: where it lay, until when, and the ticks of each limit."""

    laid: tuple[int, int]
    until: int
    broken: dict[str, Spans]

    @property
    def ticks(self) -> int:
        """The ticks in which some limit is broken."""
        return Spans.of(s for spans in self.broken.values() for s in spans).total


class Lone:
    """One task's coat, laid alone in the room at a number of times."""

    def __init__(self, inputs: Inputs, problem: Problem, task: str) -> None:
        self.inputs, self.problem = inputs, problem
        self.work = next(t for t in problem.work.tasks if t.id == task)
        self.task = next(t for t in problem.instance.tasks if t.id == task)
        assert self.work.product is not None
        self.product = problem.products[self.work.product]
        self.spans = tuple(self._spans())

    def _spans(self) -> Iterator[tuple[int, int]]:
        """Yield spans that the work could take, one every few days."""
        ticks = min(m.ticks for m in self.task.modes) + self.task.set_up
        ends, _, longest = ends_of(self.problem.instance, self.task)
        apart, last = self.problem.grid.ticks_up(APART_H), -self.problem.grid.ticks
        for end, run in zip(ends.tolist(), longest.tolist(), strict=True):
            if run >= ticks and end >= last + apart:
                yield (end - ticks, end)
                last = end

    def tries(self, climate: Climate) -> Iterator[Try]:
        """Yield what becomes of the coat in a room of this kind."""
        stage = drying_stage(self.product)
        water_kg = coat_water_kg(self.product, self.work.wet_m2)
        kept = kept_until(self.work)
        if stage is None or kept is None:
            return
        coats = tuple(
            Laid(
                stage=stage,
                water_kg=water_kg,
                spans=(span,),
                thickness_mm=self.product.thickness_mm,
            )
            for span in self.spans
        )
        job = replace(self.inputs.job, climate=climate)
        grid = self.problem.grid
        air = inside(replace(self.inputs, job=job), grid, coats).air
        dry = hardening(self.problem.products, kept)
        over = ready_ticks(
            dry,
            air,
            thickness_mm=self.product.thickness_mm,
            margin_frac=margin_frac(job, dry),
            before_frac=before_frac(job, dry),
            times=stacked_times(self.problem.products, kept),
            beyond=Beyond.STILL,
        )
        broken = self._broken(air)
        for start, end in self.spans:
            until = int(over[end])
            if until <= grid.ticks:
                yield Try(
                    laid=(start, end),
                    until=until,
                    broken={
                        words: found
                        for words, mask in broken.items()
                        if (found := mask.clip(start, until))
                    },
                )

    def _broken(self, air: Air) -> dict[str, Spans]:
        found = breaks_by_limit(self.product.limits, air)
        return {words: Spans.from_mask(mask) for words, mask in found.items()}

    # -- in words ------------------------------------------------------------

    def words(self, climate: Climate) -> str:
        """Return what the coat breaks even alone, at the best of the times tried."""
        rows = list(self.tries(climate))
        if not rows:
            return f'"{self.work.title}" does not get dry in the air that it makes'
        best = min(rows, key=lambda t: (t.ticks, t.laid))
        grid = self.problem.grid
        parts = [
            f"{units.duration_words(spans.total * grid.tick_minutes)} without {limit}"
            for limit, spans in best.broken.items()
        ]
        when = units.moment_words(grid.instant(best.laid[0]), grid.zone)
        return (
            f'"{self.work.title}" gives off {self._litres():.1f} l of water; even with '
            f"nothing else wet, laid {when}, it lies {' and '.join(parts)} before it "
            "is dry"
        )

    def _litres(self) -> float:
        return coat_water_kg(self.product, self.work.wet_m2)

    def helps(self, climate: Climate) -> tuple[str, ...]:
        """Return, of each kind of measure, the least that was tried and would do."""
        out = []
        heated = partial(_heated, first=self.problem.job.units)
        for kind in (_aired, _dried, heated):
            for words, other in kind(climate):
                if any(not t.ticks for t in self.tries(other)):
                    out.append(words)
                    break
        return tuple(out)


def _aired(climate: Climate) -> Iterator[tuple[str, Climate]]:
    for changes in CHANGES_PER_H:
        more = (*climate.ventilation, Ventilation(air_changes_per_h=changes))
        words = (
            f"airing: about {changes:g} air changes an hour more, see "
            "[[air.room.ventilation]]"
        )
        yield words, replace(climate, ventilation=more)


def _dried(climate: Climate) -> Iterator[tuple[str, Climate]]:
    for litres in RATED_L_PER_DAY:
        more = (*climate.dehumidifiers, Dehumidifier(rated_l_per_day=litres))
        words = (
            f"a dehumidifier rated at about {litres:g} l a day, set to 50 %, see "
            "[[air.room.dehumidifier]]"
        )
        yield words, replace(climate, dehumidifiers=more)


def _heated(climate: Climate, first: Units = Units.US) -> Iterator[tuple[str, Climate]]:
    goals = [t.heat_to_c for t in climate.thermostats if t.heat_to_c is not None]
    for warmer in WARMER_K if goals else ():
        goal = max(goals) + warmer
        more = (*climate.thermostats, Thermostat(heat_to_c=goal))
        words = f"heating to about {first.temperature(goal)}, see [[air.room.heat]]"
        yield words, replace(climate, thermostats=more)


def never_alone(problem: Problem, prefix: str) -> tuple[str, ...]:
    """Return the tasks that break their limits by their own damp at every start."""
    out = []
    for task in problem.instance.tasks:
        ends, _, longest = ends_of(problem.instance, task)
        shut = [b.ticks for b in task.no_start if b.fact.startswith(prefix)]
        if task.optional or not shut:
            continue
        mask = np.zeros(problem.grid.ticks + 1, dtype=np.bool_)
        for mode in task.modes:
            ticks = mode.ticks + task.set_up
            mask[ends[longest >= ticks] - ticks] = True
        if mask.any() and not Spans.from_mask(mask[:-1]) - shut[0]:
            out.append(task.id)
    return tuple(out)
