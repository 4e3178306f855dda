"""What leaves the program: a plan's folder, and single files that the user named."""

import re
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from urllib.parse import quote
from zoneinfo import ZoneInfo

from planner.errors import OutputError, PlannerError, ProgramFaultError
from planner.feed import Feed
from planner.files import ics_out, outdir, planfile, published
from planner.files.published import PublishedState
from planner.files.quantities_file import quantities_csv
from planner.judge import calendars_judged
from planner.plan import Plan
from planner.report.board import board_svg
from planner.report.calendars import feeds
from planner.report.day_text import day_sheets_text
from planner.report.dependencies import dependencies_page, dependencies_text
from planner.report.opening_drawing import opening_svg
from planner.report.opening_sheet import Prepared, opening_text
from planner.report.page import plan_page
from planner.report.quantities_rows import buying_of
from planner.report.quantities_text import quantities_text


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


USUAL = CalendarChoices()


def outputs(
    plan: Plan,
    *,
    state: PublishedState,
    now: datetime,
    how: CalendarChoices = USUAL,
    prepared: Prepared | None = None,
) -> dict[str, bytes]:
    """Return every file that a plan gives, by its path in the plan's folder.

    `now` stands only in calendar entries that changed since `state`; everything
    else depends on the plan, and the calendars on the choices, alone. `prepared`
    adds the opening of the wall, which hangs on no date.
    """
    files = {
        "plan.json": planfile.plan_bytes(plan),
        "dependencies.txt": dependencies_text(plan).encode(),
        "dependencies.html": dependencies_page(plan).encode(),
        "day-sheets.txt": day_sheets_text(plan).encode(),
        "quantities.txt": quantities_text(buying_of(plan)).encode(),
        "quantities.csv": quantities_csv(plan.supplies, plan.tools),
        "board.svg": board_svg(plan),
        "plan.html": plan_page(plan, prepared),
    }
    if prepared is not None:
        files["opening.txt"] = opening_text(prepared).encode()
        files["opening.svg"] = opening_svg(prepared.opening, name=prepared.job)
    present = feeds(plan)
    gone = {
        f"{seed}.ics": _emptied(seed) for seed in state.feeds()
    }  # who left the crew
    zone = ZoneInfo(plan.zone) if how.local_times else None
    for path, feed in {**gone, **present}.items():
        address = f"{how.served_at.rstrip('/')}/{quote(path)}" if how.served_at else ""
        files[path], state = ics_out.write(
            replace(feed, source_url=address),
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
    files[published.FILE] = published.to_bytes(state)
    return files


def _emptied(seed: str) -> Feed:
    """Return a calendar without entries, so that what it once showed is cancelled."""
    return Feed(seed=seed, name=f"{seed}: no longer used", color="gray", entries=())


def check_folder(folder: Path) -> None:
    """Refuse a folder that a plan couldn't be written to, before the search begins.

    Raises
    ------
    OutputError
        When the folder can't be written or holds files that aren't ours.
    """
    names = ("plan.json", "closure.ics", "crew.ics", "waits.ics", published.FILE)
    outdir.check(folder, names)


def write(
    plan: Plan,
    folder: Path,
    *,
    now: datetime,
    how: CalendarChoices = USUAL,
    prepared: Prepared | None = None,
) -> tuple[str, ...]:
    """Write everything a plan gives into `folder`; return the names written.

    An earlier, different plan is kept in the folder's `earlier/`.

    Raises
    ------
    OutputError
        When the folder can't be written; nothing in it has changed then.
    """
    stored = outdir.read(folder, published.FILE)
    state = published.from_bytes(stored) if stored else PublishedState()
    files = outputs(plan, state=state, now=now, how=how, prepared=prepared)
    outdir.write(folder, files)
    return tuple(sorted(files))


def check_new(*paths: Path | None) -> None:
    """Refuse files that the user named and that are there already, before any work.

    Raises
    ------
    OutputError
        For the first of them.
    """
    for path in paths:
        if path is not None and path.is_dir():
            raise OutputError("can't be written: it is a folder", where=str(path))
        if path is not None and path.exists():
            raise OutputError("is there already", where=str(path))
        if path is not None and not path.parent.is_dir():
            raise OutputError(
                "can't be written: its folder is not there", where=str(path)
            )


def write_new(path: Path, data: bytes) -> None:
    """Write a file that the user named; a file that is there is not overwritten.

    Raises
    ------
    OutputError
        When the file is there already or can't be written.
    """
    try:
        with path.open("xb") as file:
            file.write(data)
    except FileExistsError:
        raise OutputError("is there already", where=str(path)) from None
    except OSError as error:
        raise OutputError(
            f"can't be written: {error.strerror}", where=str(path)
        ) from None
