"""What a case asks besides the job: a window, settled tasks, what was agreed before.

Tests of planner/judge/asked.py, planner/nouns/case.py, planner/planning/answering.py,
planner/planning/asked.py.
"""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from planner.errors import NoPlanError, PlannerError
from planner.files.job.changes import changes_from
from planner.judge import judged
from planner.nouns.case import AgreedTask, Case, ClosureWindow, SettledTask
from planner.nouns.ids import bare
from planner.nouns.plan import Plan
from planner.planning.answer import Answer
from planner.planning.answering import answer
from planner.planning.searching import Search
from planner.schedule.problem.limits import SearchLimits
from planner.schedule.problem.parts import AimKind
from planner.usecases.read import Papers
from tests.support.finished import finished
from tests.support.ics import HALIFAX, local
from tests.support.values import STRAIGHT, changed, job_file

LITTLE = Search(limits=SearchLimits(work=0.05))
ROOM = '[air.room]\nvolume = "150 m3"\n[stage]'


@pytest.fixture(scope="module")
def papers(tmp_path_factory) -> Papers:
    return Papers(job_file(tmp_path_factory.mktemp("job"), STRAIGHT))


@pytest.fixture(scope="module")
def found(papers: Papers) -> Answer:
    return answer(papers.case(), LITTLE)


def start_of(found: Answer, task: str) -> datetime:
    return found.grid.instant(next(p.start for p in found.placements if p.task == task))


def planned(case: Case) -> Plan:
    return finished(case, answer(case, LITTLE))


# -------------------------------------------------------------------------- window


def test_the_stage_stays_open_until_its_window_begins_and_the_plan_says_so(
    papers, found
):
    until = found.closure[0] + timedelta(days=2)
    plan = planned(papers.case(window=ClosureWindow(not_before=until)))
    assert plan.stage.closure[0] >= until
    assert plan.stage.closure[1] > found.closure[1]
    said = [r for r in plan.remarks if r.startswith("asked: ")]
    assert len(said) == 1
    assert "asked: the stage stays open until " in said[0]


def test_a_return_that_is_early_enough_is_kept_and_a_tick_earlier_is_refused(
    papers, found
):
    first = found.closure[1]
    kept = papers.case(window=ClosureWindow(not_after=first))
    assert planned(kept).stage.closure[1] == first
    too_early = ClosureWindow(not_after=first - timedelta(minutes=15))
    with pytest.raises(NoPlanError) as error:
        answer(papers.case(window=too_early), Search(limits=SearchLimits()))
    assert any("the stage is back by " in words for words in error.value.conflict)


@pytest.mark.parametrize(
    ("first", "last"),
    [
        (datetime(2027, 2, 9), None),  # noqa: DTZ001  that is refused
        (None, datetime(2027, 2, 9)),  # noqa: DTZ001
        (datetime(2027, 2, 9, tzinfo=UTC), datetime(2027, 2, 9, tzinfo=UTC)),
    ],
)  # fmt: skip
def test_a_window_without_zone_or_length_is_refused(first, last):
    with pytest.raises(ValueError, match=r"no zone|is not before"):
        ClosureWindow(not_before=first, not_after=last)


# -------------------------------------------------------------------------- settled


def test_what_is_settled_stays_and_the_plan_says_so(papers, found):
    task = "handover"
    later = start_of(found, task) + timedelta(days=7)
    case = papers.case(settled=(SettledTask(task=task, start=later),))
    plan = planned(case)
    assert plan.task(task).start == later
    title = plan.task(task).title
    (said,) = (r for r in plan.remarks if "settled" in r)
    assert said.startswith(f'it is settled that "{title}" begins ')


def test_a_settled_team_does_the_task(papers, found):
    task = "rub"
    ids = [p.task for p in found.placements if p.task.startswith(task)]
    usual = next(p.team for p in found.placements if p.task == ids[0])
    others = [
        p.id
        for p in papers.case().inputs.job.crew
        if p.id not in usual and "finisher" in p.trades
    ]
    team = tuple(others[:1]) or usual
    plan = planned(papers.case(settled=(SettledTask(task=ids[0], team=team),)))
    assert plan.task(ids[0]).team == team


@pytest.mark.parametrize(
    ("settled", "said", "hint"),
    [
        (SettledTask(task="handovr"), 'no task "handovr"', 'did you mean "handover"?'),
        (SettledTask(task="handover", team=("an",)), 'no person "an"', 'did you mean "ana"?'),
        (SettledTask(task="handover", start=local(HALIFAX, 2027, 2, 9, 8) + timedelta(minutes=5)), "is not on a step of 15 minutes", ""),
    ],
)  # fmt: skip
def test_what_can_not_be_settled_is_told(papers, settled, said, hint):
    with pytest.raises(PlannerError) as error:
        answer(papers.case(settled=(settled,)), LITTLE)
    assert said in error.value.message
    assert error.value.hint == hint
    assert error.value.where == f"settled: {settled.task}"


@pytest.mark.slow
def test_what_is_asked_is_kept_in_the_air_that_the_coats_make_too(tmp_path):
    papers = Papers(job_file(tmp_path, changed(STRAIGHT, ("[stage]", ROOM))))
    free = answer(papers.case(), LITTLE)
    last = start_of(free, "handover") + timedelta(days=7)
    until = free.closure[0] + timedelta(hours=24)
    case = papers.case(
        window=ClosureWindow(not_before=until),
        settled=(SettledTask(task="handover", start=last),),
    )
    plan = planned(case)
    assert plan.stage.closure[0] >= until
    assert plan.task("handover").start == last


# --------------------------------------------------------------------------- agreed


def agreed_in(found: Answer) -> tuple[AgreedTask, ...]:
    return tuple(
        AgreedTask(task=p.task, start=found.grid.instant(p.start), team=p.team)
        for p in found.placements
    )


def test_what_was_agreed_moves_as_little_as_return_and_closure_let_it(papers, found):
    gone = AgreedTask(task="no longer there", start=found.closure[0], team=("zoe",))
    case = papers.case(agreed=(*agreed_in(found), gone))
    again = answer(case, LITTLE)
    change = next(a for a in again.aims if a.aim is AimKind.CHANGE)
    assert [a.aim for a in again.aims].index(AimKind.CHANGE) == 2
    assert again.worth[:2] <= found.worth[:2]
    if again.worth[:2] == found.worth[:2]:
        assert change.value == 0
        assert {(p.task, p.start) for p in again.placements} == {
            (p.task, p.start) for p in found.placements
        }
    plan = finished(case, again)
    assert "least change from what was agreed" in [a.aim for a in plan.aims]
    assert any("were agreed before" in r for r in plan.remarks)


def test_agreed_plans_make_other_cases(papers, found):
    plain = papers.case()
    cases = (
        plain,
        papers.case(agreed=agreed_in(found)),
        papers.case(agreed=agreed_in(found)[1:]),
        papers.case(window=ClosureWindow(not_after=found.closure[1])),
        papers.case(settled=(SettledTask(task="handover"),)),
        papers.case(changes_from({"methods.fill": "foam"})),
    )
    assert len({c.fingerprint for c in cases}) == len(cases)
    assert plain.fingerprint == plain.inputs.fingerprint
    # the same instants in another zone are the same case
    there = found.closure[1].astimezone(ZoneInfo("Asia/Tokyo"))
    assert (
        papers.case(window=ClosureWindow(not_after=there)).fingerprint
        == cases[3].fingerprint
    )


# ---------------------------------------------------------------- broken on purpose


def test_the_judge_names_what_a_plan_does_not_keep_of_what_was_asked(papers, found):
    case = papers.case()
    plan = finished(case, found)
    begin, end = plan.stage.closure
    step = timedelta(minutes=15)

    def said(
        window: ClosureWindow | None = None, *settled: SettledTask
    ) -> tuple[str, ...]:
        return judged(
            case.inputs, plan, window=window or ClosureWindow(), settled=settled
        )

    assert said(ClosureWindow(not_before=begin, not_after=end)) == ()
    (early,) = said(ClosureWindow(not_before=begin + step))
    assert "is to stay open until" in early
    (late,) = said(ClosureWindow(not_after=end - step))
    assert "is to be back by" in late
    task = plan.task("handover")
    kept = SettledTask(
        task=bare(task.id), start=task.start, end=task.end, team=task.team
    )
    assert said(None, kept) == ()
    (moved,) = said(None, replace(kept, start=task.start - step))
    assert f'"{task.title}" begins ' in moved
    (ended,) = said(None, replace(kept, end=task.end + step))
    assert f'"{task.title}" ends ' in ended
    (other,) = said(None, replace(kept, team=("zoe",)))
    assert "settled to be done by zoe" in other
    (missing,) = said(None, replace(kept, task="paint the moon"))
    assert missing == '"paint the moon" is settled, and isn\'t in the plan'
