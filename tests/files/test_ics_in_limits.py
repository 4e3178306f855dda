"""Reading a calendar at its edges: sizes, the window, the last year, who is asked.

Tests of planner/files/ics/entries.py, planner/files/ics/properties.py,
planner/files/ics/series.py, planner/files/ics/sources.py,
planner/files/ics/stretches.py, planner/files/ics/zones.py.
"""

from datetime import UTC, datetime, timedelta

import pytest

from planner.errors import CalendarError
from planner.files.ics import sources
from planner.files.ics import text as ics_text
from planner.files.ics.reading import read_calendar, read_days
from planner.files.ics.zones import FAR, instant, later
from planner.files.web.addresses import Failure, Web
from planner.files.web.copies import Copy
from tests.support.ics import CHICAGO, calendar, event, put, utc

MARCH = (utc(2026, 3, 1), utc(2026, 4, 1))
NINE = ("DTSTART:20260310T140000Z", "DTEND:20260310T150000Z")


def busy(tmp_path, *lines: str, **how):
    path = put(tmp_path, calendar(event(*lines)))
    return read_calendar(path, window=MARCH, zone=CHICAGO, **how).busy


def test_a_file_may_be_as_large_as_the_limit_and_not_a_byte_larger(
    tmp_path, monkeypatch
):
    whole = calendar(event(*NINE)).encode()
    for module in (sources, ics_text):
        monkeypatch.setattr(module, "BYTES_MAX", len(whole))
    assert read_calendar(put(tmp_path, whole), window=MARCH, zone=CHICAGO).busy
    path = put(tmp_path, whole + b"\n")
    with pytest.raises(CalendarError) as caught:
        read_calendar(path, window=MARCH, zone=CHICAGO)
    assert f"larger than {len(whole):,} bytes" in caught.value.lines()[1]


@pytest.mark.parametrize(
    ("start", "end", "taken"),
    [
        ("20260228T230000Z", "20260301T000000Z", 0),
        ("20260228T230000Z", "20260301T000001Z", 1),
        ("20260401T000000Z", "20260401T010000Z", 0),
        ("20260331T235959Z", "20260401T010000Z", 1),
    ],
)
def test_what_only_touches_the_window_takes_nothing_of_it(tmp_path, start, end, taken):
    found = busy(tmp_path, f"DTSTART:{start}", f"DTEND:{end}")
    assert [(b.end - b.start) / timedelta(seconds=1) for b in found] == [1.0] * taken


def test_no_time_lies_beyond_the_last_year_that_is_counted():
    in_it = datetime(9998, 6, 1)  # noqa: DTZ001 - local
    assert instant(in_it, UTC) == instant(in_it, CHICAGO) == FAR
    before = in_it.replace(year=9997)
    assert instant(before, UTC) == before.replace(tzinfo=UTC)
    assert later(in_it, timedelta(days=1000)) == FAR.replace(tzinfo=None)


def test_each_rule_of_an_entry_is_weighed(tmp_path):
    few, many = "RRULE:FREQ=DAILY", "RRULE:FREQ=MINUTELY"
    old = ("DTSTART:20000101T000000Z", "DURATION:PT1M")
    for rules in ((few, many), (many, few)):
        with pytest.raises(CalendarError) as caught:
            busy(tmp_path, *old, *rules)
        assert "more than 500,000 steps" in caught.value.lines()[1]


ANA, BO = (f"ATTENDEE;PARTSTAT={{}}:mailto:{who}@example.org" for who in ("ana", "bo"))


@pytest.mark.parametrize(
    ("mine", "other", "kinds"),
    [
        ("DECLINED", "ACCEPTED", []),
        ("ACCEPTED", "DECLINED", ["busy"]),
        ("TENTATIVE", "ACCEPTED", ["tentative"]),
    ],
)
def test_of_those_invited_the_owners_answer_counts_wherever_it_stands(
    tmp_path, mine, other, kinds
):
    answers = ANA.format(mine), BO.format(other)
    for lines in (answers, answers[::-1]):
        found = busy(tmp_path, *NINE, *lines, owner_addresses=["ana@example.org"])
        assert [b.kind for b in found] == kinds


@pytest.mark.parametrize("words", [("PUBLIC", "PRIVATE"), ("PRIVATE", "PUBLIC")])
def test_what_is_called_private_anywhere_is_never_told_by_its_title(tmp_path, words):
    lines = [f"CLASS:{word}" for word in words]
    with pytest.raises(CalendarError) as caught:
        busy(tmp_path, *NINE, "SUMMARY:Doctor", *lines)
    (fault,) = caught.value.lines()[1:]
    assert "CLASS stands there twice" in fault
    assert "Doctor" not in fault


def test_a_day_that_is_as_long_as_one_and_has_no_end_is_no_day_off(tmp_path):
    text = calendar(event("DTSTART:20260310T000000", "DURATION:P1D"))
    found = read_days(put(tmp_path, text), window=MARCH, zone=CHICAGO)
    assert found.busy == ()
    assert any("isn't for whole days" in r for r in found.remarks)
    text = calendar(event("DTSTART:20260310T000000", "DTEND:20260311T000000"))
    assert len(read_days(put(tmp_path, text), window=MARCH, zone=CHICAGO).busy) == 1


@pytest.mark.parametrize(
    ("ago_h", "used"), [(0.0, True), (2.0, True), (2.01, False), (-0.01, False)]
)
def test_a_copy_is_used_as_long_as_it_is_kept_and_none_from_later(
    tmp_path, ago_h, used
):
    net = Web(now=utc(2026, 3, 1, 12), copies=tmp_path)
    copy = Copy(data=b"x", fetched=net.now - timedelta(hours=ago_h))
    failed = Failure(reason="no answer", hint="", final=False)
    found = sources._instead("https://a.example/x.ics", failed, copy, 2.0, net)
    assert isinstance(found, sources.Loaded) is used


def test_a_line_with_a_name_of_its_own_is_ignored_and_a_bare_word_is_not(tmp_path):
    day = ("DTSTART;VALUE=DATE:20260310", "CLASS:PUBLIC")
    text = calendar(event(*day, "odd=1"))
    found = read_calendar(put(tmp_path, text), window=MARCH, zone=CHICAGO)
    assert len(found.busy) == 1
    assert any("not iCalendar is ignored" in r for r in found.remarks)
    with pytest.raises(CalendarError) as caught:
        busy(tmp_path, *day, "odd words")
    assert "is not a line of iCalendar" in caught.value.lines()[1]


def test_the_longest_of_added_periods_reaches_into_the_window(tmp_path):
    added = "20260227T000000Z/P10D", "20260310T140000Z/PT1H"
    found = busy(
        tmp_path,
        "DTSTART:20260301T100000Z",
        "DTEND:20260301T110000Z",
        *(f"RDATE;VALUE=PERIOD:{period}" for period in added),
    )
    assert any(b.end == utc(2026, 3, 9) for b in found)


def test_added_days_are_not_mixed_with_times(tmp_path):
    with pytest.raises(CalendarError) as caught:
        busy(tmp_path, *NINE, "RDATE;VALUE=DATE:20260312")
    assert "RDATE: it mixes dates with times" in caught.value.lines()[1]
