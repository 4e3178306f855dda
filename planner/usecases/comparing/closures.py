"""The use case of `closures`: when the stage could be closed, gap by gap."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from datetime import date, datetime, time, timedelta
from pathlib import Path

from planner.errors import PlannerError
from planner.files.job.changes import Changes, changes_from
from planner.hours.open import entry_words
from planner.nouns.calendar import Busy
from planner.nouns.case import ClosureWindow
from planner.nouns.choices.closures import ClosureChoices, ClosureOption, Gap
from planner.nouns.inputs import Inputs
from planner.nouns.job import Job
from planner.planning.horizons import HORIZON_WEEKS
from planner.planning.least_return import least_return
from planner.units import moment_words
from planner.usecases.comparing.compare import CompareRequest
from planner.usecases.comparing.side_by_side import Attempt, Together
from planner.usecases.read import Papers

LEAD = timedelta(weeks=3)  # how long before a closure work off the stage may begin
LOOK_DAYS = 182  # how far ahead, unless the user says
MOST_DAYS = 7 * HORIZON_WEEKS[-1]  # calendars are read so far


def last_day(job: Job, until: date | None) -> date:
    """Return the last day on which a closure may begin.

    Raises
    ------
    PlannerError
        When it lies before the job's earliest day, or further than calendars are read.
    """
    asked = until or job.earliest + timedelta(days=LOOK_DAYS)
    if not job.earliest <= asked <= job.earliest + timedelta(days=MOST_DAYS):
        raise PlannerError(
            f"{asked} is not within a year of the job's earliest day, {job.earliest}",
            where="--until",
        )
    return asked


def gaps_of(
    bookings: Sequence[Busy], start: datetime, until: datetime
) -> tuple[Gap, ...]:
    """Return the stretches from `start` on without a booking that begin by `until`."""
    gaps: list[Gap] = []
    free_from, before = start, ""
    for busy in sorted(bookings, key=lambda b: (b.start, b.end)):
        if busy.end <= free_from:
            continue
        if free_from > until:
            break
        if busy.start > free_from:
            words = entry_words(busy)
            gaps.append(
                Gap(start=free_from, end=busy.start, before=before, after=words)
            )
        free_from, before = busy.end, entry_words(busy)
    if free_from <= until:
        gaps.append(Gap(start=free_from, end=None, before=before))
    return tuple(gaps)


def with_moves(
    bookings: Sequence[Busy], start: datetime, until: datetime
) -> tuple[Gap, ...]:
    """Return the gaps, and those that there would be if tentative bookings moved."""
    firm = [b for b in bookings if b.kind != "tentative"]
    gaps = gaps_of(bookings, start, until)
    wider = []
    for gap in gaps_of(firm, start, until):
        moving = tuple(
            b
            for b in bookings
            if b not in firm
            and b.end > gap.start
            and (gap.end is None or b.start < gap.end)
        )
        if moving:
            wider.append(replace(gap, moving=moving))
    return tuple(sorted((*gaps, *wider), key=lambda g: (g.start, len(g.moving))))


class Choosing:
    """Closures that become known gap by gap."""

    def __init__(
        self, wanted: CompareRequest, papers: Papers, until: date | None
    ) -> None:
        self.wanted, self.papers = wanted, papers
        self.inputs = papers.inputs()
        job = self.inputs.job
        begin, self.until = (
            datetime.combine(day, time(), tzinfo=job.zone)
            for day in (job.earliest, last_day(job, until) + timedelta(days=1))
        )
        self.gaps = with_moves(self.inputs.hours.bookings, begin, self.until)
        self.options: dict[Gap, ClosureOption] = {}

    def attempts(self) -> Iterator[tuple[Gap, Attempt | None]]:
        """Yield each gap with what is to be planned in it; None where it is too short."""
        for gap in self.gaps:
            changes, moved = _moved(self.inputs.job, gap)
            inputs = self.papers.inputs(*changes)
            least = least_return(_free_after(inputs, gap), gap.start)
            if gap.end is not None and (least is None or least > gap.end):
                self.options[gap] = ClosureOption(
                    gap=gap,
                    needs_until=least,
                    why="" if least else "the crew isn't open long enough after it",
                    moved=moved,
                )
                yield gap, None
                continue
            yield gap, self._attempt(gap, inputs, moved)

    def plan(self, together: Together, tell: Callable[[ClosureOption], None]) -> None:
        """Rule out the gaps that are too short, then plan in the others."""
        asked: list[tuple[Gap, Attempt]] = []
        for gap, attempt in self.attempts():
            if attempt is None:
                tell(self.options[gap])
            else:
                asked.append((gap, attempt))
        for number, one in together.all([attempt for _, attempt in asked]):
            gap, attempt = asked[number]
            self.options[gap] = ClosureOption(
                gap=gap, figures=one.figures, why=one.why, moved=attempt.changes
            )
            tell(self.options[gap])

    def _attempt(self, gap: Gap, inputs: Inputs, moved: tuple[str, ...]) -> Attempt:
        wanted = self.wanted
        return Attempt(
            title=moment_words(gap.start, inputs.job.zone),
            changes=moved,
            inputs=inputs,
            window=ClosureWindow(not_before=gap.start, not_after=gap.end),
            explain=False,
            futures=wanted.futures,
            seed=wanted.seed,
            seconds=wanted.seconds,
            since_s=wanted.since_s,
            work_limit=wanted.work_limit,
        )

    def choices(self) -> ClosureChoices:
        """Return what is known by now."""
        job = self.inputs.job
        return ClosureChoices(
            job=job.name,
            zone=job.zone.key,
            currency=job.rates.currency,
            until=self.until,
            sure_percent=job.sure_percent,
            options=tuple(self.options[g] for g in self.gaps if g in self.options),
            not_reached=sum(g not in self.options for g in self.gaps),
        )


def _free_after(inputs: Inputs, gap: Gap) -> Inputs:
    """Return the inputs as if nothing were booked after a gap has begun."""
    before = tuple(b for b in inputs.hours.bookings if b.end <= gap.start)
    return replace(inputs, hours=replace(inputs.hours, bookings=before))


def _moved(job: Job, gap: Gap) -> tuple[tuple[Changes, ...], tuple[str, ...]]:
    """Return what changes of a job that is closed in a later gap, and its words.

    Work off the stage begins at most `LEAD` before; crates that come on a day come on
    the same day of the week, within the week before the gap.
    """
    start = gap.start.astimezone(job.zone)
    earliest = (start - LEAD).date()
    anew: dict[str, object] = {}
    moved = tuple(f"{entry_words(b)} moves" for b in gap.moving)
    if gap.moving:
        anew["more.calendars.leave_out"] = [_entry(job, b) for b in gap.moving]
    if earliest > job.earliest:
        anew["job.earliest"] = earliest
    if earliest > job.earliest and job.delivery is not None:
        local = job.delivery.astimezone(job.zone)
        weeks = (start.date() - local.date()).days // 7
        day = local.date() + timedelta(weeks=weeks)
        comes = datetime.combine(day, local.time())
        anew["job.delivery"] = comes
        words = moment_words(comes.replace(tzinfo=job.zone), job.zone)
        moved += (f"the crates come on {words}",)
    return ((changes_from(anew, "closures"),) if anew else ()), moved


def _entry(job: Job, busy: Busy) -> dict[str, str]:
    """Return an entry of the stage's calendars as the job file leaves one out."""
    file = next(f for f in job.bookings if Path(f).name == busy.file)
    return {"file": file, "uid": busy.uid}
