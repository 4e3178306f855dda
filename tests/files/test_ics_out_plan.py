"""What the calendars of a plan say: of a plan made by hand, whose hours are known.

Tests of planner/files/ics_out/published.py, planner/nouns/feed.py,
planner/report/calendars/keys.py, planner/report/calendars/plan_feeds.py,
planner/report/calendars/waits_feed.py.
"""

import itertools
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import icalendar
import pytest

from planner.errors import PlannerError
from planner.files.folder.planfile import read_plan
from planner.files.ics_out import published
from planner.files.ics_out.published import PublishedState
from planner.nouns.ids import bare
from planner.nouns.plan import Plan
from planner.nouns.work import ReturnKind
from planner.report.calendars.plan_feeds import feeds
from planner.usecases import write
from tests.support.plans import FIRST, HALIFAX, changed, made_plan
from tests.support.values import put

NOW = datetime(2027, 1, 15, 9, tzinfo=UTC)


def plan_with_margin() -> Plan:
    plan = made_plan()
    light, full = plan.stage.returns
    late = full.when + timedelta(days=3)
    return changed(plan, returns=(light, replace(full, tentative_until=late)))


def calendars(plan: Plan, **how: Any) -> dict[str, list[Any]]:
    """Return the entries of each calendar, as written and read back."""
    choices = write.CalendarChoices(**how)
    files = write.outputs(plan, state=PublishedState(), now=NOW, how=choices)
    return {
        path: icalendar.Calendar.from_ical(data).walk("VEVENT")
        for path, data in files.items()
        if path.endswith(".ics")
    }


def span(event: Any) -> tuple[Any, Any]:
    return event["DTSTART"].dt, event["DTEND"].dt


# ------------------------------------------------------------ identities


def test_entries_are_known_as_they_were_in_the_first_calendars():
    # Identities as published in version 5 of the plan's format, before the words for
    # the returns changed: a subscriber's copy must never double.
    got = calendars(made_plan())
    returns = [e["UID"] for e in got["closure.ics"] if "from here on" in e["SUMMARY"]]
    assert returns == [
        "86c0272a-57a4-5ac1-b28a-0e9027325265",
        "26da6b47-4c45-5640-af8d-a0fdc11ab505",
    ]
    walked = {e["UID"] for e in got["waits.ics"] if "may be walked on" in e["SUMMARY"]}
    assert len(walked) == 3
    assert "08317be2-6c06-5193-9f25-44abe0d4bb49" in walked


# ------------------------------------------------------------- the closure


def test_from_the_promise_on_a_stretch_is_tentative():
    plan = plan_with_margin()
    back = plan.stage.returning(ReturnKind.FULL_SERVICE)
    events = calendars(plan)["closure.ics"]
    (margin,) = [e for e in events if e["STATUS"] == "TENTATIVE"]
    assert span(margin) == (back.promise, back.tentative_until)
    # RFC 5545 §3.8.2.7 and MS-OXCICAL: taken, but tentatively
    assert margin["TRANSP"] == "OPAQUE"
    assert margin["X-MICROSOFT-CDO-BUSYSTATUS"] == "TENTATIVE"
    assert "Back for full service in 8 of 10 cases" in margin["DESCRIPTION"]
    assert "In 19 of 20 cases" in margin["DESCRIPTION"]


def test_without_a_margin_nothing_is_tentative():
    plan = made_plan()
    returns = tuple(replace(r, tentative_until=r.promise) for r in plan.stage.returns)
    events = calendars(changed(plan, returns=returns))["closure.ics"]
    assert {str(e["STATUS"]) for e in events} == {"CONFIRMED"}


def test_a_promise_later_than_was_looked_at_is_said_and_not_made_up():
    plan = made_plan()
    light, full = plan.stage.returns
    unknown = replace(full, promise=None, tentative_until=None)
    events = calendars(changed(plan, returns=(light, unknown)))["closure.ics"]
    closed, back = events
    last = plan.stage.sureness.looked_until.astimezone(HALIFAX).date()
    assert span(closed) == (FIRST, last + timedelta(days=1))
    assert "to later than" in closed["DESCRIPTION"]
    assert back["DTSTART"].dt == light.promise


def test_the_returns_are_marked_and_free():
    plan = plan_with_margin()
    events = calendars(plan)["closure.ics"]
    marked = {e["DTSTART"].dt: e for e in events if e["TRANSP"] == "TRANSPARENT"}
    assert set(marked) == {r.promise for r in plan.stage.returns}


# ------------------------------------------------------------- the waits


def test_waits_are_free_and_say_from_when_the_bay_may_be_worked():
    plan = made_plan()
    events = calendars(plan)["waits.ics"]
    assert {str(e["TRANSP"]) for e in events} == {"TRANSPARENT"}
    assert {str(e["X-MICROSOFT-CDO-BUSYSTATUS"]) for e in events} == {"FREE"}
    # the first primer coat on the north wall: an hour's work, then 4 h to recoat
    wait = next(w for w in plan.waits if w.task == "tern-street:prime-9.bay-0")
    task = plan.task("prime-9.bay-0")
    assert wait.ready == task.end + timedelta(hours=4)
    (event,) = [e for e in events if span(e) == (task.end, wait.ready)]
    there = wait.ready.astimezone(ZoneInfo(plan.zone))
    assert event["SUMMARY"] == (
        f"north may be coated from {there:%a} {there.day} {there:%b, %H:%M}"
    )
    assert "check it at the wall" in event["DESCRIPTION"]


def test_every_wait_with_hours_in_it_is_shown_but_for_outlasted_coats():
    plan = made_plan()
    shown = {span(e) for e in calendars(plan)["waits.ics"]}
    assert shown == {(w.begins, w.ready) for w in plan.waits if w.ready > w.begins}
    # let the topping's follow-on wait for the setting compound too, as sanding does
    rub = plan.task("rub-8.bay-0")
    early = replace(
        next(w for w in plan.waits if w.task == "tern-street:setting-coat-6.bay-0"),
        stage="dry",
    )
    link = next(x for x in plan.links if x.after == rub.id)
    more = replace(link, before=early.task, product=early.product, stage="dry")
    both = replace(plan, waits=(*plan.waits, early), links=(*plan.links, more))
    keys = {e.key for e in feeds(both)["waits.ics"].entries}
    assert f"wait/{bare(early.task)}/{early.product}/dry" not in keys
    assert f"wait/{bare(link.before)}/{link.product}/{link.stage}" in keys


# ------------------------------------------------------------- descriptions


@pytest.mark.parametrize("path", ["crew.ics", "people/p0.ics"])
def test_a_shift_says_where_with_whom_what_to_bring_what_must_be_dry(path):
    plan = made_plan()
    own = [t for t in plan.tasks if path == "crew.ics" or "p0" in t.team]
    events = calendars(plan)[path]
    assert len(events) == len(own)
    by_start = {e["DTSTART"].dt: str(e["DESCRIPTION"]) for e in events}
    names = {c.id: c.name for c in plan.crew}
    bays = {b.id: b.name for b in plan.stage.bays}
    waits = {(w.task, w.product, w.stage): w for w in plan.waits}
    dry = 0
    for task in own:
        said = by_start[task.start].split("\n")
        where = ", ".join(bays[b] for b in task.bays)
        assert f"Where: {where} ({plan.stage.name})" in said
        assert f"With: {', '.join(names[p] for p in task.team)}" in said
        assert "Bring: gloves" in said
        assert "- Mind the edge" in said
        assert said[-1] == "As in plan 15 Jan 2027, no. 1"
        for link in plan.links:
            wait = waits.get((link.before, link.product or "", link.stage or ""))
            if link.after == task.id and wait:
                title = plan.task(link.before).title
                assert any(x.startswith(f"- {title}: {wait.way} until ") for x in said)
                dry += 1
    assert dry > 0


def test_every_entry_of_every_calendar_names_its_plan_and_is_plain_text():
    plan = plan_with_margin()
    for path, events in calendars(plan).items():
        assert events, path
        for event in events:
            text = str(event["DESCRIPTION"])
            assert text.endswith("As in plan 15 Jan 2027, no. 1"), path
            assert plan.job in text
            assert event["LOCATION"]
            assert "<" not in text


def test_an_entry_names_the_plan_that_last_changed_it_and_else_keeps_its_bytes():
    old = replace(made_plan(), fingerprint="a" * 64)
    state = PublishedState()
    first = write.outputs(old, state=state, now=NOW)
    state = published.from_bytes(first["published.json"])
    tasks = list(old.tasks)
    tasks[3] = replace(tasks[3], bring=("ladder",))
    new = replace(old, fingerprint="b" * 64, tasks=tuple(tasks))
    stood = read_plan(first["plan.json"], file="plan.json")
    second = write.outputs(new, state=state, now=NOW + timedelta(days=1), before=stood)

    def events(data: bytes) -> list[bytes]:
        return data.split(b"BEGIN:VEVENT\r\n")[1:]

    pairs = list(
        zip(events(first["crew.ics"]), events(second["crew.ics"]), strict=True)
    )
    changed = [b.replace(b"\r\n ", b"") for a, b in pairs if a != b]
    assert len(changed) == 1
    assert b"As in plan 16 Jan 2027\\, no. 2" in changed[0]
    kept = [b.replace(b"\r\n ", b"") for a, b in pairs if a == b]
    assert all(b"As in plan 15 Jan 2027\\, no. 1" in b for b in kept)


# ------------------------------------------------------------- links


def test_links_are_in_the_predecessor_with_the_planned_wait_as_gap():
    # RFC 9253 §4: present in the predecessor, naming the successor
    plan = made_plan()
    assert not any("RELATED-TO" in e for e in calendars(plan)["crew.ics"])
    events = calendars(plan, links=True)["crew.ics"]
    by_uid = {str(e["UID"]): e for e in events}
    found = {}
    for event in events:
        links = event.get("RELATED-TO", [])
        for link in links if isinstance(links, list) else [links]:
            assert link.params["RELTYPE"] == "FINISHTOSTART"
            after = by_uid[str(link)]
            found[event["DTSTART"].dt, after["DTSTART"].dt] = link.params.get("GAP", "")
    waits = {(w.task, w.product, w.stage): w for w in plan.waits}
    meant = {}
    for x in plan.links:
        wait = waits.get((x.before, x.product or "", x.stage or ""))
        gap = (
            f"PT{round((wait.ready - wait.begins).total_seconds()) // 3600}H"
            if wait
            else ""
        )
        meant[plan.task(x.before).start, plan.task(x.after).start] = gap
    assert found == meant
    assert {"PT2H", "PT20H", "PT4H", "PT6H", ""} == set(found.values())


def test_a_paused_task_links_from_its_last_stretch_to_the_next_first():
    plan = made_plan()
    task = plan.tasks[0]
    half = task.start + timedelta(minutes=30)
    spans = ((task.start, half), (half + timedelta(minutes=15), task.end))
    two = replace(plan, tasks=(replace(task, spans=spans), *plan.tasks[1:]))
    events = calendars(two, links=True)["crew.ics"]
    linked = {e["DTSTART"].dt: "RELATED-TO" in e for e in events}
    assert (linked[spans[0][0]], linked[spans[1][0]]) == (False, True)


@pytest.mark.parametrize(
    ("links", "local"), list(itertools.product((False, True), repeat=2))
)
def test_the_options_change_calendars_alone(tmp_path, links, local):
    plan = plan_with_margin()
    how = write.CalendarChoices(links=links, local_times=local)
    put(plan, tmp_path / "a", now=NOW)
    put(plan, tmp_path / "b", now=NOW, how=how)
    for path in (tmp_path / "a").rglob("*"):
        names = ("published.json", "files.sha256")
        if path.is_file() and path.suffix != ".ics" and path.name not in names:
            other = tmp_path / "b" / path.relative_to(tmp_path / "a")
            assert other.read_bytes() == path.read_bytes()
    crew = (tmp_path / "b" / "crew.ics").read_bytes()
    assert (b"RELATED-TO" in crew) == links
    assert (b"TZID=America/Halifax" in crew) == local
    put(plan, tmp_path / "b", now=NOW + timedelta(1), how=how)
    assert (tmp_path / "b" / "crew.ics").read_bytes() == crew


def test_calendars_say_where_they_are_served():
    # RFC 7986 §5.8: SOURCE;VALUE=URI
    how = write.CalendarChoices(served_at="https://example.org/plans/")
    files = write.outputs(made_plan(), state=PublishedState(), now=NOW, how=how)
    for path in ("closure.ics", "people/p0.ics"):
        text = files[path].replace(b"\r\n ", b"").decode()
        assert f"SOURCE;VALUE=URI:https://example.org/plans/{path}\r\n" in text
    plain = write.outputs(made_plan(), state=PublishedState(), now=NOW)
    assert b"SOURCE" not in plain["crew.ics"]
    with pytest.raises(PlannerError, match="not a web address"):
        write.CalendarChoices(served_at="file:///x")
