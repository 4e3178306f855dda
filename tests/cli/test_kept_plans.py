"""`plan` makes plans that are kept, and says over which other it chose; `--earliest` not.

Tests of planner/promise/wording.py, planner/usecases/plan.py,
planner/commands/planning.py, planner/report/words/summary.py,
planner/report/page/stage.py, planner/report/words/sure/promise.py.
"""

import re
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from time import monotonic

import pytest

from planner.files.folder import planfile
from planner.nouns.plan import CUT_SHORT, MADE_TO_BE_KEPT, Plan
from planner.nouns.protection import UNPROTECTED, Offer
from planner.nouns.work import ReturnKind
from planner.odds.tally import FUTURES, HURRIED
from planner.planning.answering import answer
from planner.planning.make import worded
from planner.planning.searching import Search
from planner.promise.keeping import KeptPlan, kept_from
from planner.promise.wording import NO_OTHER, cut_short_words, kept_words
from planner.report.drawing.view import View
from planner.report.page.stage import holding, how_promised
from planner.report.words.summary import plan_summary
from planner.schedule.problem.limits import SearchLimits
from planner.usecases.plan import promised
from planner.usecases.read import Papers
from tests.support.command import covetime
from tests.support.finished import few_odds
from tests.support.side_by_side import SMALL
from tests.support.values import changed, job_file

NOW = ("--now", "2027-01-15T09:00:00Z", "--work-limit", "0.2")
SURE = changed(
    SMALL,
    ("[methods]", '[odds]\npace = "0 %"\npace_by_work = "0 %"\npace_by_task = "0 %"\n'
     'waits = "0 %"\nwaits_by_coat = "0 %"\ntemperature = "0 C"\nhumidity = "0 %"\n'
     'late_crates = "0 %"\naway = "0 %"\ntouch_up = "0 h"\n[methods]'),
)  # fmt: skip


def planned(folder: Path, text: str, *, kept: bool) -> tuple[Plan, str]:
    """Return a plan as the command writes it, and what is printed."""
    folder.mkdir(exist_ok=True)
    path = job_file(folder, text)
    ran = covetime("plan", str(path), *NOW, kept=kept)
    assert ran.returncode == 0, ran.stderr
    data = (folder / "plan" / "plan.json").read_bytes()
    return planfile.read_plan(data, file="plan.json"), ran.stdout


def test_a_plan_is_made_to_be_kept_unless_the_earliest_is_asked_for(tmp_path):
    kept, said = planned(tmp_path / "kept", SMALL, kept=True)
    first, plainly = planned(tmp_path / "first", SMALL, kept=False)
    for plan in (kept, first):
        assert plan.stage.returning(ReturnKind.FULL_SERVICE).promise is not None
    mine, its = (
        p.stage.returning(ReturnKind.FULL_SERVICE).promise for p in (kept, first)
    )
    assert mine is not None
    assert its is not None
    assert mine <= its
    assert first.aims[0].proven
    assert not first.made_to_be_kept
    assert "Made to be kept" not in plainly
    if kept.made_to_be_kept:
        assert "  Made to be kept  " in said
    else:
        assert NO_OTHER in kept.remarks


def test_a_plan_that_was_chosen_for_its_promise_is_not_called_the_earliest(tmp_path):
    plan, _ = planned(tmp_path, SMALL, kept=False)
    first, *others = plan.aims
    chosen = replace(
        plan,
        aims=(replace(first, proven=False), *others),
        remarks=(f"{MADE_TO_BE_KEPT}the plan that returns the earliest would be so",),
    )
    words = " ".join(
        [*how_promised(View(chosen)), *holding(View(chosen)), plan_summary(chosen, ())]
    )
    assert "the plan that returns the earliest would be so" in words
    assert "its promise is later" in words
    assert "chosen for the earlier promise" in " ".join(words.split())
    assert "earliest return that was found" not in words
    assert "earliest that was found" not in words


def test_where_nothing_can_differ_no_other_plan_is_looked_for(tmp_path):
    plan, said = planned(tmp_path, SURE, kept=True)
    full = plan.stage.returning(ReturnKind.FULL_SERVICE)
    assert full.promise == full.when
    assert NO_OTHER in plan.remarks
    assert "Made to be kept" not in said
    assert "proven" in said


def test_what_a_late_plan_leaves_out_is_told(tmp_path):
    case = Papers(job_file(tmp_path, SMALL)).case()
    late = Search(limits=SearchLimits(work=0.2, until_s=monotonic()))
    made = promised(case, late, keep=True)
    assert made.odds.futures == HURRIED < FUTURES
    assert made.odds.threats == ()
    (said,) = made.remarks
    assert said == (
        f"{CUT_SHORT}time was up, so no plan that is kept more often was looked for, "
        "2,000 futures were played instead of 10,000, what threatens the dates wasn't "
        "told apart"
    )
    plan = worded(case, made.answer, made.odds, program="test", remarks=made.remarks)
    assert not plan.made_to_be_kept
    assert f"{said}." in how_promised(View(plan))
    assert "  Cut short  " in plan_summary(plan, ())
    assert "2,000 futures" in " ".join(how_promised(View(plan)))
    in_time = replace(made.odds, futures=FUTURES)
    assert cut_short_words("", in_time, None, keep=True) == ()
    (said,) = cut_short_words("interrupted", in_time, None, keep=False)
    assert said.removeprefix(CUT_SHORT) == (
        "the search was stopped, so what threatens the dates wasn't told apart"
    )


def test_what_else_was_weighed_is_told_in_words(tmp_path):
    case = Papers(job_file(tmp_path, SURE)).case()
    search = Search(limits=SearchLimits())
    best = kept_from(case, answer(case, search), search, futures=100)
    assert kept_words(best, case.inputs.job) == (NO_OTHER,)
    odds = replace(few_odds(case, best.answer), futures=FUTURES)
    (cut,) = cut_short_words(
        "clock limit", odds, replace(best, cut_short=True), keep=True
    )
    assert "time was up, so not all plans that may be kept more often" in cut
    offer = best.offer
    sooner = replace(offer, promised=offer.planned - timedelta(days=1), shifts=9)
    others = tuple(replace(offer, shifts=n) for n in (3, 2, 1))
    chosen = replace(best, offer=sooner, trade=(sooner, *others))
    first, *more = kept_words(chosen, case.inputs.job)
    assert first.startswith(
        f"{MADE_TO_BE_KEPT}the plan with the shortest planned closure"
    )
    told = f"{offer.shifts} shifts instead of {sooner.shifts}; this one brings"
    assert f"{told} the promise 1 day forward" in first
    assert [re.findall(r"\d+ shifts", w)[0] for w in more] == ["3 shifts", "2 shifts"]
    earlier = replace(sooner, planned=offer.planned + timedelta(days=2))
    first, *_ = kept_words(replace(chosen, offer=earlier), case.inputs.job)
    assert "that returns the earliest if all goes as planned, " in first
    unknown = replace(best.unprotected, promised=None, closed_days=None)
    first, *_ = kept_words(replace(chosen, unprotected=unknown), case.inputs.job)
    assert "back later than is looked at" in first


@pytest.mark.parametrize(
    ("sooner", "more", "said"),
    [
        (3, 1, "; for 1 day more closed this one brings the promise 3 days forward"),
        (1, 2, "; for 2 days more closed this one brings the promise 1 day forward"),
        (2, 0, "; this one brings the promise 2 days forward, no more days closed"),
        (2, -1, "; this one brings the promise 2 days forward, 1 day fewer closed"),
        (0, 1, ""),
    ],
)
def test_what_closed_days_buy_of_the_promise_is_told(tmp_path, sooner, more, said):
    """Two returns at the same hour, so many days apart; days closed of both."""
    case = Papers(job_file(tmp_path, SMALL)).case()
    when = datetime(2027, 3, 9, 21, tzinfo=UTC)  # 17:00 on the site
    other = Offer(
        protection=UNPROTECTED,
        closed_from=when - timedelta(days=20),
        planned=when - timedelta(days=9),
        promised=when,
        closed_days=21,
        expected_days=20.0,
        expected_cost=None,
        shifts=9,
        idle_min=0,
    )
    chosen = replace(
        other, promised=when - timedelta(days=sooner), closed_days=21 + more, shifts=8
    )
    first = answer(case, Search(limits=SearchLimits(work=0.05)))
    best = KeptPlan(
        percent=80,
        answer=first,
        promised=chosen.promised,
        offer=chosen,
        unprotected=other,
        trade=(chosen, other),
    )
    (told,) = kept_words(best, case.inputs.job)
    plain = "back by Tue 9 Mar 2027 in 80 of 100 cases, 21 days closed, 9 shifts"
    assert told.endswith(f"{plain} instead of 8{said}")
    as_many = replace(best, offer=replace(chosen, shifts=other.shifts))
    assert kept_words(as_many, case.inputs.job)[0].endswith(plain + said)


@pytest.mark.slow
def test_the_same_job_gives_the_same_kept_plan_byte_for_byte(tmp_path):
    for name in ("one", "two"):
        planned(tmp_path / name, SMALL, kept=True)
    one, two = (
        {
            p.name: p.read_bytes()
            for p in (tmp_path / n / "plan").iterdir()
            if p.is_file()
        }
        for n in ("one", "two")
    )
    assert one == two
