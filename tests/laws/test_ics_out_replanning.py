"""Laws of publishing again and again, as those see it who hold the entries.

An importer is the hardest of them: it knows entries by UID, takes one only if its
SEQUENCE is at least that of the copy it holds, and never deletes (RFC 5546 §2.1.5
on UID and SEQUENCE; that imports don't delete is common practice, no source).

Tests of planner/files/caldav/collection.py, planner/files/caldav/items.py,
planner/files/caldav/state.py, planner/files/ics_out/published.py.
"""

import random
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import Any

import icalendar
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.files.caldav.collection import Publishing
from planner.files.caldav.http import Collection
from planner.files.caldav.items import items_of
from planner.files.caldav.login import Login
from planner.files.caldav.state import ServerEntry
from planner.files.ics_out import published
from planner.files.ics_out.calendar import write
from planner.files.ics_out.components import uid_of
from planner.files.ics_out.published import PublishedState
from planner.nouns.feed import Feed, FeedEntry, Timed
from tests.support.caldav import PASSWORD, USER, radicale
from tests.support.calendar_lint import lint

LOGIN = Login(user=USER, password=PASSWORD)
START = datetime(2026, 3, 1, 12, tzinfo=UTC)


@dataclass
class Importer:
    """One who imports the file now and then, and never cleans up."""

    held: dict[str, Any] = field(default_factory=dict)

    def take(self, data: bytes) -> None:
        calendar: Any = icalendar.Calendar.from_ical(data)
        for event in calendar.walk("VEVENT"):
            old = self.held.get(str(event["UID"]))
            if old is None or event["SEQUENCE"] >= old["SEQUENCE"]:
                self.held[str(event["UID"])] = event

    def standing(self) -> dict[str, tuple[datetime, str]]:
        """Return what isn't cancelled: start and title by uid."""
        return {
            uid: (event["DTSTART"].dt, str(event["SUMMARY"]))
            for uid, event in self.held.items()
            if event["STATUS"] != "CANCELLED"
        }


# A plan is a start hour for each task in it; the next plan comes some while later.
plans = st.dictionaries(st.sampled_from("abcdef"), st.integers(0, 5), max_size=6)
pauses = st.sampled_from(
    [timedelta(0), timedelta(seconds=1), timedelta(hours=1), timedelta(days=5)]
)


def feed_of(plan: dict[str, int]) -> Feed:
    entries = tuple(
        FeedEntry(
            key=key,
            title=f"Task {key} at {hour}",
            when=Timed(
                start=START + timedelta(hours=hour),
                end=START + timedelta(hours=hour + 1),
            ),
            busy=True,
        )
        for key, hour in plan.items()
    )
    return Feed(seed="crew", name="Crew", color="teal", refresh_h=6, entries=entries)


def meant(plan: dict[str, int]) -> dict[str, tuple[datetime, str]]:
    return {
        uid_of("demo", "crew", key): (
            START + timedelta(hours=hour),
            f"Task {key} at {hour}",
        )
        for key, hour in plan.items()
    }


@settings(max_examples=60)
@given(steps=st.lists(st.tuples(plans, pauses), min_size=2, max_size=10))
def test_an_importer_holds_exactly_the_present_plan(steps):
    importer, state, now = Importer(), PublishedState(), START
    for plan, pause in steps:
        now += pause
        data, state = write(feed_of(plan), plan_id="demo", state=state, now=now)
        importer.take(data)
        assert importer.standing() == meant(plan)


@settings(max_examples=60)
@given(
    steps=st.lists(
        st.tuples(plans, pauses, st.sampled_from([False, False, True])),
        min_size=2,
        max_size=10,
    )
)
def test_a_lost_state_doubles_nothing_and_hides_no_change(steps):
    importer, state, now = Importer(), PublishedState(), START
    for plan, pause, lost in steps:
        now += max(pause, timedelta(seconds=1))
        if lost:
            state = PublishedState()
        data, state = write(feed_of(plan), plan_id="demo", state=state, now=now)
        importer.take(data)
        # All that the plan has is there once and as the plan has it. What went
        # while the state was lost can't be known to have gone.
        standing = importer.standing()
        assert {uid: standing.get(uid) for uid in meant(plan)} == meant(plan)


@settings(max_examples=100)
@given(first=plans, second=plans, pause=pauses)
def test_what_is_in_both_plans_alike_keeps_its_bytes(first, second, pause):
    def events(data: bytes) -> dict[str, bytes]:
        parts = data.split(b"BEGIN:VEVENT\r\n")[1:]
        parts = [part.split(b"END:VEVENT\r\n")[0] for part in parts]
        return {part.split(b"\r\n")[0].decode(): part for part in parts}

    one, state = write(
        feed_of(first), plan_id="demo", state=PublishedState(), now=START
    )
    kept = published.from_bytes(published.to_bytes(state))
    assert kept == state
    two, _ = write(feed_of(second), plan_id="demo", state=kept, now=START + pause)
    old, new = events(one), events(two)
    for key in first.keys() & second.keys():
        name = f"UID:{uid_of('demo', 'crew', key)}"
        assert (old[name] == new[name]) == (first[key] == second[key])
    if first == second:
        assert one == two


def test_a_calendar_server_holds_exactly_the_present_plan(tmp_path):
    # ten plans at random, each published twice, the second time without a write; the
    # record is lost now and then, and the file goes on showing what was cancelled
    dice = random.Random(10)
    with radicale(tmp_path) as server:
        url = server.calendar("plans")
        state, now = PublishedState(), START
        kept: dict[str, ServerEntry] = {}
        for number in range(10):
            tasks = dice.sample("abcdefghij", dice.randint(0, 10))
            plan = {key: dice.randint(0, 5) for key in tasks}
            now += timedelta(hours=dice.randint(1, 200))
            data, state = write(feed_of(plan), plan_id="demo", state=state, now=now)
            if dice.random() < 0.3:
                kept = {}
            for again in (False, True):
                before = server.asked(url)
                with Collection(url, LOGIN, wait_s=20) as collection:
                    done = Publishing(
                        collection=collection,
                        kept=kept,
                        save=lambda: None,
                        tell=lambda *_: None,
                        stop=lambda: False,
                    ).run(items_of(data))
                assert done.left_alone == []
                held = {
                    uid: (event["DTSTART"].dt, str(event["SUMMARY"]))
                    for uid, event in server.held(url).items()
                }
                assert held == meant(plan), number
                if again:
                    new = server.asked(url) - before
                    assert (new["PUT"], new["DELETE"]) == (0, 0)
        assert server.asked(url)["PUT"] > 10
        assert server.asked(url)["DELETE"] > 5


@settings(max_examples=300)
@given(
    data=st.binary(max_size=400)
    | st.lists(
        st.sampled_from(
            [
                *("BEGIN:VCALENDAR", "END:VCALENDAR", "BEGIN:VEVENT", "END:VEVENT"),
                *("UID:a", "DTSTART:20260306T140000Z", "DTEND;VALUE=DATE:20260306"),
                *("RELATED-TO;RELTYPE=FINISHTOSTART;GAP=PT1H:a", "SEQUENCE:x"),
                *("RELATED-TO;GAP=:", "CATEGORIES:" + "a" * 60 + ";", "STATUS:"),
                " more",
            ]
        )
    ).map(lambda lines: "\r\n".join([*lines, ""]).encode())
)
def test_the_lint_has_an_answer_to_any_bytes(data):
    # No generated file is whole: NAME, COLOR and others are never in it.
    assert lint(data) != ()
