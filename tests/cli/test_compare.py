"""`compare`: changes read as the job file is, each row the plan of an edited job file.

Tests of planner/commands/comparing.py, planner/usecases/comparing/attempts.py,
planner/usecases/comparing/compare.py, planner/usecases/comparing/side_by_side.py,
planner/planning/as_it_stands.py, planner/planning/least_return.py,
planner/promise/nearby.py, planner/report/words/binding.py.
"""

import json
import threading
from dataclasses import replace
from datetime import timedelta
from functools import cache
from multiprocessing import active_children
from pathlib import Path

import pytest

from planner.errors import FaultsError, PlannerError, TimeUpError
from planner.hours.spans import Spans
from planner.levers.ready import levers
from planner.nouns.case import Case
from planner.nouns.choices.comparison import Comparison, Gain, HowFound
from planner.nouns.inputs import Inputs
from planner.planning.answer import Answer
from planner.planning.as_it_stands import as_it_stands
from planner.planning.least_return import not_before
from planner.planning.posing import posed
from planner.promise import nearby
from planner.promise.nearby import kept_near
from planner.usecases.comparing import attempts
from planner.usecases.comparing.attempts import (
    AtHand,
    Attempt,
    Way,
    made,
    tried,
    weighed,
)
from planner.usecases.comparing.compare import (
    AS_IT_IS,
    CompareRequest,
    comparing,
    read_ideas,
    read_levers,
)
from planner.usecases.comparing.side_by_side import Together
from planner.usecases.read import Papers
from tests.support.command import covetime
from tests.support.side_by_side import SMALL, OneByOne
from tests.support.values import changed, job_file

FEW = 100  # futures
LITTLE = 0.05  # of work, so that few changes are tried


def request(path: Path, *said: str, keep: Path | None = None) -> CompareRequest:
    return CompareRequest(
        job=path, said=said, keep=keep, futures=FEW, seed=1, work_limit=LITTLE
    )


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
        Attempt(
            title=AS_IT_IS,
            changes=(),
            inputs=inputs,
            futures=FEW,
            seed=1,
            way=Way.KEPT,
            work_limit=LITTLE,
        )
    )
    assert row.figures == by_hand.figures
    assert found.as_it_is.figures != by_hand.figures
    assert told == [None, None, found.gain(row)]
    assert row.figures is not None
    assert any("cures" in words for words in row.figures.binds)


# --------------------------------------------------- weighed against the plan at hand


def of_small(tmp_path: Path, *said: str) -> Inputs:
    """Return the small job with changes laid over it."""
    papers = Papers(job_file(tmp_path, SMALL))
    changes = [one for text in said for one in read_ideas(papers, [text])[0].changes]
    return papers.inputs(*changes)


def attempt(inputs: Inputs, **more: object) -> Attempt:
    wanted = Attempt(
        title="a", changes=(), inputs=inputs, futures=FEW, seed=1, work_limit=LITTLE
    )
    return replace(wanted, **more)  # type: ignore[arg-type]


@cache
def hand_of_small(tmp_path: Path) -> AtHand:
    found = made(attempt(of_small(tmp_path))).at_hand
    assert found is not None
    return found


@pytest.fixture(scope="module")
def hand(tmp_path_factory) -> AtHand:
    return hand_of_small(tmp_path_factory.mktemp("hand"))


ONE_MORE = 'more.crew=[{name = "Cy", trades = ["labourer"]}]'
AWAY = 'crew.Ana.shifts=["Sat 08:00-16:00"]'


def test_a_plan_holds_with_one_more_person_and_not_without_its_people(tmp_path, hand):
    more = attempt(of_small(tmp_path, ONE_MORE)).case
    stands = as_it_stands(more, hand.answer)
    assert stands is not None
    assert stands.placements == hand.answer.placements
    assert stands.returns == hand.answer.returns
    assert not any(a.proven for a in stands.aims)
    assert as_it_stands(attempt(of_small(tmp_path, AWAY)).case, hand.answer) is None
    coats = of_small(tmp_path, "methods.primer_coats=1")
    assert as_it_stands(attempt(coats).case, hand.answer) is None


def test_no_alternative_in_which_the_plan_at_hand_holds_loses_days(
    tmp_path, hand, monkeypatch
):
    """Whoever has one more person may leave the plan as it is."""
    wanted = attempt(of_small(tmp_path, ONE_MORE), at_hand=hand)
    week = 7 * 24 * 60 // hand.answer.grid.tick_minutes
    late = replace(
        hand.answer,
        placements=tuple(
            replace(
                p,
                start=p.start + week,
                end=p.end + week,
                worked=Spans.of((a + week, b + week) for a, b in p.worked),
            )
            for p in hand.answer.placements
        ),
        returns=tuple(
            replace(r, when=r.when + timedelta(days=7)) for r in hand.answer.returns
        ),
    )
    monkeypatch.setattr(attempts, "answer", lambda case, search: late)
    found = tried(wanted)
    assert found.found is HowFound.STANDS
    assert found.figures is not None
    assert found.figures.full.kept is not None
    assert hand.kept is not None
    assert found.figures.full.kept < hand.kept  # Cy stands in where Bo is away
    assert not found.figures.proven


def test_what_cant_be_back_before_the_date_kept_is_ruled_out_by_a_bound(tmp_path, hand):
    inputs = of_small(tmp_path, "methods.primer_coats=3")
    least = not_before(inputs)
    assert least is not None
    for kept, out in ((least, True), (least + timedelta(minutes=15), False)):
        near = attempt(inputs, at_hand=replace(hand, kept=kept), may_lose=True)
        assert bool(attempts._ruled_out(near)) == out
    found = tried(attempt(inputs, at_hand=replace(hand, kept=least), may_lose=True))
    assert (found.found, found.figures) == (HowFound.RULED_OUT, None)
    assert "isn't back before" in found.why


@pytest.mark.slow
def test_what_the_user_asks_for_is_planned_and_never_back_before_the_bound(
    tmp_path, hand
):
    inputs = of_small(tmp_path, "methods.primer_coats=3")
    least = not_before(inputs)
    assert least is not None
    asked = tried(attempt(inputs, at_hand=replace(hand, kept=least)))
    assert asked.found is not HowFound.RULED_OUT
    assert asked.figures is not None
    assert least <= asked.figures.full.planned


def lever_rows(tmp_path: Path, hand: AtHand, *, every: int) -> int:
    """Look at some levers' rows beside those of job files edited by hand; count them."""
    path = job_file(tmp_path, f"# ours\n{SMALL}")
    papers = Papers(path)
    ideas = read_levers(papers, levers(papers.inputs().job, papers.values))
    assert len(ideas) > 12
    near = 0
    for idea in ideas[::every]:
        keep = tmp_path / "edited.toml"
        keep.write_bytes(papers.with_changes(*idea.changes))
        assert keep.read_text("utf-8").startswith("# ours\n")
        wanted = attempt(Papers(keep).inputs(), at_hand=hand, way=idea.way)
        row = tried(attempt(idea.inputs, at_hand=hand, way=idea.way))
        assert repr(row) == repr(made(wanted).alternative), idea.title
        near += row.found is HowFound.NEAR
    return near


def test_a_lever_is_the_plan_of_the_job_file_that_keeps_it(tmp_path, hand):
    """Byte for byte, also where the file was written with comments of its own."""
    assert lever_rows(tmp_path, hand, every=9)


@pytest.mark.slow
def test_every_lever_is_the_plan_of_the_job_file_that_keeps_it(tmp_path, hand):
    assert lever_rows(tmp_path, hand, every=1) > 6


# --------------------------------------------------------------- without a plan


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
    made.run(OneByOne(2), lambda one, won: None)
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
    ran = covetime(
        *words, "--json", str(out), "--futures", str(FEW), "--work-limit", str(LITTLE)
    )
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


def test_nothing_of_the_processes_is_left_for_the_end_of_the_program():
    """What was left there wrote into a closed pipe now and then, with a traceback."""
    before = set(threading.enumerate())
    with Together(lambda: False):
        pass
    assert set(threading.enumerate()) <= before
    assert active_children() == []


# ------------------------------------------------------ near the plan at hand


def near_hand(inputs: Inputs, hand: AtHand) -> Answer | None:
    search = attempt(inputs).search(None)
    return kept_near(Case(inputs=inputs), hand.answer, search, percent=80)


def test_a_plan_near_another_has_its_order_and_what_the_change_brings(tmp_path, hand):
    found = near_hand(of_small(tmp_path, "methods.primer_coats=1"), hand)
    assert found is not None
    tasks = {p.task for p in found.placements}
    assert {p.task for p in hand.answer.placements} - tasks == {"prime-2"}
    assert found.closure[0].date() >= hand.answer.closure[0].date()
    assert found.closure[1] < hand.answer.closure[1]
    assert not any(a.proven for a in found.aims)


def test_what_the_plan_at_hand_lacks_comes_right_after_what_it_follows(tmp_path, hand):
    inputs = of_small(tmp_path, "methods.primer_coats=3")
    problem = posed(Case(inputs=inputs), weeks=6)
    order, teams = nearby._arranged(problem, hand.answer.placements)
    assert order[order.index("prime-2") + 1] == "prime-3"
    assert "prime-3" not in teams
    assert set(order) == {t.id for t in problem.instance.tasks}


def test_there_is_no_plan_near_another_once_time_is_up_or_nobody_may_lead(
    tmp_path, hand
):
    more = of_small(tmp_path, ONE_MORE)
    over = replace(attempt(more).search(None), stop=lambda: True)
    assert kept_near(Case(inputs=more), hand.answer, over, percent=80) is None
    nobody = of_small(tmp_path, 'crew.Ana.trades=["finisher", "painter"]')
    assert near_hand(nobody, hand) is None


def test_what_was_planned_before_the_plan_at_hand_is_weighed_against_it(tmp_path, hand):
    wanted = attempt(of_small(tmp_path, ONE_MORE), at_hand=hand)
    own = tried(attempt(of_small(tmp_path, ONE_MORE)))
    assert own.figures is not None
    (light, full) = own.figures.returns
    assert hand.kept is not None
    late = replace(full, kept=hand.kept + timedelta(days=9))
    worse = replace(own, figures=replace(own.figures, returns=(light, late)))
    assert weighed(worse, wanted).found is HowFound.STANDS
    assert weighed(own, wanted).found in (HowFound.PLANNED, HowFound.STANDS)
    none = replace(own, figures=None, why="no plan")
    assert weighed(none, wanted) == none


def test_a_job_that_has_begun_is_refused_with_what_to_use(tmp_path):
    path = job_file(tmp_path)
    began = "2027-02-08T12:00:00Z"
    logged = covetime("log", str(path), "begun", "intake", "--now", began)
    assert logged.returncode == 0, logged.stderr
    ran = covetime("compare", str(path), "--change", "methods.fill=foam")
    assert ran.returncode == 2
    assert "a plan from its start knows nothing of them" in ran.stderr
    assert f"covetime revise {path} --dry-run" in ran.stderr.replace("\n", " ")
