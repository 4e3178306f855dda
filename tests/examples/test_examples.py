"""Every example plans, verifies from outside, and reads back the same elsewhere.

Tests of planner/files/folder/planfile.py, planner/judge/told.py,
planner/planning/make.py, planner/report/calendars/plan_feeds.py,
planner/report/words/dependencies.py, planner/report/words/summary.py,
planner/usecases/plan.py, planner/usecases/why.py, planner/usecases/write.py.
"""

import json
import math
import re
import shutil
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import ical.calendar_stream
import jsonschema
import numpy as np
import pytest
import vobject

from planner.files.folder.planfile import schema, shipped_schema
from planner.nouns.ids import bare
from planner.planning.posing import problem_of
from planner.schedule.climb.solve import solve
from planner.schedule.problem.limits import SearchLimits
from planner.schedule.problem.outcome import NoPlan, Planned
from planner.schedule.problem.parts import AimKind
from planner.usecases.read import read_inputs
from tests.support.command import covetime, covetime_process
from tests.support.examples import EXAMPLES, NOW, USUAL
from tests.support.outsider import faults_of
from tests.support.places import ROOT

every = pytest.mark.parametrize(
    "name",
    [pytest.param(n, marks=[pytest.mark.slow] * (n not in USUAL)) for n in EXAMPLES],
)


@every
def test_an_outsider_finds_no_fault_in_the_plan(planned, name):
    assert faults_of(planned[name].plan) == []


@every
def test_the_plan_keeps_the_schema_that_ships(planned, name):
    jsonschema.validate(planned[name].plan, shipped_schema())


def test_the_schema_that_ships_is_the_one_of_the_records():
    assert shipped_schema() == schema()


@every
def test_the_earliest_return_is_proven(planned, name):
    first = planned[name].plan["aims"][0]
    assert first["proven"]
    assert first["value"] == first["bound"]


@every
def test_the_summary_fits_a_screen(planned, name):
    lines = planned[name].said.splitlines()
    assert len(lines) <= 45
    assert max(map(len, lines)) <= 80


@every
def test_the_report_fits_80_columns_and_names_every_task(planned, name):
    text = (planned[name].folder / "dependencies.txt").read_text("utf-8")
    assert max(map(len, text.splitlines())) <= 80
    page = (planned[name].folder / "dependencies.html").read_text("utf-8")
    for task in planned[name].plan["tasks"]:
        assert f"[{bare(task['id'])}]" in text.replace("\n", " ")
        assert f'id="task-{bare(task["id"])}"' in page


@pytest.mark.slow
def test_a_damp_cold_month_moves_the_return_by_days(planned):
    dry, damp = (
        datetime.fromisoformat(planned[n].plan["stages"][0]["closure"][1])
        for n in ("corner", "corner-damp")
    )
    assert (damp - dry).days >= 2


# ------------------------------------------------------ calendars, read back


def worked(
    plan: dict[str, Any], person: str | None = None
) -> list[tuple[datetime, datetime]]:
    return sorted(
        (datetime.fromisoformat(a), datetime.fromisoformat(b))
        for task in plan["tasks"]
        if person is None or person in task["team"]
        for a, b in task["spans"]
    )


def read_with_ical(path: Path) -> list[tuple[Any, ...]]:
    calendar = ical.calendar_stream.IcsCalendarStream.calendar_from_ics(
        path.read_bytes().decode()
    )
    return sorted((e.dtstart, e.dtend, e.summary) for e in calendar.events)


def read_with_vobject(path: Path) -> list[tuple[Any, ...]]:
    calendar = vobject.readOne(path.read_bytes().decode())
    return sorted(
        (e.dtstart.value, e.dtend.value, e.summary.value)
        for e in getattr(calendar, "vevent_list", [])
    )


@every
@pytest.mark.parametrize("read", [read_with_ical, read_with_vobject])
def test_other_readers_see_the_instants_of_the_plan(planned, name, read):
    got = planned[name]
    crew = [(a, b) for a, b, _ in read(got.folder / "crew.ics")]
    assert crew == worked(got.plan)
    for person in got.plan["crew"]:
        own = read(got.folder / "people" / f"{person['id']}.ics")
        assert [(a, b) for a, b, _ in own] == worked(got.plan, person["id"])


@every
@pytest.mark.parametrize("read", [read_with_ical, read_with_vobject])
def test_the_closure_is_whole_days_and_the_returns_are_marked(planned, name, read):
    got = planned[name]
    path = got.folder / "closure.ics"
    # dates and instants don't sort together, so each entry by its title
    events = {}
    calendar = vobject.readOne(path.read_bytes().decode())
    for e in calendar.vevent_list:
        events[e.summary.value] = (e.dtstart.value, e.dtend.value)
    closed = next(v for k, v in events.items() if "closed" in k)
    zone = read_inputs(ROOT / f"examples/{name}/job.toml").job.zone
    stage = got.plan["stages"][0]
    promise = {r["kind"]: r["promise"] for r in stage["returns"]}
    start = datetime.fromisoformat(stage["closure"][0])
    end = datetime.fromisoformat(promise["full service"])
    assert closed[0] == start.astimezone(zone).date()
    assert type(closed[1]) is date
    assert (closed[1] - closed[0]).days == (
        end.astimezone(zone).date() - start.astimezone(zone).date()
    ).days + 1
    for kind, when in promise.items():
        marked = next(v for k, v in events.items() if kind in k)
        assert marked[0] == datetime.fromisoformat(when)


# ------------------------------------------------------------- same and damper


@pytest.mark.slow
def test_the_same_input_gives_the_same_bytes_whatever_the_hash_seed(planned, tmp_path):
    job = "examples/straight/job.toml"
    args = ["plan", job, "--out", str(tmp_path / "p"), "--now", NOW]
    ran = covetime_process(*args, env={"PYTHONHASHSEED": "7"})
    assert ran.returncode == 0, ran.stderr
    for path in planned["straight"].folder.rglob("*"):
        if path.is_file():
            again = tmp_path / "p" / path.relative_to(planned["straight"].folder)
            assert again.read_bytes() == path.read_bytes(), path.name


@pytest.mark.slow
def test_planning_again_later_leaves_every_byte_as_it_was(planned, tmp_path):
    folder = shutil.copytree(planned["straight"].folder, tmp_path / "plan")
    before = {p: p.read_bytes() for p in folder.rglob("*") if p.is_file()}
    job = "examples/straight/job.toml"
    later = NOW.replace("2027-01-15", "2027-01-20")
    assert covetime("plan", job, "--out", str(folder), "--now", later).returncode == 0
    after = {p: p.read_bytes() for p in folder.rglob("*") if p.is_file()}
    assert after == before


def earliest_return(problem) -> float:
    """Return the proven earliest return, as a tick; endless where there is no plan."""
    instance = replace(problem.instance, aims=(AimKind.LAST_RETURN,))
    found = solve(instance, limits=SearchLimits(), explain=False)
    if isinstance(found, NoPlan):
        return math.inf
    assert isinstance(found, Planned)
    assert found.aims[0].proven
    return found.aims[0].value


@pytest.mark.parametrize(
    "name",
    [pytest.param(n, marks=[pytest.mark.slow] * (n != "straight")) for n in EXAMPLES],
)
def test_air_15_points_damper_never_makes_the_return_earlier(name):
    inputs = read_inputs(ROOT / f"examples/{name}/job.toml")
    as_is = problem_of(inputs, weeks=13)
    damper = replace(
        as_is.air, humidity_pct=np.minimum(as_is.air.humidity_pct + 15.0, 97.0)
    )
    damp = problem_of(inputs, weeks=13, air=damper)
    for product_stage, lookup in damp.lookups.items():
        product, _, stage = product_stage.partition(":")
        stage = stage.partition("+")[0]  # without the coats that lie over it wet
        laws = {s.stage: s.law for s in inputs.products[product].stages}
        pairs = list(zip(lookup.over, as_is.lookups[product_stage].over, strict=True))
        if stage in ("recoat window", "pot life"):  # by temperature alone
            assert all(d == a for d, a in pairs)
        elif (
            laws[stage] == "moisture_cure"
        ):  # one-part foam takes its water from the air
            assert all(d <= a for d, a in pairs)
        else:
            assert all(d >= a for d, a in pairs)
    before = earliest_return(as_is)
    assert before < math.inf
    assert earliest_return(damp) >= before


# ---------------------------------------------------------------- the README


def test_the_commands_of_the_readme_are_two_lines_and_ci_runs_the_second():
    text = (ROOT / "README.md").read_text("utf-8")
    lines = [x for x in text.splitlines() if x.startswith("python3 -m venv")]
    assert len(lines) == 2
    assert "covetime plan examples/" in lines[0]
    assert lines[1] in (ROOT / ".ci/run").read_text("utf-8")


def test_every_command_that_the_readme_shows_runs(planned):
    text = (ROOT / "README.md").read_text("utf-8")
    shown = re.findall(r"^covetime (check|why) (\S+)(?: (\S+))?$", text, re.MULTILINE)
    assert len(shown) >= 2
    for command, job, task in shown:
        name = Path(job).parent.name
        out = ["--out", str(planned[name].folder)] if command == "why" else []
        ran = covetime(command, job, *([task] if task else []), *out)
        assert ran.returncode == 0, ran.stderr
        assert ran.stdout


def test_what_setting_up_anew_in_the_next_bay_costs_is_told(planned):
    tasks = planned["corner"].plan["tasks"]
    set_up: dict[tuple[str, tuple[str, ...], str], dict[str, float]] = {}
    for task in tasks:
        for start, _ in task["spans"]:
            key = (task["phase"], tuple(sorted(task["team"])), start[:10])
            hours = task["set_up_h"] * len(task["team"])
            set_up.setdefault(key, {})[task["id"]] = hours
    anew_h = sum(sum(h.values()) - max(h.values()) for h in set_up.values())
    all_h = sum(task["worked_min"] for task in tasks) / 60
    text = " ".join((ROOT / "examples/GUIDE.md").read_text("utf-8").split())
    said = re.search(r"by (\S+) of (\S+) person-hours at most", text)
    assert said is not None
    assert float(said[1]) == pytest.approx(anew_h, abs=0.06)
    assert float(said[2]) == pytest.approx(all_h, abs=0.06)


def test_instants_in_the_plan_are_utc(planned):
    plan = planned["corner"].plan
    when = datetime.fromisoformat(plan["stages"][0]["closure"][0])
    assert when.tzinfo == UTC
    assert json.dumps(plan).count("+00:00") == 0  # Z throughout
