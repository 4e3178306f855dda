"""The use case of `today`: what the plan that stands and the log ask of this moment.

Neither calendars nor the solver are needed: the plan holds all, and the log says what
it doesn't know yet.
"""

from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path

from planner.errors import PlannerError
from planner.files.folder import outdir, planfile
from planner.files.logbook.appending import log_of, read_log
from planner.files.logbook.moments import moment_said
from planner.languages.catalogues import language_of
from planner.languages.language import ENGLISH
from planner.living.doubts import doubts_of
from planner.living.known import Known
from planner.living.laid_over import effective
from planner.living.shown import numbered
from planner.nouns.happened import OF_TASKS, Logbook, What
from planner.nouns.ids import bare
from planner.nouns.plan import Plan
from planner.report.living.today_text import today_text
from planner.units import moment_words
from planner.usecases.living.log import known_job
from planner.usecases.standing import revision_in

ASKED_FOR = timedelta(days=2)  # of tasks that ended longer ago nobody is asked


def today(job: Path, folder: Path, *, at: str, who: str, now: datetime) -> str:
    """Return what to do at a moment, in words for a phone.

    Raises
    ------
    PlannerError
        When no plan stands in the folder, or time or name can't be understood.
    """
    known = known_job(job)
    stored = outdir.read(folder, "plan.json")
    if stored is None:
        raise PlannerError(
            "there is no plan",
            where=str(folder),
            hint=f"plan first: covetime plan {job}",
        )
    plan = planfile.read_plan(stored, file=str(folder / "plan.json"))
    try:
        moment = moment_said(at, now=now, zone=known.zone, ahead=True)
    except ValueError as error:
        raise PlannerError(str(error), where="--at") from None
    person = known.meant(What.AWAY, who) if who else ""
    if person is None:
        raise PlannerError(
            f'nobody of the crew is called "{who}"',
            where="--who",
            hint=f"there: {', '.join(known.people.values())}",
        )
    book = read_log(log_of(job))
    decide = tuple(_decide(plan, book, known, folder, moment))
    tags = {p.id: p.language for p in plan.crew}
    language = language_of(tags.get(person, ENGLISH.tag))
    return today_text(plan, moment, who=person, decide=decide, language=language)


def _decide(
    plan: Plan, book: Logbook, known: Known, folder: Path, moment: datetime
) -> Iterator[str]:
    """Yield what has to be decided before the plan can be trusted."""
    last = revision_in(folder, plan)
    knows = set(last.events) if last else set()
    new = [e for e in effective(book) if e.id not in knows]
    if new:
        yield f"logged since the plan was made, {len(new)} in all: revise it"
    for broken in book.broken:
        yield f"line {broken.number} of the log can't be used: {broken.why}"
    doubted = doubts_of(book, known)
    for event in book.counting:
        for doubt in doubted.get(event.id, ()) if event in new else ():
            yield f"{event.what} {bare(event.about)}, but {doubt}"
    yield from _without_work(plan, book, known, moment)
    logged = {e.about for e in book.counting if e.what in OF_TASKS}
    silent = [t for t in plan.tasks if t.id not in logged and t.happened != "done"]
    ended = [t for t in silent if moment - ASKED_FOR < t.end <= moment]
    begun = [t for t in silent if t.start <= moment < t.end]
    for word, tasks in (("done", ended), ("begun", begun)):
        if tasks:
            yield f"not logged as {word}: {', '.join(bare(t.id) for t in tasks)}"


def _without_work(
    plan: Plan, book: Logbook, known: Known, moment: datetime
) -> Iterator[str]:
    """Yield joints that show and pieces that are damaged, of which the plan knows nothing."""
    planned = {bare(t.id) for t in plan.tasks}
    filled = {
        e.id for n, e in numbered(book) if f"spot-fill-{n}.{bare(e.about)}" in planned
    }
    for event in book.in_time:
        open_ = event.what in (What.SHOWS, What.DAMAGED) and event.at <= moment
        if not open_ or event.until or event.id in filled:
            continue
        what = "a joint shows" if event.what is What.SHOWS else "a piece is damaged"
        said = f" ({event.words})" if event.words else ""
        when = moment_words(event.at, known.zone)
        yield (
            f"{what} in {bare(event.about)}, logged {when}{said}: the plan holds no "
            "work for it"
        )
