"""Plans of earlier formats, and of other stages: what is refused, what stays the same.

`tests/data/plans` holds the record of a plan's calendars as the program wrote it when a
plan was of a single stage (format 5).

Tests of planner/files/folder/planfile.py, planner/nouns/ids.py,
planner/report/calendars/keys.py.
"""

import json
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest
from icalendar import Calendar

from planner.errors import PlannerError
from planner.files.folder.planfile import plan_bytes, read_plan
from planner.files.ics_out import published
from planner.files.ics_out.published import PublishedState
from planner.nouns.ids import find_id, short_id
from planner.nouns.plan import FORMAT_VERSION
from planner.report.calendars.plan_feeds import feeds
from planner.usecases import write
from tests.support.plans import changed, made_plan

OLD = Path(__file__).parents[1] / "data" / "plans"
LATER = datetime(2027, 1, 9, 12, tzinfo=UTC)
PLAN = plan_bytes(made_plan())


@pytest.mark.parametrize(
    ("version", "words"),
    [
        (7, "an earlier version of the program"),
        (4, "doesn't say what can be promised"),
        (FORMAT_VERSION + 1, "a later version of the program"),
    ],
)
def test_a_plan_of_another_format_is_refused_with_what_to_do(version, words):
    data = json.dumps({**json.loads(PLAN), "format_version": version}).encode()
    with pytest.raises(PlannerError) as refused:
        read_plan(data, file="plan/plan.json")
    said = " ".join(refused.value.lines())
    assert words in said
    assert said.startswith("plan/plan.json: ")
    assert "covetime plan JOB" in said


@pytest.mark.parametrize(
    "data",
    [
        b"", b"[]", b"{}", b"\xff", b'{"format_version": 8}', b'{"format_version": []}',
        b'{"format_version": "x"}',
        PLAN[: len(PLAN) // 2], PLAN.replace(b'"returns"', b'"retruns"'),
    ],
)  # fmt: skip
def test_what_is_no_plan_is_refused_with_what_to_do(data):
    with pytest.raises(PlannerError, match="is damaged, or is no plan"):
        read_plan(data, file="plan.json")


def test_two_stages_of_one_id_are_refused():
    plan = made_plan()
    with pytest.raises(ValueError, match="used twice"):
        replace(plan, stages=(plan.stage, plan.stage))
    with pytest.raises(ValueError, match="none of the stages"):
        replace(plan, stages=(replace(plan.stage, id="mill"),))


# ------------------------------------------------------------------ identities


def entries(data):
    return {str(e["UID"]): e for e in Calendar.from_ical(data).walk("VEVENT")}


def test_entries_published_before_there_were_stages_keep_their_identity():
    state = published.from_bytes((OLD / "published-format-5.json").read_bytes())
    plan = made_plan(bays=("wall",), people=("Marisol",))
    returns = tuple(replace(r, tentative_until=r.promise) for r in plan.stage.returns)
    plan = changed(plan, returns=returns)  # that one had no tentative stretch
    files = write.outputs(plan, state=state, now=LATER)
    for feed in state.feeds():
        found = entries(files[f"{feed}.ics"])
        # the same UIDs and no others: none is doubled, none cancelled
        assert set(found) == {e.uid for e in state.of_feed(feed)}, feed
        assert all(e["STATUS"] != "CANCELLED" for e in found.values())
    # and without the record of what was published too
    again = write.outputs(plan, state=PublishedState(), now=LATER)
    assert {u for f in state.feeds() for u in entries(again[f"{f}.ics"])} == {
        e.uid for e in state.entries
    }


def test_plans_of_two_stages_share_no_id_no_entry_and_no_file_of_a_stage():
    one = made_plan(stage_id="tern-street", job_id="a-cove")
    two = made_plan(stage_id="mill-lane", job_id="another-cove")
    for of in (
        lambda p: {t.id for t in p.tasks},
        lambda p: {b.id for b in p.stage.bays},
        lambda p: {path for path in feeds(p) if path.startswith("closure/")},
        lambda p: {
            uid
            for path, data in write.outputs(
                p, state=PublishedState(), now=LATER
            ).items()
            if path.endswith(".ics")
            for uid in entries(data)
        },
    ):
        assert of(one)
        assert not of(one) & of(two)


def test_a_plan_of_two_stages_has_a_calendar_for_each_and_one_for_both():
    one = made_plan(stage_id="tern-street", job_id="a-cove")
    two = made_plan(stage_id="mill-lane", job_id="another-cove", job="Mill Lane")
    both = replace(
        one,
        stages=(one.stage, two.stage),
        tasks=(*one.tasks, *two.tasks),
        waits=(*one.waits, *two.waits),
        links=(*one.links, *two.links),
    )
    made = feeds(both)
    alone = {**feeds(one), **feeds(two)}
    for path in ("closure/tern-street.ics", "closure/mill-lane.ics"):
        assert [(e.job_id, e.key, e.title, e.when) for e in made[path].entries] == [
            (e.job_id, e.key, e.title, e.when) for e in alone[path].entries
        ]
    titles = [e.title for e in made["closure.ics"].entries]
    assert titles == [
        e.title for p in (one, two) for e in feeds(p)["closure.ics"].entries
    ]
    task = one.tasks[0]
    assert both.short_id(task.id) == task.id  # both stages have such a task
    assert one.short_id(task.id) == task.id.removeprefix("tern-street:")


def test_an_id_may_leave_its_stage_out_where_one_only_is_meant():
    ids = ("tern-street:prime-1", "mill-lane:prime-1", "mill-lane:shadow")
    assert find_id("mill-lane:prime-1", ids) == "mill-lane:prime-1"
    assert find_id("prime-1", ids) is None
    assert find_id("shadow", ids) == "mill-lane:shadow"
    assert find_id("", ids) is None
    assert [short_id(i, ids) for i in ids] == [*ids[:2], "shadow"]
