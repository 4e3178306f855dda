"""By which mark people know a plan: the day it was made, and its number in its folder.

Tests of planner/nouns/told/mark.py, planner/usecases/marking.py,
planner/report/drawing/telling.py.
"""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from planner.files.folder.planfile import read_plan
from planner.languages.catalogues import language_of
from planner.nouns.plan import Plan
from planner.nouns.told.mark import PlanMark, following
from planner.report.drawing.telling import mark_words
from planner.usecases.marking import marked, standing_in
from tests.support.plans import made_plan
from tests.support.values import put

NOW = datetime(2027, 1, 15, 9, tzinfo=UTC)
FIRST = PlanMark(day=date(2027, 1, 15), number=1)


def other(plan: Plan) -> Plan:
    """The same plan with one word changed."""
    return replace(plan, remarks=(*plan.remarks, "one word more"))


def test_a_mark_is_said_in_words_and_in_a_form_that_sorts():
    third = PlanMark(day=date(2026, 11, 27), number=3)
    assert third.words == "27 Nov 2026, no. 3"
    assert third.code == "2026-11-27/3"
    assert following(third, date(2026, 12, 1)) > third
    with pytest.raises(ValueError, match="number: 0 is less than 1"):
        PlanMark(day=date(2026, 11, 27), number=0)


def test_english_reads_the_words_and_other_languages_the_form_that_all_read():
    plan = made_plan()
    assert mark_words(plan) == "not written yet"
    plan = replace(plan, mark=FIRST)
    assert mark_words(plan) == "15 Jan 2027, no. 1"
    assert mark_words(plan, language_of("fr")) == "2027-01-15/1"


def test_a_plan_that_is_made_again_keeps_its_mark_and_another_gets_the_next():
    plan = made_plan()
    stands = marked(plan, None, NOW)
    assert stands.mark == FIRST
    later = NOW + timedelta(days=3)
    assert marked(plan, stands, later) == stands
    assert marked(other(plan), stands, later).mark == PlanMark(
        day=date(2027, 1, 18), number=2
    )
    assert marked(other(plan), stands, NOW).mark != FIRST  # also on the same day
    assert marked(plan, plan, NOW).mark == FIRST  # one that stands without a mark


def test_the_day_is_that_of_the_site():
    plan = made_plan()
    night = datetime(2027, 1, 16, 3, tzinfo=UTC)  # 23:00 in Halifax
    assert plan.zone == "America/Halifax"
    assert marked(plan, None, night).mark == FIRST


def test_a_folder_counts_its_plans_and_one_that_lost_its_plan_begins_anew(
    tmp_path: Path,
):
    plan, days = made_plan(), [NOW + timedelta(days=n) for n in range(5)]
    put(plan, tmp_path, now=days[0])
    first = {p: p.read_bytes() for p in sorted(tmp_path.rglob("*")) if p.is_file()}
    put(plan, tmp_path, now=days[1])  # nothing has changed, so no byte has
    again = {p: p.read_bytes() for p in sorted(tmp_path.rglob("*")) if p.is_file()}
    assert again == first
    put(other(plan), tmp_path, now=days[2])
    put(plan, tmp_path, now=days[3])  # as before, but not the plan that stood
    stands = standing_in(tmp_path)
    assert stands is not None
    assert stands.mark == PlanMark(day=date(2027, 1, 18), number=3)
    kept = [p.read_bytes() for p in (tmp_path / "earlier").rglob("plan.json")]
    marks = [read_plan(data, file="plan.json").mark for data in kept]
    assert sorted(m.number for m in marks if m) == [1, 2]
    for damaged in (b"{}", None):
        (tmp_path / "plan.json").unlink()
        if damaged is not None:
            (tmp_path / "plan.json").write_bytes(damaged)
        assert standing_in(tmp_path) is None
