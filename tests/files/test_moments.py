"""Moments as people say them: which day is meant, and what a clock change does.

Tests of planner/files/logbook/moments.py.
"""

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest

from planner.files.logbook.moments import moment_said, stretch_said

HALIFAX = ZoneInfo("America/Halifax")
NOW = datetime(2027, 2, 17, 18, 20, tzinfo=UTC)  # Wed 14:20 in Halifax


@pytest.mark.parametrize(
    ("said", "meant"),
    [
        ("now", "2027-02-17T14:20-04:00"),
        ("16:30", "2027-02-17T16:30-04:00"),
        ("9:15 am", "2027-02-17T09:15-04:00"),
        ("4pm", "2027-02-17T16:00-04:00"),
        ("today 8:00", "2027-02-17T08:00-04:00"),
        ("yesterday 16:30", "2027-02-16T16:30-04:00"),
        ("Yesterday  4:30 pm", "2027-02-16T16:30-04:00"),
        ("Tue 9:15", "2027-02-16T09:15-04:00"),
        ("Wed 9:15", "2027-02-17T09:15-04:00"),
        ("thursday 9:15", "2027-02-11T09:15-04:00"),  # the last one, not the next
        ("16 Feb 8:00", "2027-02-16T08:00-04:00"),
        ("Feb 16 2027 8:00", "2027-02-16T08:00-04:00"),
        ("Tue 16 Feb 8:00", "2027-02-16T08:00-04:00"),
        ("2027-02-16 14:15", "2027-02-16T14:15-04:00"),
        ("2027-02-16T18:15Z", "2027-02-16T14:15-04:00"),
        ("2027-07-16T18:15+02:00", "2027-07-16T13:15-03:00"),
    ],
)
def test_what_is_said_is_understood_in_the_sites_zone(said, meant):
    found = moment_said(said, now=NOW, zone=HALIFAX)
    assert found.isoformat(timespec="minutes") == meant
    assert found.tzinfo is HALIFAX


@pytest.mark.parametrize(
    ("said", "why"),
    [
        ("yesterday", "at what hour"),
        ("Tue", "at what hour"),
        ("16 Feb", "at what hour"),
        ("3/4 9:00", "day or month first"),
        ("3.4. 9:00", "day or month first"),
        ("soon 9:00", "is no moment"),
        ("yesterday noonish", "at what hour"),
        ("9:61", "is no moment"),
        ("16 Feb 8:00 AST", "is no moment"),  # a short name of a zone isn't one zone
        ("Mon 16 Feb 2027 8:00", "is a tue"),
        ("16 Feb 1927 8:00", "century"),
        ("14 Mar 2027 2:30", "never show 02:30"),
        ("7 Nov 2027 1:30", "twice"),
        ("", "at what hour"),
    ],
)
def test_what_could_be_meant_twice_or_not_at_all_is_refused(said, why):
    with pytest.raises(ValueError, match=why):
        moment_said(said, now=NOW, zone=HALIFAX)


def test_an_hour_that_a_clock_shows_twice_can_be_said_with_its_offset():
    first = moment_said("2027-11-07T01:30-03:00", now=NOW, zone=HALIFAX)
    second = moment_said("2027-11-07T01:30-04:00", now=NOW, zone=HALIFAX)
    assert second.astimezone(UTC) - first.astimezone(UTC) == datetime(
        2027, 1, 1, 1, tzinfo=UTC
    ) - datetime(2027, 1, 1, tzinfo=UTC)


@pytest.mark.parametrize(
    ("start", "until", "meant"),
    [
        ("Thu", "Fri", ("02-18T00:00", "02-20T00:00")),  # the last day is whole
        ("Wed", "Wed", ("02-17T00:00", "02-18T00:00")),
        ("Mon", "Tue", ("02-22T00:00", "02-24T00:00")),  # the next, not the last
        ("tomorrow", "tomorrow", ("02-18T00:00", "02-19T00:00")),
        ("tomorrow 9:00", "17:00", ("02-18T09:00", "02-18T17:00")),
        ("tomorrow 9:00", "tomorrow 17:00", ("02-18T09:00", "02-18T17:00")),
        ("Thu 9:00", "Thu 17:00", ("02-18T09:00", "02-18T17:00")),
        ("2027-02-20", "2027-02-21", ("02-20T00:00", "02-22T00:00")),
        ("20 Feb", "Sun 21 Feb 2027", ("02-20T00:00", "02-22T00:00")),
        ("22 Feb 2027", "22 Feb 2027 17:00", ("02-22T00:00", "02-22T17:00")),
        ("yesterday 9:00", "now", ("02-16T09:00", "02-17T14:20")),
    ],
)
def test_a_stretch_lies_ahead_and_includes_its_last_day(start, until, meant):
    found = stretch_said(start, until, now=NOW, zone=HALIFAX)
    assert tuple(f"{m:%m-%dT%H:%M}" for m in found) == meant


def test_a_date_is_of_its_weekday():
    with pytest.raises(ValueError, match="2027-02-20 is a sat"):
        stretch_said("Fri 20 Feb 2027", "21 Feb", now=NOW, zone=HALIFAX)


def test_a_stretch_that_runs_backwards_is_refused():
    with pytest.raises(ValueError, match="is not before"):
        stretch_said("tomorrow 9:00", "today 9:00", now=NOW, zone=HALIFAX)
