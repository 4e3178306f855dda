"""What is written is read alike by four independent readers of iCalendar.

They are icalendar, ical, vobject and ics (PyPI), each with a parser of its own.
Instants, whole days, titles, descriptions, places, categories, sequence and whether
the time is free must come back as they were put in.

Tests of planner/files/ics_out/calendar.py, planner/files/ics_out/lint.py,
planner/files/ics_out/published.py, planner/files/ics_out/zone.py.
"""

import warnings
from collections.abc import Callable
from dataclasses import fields, replace
from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.files.ics_out.calendar import write
from planner.files.ics_out.components import uid_of
from planner.files.ics_out.published import PublishedState
from planner.nouns.feed import AllDay, Feed, FeedEntry, Timed, clean_line, clean_text
from tests.support.calendar_lint import lint
from tests.support.readers import Seen, by_ical, by_icalendar, by_ics, by_vobject

NOW = datetime(2026, 3, 1, 12, tzinfo=UTC)
PLAN = "harbour stage, autumn"


READERS: list[Callable[[bytes], tuple[str, list[Seen]]]] = [
    by_icalendar,
    by_ical,
    by_vobject,
    by_ics,
]
each_reader = pytest.mark.parametrize("reader", READERS, ids=lambda r: r.__name__)


def expected(entry: FeedEntry, sequence: int) -> Seen:
    """Return what every reader should make of an entry."""
    when = entry.when
    start: date
    end: date
    if isinstance(when, Timed):
        start, end = when.start, when.end
    else:
        start, end = when.first, when.last + timedelta(days=1)
    return Seen(
        uid=uid_of(PLAN, "crew", entry.key),
        start=start,
        end=end,
        title=clean_line(entry.title),
        description=clean_text(entry.description),
        location=clean_line(entry.location),
        categories=entry.categories,
        sequence=sequence,
        transparent=not entry.busy,
    )


def agree(
    reader: Callable[[bytes], tuple[str, list[Seen]]], feed: Feed, data: bytes
) -> None:
    """Check that a reader sees the feed as it was meant."""
    sequence = int((NOW - datetime(2025, 1, 1, tzinfo=UTC)).total_seconds())
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of the readers' own making
        name, seen = reader(data)
    assert name == feed.name
    wanted = {e.uid: e for e in (expected(e, sequence) for e in feed.entries)}
    assert sorted(entry.uid for entry in seen) == sorted(wanted)
    for entry in seen:
        want = wanted[entry.uid]
        for place in fields(Seen):
            found, meant = getattr(entry, place.name), getattr(want, place.name)
            if found is None:  # the reader has no such notion
                continue
            if reader is by_ics and isinstance(meant, str) and "\\" in meant:
                continue  # ics 0.7.3 takes an escaped backslash before n for a break
            assert found == meant, place.name
            assert type(found) is type(meant)  # a day is not an instant


# -------------------------------------------------------------------- an example


def at(day: int, hour: int, minute: int = 0) -> datetime:
    return datetime(2026, 3, day, hour, minute, tzinfo=UTC)


# A night before the clocks change in North America (8 March 2026, 02:00 to 03:00),
# days across it, and titles as people write them.
EXAMPLE = Feed(
    seed="crew",
    name="Harbour stage: crew",
    color="teal",
    refresh_h=6,
    entries=(
        FeedEntry(
            key="task/tape/1",
            title="Tape and first coat; corner, west run",
            when=Timed(start=at(8, 4), end=at(8, 11)),
            busy=True,
            description="Bring: mixer, 6 in knife\nBefore: nothing wet; see C:\\notes",
            location="Harbour stage, door 2",
            categories=("compound", "west run"),
        ),
        FeedEntry(
            key="task/notes/1",
            title="Sand; see C:\\Notes\\New",
            when=Timed(start=at(9, 4), end=at(9, 5)),
            busy=True,
            description="\\N\nas in C:\\Notes",
            location="C:\\North",
            categories=("C:\\Notes", "drive C:\\", "west run"),
        ),
        FeedEntry(
            key="task/prime/1",
            title="🎬 Primer: première couche, \u05e6\u05d1\u05e2 \u0644\u0648\u0646",
            when=Timed(start=at(9, 8, 30), end=at(9, 9, 30)),
            busy=True,
            tentative=True,
        ),
        FeedEntry(
            key="closure",
            title="Closed " + "for the backdrop " * 12,
            when=AllDay(first=date(2026, 3, 6), last=date(2026, 3, 12)),
            busy=True,
        ),
        FeedEntry(
            key="return/light-feet",
            title="Light foot traffic from here on",
            when=Timed(start=at(12, 14), end=at(12, 14, 15)),
            busy=False,
        ),
    ),
)


@each_reader
def test_the_example_is_read_as_it_was_meant(reader):
    data, _ = write(EXAMPLE, plan_id=PLAN, state=PublishedState(), now=NOW)
    agree(reader, EXAMPLE, data)


@each_reader
def test_a_calendar_without_entries_is_read_as_one(reader):
    empty = replace(EXAMPLE, entries=())
    data, _ = write(empty, plan_id=PLAN, state=PublishedState(), now=NOW)
    agree(reader, empty, data)


# ----------------------------------------------------------- whatever people type

nasty = st.text(
    alphabet=st.one_of(
        st.characters(),  # control characters among them
        st.characters(categories=["Cs"]),  # halves of characters
        st.sampled_from(
            "\n\r\t ,;:\\\"'\u2028\x85\u202e\u200f\U0001f3ac\ufeff\x07\x00\x7f"
        ),
    ),
    max_size=200,
)
names = nasty.map(clean_line).filter(bool)
instants = st.datetimes(
    min_value=datetime(1971, 1, 1),  # noqa: DTZ001 - the zone comes next
    max_value=datetime(2200, 1, 1),  # noqa: DTZ001
).map(lambda instant: instant.replace(microsecond=0, tzinfo=UTC))
stretches = st.builds(
    lambda start, length: Timed(start=start, end=start + timedelta(seconds=length)),
    instants,
    st.integers(1, 10**7),
)
days = st.builds(
    lambda first, more: AllDay(first=first, last=first + timedelta(days=more)),
    st.dates(date(1971, 1, 1), date(2200, 1, 1)),
    st.integers(0, 400),
)
entries = st.builds(
    FeedEntry,
    key=names,
    title=nasty.filter(clean_line),
    when=stretches | days,
    busy=st.booleans(),
    tentative=st.booleans(),
    description=nasty,
    location=nasty,
    categories=st.lists(
        nasty.map(lambda text: clean_line(text.replace(",", ""))).filter(bool),
        max_size=2,
    ).map(tuple),
    follow_ons=st.just(()),
)
feeds = st.builds(
    Feed,
    seed=st.just("crew"),
    name=names,
    color=st.just("teal"),
    refresh_h=st.integers(1, 1000),
    entries=st.lists(entries, max_size=3, unique_by=lambda e: e.key).map(tuple),
    description=nasty,
    source_url=st.just(""),
)


@settings(max_examples=60)
@given(feed=feeds)
@each_reader
def test_whatever_is_written_is_read_as_it_was_meant(reader, feed):
    data, _ = write(feed, plan_id=PLAN, state=PublishedState(), now=NOW)
    assert lint(data) == ()
    agree(reader, feed, data)


@given(text=nasty)
def test_cleaning_keeps_what_shows_and_is_done_once(text):
    clean = clean_text(text)
    assert clean_text(clean) == clean
    assert clean_line(clean_line(text)) == clean_line(text)
    assert "\n" not in clean_line(text)
    clean.encode()  # no half characters
    shown = [char for char in text if char.isprintable() and char != " "]
    kept = [char for char in clean if char.isprintable() and char not in " \ufffd"]
    assert [c for c in shown if c != "\ufffd"] == kept
