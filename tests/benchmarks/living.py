"""A job played many times: true pace, drying and air at random, its plan revised each evening.

    .venv/bin/python -m tests.benchmarks.living --plays 100 --out /tmp/living.txt

Each play is one future out of a seed that no promise is made from. By day the crew follows
the plan in force, as the policy of the odds does but with the plan's own teams; it waits
until a coat is really dry. Each evening it logs what it knows: what was begun and done, what is
left of a task and what is still waiting, the air, and whether coats that are to be dry soon
are. Then the plan is revised from the log alone.
"""

import argparse
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, time, timedelta
from pathlib import Path
from tempfile import mkdtemp
from time import process_time

import numpy as np

from planner.files.folder.revision import Revision
from planner.files.ics_out.published import PublishedState
from planner.judge import calendars_judged
from planner.living.doubts import doubts_of
from planner.living.known import Known, known_of
from planner.living.laid_over import with_learned, with_log
from planner.living.went import went
from planner.nouns.case import Case
from planner.nouns.happened import Happening, Logbook, What
from planner.nouns.ids import id_on
from planner.nouns.inputs import Inputs
from planner.nouns.plan import Plan
from planner.nouns.product import Air, HardeningWay
from planner.nouns.work import ReturnKind, Task
from planner.odds.draws import Draws
from planner.odds.outcome import Played
from planner.odds.play import play
from planner.odds.script import Script, Step, script_in
from planner.odds.setting import Circumstances
from planner.odds.weather import airs
from planner.planning.answering import answer
from planner.planning.posing import posed
from planner.planning.problem import Problem, wait_name
from planner.schedule.problem.outcome import Placement
from planner.trade.data.odds import spread
from planner.usecases import write
from planner.usecases.living.learning import learned
from planner.usecases.living.revise import Facts, revise
from planner.usecases.plan import Choices
from planner.usecases.standing import placements_of
from tests.benchmarks.nightly import OneFuture
from tests.support.living import LITTLE, begun
from tests.support.side_by_side import SMALL

WEEKS = 13
TRUTH_SEED = 20_271  # no promise is made from it
EVENING = time(19)
LOOKED_AHEAD = timedelta(hours=15)  # coats that are to be dry until then are looked at
SOON = timedelta(days=2)  # shifts that were called
CALENDARS_EACH = 4  # evenings
FULL = ReturnKind.FULL_SERVICE


@dataclass(frozen=True, kw_only=True)
class Evening:
    """What one revision came to."""

    now: datetime
    promise: datetime | None
    called: int  # shifts of the next two days by the plan before
    kept: int  # of them, those that the revised plan still has
    anew: int | None  # of them, those that a plan made anew has; None: not made


@dataclass(frozen=True, kw_only=True)
class Outcome:
    """What became of one play; `faults` are breaches of what must hold, in words."""

    number: int
    first: datetime | None  # the promise before the work began
    back: datetime
    evenings: tuple[Evening, ...]
    faults: tuple[str, ...]


class World:
    """A job and its true futures."""

    def __init__(self, text: str = SMALL, plays: int = 100) -> None:
        self.job = begun(Path(mkdtemp()), text)
        self.inputs: Inputs = self.job.inputs
        self.problem: Problem = posed(Case(inputs=self.inputs), weeks=WEEKS)
        self.grid = self.problem.grid
        far = spread(self.inputs.job)
        self.airs = airs(
            self.problem.air,
            delta_k=far.air_delta_k,
            delta_rh_pct=far.air_delta_rh_pct,
            memory_h=far.air_memory_h,
            seed=TRUTH_SEED,
        )
        self.draws = Draws(
            spread=far, futures=plays, series=len(self.airs), seed=TRUTH_SEED
        )

    def known(self) -> Known:
        """Return what the log may speak of."""
        return known_of(self.inputs.job, self.problem.work)

    def one(self, number: int) -> tuple[Draws, tuple[Air, ...]]:
        """Return the draws of one future, and the plan's air with the true one."""
        series = int(self.draws.air()[number])
        air = (self.airs[0], self.airs[series]) if series else (self.airs[0],)
        draws = OneFuture(
            spread=self.draws.spread,
            futures=1,
            series=len(air),
            seed=self.draws.seed,
            whole=self.draws,
            number=number,
        )
        return draws, air


@dataclass
class OnePlay:
    """One future of a job, evening by evening."""

    world: World
    number: int
    compare: bool = False  # whether shifts are compared with a plan made anew
    events: list[Happening] = field(default_factory=list)
    logged: set[tuple[str, str]] = field(default_factory=set)
    begun: dict[str, Placement] = field(default_factory=dict)
    faults: list[str] = field(default_factory=list)
    evenings: list[Evening] = field(default_factory=list)
    choices: Choices = LITTLE

    def __post_init__(self) -> None:
        """Take the first plan, and the truth."""
        self.plan: Plan = self.world.job.plan
        self.last: Revision | None = None
        self.draws, self.air = self.world.one(self.number)
        self.tasks = {t.id: t for t in self.world.problem.work.tasks}
        self.setting = Circumstances(self.world.problem, self.air)

    def outcome(self) -> Outcome:
        """Play the job to its end."""
        grid = self.world.grid
        first = self.plan.stage.returning(FULL).promise
        script, played = self.follow(0)
        for local, _, _ in grid.days():
            now = datetime.combine(local, EVENING, tzinfo=grid.zone)
            tick = grid.floor(now)
            script, played = self.follow(tick, script, played)
            if not self.begun:
                continue
            ended = [t for t in self.begun if int(played.ends[t][0]) <= tick]
            if len(ended) == len(played.ends):
                break
            if self.log(script, played, tick, now):
                self.revised(now)
                script, played = self.follow(tick)
        back = grid.instant(min(int(played.returns[FULL][0]), grid.ticks))
        return Outcome(
            number=self.number,
            first=first,
            back=back,
            evenings=tuple(self.evenings),
            faults=tuple(self.faults),
        )

    # ------------------------------------------------------------------ by day

    def follow(
        self,
        tick: int,
        script: Script | None = None,
        played: Played | None = None,
    ) -> tuple[Script, Played]:
        """Return what is carried out if nothing else is planned from a tick on.

        With a script and what was played of it, what has begun by the tick is kept.
        """
        if script is not None and played is not None:
            for step in script.steps:
                start = int(played.starts[step.task.id][0])
                if start < tick and step.task.id not in self.begun:
                    own = next(
                        p for p in placements_of(self.plan) if p.task == step.task.id
                    )
                    end = max(int(played.ends[step.task.id][0]), start + 1)
                    self.begun[step.task.id] = replace(own, start=start, end=end)
            return script, played
        placed = {p.task: p for p in placements_of(self.plan)} | self.begun
        whole = script_in(self.setting, [*placed.values()])

        def carried_out(step: Step) -> Step:
            own = step.teams[0]
            start, at = own.time.start.copy(), own.time.days.at
            if step.task.id in self.begun:
                began = self.begun[step.task.id].start
                start[: began + 1] = np.searchsorted(at, began)
            else:
                start[:tick] = start[tick]
            time_ = replace(own.time, start=start)
            return replace(step, teams=(replace(own, time=time_),))

        script = replace(whole, steps=tuple(map(carried_out, whole.steps)))
        return script, play(script, self.draws)

    # -------------------------------------------------------------- the evening

    def log(self, script: Script, played: Played, tick: int, now: datetime) -> bool:
        """Log what the crew knows this evening; tell whether anybody was there to do it."""
        before = len(self.events)
        steps = {s.task.id: s for s in script.steps}
        instant = self.world.grid.instant
        for task, step in steps.items():
            start = int(played.starts[task][0])
            if start < tick and ("begun", task) not in self.logged:
                self.found_dry(step, instant(start), now)
        for task, step in steps.items():
            start, end = int(played.starts[task][0]), int(played.ends[task][0])
            planned = self.plan.task(task).start
            if start >= tick:
                if planned < now:
                    self.say("waiting", task, now, now)
                continue
            if not self.tasks[task].touch_up_frac:
                self.say("begun", task, instant(start), now, once=True)
            if end <= tick:
                exact = instant(end) - self.spare(step)
                at = max(exact, instant(start) + timedelta(minutes=1))
                self.say("done", task, at, now, once=True)
                if ("done", task) in self.logged:
                    self.look(script, played, task, tick, now)
            else:
                left = max(self.left_h(step, tick, end), 0.25)
                self.say("stopped", task, now, now, left_h=left)
        if len(self.events) == before:
            return False
        true = self.air[-1]
        self.say(
            "air", "", now, now,
            air_c=round(float(true.air_c[tick]), 1),
            humidity_pct=round(float(true.humidity_pct[tick])),
        )  # fmt: skip
        return True

    def say(
        self, what: str, task: str, at: datetime, now: datetime, *, once: bool = False,
        **fields: object,
    ) -> None:  # fmt: skip
        """Log one thing, `once` if it isn't logged yet."""
        if once and (what, task) in self.logged:
            return
        self.logged.add((what, task))
        self.events.append(self.world.job.event(what, task, at, logged=now, **fields))

    def spare(self, step: Step) -> timedelta:
        """Return how long before the end of its last tick a task was really done."""
        if step.task.touch_up_frac:
            return timedelta(0)
        pace = float(self.draws.pace(step.task.id, step.task.phase)[0])
        ticks = step.hours * pace * 60 / self.world.grid.tick_minutes
        rest = max(int(np.ceil(ticks - 1e-9)), 1) - ticks
        return timedelta(minutes=min(rest, 0.9) * self.world.grid.tick_minutes)

    def left_h(self, step: Step, tick: int, end: int) -> float:
        """Return the hours of its team that a task under way still takes."""
        days = step.teams[0].time.days
        at = days.at[:-1]
        ahead = np.flatnonzero((at >= tick) & (at < end))
        mornings = len(np.unique(days.day[ahead])) if len(ahead) else 0
        ticks = len(ahead) - mornings * days.set_up
        return ticks * self.world.grid.tick_minutes / 60

    def found_dry(self, step: Step, at: datetime, now: datetime) -> None:
        """Log that coats were found dry, over which a task was begun, if they were wet."""
        for below, wait in step.after:
            if wait and ("wet", below) in self.logged:
                self.say("dry", below, at, now, once=True)

    def look(
        self, script: Script, played: Played, task: str, tick: int, now: datetime
    ) -> None:
        """Look at a coat that is to be dry soon, unless it is known to be dry."""
        one = self.tasks[task]
        if one.product is None or one.covered_by or ("dry", task) in self.logged:
            return
        stages = self.world.problem.products[one.product].stages
        if not any(
            s.stage == one.dry_stage and s.way is HardeningWay.DRIES for s in stages
        ):
            return  # nothing that shows whether it is dry
        soon = [
            w.ready
            for w in self.plan.waits
            if w.task == id_on(self.plan.stage.id, task) and w.stage == one.dry_stage
        ]
        if not soon or min(soon) > now + LOOKED_AHEAD:
            return
        ready = max(self.dries(script, played, one), default=tick)
        self.say("dry" if ready <= tick else "wet", task, now, now)

    def dries(self, script: Script, played: Played, top: Task) -> Iterator[int]:
        """Yield when a coat, and each that may be wet below it, is really dry."""
        one: Task | None = top
        while one is not None:
            stage = top.dry_stage if one is top else "dry"
            for link in self.world.problem.work.links:
                wait = link.wait
                if link.before != one.id or wait is None or wait.stage != stage:
                    continue
                hardens = script.waits[wait_name(wait)]
                factor = self.draws.wait(one.id, hardens.product)
                over = hardens.over(played.ends[one.id], factor, self.draws.air())
                yield int(over[0])
            one = self.tasks.get(one.over or "")

    # --------------------------------------------------------------- the revision

    def revised(self, now: datetime) -> None:
        """Revise the plan from the log, and look at what must hold."""
        before, book = self.plan, Logbook(events=tuple(self.events))
        facts = Facts(
            plan=before,
            inputs=self.world.inputs,
            book=book,
            log=Path("job-log.txt"),
            revised=self.last,
        )
        found = revise(facts, self.choices, now=now)
        self.plan, self.last = found.after, found.revision
        self.faults += self.breaches(found.after, book, now)
        anew = None
        if self.compare:
            anew = len(_called(before, now) & self.anew(facts, now))
        self.evenings.append(
            Evening(
                now=now,
                promise=found.after.stage.returning(FULL).promise,
                called=len(_called(before, now)),
                kept=_survive(before, found.after, now),
                anew=anew,
            )
        )

    def anew(self, facts: Facts, now: datetime) -> set[tuple[str, str]]:
        """Return the shifts called if the rest were planned as if nobody knew a plan."""
        inputs = with_log(facts.inputs, facts.book, file=facts.log.name)
        problem = posed(Case(inputs=inputs), weeks=WEEKS)
        here = problem.grid.instant(problem.grid.floor(now))
        since = facts.revised.now if facts.revised else None
        told = went(facts.plan, facts.book, problem.work, now=here, since=since)
        taught = learned(facts.plan, facts.book, told, problem)
        case = Case(inputs=with_learned(inputs, taught), past=told.past)
        found = answer(case, self.choices.search())
        return {
            (person, f"{found.grid.instant(start):%F}")
            for placed in found.placements
            for start, _ in placed.worked
            for person in placed.team
            if now <= found.grid.instant(start) < now + SOON
        }

    def breaches(self, plan: Plan, book: Logbook, now: datetime) -> Iterator[str]:
        """Yield what must never be."""
        step = timedelta(minutes=plan.tick_minutes)
        for task in plan.tasks:
            if not task.happened and task.start < now - step:
                yield f"{now}: {task.id} is planned in the past"
        doubted = doubts_of(book, self.world.known())
        for event in book.counting:
            for doubt in doubted.get(event.id, ()):
                if "was found wet" in doubt and event.what is What.BEGUN:
                    yield f"{now}: {event.about} over a coat known as wet"
        if len(self.evenings) % CALENDARS_EACH:
            return
        files = write.outputs(
            plan, state=PublishedState(), now=now.astimezone(UTC), how=write.USUAL
        )
        yield from (f"{now}: {f}" for f in calendars_judged(plan, files))


def _called(plan: Plan, now: datetime) -> set[tuple[str, str]]:
    """Return who is called on which of the next two days."""
    return {
        (person, f"{start:%F}")
        for task in plan.tasks
        for start, _ in task.spans
        for person in task.team
        if now <= start < now + SOON
    }


def _survive(before: Plan, after: Plan, now: datetime) -> int:
    return len(_called(before, now) & _called(after, now))


def summary(outcomes: list[Outcome]) -> Iterator[str]:
    """Yield what the plays came to."""
    yield f"{len(outcomes)} plays, {sum(len(o.evenings) for o in outcomes)} revisions"
    faults = [f for o in outcomes for f in o.faults]
    yield f"breaches: {len(faults)} {faults[:3]}"
    first = [(o, o.first) for o in outcomes if o.first is not None]
    kept = sum(o.back <= by for o, by in first)
    yield f"first promise kept: {kept} of {len(first)}"
    told = [
        e.promise is not None and o.back <= e.promise
        for o in outcomes
        for e in o.evenings
    ]
    yield f"promise of an evening kept: {np.mean(told):.3f} of {len(told)}"
    broken = [(o, by) for o, by in first if o.back > by]
    warned = [
        o
        for o, by in broken
        if any(e.promise is None or e.promise > by for e in o.evenings if e.now < by)
    ]
    yield f"broken, and told before its day: {len(warned)} of {len(broken)}"
    called = sum(e.called for o in outcomes for e in o.evenings)
    still = sum(e.kept for o in outcomes for e in o.evenings)
    yield f"called shifts that survive: {still} of {called}"
    both = [e for o in outcomes for e in o.evenings if e.anew is not None]
    if both:
        yield (
            f"where compared: {sum(e.kept for e in both)} of "
            f"{sum(e.called for e in both)} near, {sum(e.anew or 0 for e in both)} anew"
        )


def main() -> None:
    """Play, and tell what it came to."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n", 1)[0])
    parser.add_argument("--plays", type=int, default=100)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--of", type=int, default=500, help="futures drawn in all")
    parser.add_argument("--anew", type=int, default=10, help="compare each so manieth")
    parser.add_argument("--out", type=Path)
    said = parser.parse_args()
    world, outcomes, begun_s = World(plays=said.of), list[Outcome](), process_time()
    lines: list[str] = []
    for number in range(said.first, said.first + said.plays):
        one = OnePlay(world, number, compare=number % said.anew == 0)
        outcomes.append(one.outcome())
        lines = [
            *summary(outcomes),
            f"{process_time() - begun_s:.0f} s of processor time",
        ]
        if said.out:
            said.out.write_text("\n".join(lines) + "\n")
    print("\n".join(lines))  # noqa: T201 - a benchmark tells


if __name__ == "__main__":
    main()
