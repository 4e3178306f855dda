"""The deeds behind the commands, one function each; reading first, writing last."""

import difflib
import hashlib
import re
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, time, timedelta
from importlib.metadata import version
from pathlib import Path
from urllib.parse import quote
from zoneinfo import ZoneInfo

from planner.air.advice import hold
from planner.air.wet_work import Laid
from planner.errors import (
    FaultsError,
    OutputError,
    PlannerError,
    ReadingsError,
)
from planner.feed import Feed
from planner.files import ics_out, outdir, planfile, published, readings
from planner.files.addresses import Web
from planner.files.job_checks import slug
from planner.files.jobfile import read_job
from planner.files.published import PublishedState
from planner.files.quantities_file import quantities_csv
from planner.files.taken import taken
from planner.hours.grid import Grid
from planner.hours.spans import Spans
from planner.plan import Plan
from planner.plans import make
from planner.plans.inputs import Inputs
from planner.plans.inside import coats_of, inside, outside_of
from planner.plans.make import HORIZON_WEEKS, Search
from planner.plans.problem import Hours, Problem
from planner.plans.supplies import unplanned
from planner.records import AirReading
from planner.report.air_report import AirAnswer
from planner.report.board import board_svg
from planner.report.calendars import feeds
from planner.report.day_text import day_sheets_text
from planner.report.dependencies import dependencies_page, dependencies_text
from planner.report.opening_drawing import opening_svg
from planner.report.opening_sheet import Prepared, opening_text
from planner.report.page import plan_page
from planner.report.quantities_rows import Buying, buying_of
from planner.report.quantities_text import quantities_text
from planner.schedule.limits import Limits
from planner.schedule.outcome import Placement, Progress
from planner.trade import materials

PROGRAM = f"covetime {version('covetime')}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Choices:
    """What the command line may choose for a run of the planner."""

    work_limit: float | None = None
    seconds: float | None = None
    on_progress: Callable[[Progress, Grid], None] | None = None
    stop: Callable[[], bool] | None = None

    def search(self) -> Search:
        """Return the choices as a search."""
        usual = Limits()
        return Search(
            limits=Limits(
                work=usual.work if self.work_limit is None else self.work_limit,
                clock_s=self.seconds,
            ),
            on_progress=self.on_progress,
            stop=self.stop,
        )


# ------------------------------------------------------------------- reading


def read(
    path: Path,
    *,
    since: date | None = None,
    reach_days: int = 0,
    net: Web | None = None,
) -> Inputs:
    """Return everything that planning needs: job, calendars, readings, products.

    Parameters
    ----------
    path
        The job file.
    since, reach_days
        Calendars are read from so many days before this day or the job's earliest,
        whichever comes first.
    net
        How to fetch calendars that lie behind addresses; None: as usual.

    Raises
    ------
    PlannerError
        With every fault of the job file, or of all calendars together.
    """
    job = read_job(path)
    day = min(job.earliest, since or job.earliest) - timedelta(days=reach_days)
    first = datetime.combine(day, time(), tzinfo=job.zone).astimezone(UTC)
    days = 7 * HORIZON_WEEKS[-1] + (job.earliest - day).days
    window = (first, first + timedelta(days=days + 2))
    found = taken(job, window=window, net=net)
    faults = list(found.faults)
    raw = hashlib.sha256(PROGRAM.encode())
    for data in (path.read_bytes(), *found.data):
        raw.update(data)

    def air(name: str | None) -> tuple[AirReading, ...]:
        if name is None:
            return ()
        raw.update(Path(name).read_bytes())
        try:
            return readings.read_air(Path(name), zone=job.zone)
        except ReadingsError as error:
            faults.extend(error.faults)
            return ()

    inside, outside = air(job.air_file), air(job.outside_file)
    if faults:
        raise FaultsError(tuple(faults), file=str(path))
    return Inputs(
        job=job,
        run_ids=tuple(slug(r.name) for r in job.stage.runs),
        hours=Hours(
            people=found.people,
            bookings=found.bookings,
            quiet=found.quiet,
            holidays=found.holidays,
        ),
        products=materials.merged(job.products),
        readings=inside,
        outside=outside,
        remarks=found.remarks,
        fingerprint=raw.hexdigest(),
    )


# --------------------------------------------------------------------- deeds


def understood(path: Path, *, weeks: int = 6) -> tuple[Inputs, Problem]:
    """Return what was read and the problem it poses, without solving it."""
    inputs = read(path)
    return inputs, make.problem_of(inputs, weeks=weeks)


def plan(path: Path, choices: Choices) -> Plan:
    """Return the best plan of a job, checked."""
    return make.make(read(path), choices.search(), program=PROGRAM)


def out_folder(job: Path, out: Path | None) -> Path:
    """Return the folder that a job's plan is written to."""
    return out if out is not None else job.resolve().parent / "plan"


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


def plan_for_why(path: Path, folder: Path, choices: Choices) -> Plan:
    """Return the plan that stands in `folder` if the inputs are still the same.

    Otherwise the job is planned anew; nothing is written.
    """
    inputs = read(path)
    stored = outdir.read(folder, "plan.json")
    if stored is not None:
        found = planfile.read_plan(stored, file=str(folder / "plan.json"))
        if found.fingerprint == inputs.fingerprint:
            return found
    return make.make(inputs, choices.search(), program=PROGRAM)


def check_task(plan: Plan, task: str) -> str:
    """Return the id of the task meant.

    Raises
    ------
    PlannerError
        When the plan has no such task; names the nearest.
    """
    ids = [t.id for t in plan.tasks]
    if task in ids:
        return task
    near = difflib.get_close_matches(task, ids, n=3)
    hint = f"did you mean {' or '.join(near)}?" if near else f"tasks: {', '.join(ids)}"
    raise PlannerError(f'there is no task "{task}"', hint=hint)


# ---------------------------------------------------------------- quantities


def buying(path: Path, folder: Path) -> Buying:
    """Return what is bought for a job, by the days of the plan that was written.

    A plan counts if it stands in `folder` and was made from the same inputs;
    without one nothing has a day.
    """
    inputs = read(path)
    stored = outdir.read(folder, "plan.json")
    if stored is not None:
        made = planfile.read_plan(stored, file=str(folder / "plan.json"))
        if made.fingerprint == inputs.fingerprint:
            return buying_of(made)
    tasks = make.problem_of(inputs, weeks=HORIZON_WEEKS[0]).work.tasks
    bought, tools = unplanned(
        inputs.job, make.takeoff_of(inputs), inputs.products, tasks
    )
    return Buying(
        job=inputs.job.name,
        zone=inputs.job.zone.key,
        plan="",
        supplies=bought,
        tools=tools,
        titles={t.id: t.title for t in tasks},
    )


# ------------------------------------------------------------------- the air


def room_air(
    path: Path, folder: Path, *, weeks: int, hold_pct: float | None
) -> AirAnswer:
    """Return the room's air over some weeks, with the wet work of the plan written.

    A plan counts if it stands in `folder` and was made from the same inputs.
    """
    inputs = read(path)
    problem = make.problem_of(inputs, weeks=weeks)
    stored = outdir.read(folder, "plan.json")
    coats: tuple[Laid, ...] = ()
    if stored is not None:
        made = planfile.read_plan(stored, file=str(folder / "plan.json"))
        if made.fingerprint == inputs.fingerprint:
            coats = coats_of(problem.work, inputs.products, placements(made, problem))
    room = inside(inputs, problem.grid, coats)
    used = {t.product for t in problem.work.tasks if t.product is not None}
    advice = None
    if hold_pct is not None:
        if inputs.job.climate is None:
            raise PlannerError(
                "the job file says nothing of the room",
                where=f"{path.name}: air.room",
                hint="give its volume: [air.room] with volume",
            )
        outside, weather = outside_of(inputs, problem.grid)
        advice = hold(
            outside,
            inputs.job.climate,
            problem.grid,
            given_off_kg=room.given_off_kg,
            target_rh_pct=hold_pct,
            weather=weather,
        )
    return AirAnswer(
        room=room,
        grid=problem.grid,
        products=[inputs.products[p] for p in sorted(used)],
        wall_colder_delta_k=inputs.job.wall_colder_delta_k,
        wet_work=bool(coats),
        advice=advice,
    )


def placements(made: Plan, problem: Problem) -> list[Placement]:
    """Return the tasks of a written plan on a problem's grid."""
    grid = problem.grid
    return [
        Placement(
            task=t.id,
            team=t.team,
            start=grid.floor(t.start),
            end=grid.floor(t.end),
            worked=Spans.of((grid.floor(a), grid.floor(b)) for a, b in t.spans),
        )
        for t in made.tasks
    ]
