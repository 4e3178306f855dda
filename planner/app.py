"""The deeds behind the commands, one function each; reading first, writing last."""

import difflib
import hashlib
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, time, timedelta
from importlib.metadata import version
from pathlib import Path
from typing import Protocol
from zoneinfo import ZoneInfo

from planner.air.advice import hold
from planner.air.wet_work import Laid
from planner.errors import (
    CalendarError,
    Fault,
    FaultsError,
    OutputError,
    PlannerError,
    ReadingsError,
)
from planner.feed import Feed
from planner.files import ics_in, ics_out, outdir, planfile, published, readings
from planner.files.job_checks import slug
from planner.files.jobfile import read_job
from planner.files.published import PublishedState
from planner.hours.grid import Grid
from planner.hours.spans import Spans
from planner.plan import Plan
from planner.plans import make
from planner.plans.inputs import Inputs
from planner.plans.inside import coats_of, inside, outside_of
from planner.plans.make import HORIZON_WEEKS, Search
from planner.plans.problem import Hours, Problem
from planner.records import AirReading, Busy, Calendar
from planner.report.air_report import AirAnswer
from planner.report.board import board_svg
from planner.report.calendars import feeds
from planner.report.dependencies import dependencies_page, dependencies_text
from planner.report.page import plan_page
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


class CalendarReader(Protocol):
    """Reads a calendar file for a window of UTC instants."""

    def __call__(
        self, path: Path, *, window: tuple[datetime, datetime], zone: ZoneInfo
    ) -> Calendar:
        """Return what the file says of the window."""


def read(path: Path) -> Inputs:
    """Return everything that planning needs: job, calendars, readings, products.

    Raises
    ------
    PlannerError
        With every fault of the job file, or of all calendars together.
    """
    job = read_job(path)
    first = datetime.combine(job.earliest, time(), tzinfo=job.zone).astimezone(UTC)
    window = (first, first + timedelta(weeks=HORIZON_WEEKS[-1], days=2))
    faults: list[Fault] = []
    remarks: list[str] = []
    raw = hashlib.sha256(PROGRAM.encode())
    raw.update(path.read_bytes())

    def entries(names: Sequence[str], reader: CalendarReader) -> tuple[Busy, ...]:
        found: list[Busy] = []
        for name in names:
            shown = Path(name).name
            raw.update(_bytes_of(Path(name)))
            try:
                calendar = reader(Path(name), window=window, zone=job.zone)
            except CalendarError as error:
                faults.extend(
                    replace(f, where=f"{shown}: {f.where}") for f in error.faults
                )
                continue
            found += (replace(b, file=Path(b.file).name) for b in calendar.busy)
            remarks.extend(f"{shown}: {r}" for r in calendar.remarks)
        return tuple(sorted(found, key=lambda b: (b.start, b.end, b.file, b.uid)))

    taken = ics_in.read_calendar
    people = {p.id: entries([p.calendar], taken) for p in job.crew if p.calendar}
    bookings, quiet = entries(job.bookings, taken), entries(job.quiet, taken)
    holidays = [
        (b.start.astimezone(job.zone).date(), b.title)
        for b in entries(job.holidays, ics_in.read_days)
    ]

    def air(name: str | None) -> tuple[AirReading, ...]:
        if name is None:
            return ()
        raw.update(_bytes_of(Path(name)))
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
            people=people, bookings=bookings, quiet=quiet, holidays=tuple(holidays)
        ),
        products=materials.merged(job.products),
        readings=inside,
        outside=outside,
        remarks=tuple(remarks),
        fingerprint=raw.hexdigest(),
    )


def _bytes_of(path: Path) -> bytes:
    """Return a file's bytes, or of all calendars in a folder, in order of name."""
    if path.is_dir():
        return b"".join(p.read_bytes() for p in sorted(path.glob("*.ics")))
    return path.read_bytes()


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


def outputs(plan: Plan, *, state: PublishedState, now: datetime) -> dict[str, bytes]:
    """Return every file that a plan gives, by its path in the plan's folder.

    `now` stands only in calendar entries that changed since `state`; everything
    else depends on the plan alone.
    """
    files = {
        "plan.json": planfile.plan_bytes(plan),
        "dependencies.txt": dependencies_text(plan).encode(),
        "dependencies.html": dependencies_page(plan).encode(),
        "board.svg": board_svg(plan),
        "plan.html": plan_page(plan),
    }
    present = feeds(plan)
    gone = {
        f"{seed}.ics": _emptied(seed) for seed in state.feeds()
    }  # who left the crew
    for path, feed in {**gone, **present}.items():
        files[path], state = ics_out.write(
            feed, plan_id=plan.plan_id, state=state, now=now
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
    outdir.check(folder, ("plan.json", "closure.ics", "crew.ics", published.FILE))


def write(plan: Plan, folder: Path, *, now: datetime) -> tuple[str, ...]:
    """Write everything a plan gives into `folder`; return the names written.

    An earlier, different plan is kept in the folder's `earlier/`.

    Raises
    ------
    OutputError
        When the folder can't be written; nothing in it has changed then.
    """
    stored = outdir.read(folder, published.FILE)
    state = published.from_bytes(stored) if stored else PublishedState()
    files = outputs(plan, state=state, now=now)
    outdir.write(folder, files)
    return tuple(sorted(files))


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
