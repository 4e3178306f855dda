"""Small jobs that once broke the program after the search: they plan.

Tests of planner/cli.py, planner/usecases/plan.py.
"""

import json
import re
from typing import Any

import pytest

from tests.support.command import covetime
from tests.support.values import in_inches, job_file, kit

HEAD = """
[job]
name = "a small job"
time_zone = "America/Chicago"
earliest = 2027-03-01

[survey]
own_making = true
{kit}
[stage]
ceiling = "10 ft"

[[stage.run]]
name = "north"
length = "{length}"

[methods]
{methods}

[[crew]]
name = "Ana"
trades = ["carpenter", "labourer"]
{shifts}

[[crew]]
name = "Bo"
trades = ["finisher", "painter", "labourer"]
{shifts}
"""


def planned(folder, **parts: str) -> Any:
    """Return the plan of a small job, made with little effort."""
    usual = {"length": "8 ft", "methods": "", "shifts": "", "kit": kit(in_inches)}
    values = {**usual, **parts}
    job = job_file(folder, HEAD.format(**values))
    ran = covetime("plan", str(job), "--work-limit", "0.05")
    assert ran.returncode == 0, ran.stderr
    return json.loads((folder / "plan" / "plan.json").read_text("utf-8"))


@pytest.mark.parametrize(
    "primer", ["solvent-primer", pytest.param("shellac-primer", marks=pytest.mark.slow)]
)
def test_one_coat_of_a_primer_with_fumes_has_its_waits_in_the_plan(tmp_path, primer):
    plan = planned(tmp_path, methods=f'primer = "{primer}"\nprimer_coats = 1')
    # nothing waits for the one coat's recoat but the clearing, which begins with it
    stages = {w["stage"] for w in plan["waits"] if w["product"] == primer}
    assert {"recoat", "free of fumes"} <= stages


@pytest.mark.parametrize(
    "length", [pytest.param(n, marks=pytest.mark.slow) for n in ("32 ft", "36 ft")]
)
def test_long_shifts_with_short_nights_have_a_slack_for_every_task(tmp_path, length):
    # 8 h of night, and 11 h of rest: a task that slipped into the next morning would
    # begin before its people had rested
    plan = planned(
        tmp_path,
        length=length,
        methods='primer_in = "bays"',
        shifts='shifts = ["Mon-Sat 06:00-22:00"]',
    )
    assert all(t["total_slack_min"] >= t["free_slack_min"] >= 0 for t in plan["tasks"])


def test_only_tasks_without_slack_are_called_binding_the_others_say_what_hides(
    tmp_path,
):
    plan = planned(tmp_path)
    tasks = {t["id"]: t for t in plan["tasks"]}
    text = (tmp_path / "plan" / "dependencies.txt").read_text("utf-8")
    head = " ".join(text.split("Every task in order of start")[0].split())
    told = re.findall(r"\d+\. (.*?) \[(binding|may slip [^\]]*)\]", head)
    chain = list(dict.fromkeys(s["task"] for s in plan["stages"][0]["chain"]))
    assert len(told) == len(chain)
    for id_, (line, said) in zip(chain, told, strict=True):
        assert line.startswith(tasks[id_]["title"])
        assert (said == "binding") == (tasks[id_]["total_slack_min"] == 0)
    hidden = [said for _, said in told if said != "binding"]
    # a day that ends with a task, the next begins with another: the night hides it
    assert any("night or day off" in said for said in hidden)
    marked = re.findall(r"^> .*?\[(.*?)\]$", text, re.MULTILINE)
    still = {i for i, t in tasks.items() if t["total_slack_min"] == 0}
    stage = plan["stages"][0]["id"]
    assert {f"{stage}:{id_}" for id_ in marked} <= still
