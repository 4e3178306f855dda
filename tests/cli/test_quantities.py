"""The purchase list as the command prints and writes it, with a plan and without.

Tests of planner/commands/looking.py, planner/files/tables/quantities.py,
planner/report/words/quantities_rows.py, planner/report/words/quantities_text.py,
planner/usecases/quantities.py.
"""

import csv
import io
import json
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from planner.report.words.quantities_rows import TIMES
from tests.support.command import covetime
from tests.support.values import STRAIGHT, changed, job_file

HALIFAX = ZoneInfo("America/Halifax")
LAID_ON_SITE_H = {"setting-compound": 48, "adhesive": 48, "foam": 12, "joint-tape": 0}


@pytest.fixture(scope="module")
def planned_wall(tmp_path_factory):
    """A job planned into the folder beside it."""
    folder = tmp_path_factory.mktemp("wall")
    job = job_file(folder)
    ran = covetime("plan", str(job), "--work-limit", "2")
    assert ran.returncode == 0, ran.stderr
    return job


def rows_of(path):
    """The rows of a CSV file."""
    return list(csv.DictReader(io.StringIO(path.read_text("utf-8"), newline="")))


def test_without_a_plan_the_list_says_plan_first(tmp_path):
    ran = covetime("quantities", str(job_file(tmp_path)))
    assert ran.returncode == 0, ran.stderr
    assert "plan first" in ran.stdout
    assert "On site by" not in ran.stdout
    assert f"Concrete screws: 1 {TIMES} box of 50" in ran.stdout
    assert "net 15, with 10 % waste 17" in ran.stdout  # 3 holes in each of 5 modules
    assert max(map(len, ran.stdout.splitlines())) <= 80
    assert [p.name for p in tmp_path.iterdir()] == ["job.toml"]


@pytest.mark.slow
def test_with_a_plan_the_list_is_the_one_in_its_folder(planned_wall):
    ran = covetime("quantities", str(planned_wall))
    assert ran.returncode == 0, ran.stderr
    written = planned_wall.parent / "plan" / "quantities.txt"
    assert ran.stdout == written.read_text("utf-8")
    assert "plan first" not in ran.stdout
    assert "On site by" in ran.stdout
    assert max(map(len, ran.stdout.splitlines())) <= 80


def test_the_day_on_site_is_that_of_the_first_task_less_the_lead(planned_wall):
    folder = planned_wall.parent / "plan"
    plan = json.loads((folder / "plan.json").read_text("utf-8"))
    starts = {t["id"]: datetime.fromisoformat(t["start"]) for t in plan["tasks"]}
    rows = rows_of(folder / "quantities.csv")
    bought = {r["id"]: r for r in rows if r["kind"] == "supply"}
    assert len(bought) > 15
    for row in bought.values():
        first = min(starts[t] for t in row["tasks"].split())
        assert row["first_use_utc"] == f"{first:%Y-%m-%dT%H:%M:%SZ}"
        lead = timedelta(hours=LAID_ON_SITE_H.get(row["id"], 0))
        if row["id"] in LAID_ON_SITE_H:
            due = (first - lead).astimezone(HALIFAX).date()
            assert row["on_site_by"] == due.isoformat()
        assert row["on_site_by"] <= first.astimezone(HALIFAX).date().isoformat()


def test_every_tool_is_there_on_every_day_of_its_tasks(planned_wall):
    folder = planned_wall.parent / "plan"
    plan = json.loads((folder / "plan.json").read_text("utf-8"))
    spans = {
        t["id"]: [datetime.fromisoformat(m) for s in t["spans"] for m in s]
        for t in plan["tasks"]
    }
    assert plan["tools"]
    for tool in plan["tools"]:
        worked = {
            moment.astimezone(HALIFAX).date().isoformat()
            for task in tool["tasks"]
            for moment in spans[task]
        }
        assert worked == set(tool["days"])
        for day in worked:
            assert any(a <= day <= b for a, b in tool["periods"]), tool["id"]
        assert tool["count"] >= 1


def test_the_three_files_say_the_same_and_are_not_overwritten(planned_wall, tmp_path):
    paths = {k: tmp_path / f"buy.{k}" for k in ("csv", "json", "page")}
    args = [x for k, p in paths.items() for x in (f"--{k}", str(p))]
    ran = covetime("quantities", str(planned_wall), *args)
    assert ran.returncode == 0, ran.stderr
    rows = rows_of(paths["csv"])
    whole = json.loads(paths["json"].read_text("utf-8"))
    page = paths["page"].read_text("utf-8").replace("\N{NO-BREAK SPACE}", " ")
    bought = [r for r in rows if r["kind"] == "supply"]
    assert [r["id"] for r in bought] == [s["id"] for s in whole["supplies"]]
    for row, supply in zip(bought, whole["supplies"], strict=True):
        assert int(row["buy"]) == supply["packs"] > 0
        # whole packs hold the net with its waste, and one fewer wouldn't
        need = supply["net"] * (1 + supply["waste_frac"])
        if supply["id"] != "plywood":  # whose sheets are those of the cutting list
            assert (supply["packs"] - 1) * supply["pack_holds"] < need + 1e-3
        assert supply["packs"] * supply["pack_holds"] >= need - 1e-3
        assert sum(u["net"] for u in supply["uses"]) == pytest.approx(
            supply["net"], abs=1e-3 * len(supply["uses"])
        )
        assert supply["title"] in page
    assert "<script" not in page
    kept = paths["csv"].read_bytes()
    again = covetime("quantities", str(planned_wall), "--csv", str(paths["csv"]))
    assert again.returncode == 2
    assert "is there already" in again.stderr
    assert paths["csv"].read_bytes() == kept


def test_a_plan_of_other_inputs_gives_no_days(planned_wall, tmp_path):
    text = changed(STRAIGHT, ('"5 m"', '"6 m"'))
    folder = str(planned_wall.parent / "plan")
    ran = covetime(
        "quantities", str(job_file(tmp_path, text)), "--out-plan", folder
    )  # fmt: skip
    assert ran.returncode == 0
    assert "plan first" in ran.stdout


@pytest.mark.parametrize("coverage", ['"0 m2/l"', '"-7 m2/l"', "0", '"7"'])
def test_a_coverage_that_cannot_be_is_one_clear_report(tmp_path, coverage):
    own = (
        '[[product]]\nid = "ours"\nlike = "water-primer"\nsheet = "ours"\n'
        f"coverage = {coverage}\n"
    )
    table = tmp_path / "buy.csv"
    job = job_file(tmp_path, STRAIGHT + own)
    ran = covetime("quantities", str(job), "--csv", str(table))
    assert ran.returncode == 2
    assert ran.stdout == ""
    assert "product.1.coverage" in ran.stderr
    assert "Traceback" not in ran.stderr
    assert not table.exists()


def test_a_folder_that_is_not_there_can_not_take_a_file(tmp_path):
    gone = tmp_path / "gone" / "buy.csv"
    ran = covetime("quantities", str(job_file(tmp_path)), "--csv", str(gone))
    assert ran.returncode == 2
    assert "can't be written" in ran.stderr
    assert "Traceback" not in ran.stderr
