"""The use case of `closures`: when the stage could be closed, gap by gap."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, time, timedelta
from pathlib import Path
from time import monotonic

from planner.errors import PlannerError
from planner.files.job.changes import Changes, changes_from
from planner.hours.open import entry_words
from planner.nouns.calendar import Busy
from planner.nouns.case import ClosureWindow
from planner.nouns.choices.closures import (
    ClosureChoices,
    ClosureOption,
    Gap,
    StandingClosure,
)
from planner.nouns.inputs import Inputs
from planner.nouns.job import Job
from planner.nouns.work import ReturnKind
from planner.odds.tally import FUTURES, SEED
from planner.planning.horizons import HORIZON_WEEKS
from planner.planning.least_return import least_return
from planner.units import moment_words
from planner.usecases.comparing.attempts import Attempt
from planner.usecases.comparing.gaps import gaps_to_look_at
from planner.usecases.comparing.side_by_side import Together
from planner.usecases.read import Papers
from planner.usecases.standing import out_folder, standing_plan

LEAD = timedelta(weeks=3)  # how long before a closure work off the stage may begin
LOOK_DAYS = 182  # how far ahead, unless the user says
MOST_DAYS = 7 * HORIZON_WEEKS[-1]  # calendars are read so far
WORK = 0.5  # of each search, unless the user says: dates hardly gain by more


@dataclass(frozen=True, slots=True, kw_only=True)
class ClosuresRequest:
    """Of which job closures are looked for, and how far: as the command line may choose.

    `until` is the last day on which one may begin. `work_limit` is each search's,
    `seconds` are the whole run's, counted from `since_s` on the monotonic clock.
    """

    job: Path
    until: date | None = None
    futures: int = FUTURES
    seed: int = SEED
    seconds: float | None = None
    since_s: float = field(default_factory=monotonic)
    work_limit: float | None = None


def last_day(job: Job, until: date | None) -> date:
    """Return the last day on which a closure may begin.

    Raises
    ------
    PlannerError
        When it lies before the job's first day, or further than calendars are read.
    """
    first = _first_day(job)
    most = job.earliest + timedelta(days=MOST_DAYS)
    asked = until or min(first + timedelta(days=LOOK_DAYS), most)
    if asked < first:
        raise PlannerError(
            f"{asked} is before the first day on which it may be closed, {first}",
            where="--until",
        )
    if asked > most:
        raise PlannerError(
            f"{asked} is too far ahead: calendars are read until {most}",
            where="--until",
        )
    return asked


def _first_day(job: Job) -> date:
    return max(job.earliest, job.close_from or job.earliest)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Possible:
    """A gap that may hold the job, with what is to be planned in it."""

    gap: Gap
    attempt: Attempt
    least: datetime | None


class Choosing:
    """Closures that become known gap by gap."""

    def __init__(
        self,
        request: ClosuresRequest,
        papers: Papers,
        *,
        base: tuple[Changes, ...] = (),
    ) -> None:
        """Look for gaps of a job; `base` changes it wherever it is closed."""
        self.request, self.papers, self.base = request, papers, base
        self.inputs = papers.inputs(*base)
        job = self.inputs.job
        self.since, self.until = (
            datetime.combine(day, time(), tzinfo=job.zone)
            for day in (
                _first_day(job),
                last_day(job, request.until) + timedelta(days=1),
            )
        )
        self.gaps = gaps_to_look_at(self.inputs.hours.bookings, self.since, self.until)
        self.options: dict[Gap, ClosureOption] = {}
        self._needless: set[Gap] = set()  # what would move more for the same closure

    @property
    def count(self) -> int:
        """How many gaps are told of, as far as is known by now."""
        return len(set(self.gaps) - self._needless)

    def plan(self, together: Together, tell: Callable[[ClosureOption], None]) -> None:
        """Rule out the gaps that are too short, then plan in the others.

        Those in which the stage isn't back when the job wants it, whatever the plan,
        come last, and only if it is back in time in no other.
        """
        by = self.inputs.job.back_by
        possible = list(self._possible(tell))
        late = [p for p in possible if by and p.least and p.least > by]
        self._plan([p for p in possible if p not in late], together, tell)
        found = self.choices()
        if not any(o.figures and found.in_time(o) for o in found.options):
            self._plan(late, together, tell)
            return
        for one in late:
            self._know(
                ClosureOption(
                    gap=one.gap,
                    needs_until=one.least,
                    moved=one.attempt.changes,
                    too_late=True,
                ),
                tell,
            )

    def _possible(self, tell: Callable[[ClosureOption], None]) -> Iterator[_Possible]:
        """Yield the gaps that aren't too short; what is told of are those that are.

        How early the stage can be back hangs on when a gap begins, and not on its end.
        """
        bounds: dict[datetime, tuple[Inputs, tuple[str, ...], datetime | None]] = {}
        for gap in self.gaps:
            if gap.start not in bounds:
                changes, words = _changed(self.inputs.job, gap.start)
                inputs = self.papers.inputs(*self.base, *changes)
                least = least_return(_free_after(inputs, gap.start), gap.start)
                bounds[gap.start] = inputs, words, least
            inputs, words, least = bounds[gap.start]
            words = (*(f"{entry_words(b)} moves" for b in gap.moving), *words)
            if gap.end is None or (least is not None and least <= gap.end):
                yield _Possible(
                    gap=gap, attempt=self._attempt(gap, inputs, words), least=least
                )
            elif gap.moving or gap.in_free_time:
                self._needless.add(gap)  # what it is part of, or wider than, is told
            else:
                why = "" if least else "the crew isn't open long enough after it"
                short = ClosureOption(gap=gap, needs_until=least, why=why, moved=words)
                self._know(short, tell)

    def _plan(
        self,
        possible: Sequence[_Possible],
        together: Together,
        tell: Callable[[ClosureOption], None],
    ) -> None:
        """Plan in gaps; of those that begin together, in the one that moves least.

        A wider one is planned only if that holds no plan: whatever returns earlier in
        it would fit in the narrower one, too.
        """
        left: dict[datetime, list[_Possible]] = {}
        for one in possible:
            left.setdefault(one.gap.start, []).append(one)
        while left and not together.stopped():
            asked = [rest.pop(0) for rest in left.values()]
            for number, plan in together.all([one.attempt for one in asked]):
                gap = asked[number].gap
                self._know(
                    ClosureOption(
                        gap=gap,
                        figures=plan.figures,
                        needs_until=asked[number].least,
                        why=plan.why,
                        moved=plan.changes,
                    ),
                    tell,
                )
                if plan.figures is not None:
                    self._needless |= {one.gap for one in left[gap.start]}
                    left[gap.start] = []
            left = {start: rest for start, rest in left.items() if rest}

    def _know(
        self, option: ClosureOption, tell: Callable[[ClosureOption], None]
    ) -> None:
        self.options[option.gap] = option
        tell(option)

    def _attempt(self, gap: Gap, inputs: Inputs, words: tuple[str, ...]) -> Attempt:
        request, hours = self.request, inputs.hours
        left = tuple(b for b in hours.bookings if b not in gap.moving)
        return Attempt(
            title=moment_words(gap.start, inputs.job.zone),
            changes=words,
            inputs=replace(inputs, hours=replace(hours, bookings=left)),
            window=ClosureWindow(not_before=gap.start, not_after=gap.end),
            explain=False,
            futures=request.futures,
            seed=request.seed,
            seconds=request.seconds,
            since_s=request.since_s,
            work_limit=WORK if request.work_limit is None else request.work_limit,
        )

    def _time_is_up(self) -> bool:
        asked = self.request.seconds
        return asked is not None and monotonic() >= self.request.since_s + asked

    def choices(self) -> ClosureChoices:
        """Return what is known by now."""
        job = self.inputs.job
        known = [g for g in self.gaps if g in self.options]
        return ClosureChoices(
            job=job.name,
            zone=job.zone.key,
            currency=job.rates.currency,
            since=self.since,
            until=self.until,
            sure_percent=job.sure_percent,
            options=tuple(self.options[g] for g in known),
            bookings=self.inputs.hours.bookings,
            back_by=job.back_by,
            not_reached=len(
                {g.start for g in set(self.gaps) - set(known) - self._needless}
            ),
            time_is_up=self._time_is_up(),
        )

    def compared(self) -> ClosureChoices:
        """Return what is known by now, beside the plan that stands."""
        standing = standing_closure(self.inputs, self.request.job)
        return replace(self.choices(), standing=standing)


def standing_closure(inputs: Inputs, job: Path) -> StandingClosure | None:
    """Return the closure of the plan beside a job file, if it was made from these inputs.

    A plan that can't be read isn't compared with.
    """
    try:
        plan = standing_plan(inputs, out_folder(job, None))
    except PlannerError:
        return None
    if plan is None:
        return None
    stage = plan.stage
    return StandingClosure(
        start=stage.closure[0],
        kept=stage.returning(ReturnKind.FULL_SERVICE).promise,
        stage_cost=plan.cost.stage,
        labour_cost=plan.cost.labour,
        hits=max((c.frac for c in stage.sureness.collisions), default=0.0),
    )


def _free_after(inputs: Inputs, start: datetime) -> Inputs:
    """Return the inputs as if nothing were booked after a gap has begun."""
    before: tuple[Busy, ...] = tuple(b for b in inputs.hours.bookings if b.end <= start)
    return replace(inputs, hours=replace(inputs.hours, bookings=before))


def _changed(job: Job, begin: datetime) -> tuple[tuple[Changes, ...], tuple[str, ...]]:
    """Return what changes of a job that is closed in a later gap, and its words.

    Work off the stage begins at most `LEAD` before; crates that come on a day come on
    the same day of the week, within the week before the gap.
    """
    start = begin.astimezone(job.zone)
    earliest = (start - LEAD).date()
    if earliest <= job.earliest:
        return (), ()
    anew: dict[str, object] = {"job.earliest": earliest}
    first = datetime.combine(earliest, time(), tzinfo=job.zone)
    if job.back_by is not None and first >= job.back_by:
        anew["without"] = ["job.back_by"]  # no such day can be wished any more
    words: tuple[str, ...] = ()
    if job.delivery is not None:
        local = job.delivery.astimezone(job.zone)
        weeks = (start.date() - local.date()).days // 7
        day = local.date() + timedelta(weeks=weeks)
        comes = datetime.combine(day, local.time())
        anew["job.delivery"] = comes
        said = moment_words(comes.replace(tzinfo=job.zone), job.zone)
        words = (f"the crates come on {said}",)
    return (changes_from(anew, "closures"),), words
