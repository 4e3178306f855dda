"""What `check` says of a crew that can't do the work.

Tests of planner/report/words/check_text.py, planner/usecases/check.py.
"""

from dataclasses import replace

from planner.planning.posing import problem_of
from planner.report.words.check_text import next_words, understood_words
from planner.usecases.check import read_problem
from tests.support.command import covetime
from tests.support.places import ROOT
from tests.support.values import STRAIGHT, changed, job_file


def test_work_that_nobody_may_lead_is_named_before_planning(tmp_path):
    text = changed(
        STRAIGHT, ('"carpenter", "finisher", "painter"', '"carpenter", "painter"')
    )
    inputs, problem = read_problem(job_file(tmp_path, text))
    words = understood_words(inputs, problem)
    last = next_words(inputs, problem, "j.toml")
    assert last.startswith("No plan can be made")
    assert "need a finisher" in " ".join(last.split())
    assert "would help" not in last  # of lifts there is nothing to say
    assert last.endswith("then: covetime check j.toml")
    assert "no plan can be made" in words
    ran = covetime("check", "job.toml", cwd=tmp_path)
    assert (ran.returncode, ran.stderr) == (1, "")  # as `plan` ends
    assert ran.stdout.endswith("then: covetime check job.toml\n")
    assert "need a finisher" in " ".join(words.split())


def test_check_ends_with_what_is_in_the_way_and_what_would_help():
    """Two people can't set a corner by hand; what is said stands below the defaults."""
    inputs, _ = read_problem(ROOT / "examples" / "corner" / "job.toml")
    crew = tuple(p for p in inputs.job.crew if p.name in ("Marisol", "Beatriz"))
    two = replace(inputs, job=replace(inputs.job, crew=crew))
    last = next_words(two, problem_of(two, weeks=6), "j.toml")
    said = " ".join(last.split())
    assert '"Set the corner, corner" needs a carpenter in a team of 3' in said
    assert 'would help: [methods] lifting = "singly"' in said
    assert "would help: 3 people with one of these trades" in said
    assert last.splitlines()[-1] == "Put that right, then: covetime check j.toml"
    assert max(map(len, last.splitlines())) <= 80


def test_a_crew_that_can_do_all_is_not_complained_of(tmp_path):
    words = understood_words(*read_problem(job_file(tmp_path)))
    assert "no plan can be made" not in words


def test_check_ends_with_what_to_type_next(tmp_path):
    job = job_file(tmp_path)
    last = covetime("check", str(job)).stdout.splitlines()[-1]
    assert last == f"If that is what you meant: covetime plan {job}"
