"""Random whole jobs: the drawing of them, and each through everything, on demand.

`python -m tests.random_jobs` takes a thousand of them, or as many as are asked for.

Tests of planner/judge/told.py, planner/planning/make.py, planner/usecases/plan.py,
planner/usecases/write.py.
"""

import json
import subprocess
import sys
from collections import Counter
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from planner.errors import CalendarError
from planner.files.ics.reading import read_calendar, read_days
from planner.files.job.jobfile import read_job
from tests.random_jobs import readback, truth
from tests.random_jobs.calendars import Made
from tests.random_jobs.jobs import ZONES, changes, made_job
from tests.random_jobs.toml import toml
from tests.random_jobs.trial import PLANNED, REFUSED, trial
from tests.support.ics import utc

WORK = 0.02
SEEDS = range(1, 151)


@pytest.fixture(scope="module")
def jobs():
    return [made_job(seed) for seed in SEEDS]


def test_the_same_seed_gives_the_same_job():
    one, two = made_job(3), made_job(3)
    assert (toml(one.table), one.files) == (toml(two.table), two.files)


def test_a_job_that_is_drawn_is_sound_unless_it_is_broken_on_purpose(jobs, tmp_path):
    for job in jobs:
        if not job.fault:
            read_job(job.write(tmp_path))


def test_the_jobs_differ_in_all_that_a_job_may_differ_in(jobs):
    methods = [j.table["methods"] for j in jobs if not j.fault]
    assert {j.table["job"]["time_zone"] for j in jobs} == set(ZONES)
    assert {m["backing"] for m in methods} == {"inlaid", "furred"}
    assert {m.get("fill") for m in methods} >= {"mortar", "foam"}
    assert any("second_colour" in m for m in methods)
    assert any(m.get("drying_coats") and not m["setting_coats"] for m in methods)
    primers = {m["primer"].removeprefix("our-") for m in methods}
    assert primers == {
        "water-primer",
        "solvent-primer",
        "solvent-primer-fast",
        "shellac-primer",
    }
    corners = [sum("meets" in run for run in j.table["stage"]["run"]) for j in jobs]
    assert set(corners) == {0, 1, 2, 3}
    sizes = [len(j.mates) for j in jobs]
    assert min(sizes) == 1
    assert max(sizes) > 30
    for section in ("product", "labour", "supply", "calendars"):
        assert any(section in j.table for j in jobs)
    assert any("room" in j.table["air"] for j in jobs)
    assert any("readings" in j.table["air"] for j in jobs)
    assert any("delivery" in j.table["job"] for j in jobs)
    assert sum(bool(j.fault) for j in jobs) > 3


def test_both_clock_changes_lie_in_the_weeks_of_some_job(jobs):
    found: Counter[bool] = Counter()
    for job in jobs:
        first = job.table["job"]["earliest"]
        for day in changes(job.zone):
            if 0 <= (day - first).days < 14:
                before = datetime(day.year, day.month, day.day, tzinfo=job.zone)
                later = (before + timedelta(days=1)).utcoffset()
                assert later is not None
                found[later > (before.utcoffset() or timedelta())] += 1
    assert found[True] > 3
    assert found[False] > 3


def test_what_a_drawn_calendar_takes_is_what_is_read_of_it(jobs, tmp_path):
    """The drawing knows without reading; the reader knows nothing of the drawing."""
    window = (utc(2026, 11, 1), utc(2029, 6, 1))
    read = 0
    for job in jobs[:60]:
        for name, made in job.takes.items():
            (tmp_path / name).write_bytes(made.data)
            if name == "holidays.ics":
                found = read_days(tmp_path / name, window=window, zone=job.zone)
                days = [b.start.astimezone(job.zone).date() for b in found.busy]
                assert tuple(days) == made.days
            elif b"weekly@" not in made.data and b"nights@" not in made.data:
                check_taken(tmp_path / name, made, window, job, name)
                read += 1
    assert read > 50


def check_taken(path: Path, made: Made, window, job, name: str) -> None:
    """Compare the union of what is taken, and of what is taken tentatively."""
    mate = next((m for m in job.mates if m.table.get("calendar") == name), None)
    found = read_calendar(
        path,
        window=window,
        zone=job.zone,
        owner_addresses=tuple(mate.table["mail"]) if mate else (),
    )
    kinds = {"tentative": made.tentative, "": made.busy if mate else None}
    for kind, wanted in kinds.items():
        if wanted is None:  # declined or not by an owner who isn't known
            continue
        stretches = [(b.start, b.end) for b in found.busy if kind == _as(b.kind)]
        assert truth._merged(stretches) == truth._merged(wanted), (job.seed, name)


def _as(kind: str) -> str:
    return "tentative" if kind == "tentative" else ""


def test_a_calendar_broken_on_purpose_is_refused(tmp_path):
    refused = 0
    for seed in range(1, 301):
        job = made_job(seed)
        if not job.fault.endswith(".ics"):
            continue
        path = tmp_path / "x.ics"
        path.write_bytes(job.files[job.fault])
        with pytest.raises(CalendarError):
            read_calendar(
                path, window=(utc(2026, 11, 1), utc(2029, 6, 1)), zone=job.zone
            )
        refused += 1
    assert refused > 8


# ------------------------------------------------------------- whole, in short


@pytest.fixture(scope="module")
def planned(tmp_path_factory):
    """Seed 6, taken through everything, and its plan's folder."""
    folder = tmp_path_factory.mktemp("six")
    return trial(6, folder, work=WORK), folder / "plan"


@pytest.mark.slow
def test_a_random_job_is_planned_and_stands_every_check(planned):
    row, _ = planned
    assert (row.outcome, row.faults) == (PLANNED, ())


@pytest.mark.slow
def test_a_random_job_is_refused_for_what_is_true(tmp_path):
    row = trial(86, tmp_path, work=WORK)
    assert (row.outcome, row.faults) == (REFUSED, ())
    assert row.named
    assert row.dropped


@pytest.mark.slow
def test_an_hour_that_the_job_forbids_is_noticed(planned):
    _, folder = planned
    job, plan = made_job(6), json.loads((folder / "plan.json").read_text("utf-8"))
    assert truth.faults_of(job, plan) == []
    task = plan["tasks"][0]
    night = (truth.at(task["spans"][0][0]) - timedelta(hours=12)).isoformat()
    task["spans"][0][0] = night
    assert any("outside of every shift" in f for f in truth.faults_of(job, plan))


@pytest.mark.slow
def test_an_entry_that_the_plan_has_not_is_noticed(planned):
    _, folder = planned
    plan = json.loads((folder / "plan.json").read_text("utf-8"))
    assert readback.faults_of(folder, plan) == []
    plan["tasks"][0]["title"] += " again"
    for wait in plan["waits"]:
        wait["ready"] = (truth.at(wait["ready"]) + timedelta(hours=1)).isoformat()
    found = readback.faults_of(folder, plan)
    assert any(f.startswith("crew.ics by by_ical:") for f in found)
    assert any(f.startswith("waits.ics") for f in found)


@pytest.mark.slow
def test_thirty_random_jobs_go_through_everything(tmp_path):
    words = ["-m", "tests.random_jobs", "--seeds", "11-40", "--out", str(tmp_path)]
    ran = subprocess.run(
        [sys.executable, *words],
        capture_output=True,
        text=True,
        check=False,
        cwd=Path(__file__).parents[2],
    )
    assert ran.returncode == 0, ran.stderr + ran.stdout
