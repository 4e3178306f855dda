"""A damaged calendar is read in full or refused; it never crashes or tells a secret.

Tests of planner/files/ics/properties.py, planner/files/ics/reading.py,
planner/files/ics/text.py.
"""

from pathlib import Path
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.errors import CalendarError
from planner.files.ics.reading import read_calendar, read_days
from tests.support.ics import CHICAGO, calendar, component, event, put, utc

MARCH = (utc(2026, 3, 1), utc(2026, 4, 1))
SECRET = "ZAHNWEH"
WHOLE = calendar(
    "X-WR-TIMEZONE:America/Halifax",
    component(
        "VTIMEZONE",
        "TZID:Ours",
        component(
            "STANDARD",
            "DTSTART:20071104T020000",
            "RRULE:FREQ=YEARLY;BYDAY=1SU;BYMONTH=11;UNTIL=20301103T070000Z",
            "TZOFFSETFROM:-0500",
            "TZOFFSETTO:-0600",
        ),
        component(
            "DAYLIGHT",
            "DTSTART:20070311T020000",
            "RDATE:20080309T020000,20260308T020000",
            "TZOFFSETFROM:-0600",
            "TZOFFSETTO:-0500",
        ),
    ),
    event(
        "CLASS:PRIVATE",
        f"SUMMARY:{SECRET}",
        "DTSTART;TZID=Ours:20260303T220000",
        "DTEND;TZID=Ours:20260304T060000",
        "RRULE:FREQ=WEEKLY;INTERVAL=2;BYDAY=TU,TH;UNTIL=20260329T000000Z",
        "EXDATE;TZID=Ours:20260317T220000",
        "RDATE;VALUE=PERIOD:20260320T140000Z/PT3H",
        "SEQUENCE:2",
    ),
    event(
        "RECURRENCE-ID;TZID=Ours;RANGE=THISANDFUTURE:20260319T220000",
        "CLASS:PRIVATE",
        f"SUMMARY:{SECRET}",
        "DTSTART;TZID=Ours:20260319T200000",
        "DURATION:P1DT30M",
    ),
    event(
        "DTSTART;VALUE=DATE:20260310",
        "DTEND;VALUE=DATE:20260312",
        "RRULE:FREQ=MONTHLY;BYDAY=-1MO;COUNT=3",
        "TRANSP:TRANSPARENT",
        "X-MICROSOFT-CDO-BUSYSTATUS:OOF",
        uid="d@test",
    ),
    component(
        "VAVAILABILITY",
        "UID:a",
        "PRIORITY:5",
        "DTSTART:20260305T000000Z",
        "DURATION:P2W",
        component(
            "AVAILABLE",
            "UID:b",
            "DTSTART;TZID=America/Chicago:20260305T080000",
            "DTEND;TZID=America/Chicago:20260305T170000",
            "RRULE:FREQ=DAILY",
        ),
    ),
    component(
        "VFREEBUSY",
        "UID:f",
        "FREEBUSY;FBTYPE=BUSY:20260306T000000Z/PT1H,20260307T000000Z/PT1H",
    ),
)
LINES = WHOLE.split("\r\n")
BITS = (
    b"",
    b":",
    b";",
    b"=",
    b"\r\n",
    b"\r\n ",
    b"0",
    b"-",
    b"99999999",
    b"\xff",
    b"Z",
)


def damaged(r: Random) -> bytes:
    """Return the calendar with a few lines moved, lost or doubled and bytes changed."""
    lines = list(LINES)
    for _ in range(r.choice((0, 0, 1, 2))):
        n = r.randrange(len(lines))
        lines[n : n + 1] = r.choice(([], [lines[n]] * 2, [r.choice(LINES)]))
    data = "\r\n".join(lines).encode()
    for _ in range(r.choice((0, 1, 1, 2, 4))):
        n = r.randrange(len(data))
        data = data[:n] + r.choice(BITS) + data[n + r.choice((0, 1, 1, 3)) :]
    return data


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("damaged")


def test_the_whole_calendar_is_read(folder):
    found = read_calendar(put(folder, WHOLE), window=MARCH, zone=CHICAGO)
    assert {b.kind for b in found.busy} == {"busy", "unavailable"}


def words_of(path: Path) -> str:
    """Return all that a reading prints; anything but a refusal is let through."""
    out = []
    for read in (read_calendar, read_days):
        try:
            out.append(repr(read(path, window=MARCH, zone=CHICAGO)))
        except CalendarError as error:
            out += [f"{f.where}: {f.message}" for f in error.faults]
    return "\n".join(out)


@settings(max_examples=200)
@given(seed=st.integers(0, 2**32))
def test_damage_is_read_or_refused_with_a_reason(seed, folder):
    words = words_of(put(folder, damaged(Random(seed))))
    assert words


@settings(max_examples=100)
@given(seed=st.integers(0, 2**32))
def test_damaged_times_and_rules_tell_no_private_title(seed, folder):
    r = Random(seed)
    lines = list(LINES)
    kept = ("CLASS", "SUMMARY", "BEGIN", "END", "UID")
    for _ in range(r.randint(1, 4)):
        n = r.choice([i for i, x in enumerate(lines) if x and not x.startswith(kept)])
        cut = r.randrange(len(lines[n]))
        bit = r.choice((" ", ":", ";", "=", "0", "-", "99999999", "Z", "X"))
        lines[n] = lines[n][:cut] + bit + lines[n][cut + r.randint(0, 2) :]
    assert SECRET not in words_of(put(folder, "\r\n".join(lines)))
