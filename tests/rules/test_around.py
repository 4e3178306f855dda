"""What is done before the work and after it, with its days and amounts, by hand.

Seven days before heavy point loads: from memory; the rest is common practice, no source.

Tests of planner/planning/wording/around.py, planner/trade/data/around.py,
planner/report/words/around.py.
"""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from planner.files.folder.planfile import plan_bytes, read_plan
from planner.report.days.text import day_sheets_text
from planner.report.page.crew import crew_page
from planner.report.words.around import around_rows
from planner.report.words.summary import plan_summary
from planner.trade.data.around import reminders
from planner.units import hours
from tests.support.judge import case_of
from tests.support.values import STRAIGHT, changed, job_file

BEHIND = """
[[stage.behind]]
what = "pipe"
run = "wall"
from_start = "1 m"
height = "0.2 m"
"""


@pytest.fixture
def corner(planned):
    return planned["corner"].case


def of(plan, id_):
    return next(r for r in plan.reminders if r.id == id_)


def test_the_kit_is_ordered_its_lead_time_before_the_crates_come(corner):
    # Monday 8 February less three weeks is Monday 18 January; surveyed by then too.
    _, plan = corner
    assert of(plan, "order").day == of(plan, "survey").day == date(2027, 1, 18)
    assert of(plan, "sign").day == date(2027, 2, 8)
    words = of(plan, "order").words
    # north 24 ft and east 18 ft with a corner piece: six and five straight modules
    assert "11 straight modules, 1 corner piece, 2 upright corner modules" in words
    assert "2 end pieces; 21 days before the delivery" in words
    assert hours("3 weeks") == 504.0
    assert "1/8 in (3 mm) under a 10 ft (3 m)" in of(plan, "survey").words


def test_what_may_stand_on_the_floor_from_when(corner):
    _, plan = corner
    zone = corner[0].job.zone
    light, full = plan.stage.returns
    assert of(plan, "feet").day == light.promise.astimezone(zone).date()
    assert of(plan, "trolleys").day == full.promise.astimezone(zone).date()
    # a week after the last colour coat, later by as much as full service is
    last = max(t.end for t in plan.tasks if t.phase == "colour")
    week = last + timedelta(days=7) + (full.promise - full.when)
    assert of(plan, "heavy").day == max(week, full.promise).astimezone(zone).date()


def test_somebody_who_opens_the_crates_signs(corner):
    inputs, plan = corner
    team = [p.name for p in inputs.job.crew if p.id in plan.task("intake").team]
    assert of(plan, "sign").words.split(" signs")[0] in team


def test_waste_is_told_by_kind_with_its_amount(corner, planned):
    _, plan = corner
    words = of(plan, "waste").words
    for kind in ("gypsum", "compound from pans", "paint left over", "packaging"):
        assert kind in words
    assert "foam" not in words.partition(". ")[0]  # this job fills with mortar
    assert "solvent" not in words
    # east is 15 ft beside the corner piece: four modules of 42 in, and 12 in of a fifth
    assert "offcuts of 1 module: 30 in (762 mm)" in words
    small = planned["straight"].case[1]  # foam, and a primer in solvent
    assert "foam: 1 can" in of(small, "waste").words
    assert "closed metal can" in of(small, "waste").words


def test_what_lies_behind_the_cove_is_moved_before_the_wall_is_touched(tmp_path):
    text = changed(
        STRAIGHT,
        ('[[crew]]\nname = "Ana"', BEHIND + '[[crew]]\nname = "Ana"'),
        (
            "earliest = 2027-02-08",
            "earliest = 2027-02-08\ndelivery = 2027-02-09T08:00:00",
        ),
    )
    inputs, plan = case_of(job_file(tmp_path, text), 0.1)
    touched = min(t.start for t in plan.tasks if t.phase in ("mark", "open"))
    gate = of(plan, "behind")
    assert gate.day == touched.astimezone(inputs.job.zone).date()
    assert "pipe on wall, 1000 mm (39 3/8 in) from its start" in gate.words
    assert "licensed plumber" in gate.words
    # nobody said how long the kit takes: the list asks for it, and names no day
    assert of(plan, "order").day is None
    assert "ask for the lead time" in of(plan, "order").words
    assert of(plan, "sign").day == date(2027, 2, 9)


def test_it_is_said_in_summary_sheets_and_page_and_kept_in_the_file(corner):
    _, plan = corner
    assert "Order the kit: by Mon 18 Jan" in plan_summary(plan, ())
    sheets = day_sheets_text(plan)
    page = crew_page(plan).decode()
    assert '<section id="around"' in page
    assert sheets.startswith("Before and after the work")
    for row in around_rows(plan):
        assert row.title in sheets
        assert row.title in page
    assert read_plan(plan_bytes(plan), file="plan.json").reminders == plan.reminders


def test_those_of_a_stretch_come_by_their_days_and_those_without_one_last(corner):
    _, plan = corner
    mixed = replace(plan, reminders=tuple(reversed(plan.reminders)))
    for told in (plan, mixed):
        stretches = list(dict.fromkeys(r.when for r in told.reminders))
        by_title = {r.title: r for r in told.reminders}
        shown = [by_title[row.title] for row in around_rows(told)]
        assert sorted(shown, key=lambda r: r.id) == sorted(
            plan.reminders, key=lambda r: r.id
        )
        assert list(dict.fromkeys(r.when for r in shown)) == stretches
        for when in stretches:
            days = [r.day for r in shown if r.when == when]
            dated = [d for d in days if d is not None]
            assert dated == sorted(dated)
            assert days[len(dated) :] == [None] * (len(days) - len(dated))


def test_every_reminder_says_where_it_comes_from():
    tags = {"read", "from memory", "common practice", "assumption"}
    for one in reminders():
        assert one.tag in tags
        assert one.source
        assert one.when in ("before", "during", "after")
