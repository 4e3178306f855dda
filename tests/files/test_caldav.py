"""Publishing to a calendar server: a real Radicale, and servers that misbehave.

Tests of planner/files/caldav/collection.py, planner/files/caldav/http.py,
planner/files/caldav/items.py, planner/files/caldav/login.py,
planner/files/caldav/state.py.
"""

import sys
import time
import types
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime, timedelta
from functools import partial
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit
from zoneinfo import ZoneInfo

import pytest

from planner.errors import OutputError, PlannerError
from planner.files.caldav import state as caldav_state
from planner.files.caldav.collection import Outcome, Publishing
from planner.files.caldav.http import CalendarServerError, Collection
from planner.files.caldav.items import found_in, items_of
from planner.files.caldav.login import Login, collection_address, login_for
from planner.files.caldav.state import Place, ServerEntry
from planner.files.ics_out.calendar import write
from planner.files.ics_out.components import uid_of
from planner.files.ics_out.published import PublishedState
from planner.nouns.feed import AllDay, Feed, FeedEntry, Timed
from tests.support.caldav import (
    PASSWORD,
    USER,
    Answer,
    Asked,
    Server,
    basic,
    breaking,
    passed_on,
    radicale,
    stub,
)

NOW = datetime(2026, 3, 1, 12, tzinfo=UTC)
ZONE = ZoneInfo("America/Halifax")
LOGIN = Login(user=USER, password=PASSWORD)


@pytest.fixture(scope="module")
def server(tmp_path_factory) -> Iterator[Server]:
    with radicale(tmp_path_factory.mktemp("radicale")) as running:
        yield running


def entry(key: str, hour: int = 14, **changes: object) -> FeedEntry:
    base = FeedEntry(
        key=key,
        title=f"Task {key}",
        when=Timed(
            start=datetime(2026, 3, 6, hour, tzinfo=UTC),
            end=datetime(2026, 3, 6, hour + 1, tzinfo=UTC),
        ),
        busy=True,
        description="Bring: mixer, knife; C:\\Notes\nMind: wet, edge; 🎬 é",
        location="Door 2; left",
        categories=("compound", "west; run"),
    )
    return replace(base, **changes)  # type: ignore[arg-type]  # fields by name


@dataclass
class Desk:
    """One who publishes a plan from a folder again and again."""

    folder: Path
    url: str
    zone: ZoneInfo | None = None
    state: PublishedState = field(default_factory=PublishedState)
    now: datetime = NOW
    told: list[tuple[int, int, str]] = field(default_factory=list)

    def publish(
        self,
        *entries: FeedEntry,
        through: str = "",
        restore: bool = False,
        stop: Callable[[], bool] = lambda: False,
        seed: str = "crew",
        login: Login | None = LOGIN,
        wait_s: float = 20,
    ) -> Outcome:
        self.now += timedelta(hours=1)
        feed = Feed(seed=seed, name="Crew", color="teal", entries=entries)
        data, self.state = write(
            feed, plan_id="demo", state=self.state, now=self.now, zone=self.zone
        )
        address = through + urlsplit(self.url).path if through else self.url
        places = caldav_state.read_places(self.folder)
        kept = places.setdefault(Place(collection=self.url, feed=seed), {})
        with Collection(address, login, wait_s=wait_s) as collection:
            return Publishing(
                collection=collection,
                kept=kept,
                save=lambda: caldav_state.write_places(self.folder, places),
                tell=lambda *said: self.told.append(said),
                stop=stop,
                restore=restore,
            ).run(items_of(data))

    def forget(self) -> None:
        (self.folder / caldav_state.FILE).unlink()


@pytest.fixture
def desk(server, tmp_path, request) -> Desk:
    name = "".join(c if c.isalnum() else "-" for c in request.node.name)
    return Desk(folder=tmp_path, url=server.calendar(name))


def by_hand(server: Server, url: str, key: str, title: str) -> bytes:
    """Change an entry's title as a calendar program would; return what lies there."""
    name = name_of(server, url, key)
    body = server.client.get(url + name).text
    old = next(x for x in body.split("\r\n") if x.startswith("SUMMARY:"))
    changed = body.replace(old, f"SUMMARY:{title}").replace("SEQUENCE:", "SEQUENCE:1")
    assert server.client.put(url + name, content=changed).status_code in (201, 204)
    return server.client.get(url + name).content


def name_of(server: Server, url: str, key: str) -> str:
    uid = uid_of("demo", "crew", key)
    return next(n for n in server.names(url) if uid in n)


FOREIGN = (
    b"BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//someone//else//EN\r\nBEGIN:VEVENT\r\n"
    b"UID:foreign-1\r\nDTSTAMP:20260101T000000Z\r\nDTSTART:20260306T140000Z\r\n"
    b"DTEND:20260306T150000Z\r\nSUMMARY:Client's own\r\nEND:VEVENT\r\nEND:VCALENDAR\r\n"
)

# ------------------------------------------------------------- the plain course


def test_the_first_publishing_puts_every_entry_there(server, desk):
    days = AllDay(first=date(2026, 3, 6), last=date(2026, 3, 8))
    done = desk.publish(entry("a"), entry("b", when=days, tentative=True))
    assert done == Outcome(added=["Task b", "Task a"])  # in the file's order
    held = server.held(desk.url)
    a, b = (held[uid_of("demo", "crew", key)] for key in "ab")
    assert a["DTSTART"].dt == datetime(2026, 3, 6, 14, tzinfo=UTC)
    assert (b["DTSTART"].dt, b["DTEND"].dt) == (date(2026, 3, 6), date(2026, 3, 9))
    assert (a["TRANSP"], b["STATUS"]) == ("OPAQUE", "TENTATIVE")
    assert str(a["DESCRIPTION"]) == entry("a").description
    assert desk.told == [(1, 2, "Task b"), (2, 2, "Task a")]


def test_publishing_the_same_again_writes_nothing(server, desk):
    desk.publish(entry("a"), entry("b"))
    tags, asked = server.names(desk.url), server.asked(desk.url)
    assert asked["PUT"] == 2
    done = desk.publish(entry("a"), entry("b"))
    assert done == Outcome(unchanged=["Task a", "Task b"])
    assert server.names(desk.url) == tags
    new = server.asked(desk.url) - asked
    # one listing by us and one by this test
    assert new == {"PROPFIND": 2}


def test_a_changed_entry_alone_is_written(server, desk):
    desk.publish(entry("a"), entry("b"))
    tags, asked = server.names(desk.url), server.asked(desk.url)
    done = desk.publish(entry("a"), entry("b", hour=16))
    assert done == Outcome(unchanged=["Task a"], changed=["Task b"])
    assert (server.asked(desk.url) - asked)["PUT"] == 1
    new = server.names(desk.url)
    assert [n for n in tags if tags[n] != new[n]] == [name_of(server, desk.url, "b")]
    b = server.held(desk.url)[uid_of("demo", "crew", "b")]
    assert b["DTSTART"].dt.hour == 16


def test_a_removed_entry_goes(server, desk):
    desk.publish(entry("a"), entry("b"))
    done = desk.publish(entry("a"))
    assert done == Outcome(unchanged=["Task a"], removed=["Task b"])
    assert server.titles(desk.url) == ["Task a"]
    assert desk.publish(entry("a")) == Outcome(unchanged=["Task a"])
    assert desk.publish(entry("a"), entry("b")).added == ["Task b"]


def test_two_feeds_in_one_calendar_keep_out_of_each_others_way(server, desk):
    desk.publish(entry("a"))
    waits = desk.publish(entry("a"), entry("b"), seed="waits")
    assert len(waits.added) == 2
    assert desk.publish(entry("a")) == Outcome(unchanged=["Task a"])
    assert len(server.held(desk.url)) == 3


# ------------------------------------------------------------- what others did


def test_an_entry_changed_by_hand_is_kept_and_told_of(server, desk):
    desk.publish(entry("a"), entry("b"))
    theirs = by_hand(server, desk.url, "b", "Task b, moved to Monday")
    done = desk.publish(entry("a"), entry("b", hour=17))
    assert done.unchanged == ["Task a"]
    assert [
        (x.title, "somebody changed it there" in x.why) for x in done.left_alone
    ] == [("Task b", True)]
    url = desk.url + name_of(server, desk.url, "b")
    assert server.client.get(url).content == theirs
    again = desk.publish(entry("a"), entry("b", hour=17))
    assert again == done  # as long as nobody decides
    assert server.client.get(url).content == theirs
    assert desk.publish(entry("a"), entry("b"), restore=True).changed == ["Task b"]
    assert server.titles(desk.url) == ["Task a", "Task b"]


def test_an_alarm_set_by_hand_counts_as_a_change(server, desk):
    desk.publish(entry("a"))
    url = desk.url + name_of(server, desk.url, "a")
    body = server.client.get(url).text
    alarm = "BEGIN:VALARM\r\nACTION:DISPLAY\r\nTRIGGER:-PT15M\r\nDESCRIPTION:x\r\n"
    server.client.put(
        url, content=body.replace("END:VEVENT", alarm + "END:VALARM\r\nEND:VEVENT")
    )
    assert len(desk.publish(entry("a", hour=16)).left_alone) == 1


def test_an_entry_changed_by_hand_and_put_back_is_ours_again(server, desk):
    desk.publish(entry("a"))
    url = desk.url + name_of(server, desk.url, "a")
    ours = server.client.get(url).content
    by_hand(server, desk.url, "a", "Other")
    server.client.put(url, content=ours)
    assert desk.publish(entry("a", hour=16)).changed == ["Task a"]


def test_an_entry_deleted_by_hand_stays_away(server, desk):
    desk.publish(entry("a"), entry("b"))
    server.client.delete(desk.url + name_of(server, desk.url, "b"))
    done = desk.publish(entry("a"), entry("b", hour=17))
    assert [x.title for x in done.left_alone] == ["Task b"]
    assert server.titles(desk.url) == ["Task a"]
    assert desk.publish(entry("a"), entry("b"), restore=True).added == ["Task b"]
    # and one that the plan has no more is forgotten
    server.client.delete(desk.url + name_of(server, desk.url, "b"))
    assert desk.publish(entry("a")) == Outcome(unchanged=["Task a"])
    assert desk.publish(entry("a"), entry("b")).added == ["Task b"]


def test_a_removed_entry_that_was_changed_by_hand_is_left_there(server, desk):
    desk.publish(entry("a"), entry("b"))
    by_hand(server, desk.url, "b", "Mine now")
    done = desk.publish(entry("a"))
    assert done.removed == []
    assert [x.title for x in done.left_alone] == ["Task b"]
    assert server.titles(desk.url) == ["Mine now", "Task a"]


@pytest.mark.parametrize("kind", ["plain", "a name like ours"])
def test_a_foreign_entry_is_never_touched(server, desk, kind):
    name = "foreign.ics"
    if kind == "a name like ours":
        prefix = f"covetime-{uid_of('demo', 'crew')[:8]}-"
        name = f"{prefix}00000000-0000-0000-0000-000000000000.ics"
    assert server.client.put(desk.url + name, content=FOREIGN).status_code == 201
    before, tag = server.client.get(desk.url + name).content, server.names(desk.url)
    desk.publish(entry("a"), entry("b"))
    desk.publish(entry("a", hour=16))
    desk.publish(restore=True)
    assert server.client.get(desk.url + name).content == before
    assert server.names(desk.url) == tag
    assert server.titles(desk.url) == ["Client's own"]


def test_somebody_elses_entry_under_a_name_of_ours_is_left_even_with_restore(
    server, desk
):
    desk.publish(entry("a"))
    name = name_of(server, desk.url, "a")
    server.client.delete(desk.url + name)
    server.client.put(desk.url + name, content=FOREIGN)
    for restore in (False, True):
        done = desk.publish(entry("a", hour=16), restore=restore)
        assert [x.title for x in done.left_alone] == ["Task a"]
    assert server.titles(desk.url) == ["Client's own"]


def test_an_entry_imported_from_the_file_under_another_name_is_told_of(server, desk):
    uid = uid_of("demo", "crew", "a")
    imported = FOREIGN.replace(b"foreign-1", uid.encode())
    server.client.put(desk.url + "imported.ics", content=imported)
    done = desk.publish(entry("a"), entry("b"))
    assert done.added == ["Task b"]
    assert [(x.title, "another name" in x.why) for x in done.left_alone] == [
        ("Task a", True)
    ]
    server.client.delete(desk.url + "imported.ics")
    assert desk.publish(entry("a"), entry("b")).added == ["Task a"]


def test_an_identity_taken_is_told_of_as_other_servers_say_it(tmp_path):
    # RFC 4791 §5.3.2.1: 403 or 409 with the precondition's name in the body
    body = b'<error xmlns="DAV:"><x:no-uid-conflict xmlns:x="urn:..."/></error>'
    with stub(
        lambda a: (207, {}, LISTING) if a.method == "PROPFIND" else (403, {}, body)
    ) as line:
        desk = Desk(folder=tmp_path, url=f"{line.url}/cal/")
        assert [x.title for x in desk.publish(entry("a")).left_alone] == ["Task a"]


def test_a_change_between_look_and_write_is_not_overwritten(server, desk):
    desk.publish(entry("a"))

    def meddling(asked: Asked) -> Answer:
        if asked.method == "PUT" and not meddled:
            meddled.append(by_hand(server, desk.url, "a", "Just now"))
        return passed_on(server, asked)

    meddled: list[bytes] = []
    with stub(meddling) as line:
        done = desk.publish(entry("a", hour=16), through=line.url)
    assert [x.title for x in done.left_alone] == ["Task a"]
    assert server.titles(desk.url) == ["Just now"]


def test_a_change_between_look_and_removal_is_not_removed(server, desk):
    desk.publish(entry("a"))

    def meddling(asked: Asked) -> Answer:
        if asked.method == "DELETE" and not meddled:
            meddled.append(by_hand(server, desk.url, "a", "Just now"))
        return passed_on(server, asked)

    meddled: list[bytes] = []
    with stub(meddling) as line:
        done = desk.publish(through=line.url)
    assert (done.removed, len(done.left_alone)) == ([], 1)
    assert server.titles(desk.url) == ["Just now"]


# ------------------------------------------------------------- breaks


def test_a_removal_nobody_heard_of_isnt_taken_for_somebodys_deed(server, desk):
    desk.publish(entry("a"))
    with (
        breaking(server, after=1, lost="answer") as line,
        pytest.raises(CalendarServerError),
    ):
        desk.publish(through=line.url)
    assert server.held(desk.url) == {}
    # the plan has it again: it comes back, since nobody deleted it by hand
    assert desk.publish(entry("a")) == Outcome(added=["Task a"])


@pytest.mark.parametrize("lost", ["request", "answer"])
@pytest.mark.parametrize("after", range(6))
def test_a_line_that_breaks_anywhere_is_gone_on_from(server, desk, after, lost):
    # a is changed, b removed, c and d come: one listing, then 4 writes
    desk.publish(entry("a"), entry("b"))
    new = (entry("a", hour=16), entry("c"), entry("d"))
    with breaking(server, after=after, lost=lost) as line:
        if after < 5:
            with pytest.raises(CalendarServerError, match="connection broke"):
                desk.publish(*new, through=line.url)
        else:
            desk.publish(*new, through=line.url)
    done = desk.publish(*new)
    assert done.left_alone == []
    assert server.titles(desk.url) == ["Task a", "Task c", "Task d"]
    held = server.held(desk.url)
    assert held[uid_of("demo", "crew", "a")]["DTSTART"].dt.hour == 16
    asked = server.asked(desk.url)
    assert asked["PUT"] == 2 + 3  # each written once, the answer heard or not
    again = desk.publish(*new)
    assert again == Outcome(unchanged=["Task c", "Task d", "Task a"])


def test_one_who_stops_goes_on_later(server, desk):
    calls = iter([False, False, True])
    done = desk.publish(*map(entry, "abcd"), stop=lambda: next(calls))
    assert (done.added, done.stopped) == (["Task a", "Task b"], True)
    assert server.titles(desk.url) == ["Task a", "Task b"]
    done = desk.publish(*map(entry, "abcd"))
    assert (done.unchanged, len(done.added)) == (["Task a", "Task b"], 2)


@pytest.mark.parametrize("zone", [None, ZONE], ids=["UTC", "zone"])
def test_a_lost_record_doubles_nothing_and_takes_nothing_from_anybody(
    server, desk, zone
):
    desk.zone = zone
    desk.publish(*map(entry, "abcd"))
    by_hand(server, desk.url, "c", "Mine")
    asked = server.asked(desk.url)
    desk.forget()
    done = desk.publish(entry("a"), entry("b", hour=16), entry("c", hour=17))
    assert (done.unchanged, done.changed) == (["Task a"], ["Task b"])
    assert done.removed == ["Task d"]  # known by its name and its seal
    assert [x.title for x in done.left_alone] == ["Task c"]
    assert (server.asked(desk.url) - asked)["PUT"] == 1
    assert server.titles(desk.url) == ["Mine", "Task a", "Task b"]


def test_times_in_a_zone_come_with_its_definition(server, desk):
    desk.zone = ZONE
    desk.publish(entry("a"))
    body = server.client.get(desk.url + name_of(server, desk.url, "a")).text
    assert "BEGIN:VTIMEZONE" in body  # RFC 4791 §4.1
    assert "DTSTART;TZID=America/Halifax:20260306T100000" in body  # 14:00 UTC


# ------------------------------------------------------------- the record


def test_a_damaged_record_is_refused_and_not_guessed_at(desk):
    path = desk.folder / caldav_state.FILE
    for data in (b"", b"{", b"[]", b'{"schema": "x"}', b"\xff", b"[" * 100_000):
        path.write_bytes(data)
        with pytest.raises(OutputError) as caught:
            caldav_state.read_places(desk.folder)
        assert "delete it: what is on the server is looked at again" in str(
            caught.value.lines()
        )


def test_the_record_comes_back_from_its_file(tmp_path):
    place = Place(collection="https://cal.example.org/a/", feed="crew")
    uid = uid_of("demo", "crew", "a")
    kept = ServerEntry(
        uid=uid, name=f"covetime-01234567-{uid}.ics", etag='"1"', seal="s", title="🎬"
    )
    caldav_state.write_places(tmp_path, {place: {uid: kept}})
    assert caldav_state.read_places(tmp_path) == {place: {uid: kept}}
    assert [p.name for p in tmp_path.iterdir()] == [caldav_state.FILE]
    with pytest.raises(ValueError, match="not one of ours"):
        replace(kept, name="../other.ics")


def test_a_record_that_cant_be_written_stops_at_once(server, desk):
    (desk.folder / f".{caldav_state.FILE}.new").mkdir()
    with pytest.raises(OutputError, match="can't be written"):
        desk.publish(*map(entry, "abc"))
    assert len(server.held(desk.url)) == 1
    (desk.folder / f".{caldav_state.FILE}.new").rmdir()
    assert desk.publish(*map(entry, "abc")).unchanged == ["Task a"]


# ------------------------------------------------------------- refusals


def test_wrong_credentials_are_told_of_and_shown_nowhere(server, desk):
    wrong = Login(user=USER, password="not-the-password")
    with pytest.raises(CalendarServerError, match=r"wrong \(HTTP 401\)") as caught:
        desk.publish(entry("a"), login=wrong)
    assert "not-the-password" not in repr(caught.value.lines()) + repr(wrong)
    with pytest.raises(CalendarServerError, match="asks for a name") as caught:
        desk.publish(entry("a"), login=None)
    assert "COVETIME_PASSWORD" in caught.value.hint


def test_a_missing_collection_is_told_of_and_not_made(server, desk):
    desk.url = desk.url.removesuffix("/") + "-not/"
    with pytest.raises(CalendarServerError, match=r"no such collection \(HTTP 404\)"):
        desk.publish(entry("a"))
    assert server.client.get(desk.url).status_code == 404


def test_a_persons_address_is_no_calendar(server, desk):
    desk.url = f"{server.url}/{USER}/"
    with pytest.raises(CalendarServerError, match="no calendar at this address"):
        desk.publish(entry("a"))


LISTING = (
    b'<?xml version="1.0"?><multistatus xmlns="DAV:"><response><href>/cal/</href>'
    b"<propstat><prop><resourcetype><collection/>"
    b'<C:calendar xmlns:C="urn:ietf:params:xml:ns:caldav"/></resourcetype></prop>'
    b"<status>HTTP/1.1 200 OK</status></propstat></response></multistatus>"
)


@pytest.mark.parametrize("method", ["PROPFIND", "PUT"])
@pytest.mark.parametrize(
    ("status", "words"),
    [
        (401, "wrong"),
        (403, "may not"),
        (404, "no such collection"),
        (405, "no calendar collection"),
        (413, "too large"),
        (429, "too many"),
        (500, "trouble of its own"),
        (503, "trouble of its own"),
        (507, "full"),
        (418, "refused"),
        (302, "somewhere else"),
    ],
)
def test_each_refusal_is_told_in_words(tmp_path, method, status, words):
    def answer(asked: Asked) -> Answer:
        if asked.method == method:
            return status, {"Location": "/cal/"} if status == 302 else {}, b"secret"
        return 207, {}, LISTING

    with stub(answer) as line:
        desk = Desk(folder=tmp_path, url=f"{line.url}/cal/")
        with pytest.raises(CalendarServerError, match=rf"{words}.*HTTP {status}") as e:
            desk.publish(entry("a"))
        assert "secret" not in repr(e.value.lines())
        assert len(line.asked) < 10
    assert not (tmp_path / caldav_state.FILE).exists()


def test_an_entry_that_always_changes_is_given_up(tmp_path):
    # 412: RFC 9110 §13.1.1
    with stub(
        lambda a: (
            (207, {}, LISTING)
            if a.method == "PROPFIND"
            else (404 if a.method == "GET" else 412, {}, b"")
        )
    ) as line:
        desk = Desk(folder=tmp_path, url=f"{line.url}/cal/")
        with pytest.raises(CalendarServerError, match="doesn't stay"):
            desk.publish(entry("a"))


@pytest.mark.parametrize(
    ("body", "words"),
    [
        (b"<html>", "isn't a listing"),
        (b"\xff\xfe<", "isn't a listing"),
        (
            b'<!DOCTYPE x [<!ENTITY a "aaaa">]>' + LISTING[21:],
            "isn't a listing",
        ),
        (LISTING.replace(b"<C:calendar", b"<C:other"), "no calendar at this address"),
        (b"x" * 20_000_000, "is larger than 16,000,000 bytes"),
    ],
    ids=["page", "utf-16", "entities", "no calendar", "endless"],
)
def test_an_odd_listing_is_refused(tmp_path, body, words):
    with stub(lambda _: (207, {}, body)) as line:
        desk = Desk(folder=tmp_path, url=f"{line.url}/cal/")
        with pytest.raises(CalendarServerError, match=words):
            desk.publish(entry("a"))


@pytest.mark.parametrize("tag", ["", 'W/"1"'], ids=["none", "weak"])
def test_a_server_without_strong_tags_is_refused(tmp_path, tag):
    # RFC 9110 §13.1.1: If-Match compares strongly, so a weak tag never matches
    def answer(asked: Asked) -> Answer:
        if asked.method == "PROPFIND":
            return 207, {}, LISTING
        return (201 if asked.method == "PUT" else 200), {"ETag": tag}, b""

    with stub(answer) as line:
        desk = Desk(folder=tmp_path, url=f"{line.url}/cal/")
        with pytest.raises(CalendarServerError, match="no strong ETags"):
            desk.publish(entry("a"))


def test_a_server_that_tells_no_tag_on_writing_is_asked_for_it(server, desk):
    # RFC 4791 §5.3.4: no tag where the server lays the entry out anew
    def answer(asked: Asked) -> Answer:
        status, headers, body = passed_on(server, asked)
        if asked.method == "PUT":
            headers = {k: v for k, v in headers.items() if k.lower() != "etag"}
        return status, headers, body

    with stub(answer) as line:
        assert desk.publish(entry("a"), through=line.url).added == ["Task a"]
    asked = server.asked(desk.url)
    assert desk.publish(entry("a")).unchanged == ["Task a"]
    assert (server.asked(desk.url) - asked)["PUT"] == 0


def test_silence_ends_in_an_error(tmp_path):

    def slow(_: Asked) -> Answer:
        time.sleep(1)
        return 207, {}, LISTING

    with stub(slow) as line:
        desk = Desk(folder=tmp_path, url=f"{line.url}/cal/")
        with pytest.raises(CalendarServerError, match="the server says nothing for"):
            desk.publish(entry("a"), wait_s=0.2)


def test_nobody_there_is_told_of(tmp_path):
    with stub(lambda _: None) as line:
        url = line.url
    desk = Desk(folder=tmp_path, url=f"{url}/cal/")
    with pytest.raises(CalendarServerError, match="can't be reached"):
        desk.publish(entry("a"))


def _always(answer: Answer, _: Asked) -> Answer:
    return answer


def test_no_credentials_go_to_another_server(tmp_path):
    with stub(lambda _: (207, {}, LISTING)) as other:
        there = other.url.replace("127.0.0.1", "localhost") + "/cal/"
        for status in (301, 302, 307, 308):
            moved: Answer = (status, {"Location": there}, b"")
            with stub(partial(_always, moved)) as line:
                desk = Desk(folder=tmp_path, url=f"{line.url}/cal/")
                with pytest.raises(CalendarServerError, match="another server"):
                    desk.publish(entry("a"))
                assert line.asked[0].headers["authorization"] == basic()
        assert other.asked == []


def test_a_collection_that_moved_on_its_own_server_is_followed(server, desk):
    real = urlsplit(desk.url).path

    def answer(asked: Asked) -> Answer:
        if asked.path == "/.well-known/caldav/":
            return 301, {"Location": real.removesuffix("/")}, b""
        return passed_on(server, asked)

    with stub(answer) as line:
        moved = replace(desk, url=f"{line.url}/.well-known/caldav/")
        assert moved.publish(entry("a")).added == ["Task a"]
    assert server.titles(desk.url) == ["Task a"]


# ------------------------------------------------------------- address and login


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("ftp://cal.example.org/", "not the address"),
        ("cal.example.org/ana", "not the address"),
        ("https://", "not the address"),
        ("https://[x/", "not the address"),
        ("https://h:99999/", "not the address"),
        ("https://ana:pw@cal.example.org/", "doesn't belong in an address"),
        ("https://cal.example.org/?token=1", "holds a"),
        ("https://cal.example.org/#x", "holds a"),
    ],
)
def test_an_address_that_wont_do_is_refused_without_showing_secrets(text, words):
    with pytest.raises(PlannerError, match=words) as caught:
        collection_address(text)
    assert "pw" not in "".join(caught.value.lines())


def test_an_address_gets_its_slash():
    assert collection_address("https://Cal.Example.org/a/b") == (
        "https://cal.example.org/a/b/"
    )


BOTH = {"COVETIME_USER": "ana", "COVETIME_PASSWORD": "pw"}


@pytest.mark.parametrize(
    "url",
    [
        "https://cal.example.org/",
        "http://localhost:5232/",
        "http://127.0.0.1/",
        "http://127.1.2.3/",
        "http://[::1]:80/",
    ],
)
def test_credentials_go_over_sealed_lines_and_within_this_machine(url):
    found = login_for(url, BOTH)
    assert found is not None
    assert (found.user, found.password) == ("ana", "pw")
    assert "pw" not in repr(found)


@pytest.mark.parametrize(
    "url",
    [
        "http://cal.example.org/",
        "http://localhost.example.org/",
        "http://192.168.1.5/",
        "http://127.0.0.1.example.org/",
    ],
)
def test_credentials_are_refused_over_open_lines(url):
    with pytest.raises(PlannerError, match="others can read") as caught:
        login_for(url, BOTH)
    assert "pw" not in "".join(caught.value.lines())


def test_half_a_login_is_told_of(monkeypatch):
    monkeypatch.setitem(sys.modules, "keyring", None)  # as if it weren't installed
    url = "https://cal.example.org/"
    with pytest.raises(PlannerError, match="COVETIME_USER isn't"):
        login_for(url, {"COVETIME_PASSWORD": "pw"})
    with pytest.raises(PlannerError, match="there is no password"):
        login_for(url, {"COVETIME_USER": "ana"})
    with pytest.raises(PlannerError, match="can't be sent"):
        login_for(url, {**BOTH, "COVETIME_USER": "a:b"})
    assert login_for(url, {}) is None


def test_the_keyring_is_asked_where_there_is_one(monkeypatch):
    asked: list[Any] = []

    def get_credential(word: str, user: str | None) -> Any:
        asked.append((word, user))
        return types.SimpleNamespace(username="bea", password="kept")

    fake = types.SimpleNamespace(get_credential=get_credential)
    monkeypatch.setitem(sys.modules, "keyring", fake)
    found = login_for("https://cal.example.org:8443/a/", {})
    assert found is not None
    assert (found.user, found.password) == ("bea", "kept")
    assert asked == [("covetime https://cal.example.org:8443", None)]
    login_for("https://cal.example.org/a/", {"COVETIME_USER": "cleo"})
    assert asked[1] == ("covetime https://cal.example.org", "cleo")
    # the environment comes first, and the keyring isn't asked then
    own = login_for("https://cal.example.org/", BOTH)
    assert own is not None
    assert (own.password, len(asked)) == ("pw", 2)


def test_a_keyring_that_fails_is_told_of(monkeypatch):
    def get_credential(word: str, user: str | None) -> Any:
        raise RuntimeError("locked: pw")

    fake = types.SimpleNamespace(get_credential=get_credential)
    monkeypatch.setitem(sys.modules, "keyring", fake)
    with pytest.raises(PlannerError, match=r"keyring can't be asked: RuntimeError$"):
        login_for("https://cal.example.org/", {})


# ------------------------------------------------------------- entries and seals


def one() -> bytes:
    feed = Feed(seed="crew", name="x", color="teal", entries=(entry("a"),))
    return write(feed, plan_id="demo", state=PublishedState(), now=NOW)[0]


def test_a_seal_breaks_with_whatever_is_changed():
    (item,) = items_of(one()).items
    assert found_in(item.data).intact
    lines = item.data.replace(b"\r\n ", b"").split(b"\r\n")
    body = range(lines.index(b"BEGIN:VEVENT") + 1, lines.index(b"END:VEVENT"))
    for number in body:
        less = b"\r\n".join(lines[:number] + lines[number + 1 :])
        assert not found_in(less).intact, lines[number]
    more = item.data.replace(b"END:VEVENT", b"X-NOTE:mine\r\nEND:VEVENT")
    assert not found_in(more).intact
    assert not found_in(b"").intact
    assert not found_in(b"<html>").intact


def test_a_seal_holds_however_lines_are_laid_out():
    (item,) = items_of(one()).items
    head, body = item.data.replace(b"\r\n ", b"").split(b"BEGIN:VEVENT\r\n")
    rows = body.split(b"END:VEVENT")[0].split(b"\r\n")[:-1]
    turned = head + b"BEGIN:VEVENT\n" + b"\n".join(sorted(rows)) + b"\nEND:VEVENT\n"
    assert found_in(turned + b"END:VCALENDAR\n").intact


def test_cancelled_entries_are_not_published():
    feed = Feed(seed="crew", name="x", color="teal", entries=(entry("a"), entry("b")))
    _, state = write(feed, plan_id="demo", state=PublishedState(), now=NOW)
    less = replace(feed, entries=feed.entries[:1])
    data, _ = write(less, plan_id="demo", state=state, now=NOW)
    assert data.count(b"BEGIN:VEVENT") == 2
    assert [i.title for i in items_of(data).items] == ["Task a"]
