"""The use case of `repaint`: when floor and coves could be painted again, gap by gap.

The job is read as one that builds nothing; then gaps are found and planned as for a
closure. A job file may be one of the building: what is built, then, isn't planned.
"""

from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from pathlib import Path

from planner.errors import PlannerError
from planner.files.job.changes import Changes, changes_from
from planner.files.logbook.appending import log_of, read_log
from planner.living.wear import wear_of
from planner.nouns.choices.closures import ClosureOption
from planner.nouns.choices.repaints import RepaintChoices, RepaintOption
from planner.report.words.choices.closures_text import none_words
from planner.usecases.comparing.closures import Choosing, ClosuresRequest, last_day
from planner.usecases.read import Papers

LOOK = timedelta(weeks=6)  # how far ahead, unless the user says
LABEL = "repaint"
WORK = "painting again"
WISHES = ("close_from", "back_by")  # of a building; a repaint has its own
AREA, COLOUR, COATS = "repaint.area", "repaint.colour", "repaint.coats"


@dataclass(frozen=True, slots=True, kw_only=True)
class RepaintAsked:
    """What is to be painted again and when; None: as the job file has it."""

    area: str | None = None
    colour: str | None = None
    coats: int | None = None
    since: date | None = None


class Repainting:
    """A repaint's gaps, and how worn the colour is by then."""

    def __init__(
        self, request: ClosuresRequest, wanted: RepaintAsked, *, now: datetime
    ) -> None:
        """Read the job as a repaint; the last day of `request` may be left out."""
        self.papers = Papers(request.job)
        self.base = _base(self.papers, wanted, now)
        self.job = job = self.papers.job(*self.base)
        until = last_day(job, request.until or job.earliest + LOOK)
        self.choosing = Choosing(
            replace(request, until=until), self.papers, base=self.base
        )
        self.book = read_log(log_of(request.job))

    def choices(self) -> RepaintChoices:
        """Return what is known by now.

        Raises
        ------
        RuntimeError
            When the job isn't a repaint after all.
        """
        job = self.job
        found = replace(self.choosing.choices(), work=WORK, in_turn=True)
        if job.repaint is None:
            raise RuntimeError("the job has nothing to paint again")
        begin = min((e.at for e in self.book.in_time), default=None)
        since = begin.astimezone(job.zone).date() if begin else job.earliest
        bookings = self.papers.inputs(*self.base, since=since).hours.bookings
        wear = wear_of(self.book, bookings, job.repaint, job.zone)

        def option(closure: ClosureOption) -> RepaintOption:
            assert closure.figures is not None
            day = closure.figures.closure[0].astimezone(job.zone).date()
            return RepaintOption(closure=closure, worn_days=wear.by(day))

        return RepaintChoices(
            closures=found,
            repaint=job.repaint,
            product=self.choosing.inputs.products[job.methods.colour].title,
            wear=wear,
            options=tuple(option(o) for o in found.options if o.figures is not None),
        )

    def job_in(self, number: int, found: RepaintChoices) -> bytes:
        """Return the job file of a repaint that begins in one of the gaps found.

        Raises
        ------
        PlannerError
            When there is no such gap.
        """
        if not 1 <= number <= len(found.options):
            held = len(found.options)
            raise PlannerError(
                f"there is no option {number}",
                where="--choose",
                hint=f"there are {held}" if held else none_words(found.closures),
            )
        option = found.options[number - 1].closure
        day = option.gap.start.astimezone(self.job.zone).date()
        anew: dict[str, object] = {"job.earliest": max(day, self.job.earliest)}
        return self.papers.with_changes(*self.base, changes_from(anew, LABEL))


def check_keep(
    job: Path, choose: int | None, keep: Path | None, holds: Path | None = None
) -> None:
    """Refuse to keep what wasn't chosen, or a job file elsewhere than beside the job's.

    Raises
    ------
    PlannerError
        Says what is missing.
    """
    if (choose is None and keep is not None) or (
        choose is not None and keep is None and holds is None
    ):
        raise PlannerError(
            "--choose and --keep go together: which gap, and into which file",
            where="--keep" if choose is None else "--choose",
            hint="with --holds, --choose says which option alone stays in the calendar",
        )
    if keep is not None and keep.resolve().parent != job.resolve().parent:
        raise PlannerError(
            "must stand beside the job file, whose calendars it names",
            where=str(keep),
            hint=f"such as {job.parent / keep.name}",
        )


def _base(papers: Papers, wanted: RepaintAsked, now: datetime) -> tuple[Changes, ...]:
    """Return what makes a job a repaint in the weeks to come."""
    builds = "repaint" not in papers.values
    given: dict[str, object | None] = {
        AREA: wanted.area,
        COLOUR: wanted.colour,
        COATS: wanted.coats,
    }
    if builds and wanted.area is None:
        given[AREA] = "floor and coves"
    anew = {key: value for key, value in given.items() if value is not None}
    asked = papers.values.get("job")
    of_building = [f"job.{w}" for w in WISHES if isinstance(asked, dict) and w in asked]
    if builds and of_building:
        anew["without"] = of_building
    job = papers.job(*((changes_from(anew, LABEL),) if anew else ()))
    here = now.astimezone(job.zone).date()
    since = wanted.since or max(job.earliest, here)
    if since != job.earliest:
        anew["job.earliest"] = since
    return (changes_from(anew, LABEL),) if anew else ()
