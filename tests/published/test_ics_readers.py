"""The examples' calendars as other programs read them: the same instants and titles.

The judges are iCalendar readers of other makes, each with a parser of its own:
icalendar, ical, vobject, ics, and the calendar program khal with its database and its
listing (all PyPI), ical.js (npm), and libical's own check of what RFC 5545 and RFC
5546 let stand where. What they should find comes from plan.json alone, by the standard
library.

Tests of planner/files/ics_out/calendar.py, planner/files/ics_out/published.py,
planner/files/ics_out/zone.py, planner/report/calendars/plan_feeds.py.
"""

import ctypes
import ctypes.util
import functools
import importlib
import json
import os
import shutil
import subprocess
import warnings
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from click.testing import CliRunner

from planner.files.folder import planfile
from planner.files.ics_out.published import PublishedState
from planner.usecases import write
from tests.support.examples import EXAMPLES
from tests.support.places import ROOT

When = date | datetime
Row = tuple[When, When, str]  # start, end (a day: excluded), title
NOW = datetime(2027, 1, 15, 9, tzinfo=UTC)
PATHS = ("closure.ics", "crew.ics", "waits.ics", "people")


def _utc(when: When) -> When:
    return when.astimezone(UTC) if isinstance(when, datetime) else when


def by_icalendar(data: bytes, _: Path) -> list[Row]:
    calendar: Any = importlib.import_module("icalendar").Calendar.from_ical(data)
    return [
        (_utc(e["DTSTART"].dt), _utc(e["DTEND"].dt), str(e["SUMMARY"]))
        for e in calendar.walk("VEVENT")
    ]


def by_ical(data: bytes, _: Path) -> list[Row]:
    stream = importlib.import_module("ical.calendar_stream")
    calendar = stream.IcsCalendarStream.calendar_from_ics(data.decode())
    return [(_utc(e.dtstart), _utc(e.dtend), e.summary) for e in calendar.events]


def by_vobject(data: bytes, _: Path) -> list[Row]:
    calendar = importlib.import_module("vobject").readOne(data.decode())
    calendar.validate(raiseException=True)
    return [
        (_utc(e.dtstart.value), _utc(e.dtend.value), e.summary.value)
        for e in calendar.contents.get("vevent", [])
    ]


def by_ics(data: bytes, _: Path) -> list[Row]:
    calendar = importlib.import_module("ics").Calendar(data.decode())
    return [
        (e.begin.date(), e.end.date(), e.name)
        if e.all_day
        else (_utc(e.begin.datetime), _utc(e.end.datetime), e.name)
        for e in calendar.events
    ]


KHAL = """
[calendars]
[[it]]
path = {folder}/it
[locale]
local_timezone = UTC
default_timezone = UTC
timeformat = %H:%M
dateformat = %Y-%m-%d
longdateformat = %Y-%m-%d
datetimeformat = %Y-%m-%d %H:%M
longdatetimeformat = %Y-%m-%d %H:%M
[default]
default_calendar = it
[sqlite]
path = {folder}/khal.db
"""


def by_khal(data: bytes, folder: Path) -> list[Row]:
    """Import the file into an empty calendar of khal's and list it."""
    (folder / "it").mkdir(parents=True)
    config = folder / "khal.conf"
    config.write_text(KHAL.format(folder=folder))
    (folder / "x.ics").write_bytes(data)

    command = importlib.import_module("khal.cli").main_khal

    def khal(*args: str) -> str:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of khal's own making
            ran = CliRunner().invoke(
                command, ["-c", str(config), *args], env={"HOME": str(folder)}
            )
        assert ran.exit_code == 0, ran.output
        return str(ran.stdout)

    khal("import", "--batch", str(folder / "x.ics"))
    said = khal(
        *("list", "--day-format", "", "--once", "--notstarted", "-f"),
        "{start-long}|{end-long}|{all-day}|{title}",
        *("2027-01-01", "300d"),
    )
    rows: list[Row] = []
    for line in filter(None, said.split("\n")):
        start, end, all_day, title = line.split("|", 3)
        if all_day == "True":  # khal shows the last day itself
            last = date.fromisoformat(end[:10])
            rows.append((date.fromisoformat(start[:10]), last + timedelta(1), title))
        else:
            a, b = (datetime.fromisoformat(x).replace(tzinfo=UTC) for x in (start, end))
            rows.append((a, b, title))
    return rows


ICAL_JS = """
const ICAL = require("ical.js"); const I = ICAL.default || ICAL;
const text = require("fs").readFileSync(0, "utf8");
const calendar = new I.Component(I.parse(text));
for (const zone of calendar.getAllSubcomponents("vtimezone"))
  I.TimezoneService.register(zone);
const out = calendar.getAllSubcomponents("vevent").map((c) => {
  const e = new I.Event(c);
  const show = (t) => t.isDate ? t.toString() : t.toJSDate().toISOString();
  return [show(e.startDate), show(e.endDate), e.summary];
});
console.log(JSON.stringify(out));
"""


@functools.cache
def node_modules() -> str:
    """Return a folder from which node loads ical.js, or skip with the reason."""
    if shutil.which("node") is None:
        pytest.skip("node, which runs ical.js, is not installed")
    for folder in (os.environ.get("NODE_PATH", ""), str(ROOT / "node_modules")):
        if folder and (Path(folder) / "ical.js").exists():
            return folder
    pytest.skip("ical.js is not there: npm install --no-save ical.js@2, or NODE_PATH")


def by_ical_js(data: bytes, _: Path) -> list[Row]:
    ran = subprocess.run(
        ["node", "-e", ICAL_JS],
        input=data,
        capture_output=True,
        check=False,
        timeout=60,
        env={**os.environ, "NODE_PATH": node_modules(), "TZ": "Asia/Tokyo"},
    )
    assert ran.returncode == 0, ran.stderr.decode()

    def when(text: str) -> When:
        return (
            date.fromisoformat(text)
            if len(text) == 10
            else datetime.fromisoformat(text).astimezone(UTC)
        )

    return [(when(a), when(b), title) for a, b, title in json.loads(ran.stdout)]


READERS: list[Callable[[bytes, Path], list[Row]]] = [
    *(by_icalendar, by_ical, by_vobject, by_ics, by_khal, by_ical_js),
]
each_reader = pytest.mark.parametrize("reader", READERS, ids=lambda r: r.__name__)
each_example = pytest.mark.parametrize(
    "name",
    [
        pytest.param(n, marks=[pytest.mark.slow] * (n == "corner-damp"))
        for n in EXAMPLES
    ],
)


# ------------------------------------------------------------- what they should find


def meant(plan: dict[str, Any]) -> dict[str, list[Row]]:
    """Return start, end and title of what each calendar should show, from plan.json."""
    at, zone, stage = (
        datetime.fromisoformat,
        ZoneInfo(plan["zone"]),
        plan["stages"][0]["name"],
    )
    names = {c["id"]: c["name"] for c in plan["crew"]}
    shifts = [
        (at(a), at(b), t["title"], t["team"])
        for t in plan["tasks"]
        for a, b in t["spans"]
    ]
    here = plan["stages"][0]
    full = next(r for r in here["returns"] if r["kind"] == "full service")
    first, last = (
        at(x).astimezone(zone) for x in (here["closure"][0], full["promise"])
    )
    final = (last - timedelta(seconds=1)).date() + timedelta(days=1)
    closed: list[Row] = [(first.date(), final, f"{stage}: closed for the backdrop")]
    for back in plan["stages"][0]["returns"]:
        when, late = at(back["promise"]), at(back["tentative_until"])
        title = f"{stage}: {back['kind']} from here on"
        closed.append((when, when + timedelta(minutes=15), title))
        if back["kind"] == "full service" and late > when:
            closed.append((when, late, f"{stage}: may not be back yet"))
    out: dict[str, list[Row]] = {"closure.ics": closed}
    out["crew.ics"] = [
        (a, b, f"{title} ({', '.join(names[p] for p in team)})")
        for a, b, title, team in shifts
    ]
    for person in plan["crew"]:
        out[f"people/{person['id']}.ics"] = [
            (a, b, title) for a, b, title, team in shifts if person["id"] in team
        ]
    return out


def agree(found: list[Row], wanted: list[Row]) -> None:
    assert sorted(map(repr, found)) == sorted(map(repr, wanted))


@each_reader
@each_example
def test_each_reader_finds_the_plans_instants_days_and_titles(
    planned, name, reader, tmp_path
):
    got = planned[name]
    for number, (path, rows) in enumerate(meant(got.plan).items()):
        data = (got.folder / path).read_bytes()
        agree(reader(data, tmp_path / str(number)), rows)


@each_reader
@each_example
def test_each_reader_finds_the_waits_with_their_moments(
    planned, name, reader, tmp_path
):
    got = planned[name]
    rows = reader((got.folder / "waits.ics").read_bytes(), tmp_path / "w")
    spans = {
        (datetime.fromisoformat(w["begins"]), datetime.fromisoformat(w["ready"]))
        for w in got.plan["waits"]
    }
    assert rows
    zone = ZoneInfo(got.plan["zone"])
    for start, end, title in rows:
        assert (start, end) in spans
        assert isinstance(end, datetime)
        assert f"{end.astimezone(zone):%H:%M}" == title[-5:]


@pytest.mark.parametrize(
    "reader",
    [
        pytest.param(r, id=r.__name__, marks=[pytest.mark.slow] if n > 1 else [])
        for n, r in enumerate(READERS)
    ],
)
def test_each_reader_finds_the_same_in_the_sites_zone(planned, reader, tmp_path):
    # ics 0.7.3 knows zones by their names only, the others by the definition or both
    got = planned["corner"]
    data = (got.folder / "plan.json").read_bytes()
    plan = planfile.read_plan(data, file="plan.json")
    how = write.CalendarChoices(links=True, local_times=True)
    files = write.outputs(plan, state=PublishedState(), now=NOW, how=how)
    assert b"TZID=America/Halifax" in files["crew.ics"]
    for number, (path, rows) in enumerate(meant(got.plan).items()):
        agree(reader(files[path], tmp_path / str(number)), rows)


def in_shifts(rows: list[Row]) -> list[Row]:
    """Return rows of tasks drawn together to shifts: six hours without any end one."""
    out: list[tuple[datetime, datetime, list[str]]] = []
    for start, end, title in sorted(rows, key=lambda r: (r[0], r[1])):
        assert isinstance(start, datetime)
        assert isinstance(end, datetime)
        if out and start - out[-1][1] < timedelta(hours=6):
            first, last, titles = out[-1]
            more = [] if title in titles else [title]
            out[-1] = (first, max(last, end), [*titles, *more])
        else:
            out.append((start, end, [title]))
    return [(start, end, "; ".join(titles)) for start, end, titles in out]


@pytest.mark.parametrize(
    "reader",
    [
        pytest.param(r, id=r.__name__, marks=[pytest.mark.slow] if n > 1 else [])
        for n, r in enumerate(READERS)
    ],
)
def test_each_reader_finds_the_same_shifts(planned, reader, tmp_path):
    plan = replace(planned["corner"].case[1], entries="shifts")
    files = write.outputs(plan, state=PublishedState(), now=NOW)
    wanted = meant(planned["corner"].plan)
    for number, path in enumerate(p for p in wanted if p.startswith("people/")):
        found = reader(files[path], tmp_path / str(number))
        agree(found, in_shifts(wanted[path]))


# ------------------------------------------------------------- libical


@functools.cache
def libical() -> Any:
    """Return the library, or skip with the reason."""
    found = ctypes.util.find_library("ical")
    if found is None:
        pytest.skip("libical is not installed (Debian: libical3)")
    lib = ctypes.CDLL(found)
    for name in ("icalparser_parse_string", "icalcomponent_as_ical_string"):
        getattr(lib, name).restype = ctypes.c_void_p
    lib.icalparser_parse_string.argtypes = [ctypes.c_char_p]
    for name in ("icalrestriction_check", "icalcomponent_count_errors"):
        getattr(lib, name).argtypes = [ctypes.c_void_p]
    lib.icalcomponent_free.argtypes = [ctypes.c_void_p]
    return lib


def libical_says(data: bytes) -> tuple[bool, int]:
    """Return whether the check passes, and how many errors the parser noted."""
    lib = libical()
    parsed = lib.icalparser_parse_string(data)
    assert parsed
    try:
        passes = bool(lib.icalrestriction_check(parsed))
        return passes, int(lib.icalcomponent_count_errors(parsed))
    finally:
        lib.icalcomponent_free(parsed)


def test_libicals_check_finds_what_it_is_there_for(planned):
    # a start twice, and no stamp: RFC 5545 §3.6.1
    data = (planned["straight"].folder / "closure.ics").read_bytes()
    twice = data.replace(b"DTSTART;", b"DTSTART:20270101T000000Z\r\nDTSTART;", 1)
    assert not libical_says(twice)[0]
    assert libical_says(data.replace(b"DTEND;", b"DTEND;VALUE=PERIOD;", 1)) != (True, 0)


@each_example
def test_libicals_check_passes_every_file(planned, name):
    got = planned[name]
    plan = planfile.read_plan((got.folder / "plan.json").read_bytes(), file="plan.json")
    how = write.CalendarChoices(links=True, local_times=True)
    files = {str(p): p.read_bytes() for p in sorted(got.folder.rglob("*.ics"))}
    state = PublishedState()
    more = write.outputs(plan, state=state, now=NOW, how=how)
    files |= {p: d for p, d in more.items() if p.endswith(".ics")}
    assert len(files) >= 8
    for path, data in files.items():
        assert libical_says(data) == (True, 0), path
