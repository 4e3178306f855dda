"""A job played many times: true pace, drying and air at random, its plan revised each evening.

    .venv/bin/python -m tests.benchmarks.living --plays 500 --out /tmp/plays.jsonl

Each play is one future out of a seed that no promise is made from. By day the crew follows
the plan in force, as the policy of the odds does but with the plan's own teams; it waits
until a coat is really dry. Crates come late, people are away, joints show through, and more
befalls the job (`living_events`). Each evening the crew logs what it knows: what was begun
and done, what is left of a task and what is still waiting, the air, whether coats that are
to be dry soon are, and what it has heard of. Then the plan is revised from the log alone.

Plays are lines of a file, by number: the same command goes on where it stopped. With
`--show` it says what the file holds.
"""

import argparse
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, time, timedelta
from pathlib import Path
from tempfile import mkdtemp
from time import process_time

import numpy as np

from planner.errors import NoPlanError, PlannerError, ProgramFaultError
from planner.files.folder.revision import Revision
from planner.files.ics_out.published import PublishedState
from planner.living.doubts import doubts_of
from planner.living.known import known_of, with_patches
from planner.living.laid_over import with_log, with_shown
from planner.nouns.case import Case
from planner.nouns.happened import Happening, Logbook, What
from planner.nouns.inputs import Inputs
from planner.nouns.job import Shows
from planner.nouns.plan import Plan
from planner.nouns.product import Air
from planner.nouns.work import ReturnKind, Task
from planner.odds.draws import Draws
from planner.odds.outcome import Played
from planner.odds.play import play
from planner.odds.script import Script, Step, script_in
from planner.odds.setting import Circumstances
from planner.odds.weather import airs
from planner.planning.answering import answer
from planner.planning.posing import posed
from planner.planning.problem import Problem
from planner.schedule.problem.outcome import Placement
from planner.trade.data.odds import spread
from planner.usecases import write
from planner.usecases.living.placed import placements_of
from planner.usecases.living.revise import Facts, rest_of, revise
from planner.usecases.plan import Choices
from tests.benchmarks.living_evening import Evenings
from tests.benchmarks.living_events import (
    BEFALLS,
    SINCE_MORNING,
    Fate,
    heard_words,
)
from tests.benchmarks.living_told import (
    Evening,
    Outcome,
    line_of,
    outcomes_in,
    summary,
)
from tests.benchmarks.nightly import OneFuture
from tests.support.living import LITTLE, begun
from tests.support.side_by_side import SMALL
from tests.support.values import changed

WALL = changed(
    SMALL,
    ("[job]", '[job]\ntick = "30 min"\ndelivery = 2027-02-08T10:00:00'),
    ("[methods]", "[methods]\nsetting_coats = 1\nprimer_coats = 1"),
)
WEEKS = 13
TRUTH_SEED = 20_271  # no promise is made from it
EVENING = time(19)
SOON = timedelta(days=2)  # shifts that were called
CALENDARS_EACH = 5  # evenings
FUTURES = 2_000  # that a promise of an evening is made from
FULL = ReturnKind.FULL_SERVICE


class World:
    """A job and its true futures."""

    def __init__(self, text: str = WALL, plays: int = 100) -> None:
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

    def one(self, number: int) -> tuple["TrueDraws", tuple[Air, ...]]:
        """Return the draws of one future, and the plan's air with the true one."""
        series = int(self.draws.air()[number])
        air = (self.airs[0], self.airs[series]) if series else (self.airs[0],)
        draws = TrueDraws(
            spread=self.draws.spread,
            futures=1,
            series=len(air),
            seed=self.draws.seed,
            whole=self.draws,
            number=number,
        )
        return draws, air


@dataclass(frozen=True, kw_only=True)
class TrueDraws(OneFuture):
    """One future in which a joint that shows is logged, and filled as the plan says."""

    def touched_up(self, task: str, bays: int, chance: float) -> np.ndarray:
        return np.zeros(1, dtype=np.int64)

    def shown_at(self, task: Task) -> int:
        """Return in how many of its bays a joint shows when a task looks for them."""
        many = len(task.bays)
        return int(super().touched_up(task.id, many, task.touch_up_frac)[0])


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
    unkept: frozenset[str] = frozenset()  # bookings that must move, by their events
    shown: tuple[Shows, ...] = ()  # joints, and before what they are filled
    choices: Choices = LITTLE

    def __post_init__(self) -> None:
        """Take the first plan, and the truth."""
        self.plan: Plan = self.world.job.plan
        self.last: Revision | None = None
        self.published = PublishedState()
        self.draws, self.air = self.world.one(self.number)
        self.fate = Fate(seed=TRUTH_SEED, number=self.number)
        self.truth(self.world.inputs)

    def truth(self, inputs: Inputs) -> None:
        """Take the facts that really hold: what befell the job, and nothing learned."""
        problem = posed(Case(inputs=inputs), weeks=WEEKS)
        self.work = problem.work
        self.tasks = {t.id: t for t in problem.work.tasks}
        self.setting = Circumstances(problem, self.air, inputs.kept)

    def outcome(self) -> Outcome:
        """Play the job to its end."""
        grid, began_s = self.world.grid, process_time()
        first = self.plan.stage.returning(FULL).promise
        script, played = self.follow(0)
        for local, _, _ in grid.days():
            now = datetime.combine(local, EVENING, tzinfo=grid.zone)
            tick = grid.floor(now)
            script, played = self.follow(tick, script, played)
            ended = [t for t in self.begun if int(played.ends[t][0]) <= tick]
            at_the_end = len(ended) == len(played.ends)
            if self.evening(script, played, tick, now, at_the_end=at_the_end):
                script, played = self.follow(tick)
            elif at_the_end:
                break
        back = grid.instant(min(int(played.returns[FULL][0]), grid.ticks))
        return Outcome(
            number=self.number,
            first=first,
            back=back,
            evenings=tuple(self.evenings),
            faults=tuple(self.faults),
            processor_s=process_time() - began_s,
        )

    def evening(
        self,
        script: Script,
        played: Played,
        tick: int,
        now: datetime,
        *,
        at_the_end: bool,
    ) -> bool:
        """Log an evening and revise the plan; tell whether there was anything to log."""
        before = len(self.events)
        Evenings(self, script, played, tick, now).log(at_the_end=at_the_end)
        new = self.events[before:]
        if new:
            self.revised(now, tuple(e for e in new if e.what in BEFALLS))
        return bool(new)

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

    # --------------------------------------------------------------- the revision

    def revised(self, now: datetime, befell: tuple[Happening, ...]) -> None:
        """Revise the plan from the log, and look at what must hold."""
        before, book = self.plan, Logbook(events=tuple(self.events))
        facts = Facts(
            plan=before,
            inputs=self.world.inputs,
            book=book,
            log=Path("job-log.txt"),
            revised=self.last,
        )
        try:
            found = revise(facts, self.choices, now=now, futures=FUTURES, why=False)
        except (PlannerError, ProgramFaultError) as error:
            self.faults.append(f"{now}: not revised: {error}")
            return
        self.plan, self.last = found.after, found.revision
        unkept = frozenset(b.uid for b in found.unkept)
        joints = any(e.what is What.SHOWS for e in book.events)
        here = rest_of(facts, now).case if self.compare or joints else None
        shown = () if here is None else here.inputs.job.shows
        if befell or (unkept, shown) != (self.unkept, self.shown):
            self.unkept, self.shown = unkept, shown
            self.truth(self.befallen(book))
        self.faults += self.breaches(found.after, book, now)
        anew = None
        if self.compare and here is not None:
            anew = len(_called(before, now) & self.anew(here, now))
        self.evenings.append(
            Evening(
                now=now,
                promise=found.after.stage.returning(FULL).promise,
                called=len(_called(before, now)),
                kept=_survive(before, found.after, now),
                anew=anew,
                heard=tuple(map(heard_words, befell)),
            )
        )

    def befallen(self, book: Logbook) -> Inputs:
        """Return the facts that really hold: what befell the job, not what was learned.

        Absence on a day, late crates and the air are among the draws already. A booking
        that no plan keeps is moved to another stage.
        """
        kinds = BEFALLS - {What.LATE, What.SHOWS, What.UNDO}
        events = tuple(
            e
            for e in book.counting
            if e.what in kinds and e.id not in self.unkept and e.words != SINCE_MORNING
        )
        inputs = with_log(self.world.inputs, Logbook(events=events), file="job-log.txt")
        return with_shown(inputs, self.shown)

    def anew(self, here: Case, now: datetime) -> set[tuple[str, str]]:
        """Return the shifts called if the rest were planned as if nobody knew a plan."""
        try:
            found = answer(replace(here, agreed=()), self.choices.search())
        except (
            NoPlanError
        ):  # bookings that can't be kept are left out near the plan alone
            return set()
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
        known = known_of(self.world.inputs.job, self.work)
        doubted = doubts_of(book, with_patches(known, book))
        for event in book.counting:
            for doubt in doubted.get(event.id, ()):
                if "was found wet" in doubt and event.what is What.BEGUN:
                    yield f"{now}: {event.about} over a coat known as wet"
        if len(self.evenings) % CALENDARS_EACH:
            return
        try:
            _, self.published = write.calendars(
                plan, state=self.published, now=now.astimezone(UTC)
            )
        except ProgramFaultError as error:
            yield f"{now}: {error}"


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


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(description=__doc__.split("\n", 1)[0])
    parser.add_argument("--plays", type=int, default=500)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--of", type=int, default=500, help="futures drawn in all")
    parser.add_argument("--anew", type=int, default=10, help="compare each so manieth")
    parser.add_argument("--out", type=Path, required=True, help="a line for each play")
    parser.add_argument("--show", action="store_true", help="play nothing")
    return parser


def main() -> None:
    """Play what isn't played yet, and tell what all came to."""
    said = _parser().parse_args()
    played = {o.number for o in outcomes_in(said.out)}
    numbers = range(said.first, said.first + said.plays)
    left = [] if said.show else [n for n in numbers if n not in played]
    if not left:
        print("\n".join(summary(outcomes_in(said.out))))  # noqa: T201 - a benchmark tells
        return
    world = World(plays=said.of)
    for number in left:
        one = OnePlay(world, number, compare=number % said.anew == 0)
        line = line_of(one.outcome())
        with said.out.open("a", encoding="utf-8") as file:
            file.write(f"{line}\n")
    print("\n".join(summary(outcomes_in(said.out))))  # noqa: T201 - a benchmark tells


if __name__ == "__main__":
    main()
