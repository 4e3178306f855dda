"""Publishing again: what moves, what stays, what is cancelled, and the record of it.

Tests of planner/files/ics_out/calendar.py, planner/files/ics_out/published.py.
"""

import json
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from planner.errors import OutputError
from planner.files.ics_out import published
from planner.files.ics_out.calendar import write
from planner.files.ics_out.published import PublishedState
from planner.nouns.feed import Feed, FeedEntry, Timed

FIRST = datetime(2026, 3, 1, 12, tzinfo=UTC)
LATER = FIRST + timedelta(days=1)


def entry(key: str, hour: int = 14, **changes: object) -> FeedEntry:
    base = FeedEntry(
        key=key,
        title=f"Task {key}",
        when=Timed(
            start=datetime(2026, 3, 6, hour, tzinfo=UTC),
            end=datetime(2026, 3, 6, hour + 1, tzinfo=UTC),
        ),
        busy=True,
        description="Bring a mixer",
    )
    return replace(base, **changes)  # type: ignore[arg-type]  # fields by name


def feed(*entries: FeedEntry, seed: str = "crew") -> Feed:
    return Feed(seed=seed, name="Crew", color="teal", refresh_h=6, entries=entries)


def publish(
    made: Feed, state: PublishedState, now: datetime, *, plan: str = "demo"
) -> tuple[dict[str, list[str]], PublishedState]:
    """Return the lines of each entry by its title, and the state that is kept."""
    data, state = write(made, plan_id=plan, state=state, now=now)
    state = published.from_bytes(published.to_bytes(state))  # through its file
    events = data.decode().replace("\r\n ", "").split("BEGIN:VEVENT\r\n")[1:]
    by_title = {}
    for event in events:
        rows = event.split("END:VEVENT")[0].split("\r\n")[:-1]
        title = next(row for row in rows if row.startswith("SUMMARY:"))
        by_title[title.removeprefix("SUMMARY:")] = rows
    return by_title, state


def value(rows: list[str], name: str) -> str:
    return next(row.split(":", 1)[1] for row in rows if row.startswith(f"{name}:"))


def stamps(rows: list[str]) -> tuple[str, str]:
    return value(rows, "DTSTAMP"), value(rows, "LAST-MODIFIED")


def test_an_unchanged_entry_keeps_its_bytes_and_a_changed_one_goes_up():
    old, state = publish(feed(entry("a"), entry("b")), PublishedState(), FIRST)
    new, _ = publish(feed(entry("a"), entry("b", hour=15)), state, LATER)
    assert new["Task a"] == old["Task a"]
    assert value(new["Task b"], "UID") == value(old["Task b"], "UID")
    assert stamps(old["Task b"]) == ("20260301T120000Z", "20260301T120000Z")
    assert stamps(new["Task b"]) == ("20260302T120000Z", "20260302T120000Z")
    assert int(value(new["Task b"], "SEQUENCE")) > int(value(old["Task b"], "SEQUENCE"))


@pytest.mark.parametrize(
    "change",
    [
        {"title": "Other"},
        {"description": "Bring two mixers"},
        {"location": "Door 2"},
        {"categories": ("compound",)},
        {"busy": False},
        {"tentative": True},
    ],
    ids=lambda change: next(iter(change)),
)
def test_whatever_an_entry_says_moves_it(change):
    old, state = publish(feed(entry("a")), PublishedState(), FIRST)
    new, _ = publish(feed(entry("a", **change)), state, LATER)
    (before,), (after,) = old.values(), new.values()
    assert int(value(after, "SEQUENCE")) > int(value(before, "SEQUENCE"))


def test_the_same_plan_again_gives_the_same_bytes():
    made = feed(entry("a"), entry("b"))
    first, state = write(made, plan_id="demo", state=PublishedState(), now=FIRST)
    again, kept = write(made, plan_id="demo", state=state, now=LATER)
    assert (again, kept) == (first, state)


def test_two_changes_in_the_same_second_still_go_up_by_one():
    old, state = publish(feed(entry("a")), PublishedState(), FIRST)
    new, state = publish(feed(entry("a", hour=15)), state, FIRST)
    assert int(value(new["Task a"], "SEQUENCE")) == 1 + int(
        value(old["Task a"], "SEQUENCE")
    )


def test_a_clock_set_back_takes_nothing_back():
    old, state = publish(feed(entry("a")), PublishedState(), LATER)
    new, _ = publish(feed(entry("a", hour=15)), state, FIRST)
    assert int(value(new["Task a"], "SEQUENCE")) == 1 + int(
        value(old["Task a"], "SEQUENCE")
    )
    assert stamps(new["Task a"]) == stamps(old["Task a"])


# ------------------------------------------------------------------- removed


def test_a_removed_entry_is_cancelled_and_free_for_a_while_then_gone():
    old, state = publish(feed(entry("a"), entry("b")), PublishedState(), FIRST)
    new, state = publish(feed(entry("a")), state, LATER)
    gone = new["Cancelled: Task b"]
    assert value(gone, "UID") == value(old["Task b"], "UID")
    assert value(gone, "DTSTART") == value(old["Task b"], "DTSTART")
    assert value(gone, "STATUS") == "CANCELLED"
    assert value(gone, "TRANSP") == "TRANSPARENT"
    assert value(gone, "X-MICROSOFT-CDO-BUSYSTATUS") == "FREE"
    assert int(value(gone, "SEQUENCE")) > int(value(old["Task b"], "SEQUENCE"))
    assert new["Task a"] == old["Task a"]

    just_before = LATER + timedelta(days=14) - timedelta(seconds=1)
    same, state = publish(feed(entry("a")), state, just_before)
    assert same == new
    after, state = publish(feed(entry("a")), state, LATER + timedelta(days=14))
    assert list(after) == ["Task a"]
    assert [kept.key for kept in state.entries] == ["a"]


def test_an_entry_that_comes_back_stands_as_before_and_goes_up():
    _, state = publish(feed(entry("a")), PublishedState(), FIRST)
    cancelled, state = publish(feed(), state, LATER)
    back, state = publish(feed(entry("a")), state, LATER + timedelta(hours=1))
    assert list(back) == ["Task a"]
    assert value(back["Task a"], "STATUS") == "CONFIRMED"
    assert int(value(back["Task a"], "SEQUENCE")) > int(
        value(cancelled["Cancelled: Task a"], "SEQUENCE")
    )
    # and after it was forgotten altogether
    _, state = publish(feed(), state, LATER + timedelta(days=2))
    empty, state = publish(feed(), state, LATER + timedelta(days=30))
    assert empty == {}
    assert state == PublishedState()
    again, _ = publish(feed(entry("a")), state, LATER + timedelta(days=31))
    assert value(again["Task a"], "UID") == value(back["Task a"], "UID")
    assert int(value(again["Task a"], "SEQUENCE")) > int(
        value(back["Task a"], "SEQUENCE")
    )


def test_a_plan_under_another_name_cancels_the_entries_of_the_old():
    old, state = publish(feed(entry("a")), PublishedState(), FIRST)
    new, _ = publish(feed(entry("a")), state, LATER, plan="renamed")
    assert set(new) == {"Task a", "Cancelled: Task a"}
    assert value(new["Cancelled: Task a"], "UID") == value(old["Task a"], "UID")
    assert value(new["Task a"], "UID") != value(old["Task a"], "UID")


def test_feeds_keep_out_of_each_others_way():
    made = feed(entry("a"), seed="people/ana")
    crew, state = publish(feed(entry("a")), PublishedState(), FIRST)
    ana, state = publish(made, state, FIRST)
    assert value(crew["Task a"], "UID") != value(ana["Task a"], "UID")
    assert state.feeds() == ("crew", "people/ana")
    _, state = publish(replace(made, entries=()), state, LATER)
    assert [kept.cancelled for kept in state.of_feed("crew")] == [False]
    assert [kept.cancelled for kept in state.of_feed("people/ana")] == [True]
    # Ana has left the crew: her calendar is written until nothing of hers is left
    _, state = publish(replace(made, entries=()), state, LATER + timedelta(days=20))
    assert state.feeds() == ("crew",)


# ------------------------------------------------------------------ lost state


def test_a_lost_state_doubles_nothing_and_takes_nothing_back():
    old, state = publish(feed(entry("a"), entry("b")), PublishedState(), FIRST)
    for hour in range(15, 20):  # several changes, all within a minute
        now = FIRST + timedelta(seconds=hour)
        old, state = publish(feed(entry("a"), entry("b", hour=hour)), state, now)
    new, _ = publish(feed(entry("a"), entry("b")), PublishedState(), LATER)
    for title in ("Task a", "Task b"):
        assert value(new[title], "UID") == value(old[title], "UID")
        assert int(value(new[title], "SEQUENCE")) > int(value(old[title], "SEQUENCE"))
        assert stamps(new[title]) > stamps(old[title])


def test_a_state_from_a_backup_doesnt_take_a_change_back():
    _, backup = publish(feed(entry("a")), PublishedState(), FIRST)
    lost, _ = publish(feed(entry("a", hour=15)), backup, FIRST + timedelta(hours=1))
    new, _ = publish(feed(entry("a", hour=16)), backup, FIRST + timedelta(hours=2))
    assert int(value(new["Task a"], "SEQUENCE")) > int(
        value(lost["Task a"], "SEQUENCE")
    )


# --------------------------------------------------------------- the state's file


def test_the_state_comes_back_from_its_file():
    _, state = write(
        feed(entry("a", title="🎬 ; \ud83d"), entry("b")),
        plan_id="demo",
        state=PublishedState(),
        now=FIRST,
    )
    data = published.to_bytes(state)
    assert published.from_bytes(data) == state
    content = json.loads(data)
    assert (content["schema"], content["version"]) == ("covetime/published", 1)


def damaged(**changes: object) -> bytes:
    _, state = publish(feed(entry("a")), PublishedState(), FIRST)
    content = json.loads(published.to_bytes(state))
    content["entries"][0].update(changes)
    return json.dumps(content).encode()


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"{",
        b"[]",
        b"null",
        b"\xff\xfe",
        b"[" * 100_000,
        b'{"schema": "other", "version": 1, "entries": []}',
        b'{"schema": "covetime/published", "version": 2, "entries": []}',
        b'{"schema": "covetime/published", "version": 1, "entries": [1]}',
        b'{"schema": "covetime/published", "version": 1, "entries": [{}]}',
        damaged(sequence=-1),
        damaged(sequence=True),
        damaged(sequence=2**31),
        damaged(sequence="7"),
        damaged(changed="yesterday"),
        damaged(changed=None),
        damaged(digest="0"),
        damaged(digest=None),
        damaged(title=""),
        damaged(uid=5),
        damaged(start="20260306T140000"),
        damaged(start="20260306"),
        damaged(end="20260306T130000Z"),
        damaged(end="20260332T140000Z"),
        damaged(end="20260306T250000Z"),
        damaged(cancelled="no"),
        damaged(extra=1),
    ],
    ids=range(27),
)
def test_a_damaged_state_is_refused_and_not_guessed_at(data):
    with pytest.raises(OutputError) as caught:
        published.from_bytes(data, file="plan/published.json")
    head, hint = caught.value.lines()
    assert head.startswith("plan/published.json: the record of what was published")
    assert "delete it: entries keep their identities" in hint


def test_one_identity_for_two_entries_is_refused():
    _, state = publish(feed(entry("a")), PublishedState(), FIRST)
    with pytest.raises(ValueError, match="two entries"):
        PublishedState(entries=state.entries * 2)
