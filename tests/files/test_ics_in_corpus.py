"""Other people's test calendars go through whole, or are refused with a reason.

The files are those that the installed packages icalendar (BSD-2) and
recurring-ical-events (LGPL-3.0-or-later) carry for their own tests, and those in the
folder that COVETIME_CORPUS names, such as the unpacked source of khal (MIT), which
`pip download --no-deps --no-binary khal khal` fetches. They are read where they lie.
recurring-ical-events also expands them, as a second opinion.

Tests of planner/files/ics/entries.py, planner/files/ics/reading.py.
"""

import importlib.util
import os
import time as clock
import warnings
from collections.abc import Callable, Iterator
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path

import pytest

from planner.errors import CalendarError, Fault
from planner.files.ics.reading import read_calendar, read_days
from planner.hours.spans import Spans
from tests.support.ics import CHICAGO, utc

MARCH = (utc(2026, 3, 1), utc(2026, 4, 1))


def carried(package: str) -> list[Path]:
    spec = importlib.util.find_spec(package)
    if spec is None or not spec.submodule_search_locations:
        return []
    return sorted(Path(next(iter(spec.submodule_search_locations))).rglob("*.ics"))


MORE = os.environ.get("COVETIME_CORPUS")
CORPUS = [
    *carried("icalendar"),
    *carried("recurring_ical_events"),
    *(sorted(Path(MORE).rglob("*.ics")) if MORE else []),
]


def test_there_is_a_corpus():
    if not CORPUS:
        pytest.skip("the installed packages carry no calendars")
    assert len(CORPUS) > 100


def faults_of(file: Path, read: Callable[..., object]) -> tuple[Fault, ...] | None:
    """Return why a file is refused, None where it is read."""
    try:
        read(file, window=MARCH, zone=CHICAGO)
    except CalendarError as error:
        return error.faults
    return None


def test_every_file_is_read_or_refused_in_time():
    slowest = 0.0
    for file in CORPUS:
        for read in (read_calendar, read_days):
            started = clock.monotonic()
            faults = faults_of(file, read)
            slowest = max(slowest, clock.monotonic() - started)
            assert faults is None or all(f.where and f.message for f in faults), file
            assert faults != ()
    assert slowest < 10.0  # the deadline of the process of its own


# Where the second opinion differs, and why ours stands.
DIFFERS = {
    "issue_253_additional_recurrence_id.ics": "a change of a day that a newer series"
    " no longer has: kept as taken, for nothing says that it is off",
    "issue_75_range_parameter.ics": "UNTIL is a date for times: that day counts",
}
# What it doesn't expand at all.
NOT_ITS_OWN = (b"BEGIN:VFREEBUSY", b"BEGIN:VAVAILABILITY")


def seconds(when: date, home: object) -> int:
    if not isinstance(when, datetime):
        when = datetime.combine(when, time())
    there = when if when.tzinfo else when.replace(tzinfo=home)  # type: ignore[arg-type]
    return int(there.astimezone(UTC).timestamp())


def second_opinion(data: bytes, window: tuple[datetime, datetime]) -> Spans:
    icalendar = pytest.importorskip("icalendar")
    recurring_ical_events = pytest.importorskip("recurring_ical_events")
    from icalendar.timezone import tzp

    tzp.use_zoneinfo()
    found: list[tuple[int, int]] = []
    for whole in icalendar.Calendar.from_ical(data, multiple=True):
        named = str(whole.pop("X-WR-TIMEZONE", ""))
        home = tzp.timezone(named) if named else CHICAGO
        day_home = CHICAGO if named.upper().endswith(("UTC", "GMT")) else home
        wide = (window[0] - timedelta(days=2), window[1] + timedelta(days=2))
        for event in recurring_ical_events.of(whole).between(*wide):
            if event.get("STATUS", "") == "CANCELLED":
                continue
            if event.get("TRANSP", "") == "TRANSPARENT":
                continue
            start, end = event["DTSTART"].dt, event.end
            where = home if isinstance(start, datetime) else day_home
            found.append((seconds(start, where), seconds(end, where)))
    return Spans.of(found).clip(seconds(window[0], UTC), seconds(window[1], UTC))


def years_of(file: Path) -> Iterator[tuple[datetime, datetime]]:
    """Yield two years from each year that a DTSTART of the file names."""
    years = set()
    for line in file.read_bytes().splitlines():
        digits = line.rpartition(b":")[2][:4]
        if line.upper().startswith(b"DTSTART") and digits.isdigit():
            years |= {int(digits), int(digits) + 1}
    for year in sorted(y for y in years if y >= 1990):
        yield utc(year, 1, 1), utc(year + 1, 1, 1)


@pytest.mark.slow
@pytest.mark.filterwarnings("ignore")
def test_second_opinion_agrees_on_every_file_that_is_read():
    agreed = 0
    for file in CORPUS:
        data = file.read_bytes()
        if file.name in DIFFERS or any(name in data for name in NOT_ITS_OWN):
            continue
        for window in years_of(file):
            try:
                found = read_calendar(file, window=window, zone=CHICAGO)
            except CalendarError:
                break
            try:
                theirs = second_opinion(data, window)
            except Exception as error:  # noqa: BLE001 - the second opinion breaks down on 4 of the files
                warnings.warn(f"{file.name}: {error!r}", stacklevel=1)
                break
            ours = Spans.of(
                (seconds(b.start, UTC), seconds(b.end, UTC)) for b in found.busy
            )
            assert ours == theirs, (file.name, window)
            agreed += 1
    assert agreed > 200
