"""Nothing is opened, drilled or sanded before it is known what is in there.

That an old wall is surveyed for asbestos first: US 40 CFR 61.145(a), and for lead 29 CFR
1926.62(d), both from memory; a week to the laboratory's report: common practice, no source.

Tests of planner/nouns/job.py, planner/trade/phases/gates.py, planner/trade/work.py.
"""

import pytest

from planner.errors import JobFileError
from planner.files.job.jobfile import read_job
from planner.trade.data import materials
from planner.trade.takeoff import take_off
from planner.trade.work import work
from tests.random_jobs.jobs import made_job
from tests.support.values import STRAIGHT, changed, job_file, work_of

# What cuts, drills or sands what was there before the crew came.
BREAKS_IN = {"open", "fur", "plug", "frame-fix", "shoot", "drill", "floor", "scuff"}
OUTCOME = {"survey": ("wall-sample", "report"), "locate": ("services", "isolated")}
OLD = changed(STRAIGHT, ("[survey]\nown_making = true\n", ""))


def waited_for(w, visit):
    """Return the tasks that wait for what a visit brings."""
    return {
        x.after
        for x in w.links
        if x.before == visit
        and x.wait
        and (x.wait.product, x.wait.stage) == OUTCOME[visit]
    }


def breaking_in(w):
    return {t.id for t in w.tasks if t.phase in BREAKS_IN}


@pytest.mark.parametrize("seed", range(100))
def test_in_random_jobs_nothing_is_opened_before_its_gates(tmp_path, seed):
    job = read_job(made_job(seed, small=True).write(tmp_path))
    ids = tuple(r.id for r in job.stage.runs)
    w = work(job, take_off(job, ids=ids), materials.merged(job.products))
    visits = {t.id: t for t in w.tasks if t.phase in OUTCOME}
    known = {"survey": job.survey.done, "locate": job.survey.located}
    assert set(visits) == {
        v for v in OUTCOME if known[v] is None and not job.survey.own_making
    }
    for visit, task in visits.items():
        assert waited_for(w, visit) == breaking_in(w) != set()
        assert task.visit
        assert not task.on_stage  # it doesn't close the stage
        first = {x.after for x in w.links if x.before == visit and x.wait is None}
        openers = {t.id for t in w.tasks if t.phase in ("mark", "test-slab")}
        assert openers <= first


def test_an_old_wall_is_surveyed_and_its_services_found(tmp_path):
    w = work_of(tmp_path, OLD)
    for visit, said in (
        ("survey", "licensed surveyor"),
        ("locate", "licensed to find"),
    ):
        task = next(t for t in w.tasks if t.id == visit)
        assert said in task.how
        assert "open.wall" in waited_for(w, visit)


@pytest.mark.parametrize("backing", ["inlaid", "furred"])
def test_a_furred_wall_is_drilled_and_a_floor_sanded_so_they_wait_too(
    tmp_path, backing
):
    w = work_of(tmp_path, OLD, methods=f'backing = "{backing}"')
    broken = {t.phase for t in w.tasks if t.id in waited_for(w, "survey")}
    wall = {"open"} if backing == "inlaid" else {"fur"}
    assert broken == wall | {"drill", "floor", "scuff"}


def test_what_was_done_is_not_done_again_and_its_report_is_on_the_sheet(tmp_path):
    known = 'done = 2027-01-12\nreport = "no. 0421: nothing found"\n'
    w = work_of(tmp_path, changed(OLD, ("[stage]", f"[survey]\n{known}[stage]")))
    assert "survey" not in {t.id for t in w.tasks}
    assert waited_for(w, "locate") == breaking_in(w)
    opened = next(t for t in w.tasks if t.id == "open.wall")
    assert any("no. 0421" in line for line in opened.cautions)


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ("done = 2027-01-12", "survey.report: is missing"),
        ('report = "x"', "survey.done: is missing"),
        ('results = "90 days"', "survey.results"),
        ("own_makin = true", "survey.own_makin"),
    ],
)
def test_faults_of_the_survey_are_told(tmp_path, said, words):
    text = changed(OLD, ("[stage]", f"[survey]\n{said}\n[stage]"))
    with pytest.raises(JobFileError) as caught:
        read_job(job_file(tmp_path, text))
    assert words in "\n".join(caught.value.lines())
