"""The aims in their order: each is minimised, and what it reached is kept."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from functools import partial

from planner.errors import ProgramFaultError
from planner.schedule.check.verify import values, verify
from planner.schedule.climb.improve import Rounds
from planner.schedule.cp.search import Verdict, run_solver
from planner.schedule.first.back import moved_back
from planner.schedule.first.earlier import moved_up
from planner.schedule.first.greedy import Seats
from planner.schedule.first.kept import as_agreed
from planner.schedule.first.naming import placements_of
from planner.schedule.problem.instance import Instance
from planner.schedule.problem.limits import SearchLimits, Watch
from planner.schedule.problem.outcome import (
    AimResult,
    Placement,
    Planned,
    Progress,
    TimeUp,
)
from planner.schedule.problem.parts import AimKind
from planner.schedule.space.bounds import Floor, least_at_once
from planner.schedule.space.narrowed import (
    Cuts,
    ImpossibleError,
    NarrowedWindows,
    cuts_of,
)
from planner.schedule.space.search_space import SearchSpace
from planner.schedule.space.windows import narrow

SHARE = 0.5  # the most of the remaining work that one aim may take, except the last aim
# The most of all work that an aim may take if it only tidies the plan. What was agreed
# is come near to without a search first; once the least change is kept, there is hardly
# a shift left to be saved, and nothing after it is searched for if the job isn't small.
TIDYING = {AimKind.EARLY: 0.02, AimKind.TIDY: 0.02, AimKind.CHANGE: 0.03}
# The most work for the calls, for a job of up to USUAL_TASKS: they are only sought, and
# need no proof. Measured on the examples and on jobs of 45 tasks: a shift more than the
# fewest, in half the time of the proof or less.
CALLS_WORK = 0.1
WEIGHED = (
    AimKind.COST,
    AimKind.CHANGE,
    AimKind.TIDY,
)  # an earlier start may spoil these
SMALL = 60  # up to so many tasks, questions cost more than they save
LARGE = 120  # with more tasks than this, the solver can't take the job as a whole
IDLE_ROUNDS = 60  # the rounds end after this many in a row without a better plan
BY_ROUNDS = (AimKind.LAST_RETURN, AimKind.RETURNS, AimKind.CLOSED)
# The share of an aim's work for solving the whole job, if it isn't large.
WHOLE_SHARE = 0.7
# Where the solver doesn't prove the last return with so much work, that many questions
# whether a plan returns by some tick between bound and value raise the bound, each with
# its own limit of work.
TRIAL_WORK, QUESTIONS, QUESTION_WORK = 0.3, 4, 0.07


_Settled = tuple[tuple[AimKind, int], ...]


@dataclass(slots=True)
class _Reached:
    """The value reached for an aim so far, and the work that is left for it."""

    value: int
    bound: int
    seats: Seats
    left: float
    best: bool = False  # whether no plan with the teams that are considered is better


@dataclass(slots=True)
class Ladder:
    """The aims, one after the other."""

    instance: Instance
    space: SearchSpace
    outer: SearchSpace  # gives the bounds: the space, or one without people
    limits: SearchLimits
    watch: Watch
    on_progress: Callable[[Progress], None] | None
    on_found: Callable[[tuple[Placement, ...]], None] | None
    floor: Floor
    given: Mapping[AimKind, int]
    known: dict[AimKind, int] = field(default_factory=dict)

    def first_bound(self, windows: NarrowedWindows) -> int:
        """Return a lower bound on the first aim, and keep it."""
        if not self.instance.aims:
            return 0
        aim = self.instance.aims[0]
        low = least_at_once(windows, aim)
        if aim is AimKind.LAST_RETURN:
            high = max((hi for _, hi in windows.returns.values()), default=0)
            low = self.floor.least(Cuts(), aim, low, high)
            self.known[aim] = low
        return low

    def climb(
        self, windows: NarrowedWindows, seats: Seats | None
    ) -> Planned | TimeUp | None:
        """Return the outcome after the last aim or at the limits; None for no plan."""
        work = self.all_work
        results: list[AimResult] = []
        stopped = ""
        aims = self.instance.aims
        if not aims or seats is None:
            run = run_solver(
                windows, seats, aim=None, settled=(), work=work, watch=self.watch
            )
            work -= run.work
            if run.verdict is Verdict.NONE:
                return TimeUp(some_teams=True) if self.space.some_teams else None
            seats = run.seats or seats
        if seats is None:
            return TimeUp()
        self.note(seats)
        for number, aim in enumerate(aims):
            share = work if number == len(aims) - 1 else work * SHARE
            share = min(share, self.most_work(aim, aims[:number]))
            settled = tuple(
                (r.aim, max(r.value, self.given.get(r.aim, r.value))) for r in results
            )
            result, seats, spent = self.bring_down(aim, settled, seats, share)
            work -= spent
            self.note(seats)
            results.append(result)
            if not result.proven:
                stopped = self.reason(aim) or stopped
        seats = self.moved_up(seats)
        placements = self.placements(seats)
        if faults := verify(self.instance, placements):
            raise ProgramFaultError(
                "the engine's answer breaks the rules it was made by",
                found=tuple(faults),
            )
        # The search for a later aim may have found a better value of an earlier one.
        reached = tuple(
            replace(r, value=self.value(seats, r.aim)) if not r.proven else r
            for r in results
        )
        if all(r.proven for r in reached):
            stopped = ""
        return Planned(placements=placements, aims=reached, stopped=stopped)

    def moved_up(self, seats: Seats) -> Seats:
        """Return the plan with each task as early as the aims and the others leave it.

        Where people are alike, and for aims that weigh starts, the aims are counted
        anew for each move.
        """
        aims = self.instance.aims
        if not aims or self.watch.over():
            return seats
        best = values(self.instance, self.placements(seats))
        kept = cuts_of(self.instance, tuple((aim, best[aim]) for aim in aims))
        alike = any(len(g.members) > 1 for g in self.space.groups)
        felt = [a for a in aims if a in WEIGHED or (alike and a is AimKind.CALLS)]

        def keeps(moved: Seats) -> bool:
            now = values(self.instance, self.placements(moved)) if felt else best
            return all(now[aim] <= best[aim] for aim in felt)

        return moved_up(narrow(self.space, kept), seats, keeps, self.watch.over)

    def moved_back(self, settled: _Settled, seats: Seats) -> Seats:
        """Return a plan as near to what was agreed as is found without a search."""

        def keeps(moved: Seats) -> bool:
            now = values(self.instance, self.placements(moved))
            return all(now[aim] <= value for aim, value in settled)

        def keeps_others(moved: Seats) -> bool:
            return all(aim in BY_ROUNDS for aim, _ in settled) or keeps(moved)

        windows = narrow(self.space, cuts_of(self.instance, settled))
        starts = [s for s in (as_agreed(windows),) if s is not None and keeps(s)]
        plans = (
            moved_back(windows, s, keeps_others, self.watch.over)
            for s in (seats, *starts)
        )
        return min((seats, *plans), key=lambda s: self.value(s, AimKind.CHANGE))

    def bring_down(
        self,
        aim: AimKind,
        settled: _Settled,
        seats: Seats,
        work: float,
    ) -> tuple[AimResult, Seats, float]:
        """Minimise an aim; return what was reached, the plan and the work done."""
        if aim is AimKind.CHANGE:
            seats = self.moved_back(settled, seats)
        bound = self.bound(aim, settled, self.value(seats, aim))
        at = _Reached(self.value(seats, aim), bound, seats, work)
        self.tell(aim, at.value, at.bound)
        size, large = self.size, self.size > LARGE
        if not large or aim not in BY_ROUNDS:
            share = WHOLE_SHARE if aim in BY_ROUNDS else 1.0
            if aim is AimKind.LAST_RETURN and size > SMALL:
                self.solve_whole(at, aim, settled, min(at.left * share, TRIAL_WORK))
                self.ask_between(at, settled)
            self.solve_whole(at, aim, settled, at.left * share)
        if aim in BY_ROUNDS:
            self.solve_in_rounds(at, aim, settled)
        if aim is AimKind.CHANGE and not at.best:
            at.seats = self.moved_back(settled, at.seats)
            at.value = self.value(at.seats, aim)
        result = AimResult(aim=aim, value=at.value, bound=at.bound)
        return result, at.seats, work - at.left

    def bound(self, aim: AimKind, settled: _Settled, value: int) -> int:
        """Return a lower bound on the aim, found without the solver."""
        if not settled and aim in self.known:
            return min(value, self.known[aim])
        kept = cuts_of(self.instance, settled)
        low = least_at_once(narrow(self.outer, kept), aim)
        return self.floor.least(kept, aim, low, value)

    def over(self, at: _Reached) -> bool:
        """Tell whether an aim is proven, or the limits are reached."""
        done = at.best or at.value <= at.bound
        return done or at.left <= 0 or self.watch.over()

    def ask_between(self, at: _Reached, settled: _Settled) -> None:
        """Raise the bound by asking whether any plan returns by a tick between."""
        high = at.value
        for _ in range(QUESTIONS):
            if self.over(at) or at.bound >= high:
                return
            middle = (at.bound + high) // 2
            if self.rules_out(at, middle, settled):
                at.bound = middle + 1
                self.tell(AimKind.LAST_RETURN, at.value, at.bound)
            else:
                high = middle

    def rules_out(self, at: _Reached, value: int, settled: _Settled) -> bool:
        """Tell whether it is quickly seen that no plan has so early a last return."""
        if self.space.some_teams:
            return False
        asked = ((AimKind.LAST_RETURN, value), *settled)
        try:
            windows = narrow(self.space, cuts_of(self.instance, asked))
        except ImpossibleError:
            return True
        run = run_solver(
            windows,
            None,
            aim=None,
            settled=asked,
            work=min(QUESTION_WORK, at.left),
            watch=self.watch,
        )
        at.left -= run.work
        return run.verdict is Verdict.NONE

    def solve_whole(
        self, at: _Reached, aim: AimKind, settled: _Settled, work: float
    ) -> None:
        """Ask the solver for the best plan, with all tasks free to move."""
        if self.over(at):
            return
        run = run_solver(
            narrow(self.space, cuts_of(self.instance, (*settled, (aim, at.value)))),
            at.seats,
            aim=aim,
            settled=settled,
            least=at.bound,
            work=work,
            watch=self.watch,
            report=self.teller(aim),
        )
        if run.verdict is Verdict.NONE:
            raise AssertionError(f"the plan at hand broke the model at {aim}")
        at.left -= run.work
        at.seats = run.seats or at.seats
        at.value = self.value(at.seats, aim)
        at.best = run.verdict is Verdict.BEST
        all_teams = not self.space.some_teams
        bound = run.bound if run.bound is not None and all_teams else at.bound
        at.bound = min(at.value, max(at.bound, bound))

    def solve_in_rounds(self, at: _Reached, aim: AimKind, settled: _Settled) -> None:
        """Free some tasks at a time, and ask the solver for better places for them."""
        if self.over(at):
            return
        rounds = Rounds(
            self.space,
            lambda value: cuts_of(self.instance, (*settled, (aim, value))),
            aim=aim,
            settled=settled,
            value_of=lambda seats: self.value(seats, aim),
            watch=self.watch,
        )
        better = rounds.run(
            at.seats,
            bound=at.bound,
            work=at.left,
            idle=IDLE_ROUNDS,
            report=lambda value: self.tell(aim, value, at.bound),
        )
        at.left -= better.work
        at.seats, at.value = better.seats, self.value(better.seats, aim)

    @property
    def all_work(self) -> float:
        """The work that is allowed for a job of this size."""
        return self.limits.work_for(self.size)

    def most_work(self, aim: AimKind, before: tuple[AimKind, ...]) -> float:
        """Return the most work that an aim may take, after other aims."""
        if AimKind.CHANGE in before and self.size > SMALL:
            return 0.0
        if aim is AimKind.CALLS:
            return CALLS_WORK * self.limits.times(self.size)
        return self.all_work * TIDYING.get(aim, 1.0)

    @property
    def size(self) -> int:
        """How many tasks the job has."""
        return len(self.space.tasks)

    def reason(self, aim: AimKind) -> str:
        """Return why an aim isn't proven; "" where no proof was sought."""
        if self.watch.interrupted:
            return "interrupted"
        if self.watch.late:
            return "clock limit"
        if self.space.some_teams:
            return "limit of teams"
        return "" if aim is AimKind.CALLS else "work limit"

    def placements(self, seats: Seats) -> tuple[Placement, ...]:
        """Return a plan as placements."""
        return placements_of(self.space, seats)

    def value(self, seats: Seats, aim: AimKind) -> int:
        """Return a plan's value of an aim."""
        return values(self.instance, self.placements(seats))[aim]

    def note(self, seats: Seats) -> None:
        """Hand on the best plan so far, so that it isn't lost if the program fails."""
        if self.on_found is not None:
            self.on_found(self.placements(seats))

    def teller(self, aim: AimKind) -> Callable[[int | None, int | None], None]:
        """Return a function that passes on the solver's values and valid bounds."""
        if self.space.some_teams:
            return lambda best, _: self.tell(aim, best, None)
        return partial(self.tell, aim)

    def tell(self, aim: AimKind, best: int | None, bound: int | None) -> None:
        """Pass on a value and a bound, to whoever asked for progress."""
        if self.on_progress is not None:
            elapsed = self.watch.elapsed_s
            self.on_progress(
                Progress(elapsed_s=elapsed, aim=aim, best=best, bound=bound)
            )
