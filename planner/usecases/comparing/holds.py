"""Closures to choose from as a calendar: options that go are cancelled in it."""

from collections.abc import Callable
from datetime import datetime
from pathlib import Path

from planner.errors import PlannerError, TimeUpError
from planner.files.folder import outdir
from planner.files.ics_out import calendar, published
from planner.files.ics_out.published import PublishedState
from planner.nouns.choices.closures import ClosureChoices
from planner.nouns.job import Job
from planner.report.calendars.holds_feed import SEED, holds_feed

CALENDAR = f"{SEED}.ics"
NAMES = (CALENDAR, published.FILE)


def check_holds(folder: Path, tell: Callable[[str], None]) -> None:
    """Refuse a folder that can't be written to, before anything is planned.

    Raises
    ------
    OutputError
        When it holds files that aren't ours, or can't be written.
    """
    with outdir.alone(folder, tell=tell) as held:
        outdir.check(held, NAMES)


def check_whole(found: ClosureChoices, folder: Path) -> None:
    """Refuse to hold what was found by halves: what wasn't reached would be cancelled.

    Raises
    ------
    TimeUpError
        When the run was stopped before every gap was planned.
    """
    if not found.whole:
        raise TimeUpError(
            "left as it was, as not every gap was planned",
            where=str(folder / CALENDAR),
            hint="options that weren't reached would be cancelled in it; run it again",
        )


def write_holds(
    found: ClosureChoices,
    folder: Path,
    *,
    job: Job,
    now: datetime,
    choose: int | None,
    tell: Callable[[str], None],
) -> None:
    """Write the closures found as tentative entries into a folder.

    An option that was there before and is no longer is shown as cancelled for two
    weeks, so that it goes from the calendars of those who took it over.

    Parameters
    ----------
    found
        What to choose from.
    folder
        Of its own: the calendar, and what it said before.
    job
        Its calendar is known by what names the job for ever.
    now
        The moment of publication, in UTC.
    choose
        The number of the only option that is to stay; None: all.
    tell
        Gets a line if another run has to be waited for.

    Raises
    ------
    PlannerError
        When no option has that number.
    OutputError
        When the folder can't be written.
    """
    options = found.ranked()
    if choose is not None:
        if choose > len(options):
            raise PlannerError(
                f"there are {len(options)} closures, none of them number {choose}",
                where="--choose",
            )
        options = options[choose - 1 : choose]
    with outdir.alone(folder, tell=tell) as held:
        stored = outdir.read(folder, published.FILE)
        state = (
            PublishedState()
            if stored is None
            else published.from_bytes(stored, file=str(folder / published.FILE))
        )
        data, state = calendar.write(
            holds_feed(found, options, stage=job.stage.name),
            plan_id=job.plan_id,
            state=state,
            now=now,
        )
        outdir.write(held, {CALENDAR: data, published.FILE: published.to_bytes(state)})
