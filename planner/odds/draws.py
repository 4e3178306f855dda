"""What differs in each future, drawn once and by name.

Each draw has a seed of its own, from the job's seed and the name of what it is for. So
two plans of a job meet the same futures, and a change of one cause leaves the others as
they were.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from math import erfc, sqrt
from statistics import NormalDist
from zlib import crc32

import numpy as np
from numpy.typing import NDArray

from planner.nouns.odds import Factor, Spread, Threat

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Mask = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, kw_only=True)
class Draws:
    """The draws of many futures, out of `series` series of air.

    Causes in `anew` are drawn from a second seed, those in `planned` go as planned.
    """

    spread: Spread
    futures: int
    series: int
    seed: int
    anew: frozenset[Threat] = frozenset()
    planned: frozenset[Threat] = frozenset()
    # what was asked for, by its cause and name, kept for the next plan that is played;
    # nobody writes into it
    kept_factors: dict[tuple[Threat, str, str], Floats] = field(
        default_factory=dict, init=False, compare=False, repr=False
    )
    kept_away: dict[tuple[str, int], Mask] = field(
        default_factory=dict, init=False, compare=False, repr=False
    )

    def drawn_anew(self, *causes: Threat) -> "Draws":
        """Return the same futures but for some causes, which are drawn a second time."""
        return self._but_for(causes, replace(self, anew=frozenset(causes)))

    def as_planned(self, *causes: Threat) -> "Draws":
        """Return the same futures but for some causes, which go as planned."""
        return self._but_for(causes, replace(self, planned=frozenset(causes)))

    def _but_for(self, causes: Sequence[Threat], other: "Draws") -> "Draws":
        """Return other draws with what was drawn here of all but some causes."""
        differ = self.anew | self.planned | set(causes)
        kept = self.kept_factors.items()
        other.kept_factors.update((k, v) for k, v in kept if k[0] not in differ)
        if Threat.ABSENCE not in differ:
            other.kept_away.update(self.kept_away)
        return other

    def threats(self) -> tuple[Threat, ...]:
        """Return what makes these futures differ, as far as the job's odds have it."""
        chances = {
            Threat.DAMAGE: self.spread.damaged_chance,
            Threat.BOOKING: self.spread.overrun_chance,
        }
        return tuple(t for t in Threat if chances.get(t, 1.0) > 0.0)

    def _random(self, cause: Threat, name: str) -> np.random.Generator:
        second = 1 if cause in self.anew else 0
        seed = [self.seed, second, crc32(cause.encode()), crc32(name.encode())]
        return np.random.default_rng(seed)

    def _factor(self, cause: Threat, name: str, factor: Factor) -> Floats:
        if cause in self.planned:
            return np.ones(self.futures)
        if factor.frac == 0.0:
            return np.full(self.futures, factor.median)
        normal = self._random(cause, name).standard_normal(self.futures)
        return factor.median * np.exp(factor.frac * normal)

    def _once(
        self, cause: Threat, name: str, draw: Callable[[], Floats], what: str = ""
    ) -> Floats:
        """Return factors by their cause, their name and what they are for, drawn once."""
        key = (cause, name, what)
        if key not in self.kept_factors:
            self.kept_factors[key] = draw()
        return self.kept_factors[key]

    def _factor_of_all(self, cause: Threat, name: str, factor: Factor) -> Floats:
        """Return a factor that many tasks share."""
        return self._once(cause, name, lambda: self._factor(cause, name, factor))

    def pace(self, task: str, work: str) -> Floats:
        """Return how much longer a task takes than planned: job, kind of work, task."""
        name = f"task {task}"
        return self._once(
            Threat.PACE,
            name,
            lambda: (
                self._pace_of_work(work)
                * self._factor(Threat.PACE, name, self.spread.pace_task)
            ),
            work,
        )

    def _pace_of_work(self, work: str) -> Floats:
        """Return how much longer a kind of work takes than planned: job, kind of work.

        What was learned of it narrows both; the draws keep their ranks.
        """
        spread = self.spread
        of_work = dict(spread.own_pace).get(work, spread.pace_work)
        prior = self._factor_of_all(
            Threat.PACE, "the job", spread.pace_job
        ) * self._factor_of_all(Threat.PACE, f"work {work}", of_work)
        learned = dict(spread.learned_pace).get(work)
        if learned is None or Threat.PACE in self.planned:
            return prior
        frac = float(np.hypot(spread.pace_job.frac, of_work.frac))
        if frac == 0.0:
            return np.full(self.futures, learned.median)
        normal = np.log(prior / (spread.pace_job.median * of_work.median)) / frac
        return learned.median * np.exp(learned.frac * normal)

    def wait(self, task: str, product: str, more_than: Floats | None = None) -> Floats:
        """Return how much longer what a task lays takes to harden: job, coat.

        Of a coat that was found wet it is known that it takes `more_than` so much.
        """
        spread = self.spread
        of_coat = dict(spread.own_waits).get(product, spread.waits_coat)
        if more_than is None:
            name = f"coat {task}"
            return self._once(
                Threat.WAITS,
                name,
                lambda: (
                    self._wait_of_job(product)
                    * self._factor(Threat.WAITS, name, of_coat)
                ),
                product,
            )
        factor = self.wait(task, product)
        if Threat.WAITS in self.planned or of_coat.frac == 0.0:
            return np.maximum(factor, more_than)
        median = self._wait_of_job(product) * of_coat.median
        low = np.log(more_than / median) / of_coat.frac
        normal = np.log(factor / median) / of_coat.frac
        return median * np.exp(of_coat.frac * _beyond(low, normal))

    def _wait_of_job(self, product: str) -> Floats:
        """Return the factor that all coats of a product share, as far as it is known."""
        prior = self.spread.waits_job
        shared = dict(self.spread.learned_waits).get(product)
        if shared is None:
            return self._factor_of_all(Threat.WAITS, "the job", prior)
        return self._once(
            Threat.WAITS,
            "the job, as learned",
            lambda: self._factor(Threat.WAITS, "the job", shared),
            product,
        )

    def air(self) -> Ints:
        """Return the series of air of each future; the first is the plan's own.

        Futures of one series lie side by side, which makes them quicker to play; drawn
        anew they don't, for the second draw must tell nothing of the first.
        """
        if Threat.AIR in self.planned or self.series == 1:
            return np.zeros(self.futures, dtype=np.int64)
        random = self._random(Threat.AIR, "series")
        drawn = random.integers(1, self.series, size=self.futures)
        return drawn if Threat.AIR in self.anew else np.sort(drawn)

    def late_days(self) -> Floats:
        """Return by how many whole days the crates come late. [d]."""
        if Threat.DELIVERY in self.planned:
            return np.zeros(self.futures)
        random = self._random(Threat.DELIVERY, "crates")
        late = random.random(self.futures) < self.spread.late_chance
        days = random.exponential(self.spread.late_h / 24.0, self.futures)
        return np.where(late, np.ceil(days), 0.0)

    def damaged_days(self) -> Floats:
        """Return how many whole days a damaged piece is waited for; 0: all came whole. [d]."""
        spread = self.spread
        if Threat.DAMAGE in self.planned or spread.damaged_chance == 0.0:
            return np.zeros(self.futures)
        random = self._random(Threat.DAMAGE, "pieces")
        damaged = random.random(self.futures) < spread.damaged_chance
        days = random.exponential(spread.replaced_h / 24.0, self.futures)
        return np.where(damaged, np.ceil(days), 0.0)

    def overrun_h(self) -> Floats:
        """Return how late the booking before the closure ends. [h]."""
        spread = self.spread
        if Threat.BOOKING in self.planned or spread.overrun_chance == 0.0:
            return np.zeros(self.futures)
        random = self._random(Threat.BOOKING, "overrun")
        late = random.random(self.futures) < spread.overrun_chance
        return np.where(late, random.exponential(spread.overrun_h, self.futures), 0.0)

    def touched_up(self, task: str, bays: int, chance: float) -> Ints:
        """Return in how many bays a joint shows through, when it is looked for."""
        if Threat.TOUCH_UP in self.planned or not self.spread.touch_ups:
            return np.zeros(self.futures, dtype=np.int64)
        return self._random(Threat.TOUCH_UP, task).binomial(bays, chance, self.futures)

    def away(self, person: str, days: int) -> Mask:
        """Return whether a person is away, by day and future."""
        if Threat.ABSENCE in self.planned:
            return np.zeros((days, self.futures), dtype=np.bool_)
        if (person, days) not in self.kept_away:
            random = self._random(Threat.ABSENCE, person).random((days, self.futures))
            self.kept_away[person, days] = random < self.spread.away_chance
        return self.kept_away[person, days]


def _beyond(low: Floats, normal: Floats) -> Floats:
    """Return normal draws of which it is known that each is more than its `low`.

    Each keeps its rank: of the tail beyond `low` as large a part lies above the new draw
    as lay above the old one.
    """
    inverse = NormalDist().inv_cdf
    return np.array(
        [
            -inverse(max(_tail(a) * _tail(z), _LEAST_TAIL))
            for a, z in zip(low.tolist(), normal.tolist(), strict=True)
        ]
    )


_LEAST_TAIL = 1e-300  # beyond all that can be told apart


def _tail(z: float) -> float:
    """Return how likely a standard normal draw is more than `z`."""
    return erfc(z / sqrt(2.0)) / 2.0
