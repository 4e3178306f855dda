"""`compare`: changes read as the job file is, each row the plan of an edited job file.

Tests of planner/commands/comparing.py, planner/usecases/comparing/compare.py,
planner/usecases/comparing/side_by_side.py, planner/report/words/binding.py.
"""

import json
from pathlib import Path

import pytest

from planner.errors import FaultsError, PlannerError, TimeUpError
from planner.nouns.choices.comparison import Comparison, Gain
from planner.usecases.comparing.compare import (
    AS_IT_IS,
    CompareRequest,
    comparing,
    read_ideas,
)
from planner.usecases.comparing.side_by_side import Attempt, tried
from planner.usecases.read import Papers
from tests.support.command import covetime
from tests.support.side_by_side import SMALL, OneByOne
from tests.support.values import changed, job_file

FEW = 100  # futures


def request(path: Path, *said: str, keep: Path | None = None) -> CompareRequest:
    return CompareRequest(job=path, said=said, keep=keep, futures=FEW, seed=1)


def compared(path: Path, *said: str) -> tuple[Comparison, list[Gain | None]]:
    """Return a comparison of alternatives, and what was told of each as it came."""
    made = comparing(request(path, *said))
    told: list[Gain | None] = []
    made.run(OneByOne(), lambda one, won: told.append(won))
    return made.comparison(), told


def test_a_row_is_the_plan_of_a_job_file_edited_by_hand(tmp_path):
    path = job_file(tmp_path, SMALL)
    found, told = compared(path, "methods.primer_coats=1; crew.Bo.rest=9 h")
    (row,) = found.alternatives
    assert row.title == 'methods.primer_coats = 1; crew.Bo.rest = "9 h"'
    edited = changed(
        SMALL,
        ("[methods]", "[methods]\nprimer_coats = 1"),
        ('name = "Bo"', 'name = "Bo"\nrest = "9 h"'),
    )
    folder = tmp_path / "edited"
    folder.mkdir()
    inputs = Papers(job_file(folder, edited)).inputs()
    by_hand = tried(
        Attempt(title=AS_IT_IS, changes=(), inputs=inputs, futures=FEW, seed=1)
    )
    assert row.figures == by_hand.figures
    assert found.as_it_is.figures != by_hand.figures
    assert told == [found.gain(found.as_it_is), found.gain(row)]
    assert row.figures is not None
    assert any("cures" in words for words in row.figures.binds)


def test_a_change_that_leaves_no_plan_says_why_and_the_others_are_planned(tmp_path):
    path = job_file(tmp_path, SMALL)
    found, _ = compared(path, 'crew.Ana.trades=["finisher", "painter"]')
    (row,) = found.alternatives
    assert row.figures is None
    assert row.why.startswith("the crew has nobody for some of the work; ")
    assert found.as_it_is.figures is not None


def test_stopped_it_shows_what_it_has(tmp_path):
    path = job_file(tmp_path, SMALL)
    made = comparing(request(path, "methods.fill=foam"))
    with pytest.raises(TimeUpError, match="before the job as it is was planned"):
        made.comparison()
    made.run(OneByOne(1), lambda one, won: None)
    found = made.comparison()
    assert found.as_it_is.figures is not None
    assert (found.alternatives, found.unfinished) == ((), ('methods.fill = "foam"',))


def test_the_faults_of_all_alternatives_are_told_together(tmp_path):
    path = job_file(tmp_path)
    said = ["methods.primer_cots=1", "methods.fill=foam", "crew.Cy.rest=9 h"]
    with pytest.raises(FaultsError) as error:
        comparing(request(path, *said))
    assert [(f.where, f.hint) for f in error.value.faults] == [
        ("--change 1: methods.primer_cots", 'did you mean "primer_coats"?'),
        ("--change 3: crew.Cy", "there: Ana, Bo"),
    ]


def test_nothing_to_compare_is_refused_before_anything_is_read(tmp_path):
    ran = covetime("compare", str(tmp_path / "gone.toml"))
    assert ran.returncode == 2
    assert "give --change" in ran.stderr


def test_a_file_that_is_there_is_refused_before_planning(tmp_path):
    there = tmp_path / "found.json"
    there.write_text("mine", "utf-8")
    job = str(job_file(tmp_path))
    words = ("compare", job, "--change", "methods.fill=foam", "--json", str(there))
    ran = covetime(*words)
    assert (ran.returncode, there.read_text("utf-8")) == (2, "mine")
    assert "is there already" in ran.stderr


def test_what_is_kept_lies_beside_the_job_and_says_the_change(tmp_path):
    path = job_file(tmp_path, SMALL)
    keep = tmp_path / "other.toml"
    made = comparing(request(path, "methods.primer_coats=1", keep=keep))
    keep.write_bytes(made.kept())
    changes = read_ideas(Papers(path), ["methods.primer_coats=1"])[0]
    assert Papers(keep).inputs().job.methods == changes.inputs.job.methods
    assert path.read_text("utf-8") == SMALL


@pytest.mark.parametrize(
    ("said", "keep", "message"),
    [
        (["a.b=1", "a.b=2"], "other.toml", "one alternative is kept"),
        (["methods.fill=foam"], "sub/other.toml", "must lie beside the job file"),
    ],
)
def test_what_cant_be_kept_is_refused_before_planning(said, keep, message, tmp_path):
    path = job_file(tmp_path, SMALL)
    said = [x.replace("a.b", "methods.primer_coats") for x in said]
    with pytest.raises(PlannerError, match=message):
        comparing(request(path, *said, keep=tmp_path / keep))


@pytest.mark.slow
def test_the_command_plans_in_processes_of_its_own_what_one_process_does(tmp_path):
    path = job_file(tmp_path, SMALL)
    out = tmp_path / "found.json"
    words = ("compare", str(path), "--change", "methods.primer_coats=1")
    ran = covetime(*words, "--json", str(out), "--futures", str(FEW))
    assert ran.returncode == 0, ran.stderr
    assert "methods.primer_coats = 1: back" in ran.stderr
    found, _ = compared(path, "methods.primer_coats=1")
    row = json.loads(out.read_text("utf-8"))["alternatives"][0]
    (alone,) = found.alternatives
    assert alone.figures is not None
    assert row["plan"]["binds"] == list(alone.figures.binds)
    assert "The job as it is" in ran.stdout


@pytest.mark.slow
def test_dates_are_told_at_the_certainty_that_the_job_asks_for(tmp_path):
    path = job_file(tmp_path, SMALL)
    found, _ = compared(path, 'job.sure="95 %"')
    (surer,) = found.alternatives
    assert found.sure_percent == 80
    assert found.as_it_is.figures is not None
    assert surer.figures is not None
    before, after = found.as_it_is.figures.full, surer.figures.full
    assert before.planned == after.planned
    assert before.kept is not None
    assert after.kept is not None
    assert before.kept < after.kept
