"""The nouns of a comparison: ways to do a job side by side, each with its figures."""

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from planner.nouns.odds import Odds, tentative_percent
from planner.nouns.plan import Plan
from planner.nouns.work import ReturnKind


@dataclass(frozen=True, slots=True, kw_only=True)
class BackBy:
    """A return to service: as planned, and the date by which it has come for sure enough.

    `kept` is None where that lies later than was looked at. By `latest` it has come
    nearly surely, see `tentative_percent`; None: later than that, or not asked.
    """

    kind: ReturnKind
    planned: datetime
    kept: datetime | None
    latest: datetime | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Figures:
    """What a plan comes to: closure, returns, money, and what binds, in words.

    `stage_cost` and `labour_cost` are None where the job file gives no rates.
    `minutes` says how the closure divides, by the names of its parts.
    """

    closure: tuple[datetime, datetime]
    returns: tuple[BackBy, ...]
    stage_cost: float | None
    labour_cost: float | None
    binds: tuple[str, ...]
    minutes: tuple[tuple[str, int], ...]
    proven: bool  # that no plan returns earlier, if all goes as planned
    next_hit_frac: float = 0.0  # how often a booking begins before the stage is back
    wanted_frac: float | None = None  # how often it is back when wanted; None: no wish

    @property
    def cost(self) -> float | None:
        """All that is paid; None where no rates are given."""
        parts = [c for c in (self.stage_cost, self.labour_cost) if c is not None]
        return sum(parts) if parts else None

    @property
    def full(self) -> BackBy:
        """The return to full service."""
        return next(r for r in self.returns if r.kind is ReturnKind.FULL_SERVICE)


class HowFound(StrEnum):
    """How the plan of an alternative was found, or why it wasn't looked for."""

    PLANNED = "planned"  # anew
    NEAR = "near plan at hand"  # by changing that of the job as it is
    STANDS = (
        "plan at hand"  # that of the job as it is: it holds and keeps a better date
    )
    RULED_OUT = "ruled out"  # no plan with it could be back before the date kept now


@dataclass(frozen=True, slots=True, kw_only=True)
class Alternative:
    """One way to do a job: what is changed, in words, and what its plan comes to.

    `figures` are None where there is no plan; `why` then says why, in one line. `say`
    is the change as it can be asked for again, on the command line. `parts` are titles
    of the alternatives that it joins; none where it joins none. `found` says how its
    plan was found.
    """

    title: str
    changes: tuple[str, ...]
    figures: Figures | None
    why: str = ""
    say: str = ""
    parts: tuple[str, ...] = ()
    found: HowFound = HowFound.PLANNED

    def __post_init__(self) -> None:
        if (self.figures is None) != bool(self.why):
            raise ValueError(f"why: {self.why!r} with figures {self.figures!r}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Gain:
    """What an alternative wins against the job as it is. Days on the date kept.

    `cost` is how much more it costs, less than zero where it saves; None: no rates.
    """

    days: float
    planned_days: float
    cost: float | None

    @property
    def per_day(self) -> float | None:
        """What each day costs; None where no day is gained, or no money is known."""
        if self.cost is None or self.days <= 0.0:
            return None
        return self.cost / self.days


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """The job as it is, and what became of each alternative.

    `unfinished` are titles of those that weren't planned before the run was stopped.
    Dates are told as kept where they are in `sure_percent` of a hundred futures.
    """

    job: str
    zone: str
    currency: str
    futures: int
    seed: int
    sure_percent: int
    as_it_is: Alternative
    alternatives: tuple[Alternative, ...]
    unfinished: tuple[str, ...] = ()

    def gain(self, one: Alternative) -> Gain | None:
        """Return what an alternative wins; None where a plan or a kept date is missing."""
        return gain(self.as_it_is, one)

    def ranked(self) -> tuple[Alternative, ...]:
        """Return the alternatives, first the one that gains most, then the cheapest."""

        def key(one: Alternative) -> tuple[float, float, str]:
            won = self.gain(one)
            if won is None:
                return (float("inf"), 0.0, one.title)
            return (-won.days, won.cost or 0.0, one.title)

        return tuple(sorted(self.alternatives, key=key))


def figures_of(plan: Plan, odds: Odds, binds: tuple[str, ...]) -> Figures:
    """Return what a plan of one stage comes to."""
    back = {r.kind: r for r in odds.returns}
    sure, late = odds.sure_percent, tentative_percent(odds.sure_percent)
    stage = plan.stage
    return Figures(
        closure=stage.closure,
        returns=tuple(
            BackBy(
                kind=r.kind,
                planned=r.when,
                kept=back[r.kind].promised(sure),
                latest=back[r.kind].promised(late),
            )
            for r in stage.returns
        ),
        stage_cost=plan.cost.stage,
        labour_cost=plan.cost.labour,
        binds=binds,
        minutes=tuple((s.part, s.minutes) for s in stage.division),
        proven=plan.aims[0].proven,
        next_hit_frac=max((c.frac for c in odds.collisions), default=0.0),
        wanted_frac=None if odds.wanted is None else odds.wanted.frac,
    )


def gain(as_it_is: Alternative, one: Alternative) -> Gain | None:
    """Return what an alternative wins; None where a plan or a kept date is missing."""
    before, after = as_it_is.figures, one.figures
    if before is None or after is None:
        return None
    if before.full.kept is None or after.full.kept is None:
        return None
    known = before.cost is not None and after.cost is not None
    return Gain(
        days=_days(after.full.kept, before.full.kept),
        planned_days=_days(after.full.planned, before.full.planned),
        cost=(after.cost or 0.0) - (before.cost or 0.0) if known else None,
    )


def _days(first: datetime, last: datetime) -> float:
    return (last - first).total_seconds() / 86_400
