"""Everything that is written: a plan's folder, and single files that the user named."""

import re
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import UTC, datetime, time, timedelta
from pathlib import Path
from urllib.parse import quote
from zoneinfo import ZoneInfo

from planner.errors import (
    PlannerError,
    ProgramFaultError,
)
from planner.files.folder import outdir, planfile, revision
from planner.files.folder.outdir import HeldFolder
from planner.files.folder.revision import Revision
from planner.files.ics_out import calendar, published
from planner.files.ics_out.published import PublishedState
from planner.files.ics_out.zone import zone_definition
from planner.files.tables.quantities import quantities_csv
from planner.judge import calendars_judged
from planner.languages.catalogues import is_english, language_of
from planner.nouns.feed import Feed
from planner.nouns.job import Job
from planner.nouns.living.earlier import EarlierPlaces
from planner.nouns.plan import Plan
from planner.planning.horizons import HORIZON_WEEKS
from planner.report.board.board import board_svg
from planner.report.calendars.plan_feeds import feeds
from planner.report.days.text import day_sheets_text
from planner.report.living.note_paths import PEOPLE, note_paths
from planner.report.living.notes import News, note_files, notes
from planner.report.opening.drawing import opening_svg
from planner.report.opening.sheet import Prepared, opening_text
from planner.report.page import frame
from planner.report.page.crew import crew_page, crew_page_in, languages_of
from planner.report.page.owner import plan_page
from planner.report.page.reference import reference_page
from planner.report.words.dependencies import dependencies_text
from planner.report.words.quantities_rows import buying_of
from planner.report.words.quantities_text import quantities_text
from planner.usecases.marking import marked, standing_in
from planner.usecases.opening import opening_if_built


@dataclass(frozen=True, slots=True, kw_only=True)
class CalendarChoices:
    """What may be chosen of the calendars that a plan gives.

    With `links` each entry names what follows it; with `local_times` times are in the
    site's zone rather than in UTC; `served_at` is the address that the plan's folder
    is served at, for the calendars to say.
    """

    links: bool = False
    local_times: bool = False
    served_at: str = ""

    def __post_init__(self) -> None:
        if self.served_at and not re.fullmatch(r"https?://[!-~]+", self.served_at):
            raise PlannerError("is not a web address", where="--served-at")
        if "@" in self.served_at:
            raise PlannerError(
                "holds a name or a password, which every calendar would tell",
                where="--served-at",
                hint="leave out what stands before the @, and the @",
            )

    def address(self, path: str) -> str:
        """Return where a file of the plan's folder is served; empty if it isn't."""
        return f"{self.served_at.rstrip('/')}/{quote(path)}" if self.served_at else ""


USUAL = CalendarChoices()
_LONGEST = timedelta(weeks=HORIZON_WEEKS[-1] + 1)  # from a job's earliest to any entry


def outputs(
    plan: Plan,
    *,
    state: PublishedState,
    now: datetime,
    how: CalendarChoices = USUAL,
    prepared: Prepared | None = None,
    news: News | None = None,
    earlier: EarlierPlaces | None = None,
    before: Plan | None = None,
) -> dict[str, bytes]:
    """Return every file that a plan gives, by its path in the plan's folder.

    `now` stands only in calendar entries that changed since `state`, and its day in the
    mark of a plan that isn't `before`, the one that stands in the folder; everything
    else depends on the plan, and the calendars on the choices, alone. `prepared`
    adds the opening of the wall, which hangs on no date; `news` the change notes of a
    plan that takes the place of another one; `earlier` is where a revised plan's tasks
    were planned before.
    """
    plan = marked(plan, before, now)
    files = {
        "plan.json": planfile.plan_bytes(plan),
        "dependencies.txt": dependencies_text(plan).encode(),
        "day-sheets.txt": day_sheets_text(plan).encode(),
        "quantities.txt": quantities_text(buying_of(plan)).encode(),
        "quantities.csv": quantities_csv(plan.supplies, plan.tools),
        "board.svg": board_svg(plan, earlier),
        frame.PLAN: plan_page(plan),
        frame.CREW: crew_page(plan, prepared, earlier),
        frame.REFERENCE: reference_page(plan),
    }
    for language in languages_of(plan):
        sheets = day_sheets_text(plan, language)
        files[f"day-sheets.{language.tag}.txt"] = sheets.encode()
        files[frame.told_in(language).file] = crew_page_in(plan, language)
    if prepared is not None:
        files["opening.txt"] = opening_text(prepared).encode()
        files["opening.svg"] = opening_svg(prepared.opening, name=prepared.job)
    if news is not None:
        files |= note_files(notes(news))
    written, state = calendars(plan, state=state, now=now, how=how)
    files |= written
    files[published.FILE] = published.to_bytes(state)
    return files


def calendars(
    plan: Plan,
    *,
    state: PublishedState,
    now: datetime,
    how: CalendarChoices = USUAL,
) -> tuple[dict[str, bytes], PublishedState]:
    """Return every calendar of a plan by its path, and what is published with them.

    Raises
    ------
    ProgramFaultError
        When the calendars, read back, don't say what the plan says.
    """
    files = {}
    present = feeds(plan)
    gone = {
        f"{seed}.ics": _emptied(seed) for seed in state.feeds()
    }  # who left the crew
    zone = ZoneInfo(plan.zone) if how.local_times else None
    for path, feed in {**gone, **present}.items():
        files[path], state = calendar.write(
            replace(feed, source_url=how.address(path)),
            plan_id=plan.plan_id,
            state=state,
            now=now,
            links=how.links,
            zone=zone,
        )
    faults = calendars_judged(plan, files)
    if faults:
        raise ProgramFaultError(
            "the calendars don't say what the plan says", found=faults
        )
    return files, state


def _emptied(seed: str) -> Feed:
    """Return a calendar without entries, so that what it once showed is cancelled."""
    return Feed(seed=seed, name=f"{seed}: no longer used", color="gray", entries=())


def paths_of(
    stage: str,
    people: Iterable[str],
    state: PublishedState,
    languages: Iterable[str] = (),
) -> tuple[str, ...]:
    """Return the paths that `outputs` will have, known before there is a plan.

    Parameters
    ----------
    stage
        The id of the stage.
    people
        The ids of the crew.
    state
        What was published before: who left the crew since has a calendar still.
    languages
        The tags of the crew's languages.
    """
    crew = tuple(people)
    calendars = (
        *("closure", f"closure/{stage}", "crew", "waits"),
        *(f"{PEOPLE}/{id_}" for id_ in crew),
    )
    other = (language_of(t) for t in dict.fromkeys(languages) if not is_english(t))
    told = [(f"day-sheets.{x.tag}.txt", frame.told_in(x).file) for x in other]
    left = (f.removeprefix(f"{PEOPLE}/") for f in state.feeds() if f.startswith(PEOPLE))
    return (
        *("plan.json", *(p.file for p in frame.PAGES), "board.svg", "day-sheets.txt"),
        *("dependencies.txt", "quantities.txt", "quantities.csv"),
        *("opening.txt", "opening.svg", published.FILE, revision.FILE),
        *(path for pair in told for path in pair),
        *note_paths(tuple(dict.fromkeys((*crew, *left)))),
        *(f"{seed}.ics" for seed in dict.fromkeys((*calendars, *state.feeds()))),
    )


@contextmanager
def place_for(
    job: Job,
    folder: Path,
    how: CalendarChoices = USUAL,
    *,
    tell: Callable[[str], None],
) -> Iterator[HeldFolder]:
    """Keep the folder for a job's plan while it is sought and written.

    Everything that could refuse the plan's files is asked first, so that no search
    is made for nothing. `tell` gets a line if another run has to be waited for.

    Raises
    ------
    OutputError
        When the folder can't be written, holds files that aren't ours, or doesn't
        take one of the names; when calendars can't have the site's times.
    """
    if how.local_times:
        first = datetime.combine(job.earliest, time(), tzinfo=UTC)
        zone_definition(job.zone, (first, first + _LONGEST))
    with outdir.alone(folder, tell=tell) as held:
        people = (p.id for p in job.crew)
        languages = (p.language for p in job.crew)
        before = _published(folder)
        outdir.check(held, paths_of(job.stage.id, people, before, languages))
        yield held


def _published(folder: Path) -> PublishedState:
    """Return what was published from a folder before."""
    stored = outdir.read(folder, published.FILE)
    if stored is None:
        return PublishedState()
    return published.from_bytes(stored, file=str(folder / published.FILE))


def write(
    plan: Plan,
    held: HeldFolder,
    *,
    now: datetime,
    how: CalendarChoices = USUAL,
    prepared: Prepared | None = None,
    revised: Revision | None = None,
    news: News | None = None,
) -> tuple[str, ...]:
    """Write everything a plan gives into a folder; return the names written.

    `revised` is what it was revised by, where it was; `news` is what its change notes
    tell.

    An earlier, different plan is kept in the folder's `earlier/`.

    Raises
    ------
    OutputError
        When the folder can't be written; nothing in it has changed then.
    """
    state = _published(held.folder)
    files = outputs(
        plan,
        state=state,
        now=now,
        how=how,
        prepared=prepared,
        news=news,
        earlier=revised.places if revised else None,
        before=standing_in(held.folder),
    )
    if revised is not None:
        files[revision.FILE] = revision.to_bytes(revised)
    outdir.write(held, files)
    return tuple(sorted(files))


def stand(
    held: HeldFolder, job: Job, news: News, revised: Revision | None, *, now: datetime
) -> tuple[str, ...]:
    """Put the later plan of some news into its folder, as `write`, with the notes."""
    return write(
        news.after,
        held,
        now=now,
        prepared=opening_if_built(job),
        revised=revised,
        news=news,
    )
