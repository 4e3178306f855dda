"""Calendar files to taken hours: who or what is busy when.

Two ways in: `read_calendar` for people, the stage and quiet neighbours, where an
entry counts by its standing, and `read_days` for public holidays, where every entry
for whole days is a day off. A file that can't be read in full is an error that names
all its faults; it never makes anyone free.

The bytes come from anywhere, so reading is held to limits: 5 MB and 20,000
components a file, 20 MB and 10,000 files a folder, 10 levels, 500,000 steps a rule,
50,000 stretches in the window. A process of its own, held to 10 seconds of processor
time, a minute by the clock and a gigabyte, costs about half a second to start; it is
used for sources larger than 256 kB or 500 components, and for rules whose expansion
may take more than 100,000 steps (a quarter of a second).
"""

import os
import pickle
import signal
import subprocess
import sys
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

from planner.errors import CalendarError, Fault
from planner.files.ics.child import CalendarOrFaults
from planner.files.ics.sources import Loaded, from_disk
from planner.files.ics.stretches import Request, TooHeavyError, taken_stretches
from planner.files.ics.text import COMPONENTS_MAX
from planner.nouns.calendar import Calendar

SMALL_BYTES = 256_000
SMALL_COMPONENTS = 500
SMALL_STEPS = 100_000
DEADLINE_S = 60.0  # by the clock; where it can, the system stops it much earlier

Window = tuple[datetime, datetime]


def read_calendar(
    calendar: Path | Loaded,
    *,
    window: Window,
    zone: ZoneInfo,
    owner_addresses: tuple[str, ...] = (),
    tentative_is_free: bool = False,
    leave_out: frozenset[str] = frozenset(),
) -> Calendar:
    """Return the taken stretches of a calendar file, or of a folder of them.

    A folder counts as one calendar: of several copies of an entry in it, the newest
    counts. Stretches may overlap; at an instant the strongest kind counts, "busy"
    before "unavailable" before "tentative".

    Parameters
    ----------
    calendar
        An .ics file, a folder whose .ics files are read together, or what was loaded
        from one of these or from an address.
    window
        UTC instants; stretches are clipped to it, the second excluded.
    zone
        The site's zone, for dates and times that have none and whose calendar
        names none.
    owner_addresses
        Mail addresses of the owner: what they declined is left out, what they
        haven't accepted is tentative.
    tentative_is_free
        Whether to leave out tentative stretches.
    leave_out
        UIDs of entries to leave out, faults and all; the remarks say so.

    Returns
    -------
    Calendar
        Stretches in order of time, the same whatever the order in the file.

    Raises
    ------
    CalendarError
        With every fault found, when any part can't be read.
    """
    asked = _request(calendar, window, zone, leave_out)
    owners = frozenset(a.lower().removeprefix("mailto:") for a in owner_addresses)
    return _read(replace(asked, owners=owners, tentative_is_free=tentative_is_free))


def read_days(
    calendar: Path | Loaded,
    *,
    window: Window,
    zone: ZoneInfo,
    leave_out: frozenset[str] = frozenset(),
) -> Calendar:
    """Return the days off of a calendar of public holidays, a stretch for each day.

    Every entry for whole days counts, whatever its transparency, busy status or
    owner, unless it is cancelled; entries for hours don't, and the remarks name them.
    The days are the site's own days, midnight to midnight, never cut by the window:
    `stretch.start.astimezone(zone).date()` is the date.

    Raises
    ------
    CalendarError
        With every fault found, when any part can't be read.
    """
    return _read(replace(_request(calendar, window, zone, leave_out), days_off=True))


def _request(
    calendar: Path | Loaded, window: Window, zone: ZoneInfo, leave_out: frozenset[str]
) -> Request:
    loaded = _loaded(calendar)
    return Request(
        name=loaded.name,
        sources=loaded.sources,
        window=_checked(window),
        zone=zone,
        leave_out=leave_out,
    )


def _loaded(calendar: Path | Loaded) -> Loaded:
    return from_disk(calendar) if isinstance(calendar, Path) else calendar


def _checked(window: Window) -> Window:
    if any(when.utcoffset() != timedelta(0) for when in window):
        raise ValueError(f"window: {window} is not in UTC")
    if window[0] >= window[1]:
        raise ValueError(f"window: {window} is empty")
    return window


def _refused(name: str, message: str, hint: str = "") -> CalendarError:
    fault = Fault(where="the file", message=message, hint=hint)
    return CalendarError((fault,), file=name)


def _read(request: Request) -> Calendar:
    components = sum(s.data.upper().count(b"BEGIN:") for s in request.sources)
    if len(request.sources) > 1 and components > COMPONENTS_MAX:
        raise _refused(request.name, f"more than {COMPONENTS_MAX:,} components")
    small = sum(len(s.data) for s in request.sources) <= SMALL_BYTES
    if small and components <= SMALL_COMPONENTS:
        try:
            return taken_stretches(request, steps_max=SMALL_STEPS)
        except TooHeavyError:
            pass
    return _read_apart(request)


def _read_apart(request: Request) -> Calendar:
    """Return what a process of its own makes of the request, within the limits."""
    paths = os.pathsep.join(p for p in sys.path if p)
    threads = {"OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1"}
    too_long = _refused(
        request.name,
        "reading it takes too long",
        "look for a rule that never matches, or export fewer days",
    )
    try:
        done = subprocess.run(
            [sys.executable, "-m", "planner.files.ics.child"],
            input=pickle.dumps(request),
            capture_output=True,
            timeout=DEADLINE_S,
            env={**os.environ, **threads, "PYTHONPATH": paths},
            check=False,
        )
    except subprocess.TimeoutExpired:
        raise too_long from None
    if done.returncode == -getattr(signal, "SIGXCPU", 0):
        raise too_long
    if done.returncode:
        words = done.stderr.decode("utf-8", "replace").strip().splitlines()
        if done.returncode < 0 or words[-1:] == ["MemoryError"]:
            raise _refused(
                request.name, "reading it takes too much memory", "export fewer days"
            )
        raise RuntimeError("\n".join(words))
    found: CalendarOrFaults = pickle.loads(done.stdout)
    if isinstance(found, Calendar):
        return found
    raise CalendarError(found, file=request.name)
