"""The crew's policy against planning anew each evening, in the same futures.

    .venv/bin/python -m tests.benchmarks.nightly examples/straight/job.toml --futures 50

Each evening the engine plans the rest of the job: what has begun is pinned with its
team; what has ended has the length that it turned out to have; what has hardened by then
is known, and what hasn't is expected when the plan expects it, or now if that is past.
By day the plan of the evening is carried out by the policy, without stand-ins, in real
lengths and waits. Where the engine finds no plan, as after a window that was missed, the
last plan goes on.

The policy plays the first plan to its end, with stand-ins. Both meet the same draws. The
first plan is the one that returns the earliest, or with `--kept` the one made to be kept.
"""

import argparse
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from time import process_time

import numpy as np

from planner.hours.spans import Spans
from planner.nouns.case import Case
from planner.nouns.odds import Spread, Threat
from planner.nouns.product import Air
from planner.nouns.work import ReturnKind
from planner.odds.draws import Draws
from planner.odds.outcome import Played
from planner.odds.play import play
from planner.odds.script import Script, Step, script_of
from planner.odds.weather import airs
from planner.planning.answering import answer
from planner.planning.posing import problem_of
from planner.planning.problem import Problem
from planner.planning.searching import Search, solved
from planner.promise.keeping import kept
from planner.schedule.problem.instance import Instance
from planner.schedule.problem.limits import SearchLimits
from planner.schedule.problem.outcome import Placement, Planned
from planner.schedule.problem.parts import (
    Activity,
    ClosedTicks,
    LinkKind,
    Lookup,
    Pin,
)
from planner.trade.data.odds import spread
from planner.usecases.read import read_inputs

WEEKS = 13
WORK = 4.0  # of the engine, each evening
DRAWN = 2000  # times that the futures are drawn anew, for the error of an 80 % point
PAST = "past"


@dataclass(frozen=True, kw_only=True)
class OneFuture(Draws):
    """One of many futures; its air is the second of two series."""

    whole: Draws = field(kw_only=True)
    number: int

    def pace(self, task: str, work: str) -> np.ndarray:
        return self._mine(self.whole.pace(task, work))

    def wait(
        self, task: str, product: str, more_than: np.ndarray | None = None
    ) -> np.ndarray:
        if more_than is not None:
            raise ValueError(f"{task}: here a coat is known when it is ready")
        return self._mine(self.whole.wait(task, product))

    def air(self) -> np.ndarray:
        return np.array([self.series - 1])

    def late_days(self) -> np.ndarray:
        return self._mine(self.whole.late_days())

    def damaged_days(self) -> np.ndarray:
        return self._mine(self.whole.damaged_days())

    def overrun_h(self) -> np.ndarray:
        return self._mine(self.whole.overrun_h())

    def touched_up(self, task: str, bays: int, chance: float) -> np.ndarray:
        return self._mine(self.whole.touched_up(task, bays, chance))

    def away(self, person: str, days: int) -> np.ndarray:
        return self.whole.away(person, days)[:, self.number : self.number + 1]

    def _mine(self, values: np.ndarray) -> np.ndarray:
        return values[self.number : self.number + 1]


@dataclass(frozen=True, kw_only=True)
class Nights:
    """A job whose plan is made anew each evening."""

    problem: Problem
    first: Sequence[Placement]
    airs: Sequence[Air]
    spread: Spread
    whole: Draws
    search: Search

    def played(self, number: int) -> tuple[int, int, int]:
        """Return full service of a future, the evenings planned, those without a plan."""
        series = int(self.whole.air()[number])
        air = (self.airs[0], self.airs[series]) if series else (self.airs[0],)
        draws = OneFuture(
            spread=self.spread,
            futures=1,
            series=len(air),
            seed=self.whole.seed,
            whole=self.whole,
            number=number,
        )
        plan, begun = {p.task: p for p in self.first}, dict[str, Placement]()
        evenings = without = 0
        played = play(self._script(plan, begun, air), draws)
        for _, now, _ in self.problem.grid.days():
            script = self._script(plan, begun, air)
            played = play(script, draws)
            begun = self._begun(script, plan, played, now)
            if len(begun) == len(plan):
                break
            if not begun or now < min(p.start for p in self.first):
                continue
            found = solved(
                replace(
                    self.problem,
                    instance=self._rest(script, begun, played, now, draws),
                ),
                self.search,
            )
            evenings += 1
            if isinstance(found, Planned):
                plan = {p.task: p for p in found.placements}
            else:
                without += 1
        back = int(played.returns[ReturnKind.FULL_SERVICE][0])
        return back, evenings, without

    def _begun(
        self,
        script: Script,
        plan: Mapping[str, Placement],
        played: Played,
        now: int,
    ) -> dict[str, Placement]:
        """Return what has begun by now, as it really did."""
        out = {}
        for step in script.steps:
            start = int(played.starts[step.task.id][0])
            if start < now:
                end = int(played.ends[step.task.id][0])
                out[step.task.id] = replace(
                    plan[step.task.id], start=start, end=max(end, start + 1)
                )
        return out

    def _script(
        self,
        plan: Mapping[str, Placement],
        begun: Mapping[str, Placement],
        air: Sequence[Air],
    ) -> Script:
        """Return what is carried out: what has begun when it did, the rest as planned.

        What is touched up or done again comes later than its task began.
        """
        script = script_of(self.problem, [*({**plan, **begun}).values()], air)

        def carried_out(step: Step) -> Step:
            own = step.teams[0]
            start = own.time.start.copy()
            if step.task.id in begun:
                began = begun[step.task.id].start
                start[: began + 1] = np.searchsorted(own.time.days.at, began)
            return replace(
                step, teams=(replace(own, time=replace(own.time, start=start)),)
            )

        return replace(script, steps=tuple(carried_out(s) for s in script.steps))

    def _rest(
        self,
        script: Script,
        begun: Mapping[str, Placement],
        played: Played,
        now: int,
        draws: Draws,
    ) -> Instance:
        """Return what is left to plan this evening, with what is known by now."""
        instance = self.problem.instance
        steps = {s.task.id: s for s in script.steps}
        past = ClosedTicks(fact=PAST, ticks=Spans(((0, now),)))
        tasks = []
        for task in instance.tasks:
            if task.id not in begun:
                tasks.append(replace(task, no_start=(*task.no_start, past)))
            elif int(played.ends[task.id][0]) <= now:
                tasks.append(self._as_it_was(task, steps[task.id], draws))
            else:
                tasks.append(task)
        lookups = {k.name: k for k in instance.lookups}

        def known(task: str, wait: str) -> str:
            end, name = int(played.ends[task][0]), f"{wait}@{task}"
            over = lookups[wait].over if wait else range(self.problem.grid.ticks + 1)
            ready = self._ready(script, draws, wait, task, end)
            if ready > now:
                ready = max(int(over[min(end, len(over) - 1)]), end, now)
            lookups[name] = Lookup(
                name=name, over=tuple(max(ready, e) for e in range(len(over)))
            )
            return name

        links = tuple(
            replace(x, wait=known(x.before, x.wait))
            if x.before in begun and x.kind is LinkKind.FINISH_START
            else x
            for x in instance.links
            if not {x.before, x.after} <= set(begun)
        )
        apart = tuple(
            replace(
                x,
                others=tuple(o for o in x.others if o not in begun),
                until=known(x.task, x.until),
            )
            if x.task in begun
            else x
            for x in instance.apart
            if x.task not in begun or set(x.others) - set(begun)
        )
        pins = tuple(
            Pin(task=p.task, start=p.start, team=p.team, fact=PAST)
            for p in begun.values()
        )
        return replace(
            instance,
            tasks=tuple(tasks),
            links=links,
            apart=apart,
            lookups=tuple(lookups.values()),
            pins=pins,
        )

    def _ready(
        self, script: Script, draws: Draws, wait: str, task: str, end: int
    ) -> int:
        """Return when what a task laid has really hardened."""
        if not wait:
            return end
        hardens = script.waits[wait]
        factor = draws.wait(task, hardens.product)
        return int(hardens.over(np.array([end]), factor, draws.air())[0])

    def _as_it_was(self, task: Activity, step: Step, draws: Draws) -> Activity:
        """Return a task with the length that it turned out to have.

        Work in one go that outlasted its hours would have no place in the plan.
        """
        hours = step.hours * float(draws.pace(step.task.id, step.task.phase)[0])
        per_hour = 60 / self.problem.grid.tick_minutes
        ticks = max(int(np.ceil(hours * per_hour - 1e-9)), 1)
        size = len(step.teams[0].people)
        modes = tuple(
            replace(m, ticks=min(ticks, m.ticks) if task.one_go else ticks)
            if m.size == size
            else m
            for m in task.modes
        )
        return replace(task, modes=modes)


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(description=__doc__.split("\n", 1)[0])
    parser.add_argument("job", type=Path)
    parser.add_argument("--futures", type=int, default=50)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--kept", action="store_true", help="begin with the kept plan")
    return parser


def main() -> None:
    """Print means and 80 % points of both, side by side."""
    said = _parser().parse_args()
    inputs = read_inputs(said.job)
    search = Search(limits=SearchLimits(work=WORK), explain=False)
    case, usual = Case(inputs=inputs), Search(limits=SearchLimits())
    first = kept(case, usual).answer if said.kept else answer(case, usual)
    problem, how = problem_of(inputs, weeks=WEEKS), spread(inputs.job)
    air = airs(
        problem.air,
        delta_k=how.air_delta_k,
        delta_rh_pct=how.air_delta_rh_pct,
        memory_h=how.air_memory_h,
        seed=said.seed,
    )
    whole = Draws(
        spread=how, futures=said.futures, series=len(air), seed=said.seed
    ).as_planned(Threat.DELIVERY)
    nights = Nights(
        problem=problem,
        first=first.placements,
        airs=air,
        spread=how,
        whole=whole,
        search=search,
    )
    by_policy = play(script_of(problem, first.placements, air), whole).returns[
        ReturnKind.FULL_SERVICE
    ]
    begun_s, backs = process_time(), []
    for number in range(said.futures):
        back, evenings, without = nights.played(number)
        backs.append(back)
        print(  # noqa: T201 - a benchmark tells
            f"future {number + 1}: policy {_days(nights, int(by_policy[number])):.2f}, "
            f"anew {_days(nights, back):.2f} d; {evenings} evenings, "
            f"{without} without a plan; {process_time() - begun_s:.0f} s",
            flush=True,
        )
    days = np.array(
        [[_days(nights, int(b)) for b in row] for row in (by_policy, backs)]
    )
    for words, found in zip(("policy", "planned anew"), days, strict=True):
        mean, late = float(found.mean()), _late(found)
        print(f"{words}: mean {mean:.2f} d, 80 % {late:.2f} d")  # noqa: T201
    if said.futures > 1:
        later = days[1] - days[0]
        error = float(later.std(ddof=1)) / np.sqrt(said.futures)
        drawn = np.random.default_rng(said.seed).integers(
            said.futures, size=(DRAWN, said.futures)
        )
        of_late = np.std([_late(days[1][i]) - _late(days[0][i]) for i in drawn])
        print(  # noqa: T201
            f"planned anew later by: mean {later.mean():.2f} d (standard error "
            f"{error:.2f}), 80 % {_late(days[1]) - _late(days[0]):.2f} d "
            f"({of_late:.2f}); sooner in {(later < 0).sum()}, later in "
            f"{(later > 0).sum()} of {said.futures}"
        )


def _late(days: np.ndarray) -> float:
    """Return by when eight of ten are back."""
    return float(np.quantile(days, 0.8, method="inverted_cdf"))


def _days(nights: Nights, back: int) -> float:
    """Return a return as days after the first midnight of the grid."""
    return back * nights.problem.grid.tick_minutes / (24 * 60)


if __name__ == "__main__":
    main()
