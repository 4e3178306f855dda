"""An answer: a checked plan as numbers, small, the same when sent on, and comparable.

Tests of planner/planning/answer.py, planner/planning/answering.py,
planner/planning/make.py, planner/planning/posing.py,
planner/planning/wording/staged.py, planner/schedule/check/verify.py.
"""

import pickle
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from planner.files.job.changes import changes_from
from planner.nouns.case import Case
from planner.nouns.ids import bare
from planner.nouns.work import ReturnKind
from planner.planning.answer import Answer, Worth
from planner.planning.answering import answer
from planner.planning.posing import answered
from planner.planning.searching import Search
from planner.schedule.check.verify import values, verify
from planner.schedule.problem.limits import SearchLimits
from planner.usecases.read import Papers, read_inputs
from tests.support.finished import finished
from tests.support.places import ROOT
from tests.support.values import STRAIGHT, changed, job_file

LITTLE = Search(limits=SearchLimits(work=0.05))
ROOM = '[air.room]\nvolume = "150 m3"\n[rates]\ncurrency = "CAD"\nlabour_per_hour = 40\nstage_per_day = 900\n[stage]'


@pytest.fixture(
    scope="module",
    params=[
        "the air is given",
        pytest.param("coats make the air", marks=pytest.mark.slow),
    ],
)
def case(request: pytest.FixtureRequest, tmp_path_factory) -> Case:
    text = STRAIGHT
    if request.param == "coats make the air":
        text = changed(text, ("[stage]", ROOM))
    return Case(inputs=read_inputs(job_file(tmp_path_factory.mktemp("job"), text)))


@pytest.fixture(scope="module")
def found(case: Case) -> Answer:
    return answer(case, LITTLE)


def test_an_answer_sent_to_another_process_comes_back_equal_and_is_small(case, found):
    sent = pickle.dumps(found)
    assert pickle.loads(sent) == found
    # some 40 tasks, their teams and stretches; the problem alone is fifty times more
    assert len(sent) < 8_000
    assert len(pickle.dumps(answered(case, found))) > 200_000


def test_the_same_case_gives_an_equal_answer_and_another_plan_an_unequal_one(
    case, found
):
    assert answer(case, LITTLE) == found
    assert replace(found, placements=found.placements[1:]) != found
    assert replace(found, fingerprint="another case") != found


def test_an_answer_keeps_the_rules_of_the_problem_that_it_names(case, found):
    problem = answered(case, found)
    assert verify(problem.instance, found.placements) == ()
    assert problem.grid == found.grid
    assert (found.rounds > 0) is (case.inputs.job.climate is not None)


def test_the_plan_says_in_words_what_its_answer_says_in_numbers(case, found):
    plan = finished(case, found)
    assert plan.stage.closure == found.closure
    assert [(r.kind, r.when) for r in plan.stage.returns] == [
        (r.kind, r.when) for r in found.returns
    ]
    # of a plan the stage is paid to the promise, of an answer to its own return
    assert replace(plan.cost, stage=None) == replace(found.cost, stage=None)
    assert sorted((bare(t.id), t.team) for t in plan.tasks) == sorted(
        (p.task, p.team) for p in found.placements
    )
    assert (
        found.worth.full_service == plan.stage.returning(ReturnKind.FULL_SERVICE).when
    )
    assert found.worth.shifts == sum(c.days_called for c in plan.crew)
    # the wait from the last coat to light foot traffic counts beside the closure
    assert found.worth.closed_min > found.closure_min
    assert (
        timedelta(minutes=found.closure_min)
        == plan.stage.closure[1] - plan.stage.closure[0]
    )


def test_of_two_answers_the_earlier_return_is_better_then_the_shorter_closure():
    noon = datetime(2027, 2, 9, 12, tzinfo=UTC)
    best = Worth(full_service=noon, closed_min=600, shifts=4)
    in_order = [
        best,
        best._replace(shifts=5),
        best._replace(closed_min=615, shifts=1),
        best._replace(full_service=noon + timedelta(minutes=15), closed_min=1),
    ]
    shuffled = [in_order[i] for i in (2, 0, 3, 1)]
    assert sorted(shuffled) == in_order


def test_answers_of_jobs_with_other_steps_compare_in_minutes(tmp_path):
    text = changed(STRAIGHT, ("[job]", '[job]\ntick = "30 min"'))
    path: Path = job_file(tmp_path, text)
    coarse = answer(Case(inputs=read_inputs(path)), LITTLE)
    assert coarse.grid.tick_minutes == 30
    assert coarse.worth.closed_min % 30 == 0
    plan = finished(Case(inputs=read_inputs(path)), coarse)
    light = plan.stage.returning(ReturnKind.LIGHT_FOOT_TRAFFIC).when
    coats = [t for t in plan.tasks if t.phase == "colour"]
    last = max(coats, key=lambda t: t.end)
    closed = (plan.stage.closure[1] - plan.stage.closure[0]) + (light - last.start)
    assert coarse.worth.closed_min == closed / timedelta(minutes=1)


def test_an_aim_that_a_later_search_betters_is_told_as_it_is():
    """With so little work the return isn't proven when the closure is sought."""
    papers = Papers(ROOT / "examples" / "straight" / "job.toml")
    case = papers.case(
        changes_from({"crew.Marisol.rest": "6 h", "job.drying_margin": "150 %"})
    )
    found = answer(case, Search(limits=SearchLimits(work=0.01)))
    counted = values(answered(case, found).instance, found.placements)
    assert [(a.aim, a.value) for a in found.aims] == [
        (a.aim, counted[a.aim]) for a in found.aims
    ]
    assert all(a.bound <= a.value for a in found.aims)
