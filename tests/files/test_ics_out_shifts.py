"""A person's calendar by shifts: one entry each, with the tasks in its text.

Tests of planner/report/calendars/plan_feeds.py, planner/report/calendars/keys.py,
planner/judge/calendars/feeds.py.
"""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

import icalendar
import pytest

from planner.files.ics_out import published
from planner.files.ics_out.published import PublishedState
from planner.files.job.jobfile import read_job
from planner.judge import calendars_judged
from planner.nouns.plan import Plan
from planner.report.calendars.plan_feeds import person_feed
from planner.usecases import write
from tests.support.plans import made_plan
from tests.support.values import STRAIGHT, changed, job_file

NOW = datetime(2027, 1, 15, 9, tzinfo=UTC)
PATH = "people/p1.ics"


def written(plan: Plan, state: PublishedState | None = None) -> dict[str, bytes]:
    return write.outputs(plan, state=state or PublishedState(), now=NOW)


def events(data: bytes) -> dict[str, Any]:
    """Return the entries that stand, by their identities."""
    found = icalendar.Calendar.from_ical(data).walk("VEVENT")
    return {str(e["UID"]): e for e in found if str(e.get("STATUS")) != "CANCELLED"}


def by_shift() -> Plan:
    return replace(made_plan(), entries="shifts")


def spans(plan: Plan) -> list[tuple[datetime, datetime, str]]:
    return sorted(
        (start, end, t.title)
        for t in plan.tasks
        if "p1" in t.team
        for start, end in t.spans
    )


def test_a_shift_is_one_entry_with_its_tasks_in_the_text():
    plan = by_shift()
    found = sorted(events(written(plan)[PATH]).values(), key=lambda e: e.start)
    own = spans(plan)
    # Here every day has one shift, so there are as many entries as days.
    days = sorted({start.date() for start, _, _ in own})
    assert len(found) == len(days) < len(own)
    for event, day in zip(found, days, strict=True):
        here = [s for s in own if s[0].date() == day]
        assert event.start == here[0][0]
        assert event.end == max(end for _, end, _ in here)
        for start, end, title in here:
            local = timedelta(hours=-4)  # Halifax in winter
            clock = f"{start + local:%H:%M}-{end + local:%H:%M} {title}"
            assert clock in str(event["DESCRIPTION"])
            assert title in str(event["SUMMARY"])


def test_what_lies_six_hours_apart_is_two_shifts_of_a_day():
    plan = by_shift()
    first = next(t for t in plan.tasks if "p1" in t.team)
    start = first.spans[0][0]
    for gap, count in ((timedelta(hours=5, minutes=45), 1), (timedelta(hours=6), 2)):
        hour = timedelta(hours=1)
        later = start + hour + gap
        task = replace(first, spans=((start, start + hour), (later, later + hour)))
        one = replace(plan, tasks=(task,), links=())
        feed = person_feed(one, plan.crew[1])
        assert len(feed.entries) == count
        keys = [e.key for e in feed.entries]
        day = f"shift/{start:%Y-%m-%d}"
        assert keys == [f"{day}/{n + 1}" for n in range(count)]


def test_identities_are_steady_across_the_two_ways_and_back():
    tasks, shifts = made_plan(), by_shift()
    first = written(tasks)
    one = published.from_bytes(first["published.json"])
    second = written(shifts, one)
    two = published.from_bytes(second["published.json"])
    third = written(tasks, two)
    ids = [set(events(files[PATH])) for files in (first, second, third)]
    assert ids[0] == ids[2]
    assert not ids[0] & ids[1]
    # What stood before is cancelled rather than left behind.
    gone = icalendar.Calendar.from_ical(second[PATH]).walk("VEVENT")
    cancelled = {str(e["UID"]) for e in gone if str(e.get("STATUS")) == "CANCELLED"}
    assert cancelled == ids[0]
    assert events(second["crew.ics"]).keys() == events(first["crew.ics"]).keys()


def test_the_judge_reads_both_ways_and_finds_what_is_wrong_in_each():
    tasks, shifts = made_plan(), by_shift()
    by = {"tasks": written(tasks), "shifts": written(shifts)}
    assert calendars_judged(tasks, by["tasks"]) == ()
    assert calendars_judged(shifts, by["shifts"]) == ()
    for plan, files in ((tasks, by["shifts"]), (shifts, by["tasks"])):
        assert any(PATH in f for f in calendars_judged(plan, files))
    # 13:00 in UTC is 09:00 in Halifax: a task of another hour than the plan's
    lost = by["shifts"][PATH].replace(b"09:00-10:00 ", b"09:05-10:00 ")
    assert lost != by["shifts"][PATH]
    said = calendars_judged(shifts, by["shifts"] | {PATH: lost})
    assert any("is not what the plan says" in f for f in said)


def test_the_place_is_the_stage_with_its_address():
    plan = made_plan()
    placed = replace(plan.stage, address="4 Fern Lane, Halifax")
    files = written(replace(plan, stages=(placed,)))
    for path in ("closure.ics", PATH):
        places = {str(e["LOCATION"]) for e in events(files[path]).values()}
        assert f"{plan.stage.name}, 4 Fern Lane, Halifax" in places


@pytest.mark.parametrize("entries", ["tasks", "shifts"])
def test_a_job_says_what_an_entry_is_and_where_the_stage_is(tmp_path, entries):
    said = f'[calendars]\nentries = "{entries}"\n[stage]\naddress = "4 Fern Lane"'
    job = read_job(job_file(tmp_path, changed(STRAIGHT, ("[stage]", said))))
    assert (job.entries, job.stage.address) == (entries, "4 Fern Lane")
