"""The bytes of a published calendar, against the standards' own words and examples.

Tests of planner/files/ics_out/calendar.py, planner/files/ics_out/components.py,
planner/files/ics_out/css_colors.py, planner/files/ics_out/published.py.
"""

import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta, timezone
from zoneinfo import ZoneInfo

import pytest
from pydantic.color import COLORS_BY_NAME

from planner.files.ics_out.calendar import write
from planner.files.ics_out.components import gap_text, uid_of
from planner.files.ics_out.css_colors import CSS3_COLORS
from planner.files.ics_out.published import PublishedState
from planner.nouns.feed import AllDay, Feed, FeedEntry, FollowOn, Relation, Timed
from tests.support.calendar_lint import lint

NOW = datetime(2026, 3, 1, 12, tzinfo=UTC)


def entry(key: str = "task/one/1", **changes: object) -> FeedEntry:
    base = FeedEntry(
        key=key,
        title="One",
        when=Timed(
            start=datetime(2026, 3, 6, 14, tzinfo=UTC),
            end=datetime(2026, 3, 6, 18, tzinfo=UTC),
        ),
        busy=True,
    )
    return replace(base, **changes)  # type: ignore[arg-type]  # fields by name


def feed(*entries: FeedEntry, **changes: object) -> Feed:
    base = Feed(seed="crew", name="Crew", color="teal", refresh_h=6, entries=entries)
    return replace(base, **changes)  # type: ignore[arg-type]  # fields by name


def written(made: Feed, *, links: bool = False) -> bytes:
    state = PublishedState()
    return write(made, plan_id="demo", state=state, now=NOW, links=links)[0]


def lines(data: bytes) -> list[str]:
    """Return the content lines, unfolded (RFC 5545 §3.1)."""
    return data.decode().replace("\r\n ", "").split("\r\n")[:-1]


def values(data: bytes, name: str) -> list[str]:
    """Return the values of a property, its parameters before them."""
    found = [line for line in lines(data) if line.split(":")[0].split(";")[0] == name]
    return [line.removeprefix(name) for line in found]


# --------------------------------------------------------- the standards' examples


def test_whole_days_end_on_the_day_after_the_last():
    # RFC 5545 §3.6.1: an event from 28 June to 8 July 2007 inclusively has
    # DTSTART;VALUE=DATE:20070628 and DTEND;VALUE=DATE:20070709
    when = AllDay(first=date(2007, 6, 28), last=date(2007, 7, 8))
    data = written(feed(entry(when=when)))
    assert values(data, "DTSTART") == [";VALUE=DATE:20070628"]
    assert values(data, "DTEND") == [";VALUE=DATE:20070709"]


def test_one_whole_day_ends_on_the_next_also_at_the_end_of_a_year():
    day = date(2027, 12, 31)
    data = written(feed(entry(when=AllDay(first=day, last=day))))
    assert values(data, "DTEND") == [";VALUE=DATE:20280101"]


def test_a_utc_instant_is_written_with_a_z():
    # RFC 5545 §3.3.5, form 2: January 19, 1998, at 0700 UTC is 19980119T070000Z
    start = datetime(1998, 1, 19, 7, tzinfo=UTC)
    when = Timed(start=start, end=start + timedelta(hours=1))
    assert values(written(feed(entry(when=when))), "DTSTART") == [":19980119T070000Z"]


def test_a_zone_that_agrees_with_utc_is_not_named():
    # RFC 5545 §3.2.19: no TZID on a time in UTC. London is on UTC in winter
    start = datetime(2026, 1, 19, 7, tzinfo=ZoneInfo("Europe/London"))
    when = Timed(start=start, end=start + timedelta(hours=1))
    data = written(feed(entry(when=when)))
    assert values(data, "DTSTART") == [":20260119T070000Z"]
    assert values(data, "DTEND") == [":20260119T080000Z"]


def test_text_is_escaped():
    # RFC 5545 §3.3.11: three lines of text are written as
    # Project XYZ Final Review\nConference Room - 3B\nCome Prepared.
    text = "Project XYZ Final Review\nConference Room - 3B\nCome Prepared."
    data = written(feed(entry(description=text, title="a;b,c\\d:\"e'")))
    assert values(data, "DESCRIPTION") == [
        r":Project XYZ Final Review\nConference Room - 3B\nCome Prepared."
    ]
    assert values(data, "SUMMARY") == [r":a\;b\,c\\d:" + "\"e'"]


def test_a_backslash_before_a_capital_n_is_no_line_end():
    # RFC 5545 §3.3.11: a backslash is written as two, whatever comes after it
    typed, meant = r"C:\Notes\\N", r"C:\\Notes\\\\N"
    one = entry(title=typed, description=typed, location=typed, categories=(typed, "b"))
    data = written(feed(one, name=typed, description=typed))
    for name in ("SUMMARY", "LOCATION", "NAME", "X-WR-CALNAME", "X-WR-CALDESC"):
        assert values(data, name) == [f":{meant}"], name
    assert values(data, "DESCRIPTION") == [f":{meant}"] * 2
    assert values(data, "CATEGORIES") == [f":{meant},b"]


def test_refreshing_says_that_its_value_is_a_duration():
    # RFC 7986 §5.7: REFRESH-INTERVAL;VALUE=DURATION:P1W; no default value type
    data = written(feed(entry(), refresh_h=6))
    assert values(data, "REFRESH-INTERVAL") == [";VALUE=DURATION:PT6H"]
    assert values(data, "X-PUBLISHED-TTL") == [":PT6H"]
    # RFC 5545 §3.3.6: hours are exact, P1D is a day of the calendar
    data = written(feed(entry(), refresh_h=24))
    assert values(data, "REFRESH-INTERVAL") == [";VALUE=DURATION:PT24H"]


def test_the_source_says_that_its_value_is_an_address():
    # RFC 7986 §5.8: SOURCE;VALUE=URI:https://...
    data = written(feed(entry(), source_url="https://example.org/crew.ics"))
    assert values(data, "SOURCE") == [";VALUE=URI:https://example.org/crew.ics"]
    assert values(written(feed(entry())), "SOURCE") == []


def test_a_calendar_carries_its_name_twice_and_an_identity_of_its_own():
    data = written(feed(entry(), name="Crew, stage 2", description="as of Monday"))
    assert values(data, "NAME") == values(data, "X-WR-CALNAME") == [r":Crew\, stage 2"]
    assert values(data, "DESCRIPTION") == values(data, "X-WR-CALDESC")
    assert values(data, "COLOR") == [":teal"]
    assert len(set(values(data, "UID"))) == 2  # the calendar's and the entry's


def test_the_colours_are_those_of_css_level_3():
    # CSS Color Module Level 3 §4.3, as the pydantic package lists it
    assert frozenset(COLORS_BY_NAME) == CSS3_COLORS
    assert len(CSS3_COLORS) == 147


@pytest.mark.parametrize(
    ("busy", "tentative", "standing"),
    [
        # TRANSP: RFC 5545 §3.8.2.7; the third as MS-OXCICAL defines its values
        (True, False, [":CONFIRMED", ":OPAQUE", ":BUSY"]),
        (True, True, [":TENTATIVE", ":OPAQUE", ":TENTATIVE"]),
        (False, False, [":CONFIRMED", ":TRANSPARENT", ":FREE"]),
        (False, True, [":TENTATIVE", ":TRANSPARENT", ":FREE"]),
    ],
)
def test_the_words_on_busy_and_free_agree(busy, tentative, standing):
    data = written(feed(entry(busy=busy, tentative=tentative)))
    names = ("STATUS", "TRANSP", "X-MICROSOFT-CDO-BUSYSTATUS")
    assert [value for name in names for value in values(data, name)] == standing


# -------------------------------------------------------------- what stays out


def test_nothing_that_receivers_read_differently_is_written():
    data = written(feed(entry("a", follow_ons=()), entry("b")))
    names = {line.split(":")[0].split(";")[0] for line in lines(data)}
    assert not names & {
        *("RRULE", "RDATE", "DURATION", "TZID", "METHOD", "ORGANIZER", "ATTENDEE"),
        *("ACTION", "TRIGGER", "X-ALT-DESC", "X-WR-TIMEZONE", "RELATED-TO"),
    }
    assert set(values(data, "BEGIN")) == {":VCALENDAR", ":VEVENT"}


def test_no_line_is_longer_than_75_octets_nor_cut_within_a_character():
    # RFC 5545 §3.1: lines should not be longer than 75 octets, the break excluded
    data = written(feed(entry(title="é🎬" * 100, description="שלום " * 100)))
    assert data.endswith(b"\r\n")
    pieces = data[:-2].split(b"\r\n")
    assert max(map(len, pieces)) in (73, 74, 75)  # full but for one character
    assert [piece.decode() for piece in pieces]
    assert b"\n" not in data.replace(b"\r\n", b"")
    assert not data.startswith(b"\xef\xbb\xbf")


@pytest.mark.parametrize(
    ("typed", "shown"),
    [
        ("two\nlines", "two lines"),
        ("tab\tand  blanks ", "tab and blanks"),
        ("bell\x07 and nul\x00 and escape\x1b[31m", "bell and nul and escape[31m"),
        ("a\u2028b\u2029c\x85d\x0be\x0cf\rg\r\nh", "a b c d e f g h"),
        ("half \ud83d of one", "half \ufffd of one"),
        ("\ufeffmark", "mark"),
        ("🎬 צבע لون", "🎬 צבע لون"),
        ("\u202bright to left\u202c", "\u202bright to left\u202c"),
        ("x" * 200, "x" * 200),
    ],
    ids=[
        *("lines", "blanks", "control", "breaks", "surrogate", "mark", "emoji"),
        *("marks of direction", "long"),
    ],
)
def test_titles_are_shown_on_one_clean_line(typed, shown):
    assert values(written(feed(entry(title=typed))), "SUMMARY") == [f":{shown}"]


def test_an_injected_line_stays_text():
    evil = "paint\r\nEND:VEVENT\r\nBEGIN:VALARM\r\nX-EVIL:1"
    data = written(feed(entry(title=evil, description=evil, location=evil), name="a"))
    assert values(data, "BEGIN") == [":VCALENDAR", ":VEVENT"]
    assert values(data, "X-EVIL") == []
    assert values(data, "DESCRIPTION") == [
        r":paint\nEND:VEVENT\nBEGIN:VALARM\nX-EVIL:1"
    ]


def test_long_runs_of_blanks_are_cut_since_readers_lose_lines_of_blanks():
    data = written(feed(entry(description="a" + " " * 300 + "b\n    - c")))
    assert values(data, "DESCRIPTION") == [r":a        b\n    - c"]


def test_categories_stand_on_one_line():
    data = written(feed(entry(categories=("compound", "west; run"))))
    assert values(data, "CATEGORIES") == [r":compound,west\; run"]


def test_a_calendar_without_entries_still_holds_a_component():
    # RFC 5545 §3.6: an iCalendar object must have at least one component
    data = written(feed())
    assert values(data, "BEGIN") == [":VCALENDAR", ":VTIMEZONE", ":STANDARD"]


# ---------------------------------------------------------------------- the links


def follow(**changes: object) -> Feed:
    base = FollowOn(key="paint", gap=timedelta(days=1))
    later = Timed(
        start=datetime(2026, 3, 8, 18, tzinfo=UTC),
        end=datetime(2026, 3, 8, 22, tzinfo=UTC),
    )
    return feed(
        entry("tape", follow_ons=(replace(base, **changes),)),  # type: ignore[arg-type]
        entry("paint", when=later),
    )


def test_a_link_stands_in_the_predecessor_with_its_gap_in_hours():
    # RFC 9253 §4 and §6.2: the property is in the predecessor and names the
    # successor. RFC 5545 §3.3.6: P1D is a day of the calendar, PT24H is exact
    data = written(follow(), links=True)
    here, there = uid_of("demo", "crew", "tape"), uid_of("demo", "crew", "paint")
    assert values(data, "RELATED-TO") == [f";RELTYPE=FINISHTOSTART;GAP=PT24H:{there}"]
    all_lines = lines(data)
    linked = next(n for n, line in enumerate(all_lines) if "RELATED-TO" in line)
    before = [line for line in all_lines[:linked] if line.startswith("UID:")]
    assert before[-1] == f"UID:{here}"


def test_links_are_written_on_request_only():
    assert values(written(follow()), "RELATED-TO") == []


def test_a_link_without_a_gap_has_no_gap():
    data = written(follow(gap=timedelta(0)), links=True)
    there = uid_of("demo", "crew", "paint")
    assert values(data, "RELATED-TO") == [f";RELTYPE=FINISHTOSTART:{there}"]


@pytest.mark.parametrize("relation", list(Relation), ids=lambda r: r.name)
def test_all_four_relations_of_rfc_9253_are_written(relation):
    data = written(follow(relation=relation, gap=timedelta(0)), links=True)
    assert f";RELTYPE={relation.value}:" in values(data, "RELATED-TO")[0]


def test_links_that_the_times_dont_keep_are_found_by_the_lint_of_the_tests():
    data = written(follow(gap=timedelta(hours=49)), links=True)
    assert "times don't keep the link" in " / ".join(map(str, lint(data)))


@pytest.mark.parametrize(
    ("gap", "text"),
    [
        # RFC 5545 §3.3.6: hours, minutes, seconds in this order, none left out between
        (timedelta(hours=24), "PT24H"),
        (timedelta(days=7), "PT168H"),
        (timedelta(minutes=45), "PT45M"),
        (timedelta(hours=1, minutes=30), "PT1H30M"),
        (timedelta(hours=1, seconds=5), "PT1H0M5S"),
        (timedelta(seconds=5), "PT5S"),
        (timedelta(0), "PT0S"),
        (timedelta(minutes=-30), "-PT30M"),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_gaps_are_exact_durations(gap, text):
    assert gap_text(gap) == text


# ----------------------------------------------------------------- the same bytes


def test_the_order_of_entries_changes_nothing():
    one, two = entry("a", title="A"), entry("b", title="B")
    assert written(feed(one, two)) == written(feed(two, one))


SCRIPT = """
import sys
from datetime import UTC, date, datetime, timedelta
from planner.nouns.feed import *
from zoneinfo import ZoneInfo
from planner.files.caldav import items
from planner.files.ics_out import calendar, published
at = lambda hour: datetime(2026, 3, 6, hour, tzinfo=UTC)
entries = tuple(
    FeedEntry(key=f"k{n}", title=f"t{n}", when=Timed(start=at(n), end=at(n + 1)),
        busy=True, categories=("a", "b"), follow_ons=(FollowOn(key=f"k{n + 1}"),) if n < 9 else ())
    for n in range(10)
)
feed = Feed(seed="crew", name="Crew", color="teal", refresh_h=6, entries=entries)
for zone in (None, ZoneInfo("America/Halifax")):
    data, state = calendar.write(feed, plan_id="p", state=published.PublishedState(),
        now=at(0), links=True, zone=zone)
    sys.stdout.buffer.write(data + published.to_bytes(state))
    sys.stdout.buffer.write(b"".join(i.data for i in items.items_of(data).items))
"""


def test_the_order_of_hashes_changes_nothing():
    outputs = {
        subprocess.run(
            [sys.executable, "-c", SCRIPT],
            env={"PYTHONHASHSEED": seed, "PYTHONPATH": ":".join(sys.path)},
            capture_output=True,
            check=True,
        ).stdout
        for seed in ("0", "1", "2")
    }
    assert len(outputs) == 1
    assert next(iter(outputs)).startswith(b"BEGIN:VCALENDAR")


# ------------------------------------------------------------- what is refused


@pytest.mark.parametrize(
    ("make", "message"),
    [
        pytest.param(
            lambda: written(feed(entry(), color="dark")),
            "not a name of CSS3",
            id="no such colour",
        ),
        pytest.param(
            lambda: written(feed(entry(), color="red\r\nX-EVIL:1")),
            "not a name of CSS3",
            id="colour breaks",
        ),
        pytest.param(
            lambda: written(feed(entry(), source_url="file:///etc/x")),
            "not a web address",
            id="no address",
        ),
        pytest.param(
            lambda: written(feed(entry(), source_url="https://a\r\nX-EVIL:1")),
            "not a web address",
            id="address breaks",
        ),
        pytest.param(
            lambda: feed(entry(), name="two\nlines"), "name 'two", id="name breaks"
        ),
        pytest.param(
            lambda: feed(entry(), refresh_h=0), "refresh_h is 0", id="no refresh"
        ),
        pytest.param(lambda: feed(entry("a"), entry("a")), "twice: a", id="key twice"),
        pytest.param(lambda: entry("two\nlines"), "key 'two", id="key breaks"),
        pytest.param(
            lambda: entry(title=" \x07\n"), "shows nothing", id="title shows nothing"
        ),
        pytest.param(
            lambda: entry(categories=("a,b",)), "has a comma", id="comma in category"
        ),
        pytest.param(
            lambda: entry(categories=("",)), "category ''", id="empty category"
        ),
        pytest.param(
            lambda: Timed(start=NOW, end=NOW), "is not after", id="ends as it starts"
        ),
        pytest.param(
            lambda: Timed(start=NOW, end=NOW.replace(microsecond=1)),
            "not whole seconds in UTC",
            id="part second",
        ),
        pytest.param(
            lambda: Timed(
                start=NOW.astimezone(timezone(timedelta(hours=-5))),
                end=NOW + timedelta(hours=1),
            ),
            "not whole seconds in UTC",
            id="not in UTC",
        ),
        pytest.param(
            lambda: Timed(start=NOW.replace(tzinfo=None), end=NOW.replace(tzinfo=None)),
            "not whole seconds in UTC",
            id="no zone",
        ),
        pytest.param(
            lambda: AllDay(first=date(2026, 3, 2), last=date(2026, 3, 1)),
            "is before the first",
            id="last day before first",
        ),
        pytest.param(
            lambda: AllDay(first=NOW, last=NOW), "not a day", id="instants as days"
        ),
        pytest.param(
            lambda: FollowOn(key="a", gap=timedelta(microseconds=1)),
            "not whole seconds",
            id="part gap",
        ),
        pytest.param(
            lambda: write(
                feed(entry()),
                plan_id="",
                state=PublishedState(),
                now=NOW,
            ),
            "plan_id ''",
            id="no plan",
        ),
        pytest.param(
            lambda: write(
                feed(entry()),
                plan_id="demo",
                state=PublishedState(),
                now=NOW.replace(tzinfo=None),
            ),
            "not in UTC",
            id="now without zone",
        ),
    ],
)
def test_what_cant_be_written_is_a_mistake_of_ours(
    make: Callable[[], object], message: str
):
    with pytest.raises(ValueError, match=message):
        make()
