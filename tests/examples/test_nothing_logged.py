"""Revising with nothing logged and nothing changed changes nothing, in a damp room too.

Tests of planner/usecases/living/revise.py, planner/usecases/living/left.py.
"""

import shutil
from pathlib import Path

import pytest

from planner.usecases.living.revise import facts_of, revise
from planner.usecases.plan import Choices
from tests.support.command import covetime
from tests.support.examples import job_of


@pytest.mark.parametrize(
    "name", ["straight", pytest.param("corner-damp", marks=pytest.mark.slow)]
)
def test_no_byte_changes(planned, tmp_path, name):
    folder = tmp_path / "plan"
    shutil.copytree(planned[name].folder, folder)
    before = {p: p.read_bytes() for p in folder.rglob("*") if p.is_file()}
    ran = covetime(
        "revise", job_of(name), "--out", str(folder), "--now", "2027-02-16T18:00:00Z"
    )
    assert ran.returncode == 0, ran.stderr
    assert "nothing was logged and nothing changed" in ran.stdout
    assert {p: p.read_bytes() for p in folder.rglob("*") if p.is_file()} == before


@pytest.mark.slow
@pytest.mark.parametrize("name", ["straight", "corner-damp"])
def test_nothing_moves_even_where_the_rest_is_planned(planned, name):
    """In the middle of the work, all taken as planned: the same shifts, teams, returns."""
    facts = facts_of(Path(job_of(name)), planned[name].folder)
    tasks = sorted(facts.plan.tasks, key=lambda t: t.start)
    now = tasks[len(tasks) // 2].end
    found = revise(facts, Choices(), now=now, futures=500, why=False)
    assert [(t.id, t.start, t.end, t.team) for t in found.after.tasks] == [
        (t.id, t.start, t.end, t.team) for t in facts.plan.tasks
    ]
    assert [r.when for r in found.after.stage.returns] == [
        r.when for r in facts.plan.stage.returns
    ]
    assert found.after.stage.closure == facts.plan.stage.closure
