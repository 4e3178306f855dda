"""What `check` says of a crew that can't do the work.

Tests of planner/report/words/check_text.py, planner/usecases/check.py.
"""

from planner.report.words.check_text import next_words, understood_words
from planner.usecases.check import read_problem
from tests.support.command import covetime
from tests.support.values import STRAIGHT, changed, job_file


def test_work_that_nobody_may_lead_is_named_before_planning(tmp_path):
    text = changed(
        STRAIGHT, ('"carpenter", "finisher", "painter"', '"carpenter", "painter"')
    )
    inputs, problem = read_problem(job_file(tmp_path, text))
    words = understood_words(inputs, problem)
    assert next_words(problem, "j.toml").endswith("then: covetime check j.toml")
    assert "no plan can be made" in words
    assert "need a finisher" in " ".join(words.split())


def test_a_crew_that_can_do_all_is_not_complained_of(tmp_path):
    words = understood_words(*read_problem(job_file(tmp_path)))
    assert "no plan can be made" not in words


def test_check_ends_with_what_to_type_next(tmp_path):
    job = job_file(tmp_path)
    last = covetime("check", str(job)).stdout.splitlines()[-1]
    assert last == f"If that is what you meant: covetime plan {job}"
