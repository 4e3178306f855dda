"""The deeds behind the commands, one function each; reading first, writing last."""

import difflib
import hashlib
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime, time, timedelta
from importlib.metadata import version
from pathlib import Path
from time import monotonic

from planner.air.advice import hold
from planner.air.wet_work import Laid
from planner.errors import (
    FaultsError,
    PlannerError,
    ReadingsError,
)
from planner.files import jobfile, outdir, planfile, readings
from planner.files.addresses import Web
from planner.files.job_checks import slug
from planner.files.taken import taken
from planner.hours.grid import Grid
from planner.hours.spans import Spans
from planner.inputs import Hours, Inputs
from planner.plan import Plan
from planner.plans import make
from planner.plans.inside import coats_of, inside, outside_of
from planner.plans.make import HORIZON_WEEKS, Search
from planner.plans.problem import Problem
from planner.plans.supplies import unplanned
from planner.records import AirReading, Job
from planner.report.air_report import AirAnswer
from planner.report.quantities_rows import Buying, buying_of
from planner.schedule.limits import Limits
from planner.schedule.outcome import Placement, Progress
from planner.trade import materials
from planner.units import day_words

PROGRAM = f"covetime {version('covetime')}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Choices:
    """What the command line may choose for a run of the planner.

    `seconds` count from `since_s`, a moment of the monotonic clock at which the run
    began; by default from the making of the choices.
    """

    work_limit: float | None = None
    seconds: float | None = None
    since_s: float = field(default_factory=monotonic)
    on_progress: Callable[[Progress, Grid], None] | None = None
    on_found: Callable[[Problem, tuple[Placement, ...]], None] | None = None
    stop: Callable[[], bool] | None = None

    def search(self) -> Search:
        """Return the choices as a search."""
        usual = Limits()
        until_s = None if self.seconds is None else self.since_s + self.seconds
        return Search(
            limits=Limits(
                work=usual.work if self.work_limit is None else self.work_limit,
                clock_s=self.seconds,
                until_s=until_s,
            ),
            on_progress=self.on_progress,
            on_found=self.on_found,
            stop=self.stop,
        )


# ------------------------------------------------------------------- reading


def read(
    path: Path,
    *,
    since: date | None = None,
    reach_days: int = 1,
    net: Web | None = None,
) -> Inputs:
    """Return everything that planning needs: job, calendars, readings, products.

    Each file is read once, so that what is planned is what is fingerprinted.

    Parameters
    ----------
    path
        The job file.
    since, reach_days
        Calendars are read from so many days before this day or the job's earliest,
        whichever comes first: what began the day before may reach in, and a night
        shift that would have begun on a public holiday doesn't.
    net
        How to fetch calendars that lie behind addresses; None: as usual.

    Raises
    ------
    PlannerError
        With every fault of the job file, or of all calendars together.
    """
    text = jobfile.load(path)
    job = jobfile.job_of(text, path)
    day = min(job.earliest, since or job.earliest) - timedelta(days=reach_days)
    first = datetime.combine(day, time(), tzinfo=job.zone).astimezone(UTC)
    days = 7 * HORIZON_WEEKS[-1] + (job.earliest - day).days
    window = (first, first + timedelta(days=days + 2))
    found = taken(job, window=window, net=net)
    faults = list(found.faults)
    raw = hashlib.sha256(PROGRAM.encode())
    for data in (text, *found.data):
        raw.update(data)

    def air(name: str | None) -> tuple[AirReading, ...]:
        if name is None:
            return ()
        try:
            held = readings.load(Path(name))
            raw.update(held)
            return readings.read_air(held, Path(name), zone=job.zone)
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
    """Return the best plan of a job file, checked."""
    return planned(read(path), choices)


def planned(inputs: Inputs, choices: Choices) -> Plan:
    """Return the best plan of a job as it was read, checked."""
    return make.make(inputs, choices.search(), program=PROGRAM)


def past_words(job: Job, now: datetime) -> str:
    """Return that the job's earliest day is over, if at `now` it is at the site."""
    if job.earliest >= now.astimezone(job.zone).date():
        return ""
    first = datetime.combine(job.earliest, time(), tzinfo=job.zone)
    return (
        f"the job's earliest day, {day_words(first, job.zone)}, lies before the day of "
        "planning: days that are gone are planned like others; set earliest in [job] to a "
        "day to come"
    )


def as_of(inputs: Inputs, now: datetime) -> Inputs:
    """Return the inputs as they are planned at `now`, a remark more where it's needed.

    The remark hangs on `now` alone in whether it is there, not in what it says, so a job
    planned again on a later day still gives the same bytes.
    """
    past = past_words(inputs.job, now)
    return replace(inputs, remarks=(*inputs.remarks, past)) if past else inputs


def out_folder(job: Path, out: Path | None) -> Path:
    """Return the folder that a job's plan is written to."""
    return out if out is not None else job.resolve().parent / "plan"


def plan_for_why(inputs: Inputs, folder: Path, task: str, choices: Choices) -> Plan:
    """Return the plan that stands in `folder` if it was made from the same inputs.

    Otherwise the job is planned anew; nothing is written.

    Raises
    ------
    PlannerError
        When the job has no such task, before anything is planned.
    """
    found = standing(inputs, folder)
    if found is None:
        work = make.problem_of(inputs, weeks=HORIZON_WEEKS[0]).work
        check_task([t.id for t in work.tasks], task)
        found = planned(inputs, choices)
    check_task([t.id for t in found.tasks], task)
    return found


def standing(inputs: Inputs, folder: Path) -> Plan | None:
    """Return the plan that stands in a folder, if it was made from the same inputs."""
    stored = outdir.read(folder, "plan.json")
    if stored is None:
        return None
    found = planfile.read_plan(stored, file=str(folder / "plan.json"))
    return found if found.fingerprint == inputs.fingerprint else None


def check_task(ids: Sequence[str], task: str) -> None:
    """Refuse a task that isn't among those of a job or a plan.

    Raises
    ------
    PlannerError
        Names the nearest.
    """
    if task in ids:
        return
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
    made = standing(inputs, folder)
    if made is not None:
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
    made = standing(inputs, folder)
    coats: tuple[Laid, ...] = ()
    if made is not None:
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
