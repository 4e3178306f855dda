"""Random calendars read alike by the reader and by a slow, plain account of the rules.

The account below shares nothing with the reader: it steps through days one by one,
knows the clock changes of 2026 by heart, and paints half-hours. What it says of an
entry is what the reader's documents say: a state of free, tentative, unavailable or
busy for each instant, layers of availability first, then reports, then entries.

Tests of planner/files/ics/availability.py, planner/files/ics/entries.py,
planner/files/ics/reading.py, planner/files/ics/rules.py, planner/files/ics/series.py,
planner/files/ics/stretches.py.
"""

import os
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.files.ics.reading import read_calendar
from tests.support.ics import CHICAGO, RANKS, calendar, component, put, state, utc

STEP = timedelta(minutes=30)
DAY = timedelta(days=1)
WINDOWS = (
    (utc(2026, 3, 2), utc(2026, 3, 14)),
    (utc(2026, 10, 26), utc(2026, 11, 7)),
)
WEEKDAYS = ("MO", "TU", "WE", "TH", "FR", "SA", "SU")
NAMES = {"chi": "America/Chicago", "hal": "America/Halifax"}

Window = tuple[datetime, datetime]
Span = tuple[datetime, datetime]

# ------------------------------------------------------------------ clocks of 2026

# Zone: hours from UTC in winter and in summer; the two changes of 2026 in UTC.
# Energy Policy Act of 2005: second Sunday of March, first of November, 02:00.
CLOCKS = {
    "chi": (-6, -5, utc(2026, 3, 8, 8), utc(2026, 11, 1, 7)),
    "hal": (-4, -3, utc(2026, 3, 8, 6), utc(2026, 11, 1, 5)),
    "utc": (0, 0, utc(2026, 3, 8, 8), utc(2026, 11, 1, 7)),
}


def hours_at(when: datetime, zone: str) -> int:
    winter, summer, first, last = CLOCKS[zone]
    return summer if first <= when < last else winter


def to_utc(local: datetime, zone: str) -> datetime:
    """Return the first instant at which the clock shows `local`.

    Where it never does, count with the offset before the change.
    """
    winter, summer, _, _ = CLOCKS[zone]
    for hours in (summer, winter):
        when = (local - timedelta(hours=hours)).replace(tzinfo=UTC)
        if hours_at(when, zone) == hours:
            return when
    return (local - timedelta(hours=winter)).replace(tzinfo=UTC)


def to_local(when: datetime, zone: str) -> datetime:
    return (when + timedelta(hours=hours_at(when, zone))).replace(tzinfo=None)


# --------------------------------------------------------------- what is in a calendar


@dataclass
class Every:
    """A rule: freq, interval, weekdays or days of the month, and an end."""

    freq: str
    interval: int
    days: tuple[int, ...]
    count: int | None = None
    until: datetime | None = None  # UTC, or a local midnight for whole days


@dataclass
class Item:
    """An event or an AVAILABLE; times are local to `zone`."""

    uid: str
    zone: str  # "chi", "hal", "utc", or "" for floating
    whole_day: bool
    start: datetime
    end: datetime | None = None
    lasting: tuple[int, timedelta] | None = None  # whole days, exact time
    every: Every | None = None
    added: list[datetime] = field(default_factory=list)
    without: list[datetime] = field(default_factory=list)
    instead_of: datetime | None = None
    onward: bool = False
    marks: dict[str, str] = field(default_factory=dict)
    answer: str | None = None
    sequence: int = 0
    changed: int = 1  # day of January of LAST-MODIFIED

    @property
    def clock(self) -> str:
        return "chi" if self.whole_day else self.zone or "chi"

    def utc(self, local: datetime) -> datetime:
        return to_utc(local, self.clock)


@dataclass
class Layer:
    first: datetime | None
    last: datetime | None
    priority: int | None
    busy_type: str | None
    opens: list[Item]


@dataclass
class Whole:
    items: list[Item]
    layers: list[Layer]
    reports: list[tuple[datetime, datetime, str | None]]


# --------------------------------------------------------------------- making them up


def some_time(r: Random, window: Window) -> datetime:
    """Return a local time in the window, more often than not near a clock change."""
    first = window[0].replace(tzinfo=None) - 2 * DAY
    if r.random() < 0.4:
        saturday = utc(2026, 3, 7) if window[0].month == 3 else utc(2026, 10, 31)
        first = saturday.replace(tzinfo=None)
        return first + r.randrange(96) * STEP
    return first + r.randrange(14 * 48) * STEP


def some_rule(r: Random, item: Item) -> Every:
    freq = r.choice(("DAILY", "WEEKLY", "WEEKLY", "MONTHLY"))
    pool = {"DAILY": range(7), "WEEKLY": range(7), "MONTHLY": range(1, 32)}[freq]
    days = tuple(sorted(r.sample(pool, r.randint(1, 4))))
    if freq == "DAILY" and r.random() < 0.5:
        days = ()
    every = Every(freq, r.randint(1, 3), days)
    if r.random() < 0.4:
        every.count = r.randint(1, 8)
    elif r.random() < 0.5:
        until = item.start + r.randrange(10 * 48) * STEP
        every.until = (
            datetime.combine(until, time()) if item.whole_day else item.utc(until)
        )
    return every


def some_length(r: Random, item: Item) -> None:
    minutes = r.choice((0, 30, 60, 90, 480, 480, 600, 1440, 2880))
    if item.whole_day:
        if r.random() < 0.7:
            item.end = item.start + r.randint(1, 3) * DAY
        elif r.random() < 0.5:
            item.lasting = (r.randint(1, 2), timedelta())
    elif r.random() < 0.6:
        item.end = item.start + timedelta(minutes=minutes)
    elif r.random() < 0.9:
        item.lasting = (r.choice((0, 0, 1)), timedelta(minutes=minutes))


def some_item(r: Random, window: Window, uid: str) -> Item:
    whole_day = r.random() < 0.25
    start = some_time(r, window)
    if whole_day:
        start = datetime.combine(start, time())
    item = Item(uid, r.choice(("chi", "chi", "hal", "utc", "")), whole_day, start)
    some_length(r, item)
    for name, values in (
        ("STATUS", ("CONFIRMED", "TENTATIVE", "CANCELLED")),
        ("TRANSP", ("OPAQUE", "TRANSPARENT")),
        ("X-MICROSOFT-CDO-BUSYSTATUS", ("FREE", "TENTATIVE", "BUSY", "OOF")),
        ("CLASS", ("PUBLIC", "PRIVATE")),
    ):
        if r.random() < 0.2:
            item.marks[name] = r.choice(values)
    if r.random() < 0.15:
        item.answer = r.choice(("ACCEPTED", "DECLINED", "TENTATIVE", "NEEDS-ACTION"))
    if r.random() < 0.5:
        item.every = some_rule(r, item)
    if r.random() < 0.15:
        item.added = [item.start + r.randrange(1, 10) * DAY]
    if item.every and r.random() < 0.3:
        item.without = [d for d in instances(item, window[1]) if r.random() < 0.3]
    return item


def some_changes(r: Random, item: Item, window: Window) -> list[Item]:
    out: list[Item] = []
    days = [d for d in instances(item, window[1]) if d >= item.start]
    for there in r.sample(days, min(len(days), r.choice((0, 1, 1, 2)))):
        change = Item(item.uid, item.zone, item.whole_day, there, instead_of=there)
        if r.random() < 0.7:
            moved = r.randrange(-4, 5) * (DAY if item.whole_day else 6 * STEP)
            change.start = there + moved
        some_length(r, change)
        if r.random() < 0.3:
            change.marks["STATUS"] = r.choice(("CANCELLED", "TENTATIVE"))
        change.onward = r.random() < 0.25 and not any(c.onward for c in out)
        out.append(change)
    return out


def some_layer(r: Random, window: Window) -> Layer:
    first, last = (to_utc(some_time(r, window), "chi") for _ in range(2))
    first, last = min(first, last), max(first, last)
    opens = []
    for n in range(r.randint(0, 2)):
        start = some_time(r, window)
        item = Item(f"open{n}", r.choice(("chi", "hal", "utc")), False, start)
        item.end = start + r.choice((8, 16, 20)) * STEP
        if r.random() < 0.7:
            item.every = Every("WEEKLY", 1, tuple(r.sample(range(7), 3)))
        opens.append(item)
    return Layer(
        first if r.random() < 0.8 else None,
        last if r.random() < 0.8 else None,
        r.choice((None, 0, 1, 5, 9)),
        r.choice((None, "BUSY", "BUSY-UNAVAILABLE", "BUSY-TENTATIVE", "X-OURS")),
        opens,
    )


def make_up(r: Random, window: Window) -> Whole:
    items: list[Item] = []
    for n in range(r.randint(1, 4)):
        item = some_item(r, window, f"u{n}")
        items.append(item)
        if item.every and r.random() < 0.5:
            items += some_changes(r, item, window)
        elif r.random() < 0.2:
            copy = some_item(r, window, f"u{n}")
            copy.sequence, copy.changed = r.randint(0, 1), r.randint(1, 2)
            items.append(copy)
    layers = [some_layer(r, window) for _ in range(r.choice((0, 0, 1, 2, 3)))]
    reports = []
    for _ in range(r.choice((0, 0, 1, 3))):
        start = to_utc(some_time(r, window), "chi")
        kinds = (None, "BUSY", "FREE", "BUSY-TENTATIVE", "BUSY-UNAVAILABLE", "X-OURS")
        reports.append((start, start + r.randint(1, 9) * STEP, r.choice(kinds)))
    return Whole([i for i in items if fits(i)], layers, reports)


def fits(item: Item) -> bool:
    """Tell whether the start lies before the end; else the file would be refused."""
    return item.end is None or item.utc(item.end) >= item.utc(item.start)


# ------------------------------------------------------------------------ as a file


def stamp(when: datetime) -> str:
    return f"{when:%Y%m%dT%H%M%S}" + ("Z" if when.tzinfo else "")


def written(name: str, item: Item, *times: datetime) -> str:
    if item.whole_day:
        return f"{name};VALUE=DATE:" + ",".join(f"{t:%Y%m%d}" for t in times)
    zulu = "Z" if item.zone == "utc" else ""
    zone = f";TZID={NAMES[item.zone]}" if item.zone in NAMES else ""
    return f"{name}{zone}:" + ",".join(stamp(t) + zulu for t in times)


def as_text(item: Item, name: str) -> str:
    lines = [f"UID:{item.uid}", written("DTSTART", item, item.start)]
    if item.end:
        lines.append(written("DTEND", item, item.end))
    if item.lasting:
        days, exact = item.lasting
        minutes = int(exact / timedelta(minutes=1))
        clock = f"T{minutes}M" if minutes or not days else ""
        lines.append(f"DURATION:P{days}D{clock}" if days else f"DURATION:P{clock}")
    if item.every:
        lines.append(f"RRULE:{rule_text(item)}")
    lines += [written("RDATE", item, d) for d in item.added]
    if item.without:
        lines.append(written("EXDATE", item, *item.without))
    if item.instead_of:
        scope = "RECURRENCE-ID" + (";RANGE=THISANDFUTURE" if item.onward else "")
        lines.append(written(scope, item, item.instead_of))
    lines += [f"{k}:{v}" for k, v in item.marks.items()]
    if item.answer:
        lines.append(f"ATTENDEE;PARTSTAT={item.answer}:mailto:me@test")
    lines += [
        f"SEQUENCE:{item.sequence}",
        f"LAST-MODIFIED:202601{item.changed:02}T000000Z",
    ]
    return component(name, *lines)


def rule_text(item: Item) -> str:
    every = item.every
    assert every
    parts = [f"FREQ={every.freq}", f"INTERVAL={every.interval}"]
    if every.days and every.freq == "MONTHLY":
        parts.append("BYMONTHDAY=" + ",".join(map(str, every.days)))
    elif every.days:
        parts.append("BYDAY=" + ",".join(WEEKDAYS[d] for d in every.days))
    if every.count:
        parts.append(f"COUNT={every.count}")
    if every.until:
        day = f"{every.until:%Y%m%d}"
        parts.append("UNTIL=" + (day if item.whole_day else stamp(every.until)))
    return ";".join(parts)


def as_calendar(whole: Whole, r: Random) -> str:
    parts = [as_text(i, "VEVENT") for i in whole.items]
    for n, layer in enumerate(whole.layers):
        lines = [f"UID:layer{n}"]
        lines += [f"DTSTART:{stamp(layer.first)}"] if layer.first else []
        lines += [f"DTEND:{stamp(layer.last)}"] if layer.last else []
        lines += [f"PRIORITY:{layer.priority}"] if layer.priority is not None else []
        lines += [f"BUSYTYPE:{layer.busy_type}"] if layer.busy_type else []
        lines += [as_text(i, "AVAILABLE") for i in layer.opens]
        parts.append(component("VAVAILABILITY", *lines))
    for first, last, kind in whole.reports:
        name = f"FREEBUSY;FBTYPE={kind}" if kind else "FREEBUSY"
        parts.append(component("VFREEBUSY", f"{name}:{stamp(first)}/{stamp(last)}"))
    r.shuffle(parts)
    return calendar(*parts)


# --------------------------------------------------------------- the plain account


def in_rule(item: Item, day: date) -> bool:
    """Tell whether the rule gives `day`, its end left aside."""
    every, first = item.every, item.start.date()
    assert every
    if every.freq == "DAILY":
        steps = (day - first).days
        chosen = not every.days or day.weekday() in every.days
    elif every.freq == "WEEKLY":
        monday = [d - timedelta(days=d.weekday()) for d in (day, first)]
        steps = (monday[0] - monday[1]).days // 7
        chosen = day.weekday() in every.days
    else:
        steps = (day.year - first.year) * 12 + day.month - first.month
        chosen = day.day in every.days
    return steps % every.interval == 0 and chosen


def instances(item: Item, last: datetime, *, seeded: bool = True) -> list[datetime]:
    """Return the local starts of an item, days taken out left aside."""
    out: list[datetime] = []
    day = item.start.date()
    while item.every and day <= last.date() + 4 * DAY:
        local = datetime.combine(day, item.start.time())
        if in_rule(item, day):
            every = item.every
            if every.count and len(out) == every.count:
                break
            if every.until and (
                local > every.until if item.whole_day else item.utc(local) > every.until
            ):
                break
            out.append(local)
        day += DAY
    if seeded or not item.every:
        out.append(item.start)
    return sorted({*out, *item.added})


def end_of(item: Item, local: datetime, *, pick: object = max) -> datetime:
    """Return the instant at which an instance that starts at `local` ends."""
    if item.lasting:
        days, exact = item.lasting
        return item.utc(local + days * DAY) + exact
    if item.end is None:
        return item.utc(local + DAY if item.whole_day else local)
    by_clock = item.utc(local + (item.end - item.start))
    if item.whole_day:
        return by_clock
    if local == item.start:
        return item.utc(item.end)
    exact_end = item.utc(local) + (item.utc(item.end) - item.utc(item.start))
    # The clock's end is counted from the end's own clock time, as seen in its zone.
    shown = to_local(item.utc(item.end), item.clock) - item.start
    by_clock = item.utc(local + shown)
    return max(by_clock, exact_end) if pick is max else min(by_clock, exact_end)


def kind_of(item: Item) -> str:
    marks = item.marks
    if marks.get("STATUS") == "CANCELLED" or item.answer == "DECLINED":
        return ""
    if item.answer in ("TENTATIVE", "NEEDS-ACTION"):
        return "tentative"
    if "X-MICROSOFT-CDO-BUSYSTATUS" in marks:
        return {"FREE": "", "TENTATIVE": "tentative", "BUSY": "busy"}.get(
            marks["X-MICROSOFT-CDO-BUSYSTATUS"], "unavailable"
        )
    if marks.get("TRANSP") == "TRANSPARENT":
        return ""
    return "tentative" if marks.get("STATUS") == "TENTATIVE" else "busy"


def newest(copies: list[Item]) -> list[Item]:
    best = max((c.sequence, c.changed) for c in copies)
    return [c for c in copies if (c.sequence, c.changed) == best]


def taken_by_events(items: list[Item], last: datetime) -> list[tuple[Span, str]]:
    out: list[tuple[Span, str]] = []
    for uid in {i.uid for i in items}:
        masters = [i for i in items if i.uid == uid and not i.instead_of]
        changes = [i for i in items if i.uid == uid and i.instead_of]
        for change in changes:
            span = change.utc(change.start), end_of(change, change.start)
            out.append((span, kind_of(change)))
        for master in newest(masters) if masters else []:
            out += taken_by_series(master, changes, last)
    return out


def taken_by_series(
    master: Item, changes: list[Item], last: datetime
) -> list[tuple[Span, str]]:
    out: list[tuple[Span, str]] = []
    gone = {master.utc(d) for d in master.without}
    gone |= {master.utc(c.instead_of) for c in changes if c.instead_of and not c.onward}
    onward = next((c for c in changes if c.onward), None)
    for local in instances(master, last):
        if master.utc(local) in gone:
            continue
        if (
            onward
            and onward.instead_of
            and master.utc(local) >= master.utc(onward.instead_of)
        ):
            moved = local + (onward.start - onward.instead_of)
            out.append(((onward.utc(moved), end_of(onward, moved)), kind_of(onward)))
        else:
            out.append(((master.utc(local), end_of(master, local)), kind_of(master)))
    return out


def account(whole: Whole, window: Window) -> list[str]:
    """Return the state of each half-hour of the window."""
    steps = [window[0] + n * STEP for n in range(int((window[1] - window[0]) / STEP))]
    states = [""] * len(steps)
    for rank in (10, *range(9, 0, -1)):
        same = [x for x in whole.layers if (x.priority or 10) == rank]
        paint_layers(same, steps, states)
    busy_types = {"FREE": "", "BUSY-TENTATIVE": "tentative"}
    busy_types["BUSY-UNAVAILABLE"] = "unavailable"
    marks = [
        ((first, last), busy_types.get(kind or "", "busy"))
        for first, last, kind in whole.reports
    ]
    marks += taken_by_events(whole.items, window[1])
    for (first, last), kind in marks:
        for n, when in enumerate(steps):
            if first <= when < last and RANKS[kind] > RANKS[states[n]]:
                states[n] = kind
    return states


def paint_layers(same: list[Layer], steps: list[datetime], states: list[str]) -> None:
    """Replace what lies below within the layers' ranges."""
    if not same:
        return
    opens = []
    for layer in same:
        free = [
            (item.utc(d), end_of(item, d, pick=min))
            for item in layer.opens
            for d in instances(item, steps[-1], seeded=False)
        ]
        opens.append(free)
    types = {None: "unavailable", "BUSY-TENTATIVE": "tentative"}
    types["BUSY-UNAVAILABLE"] = "unavailable"
    for n, when in enumerate(steps):
        inside = [
            (layer, any(a <= when < b for a, b in free))
            for layer, free in zip(same, opens, strict=True)
            if (not layer.first or layer.first <= when)
            and (not layer.last or when < layer.last)
        ]
        if not inside:
            continue
        kinds = [types.get(layer.busy_type, "busy") for layer, _ in inside]
        states[n] = max(kinds, key=RANKS.__getitem__)
        if any(is_open for _, is_open in inside):
            states[n] = ""


# ------------------------------------------------------------------------- the laws


def agree(seed: int, folder: Path) -> None:
    r = Random(seed)
    window = r.choice(WINDOWS)
    whole = make_up(r, window)
    text = as_calendar(whole, r)
    found = read_calendar(
        put(folder, text), window=window, zone=CHICAGO, owner_addresses=("me@test",)
    )
    expected = account(whole, window)
    seen = [state(found.busy, window[0] + n * STEP) for n in range(len(expected))]
    if seen != expected:
        first = next(n for n, s in enumerate(seen) if s != expected[n])
        raise AssertionError(
            f"seed {seed}, {window[0] + first * STEP}: reader says"
            f" {seen[first]!r}, the account {expected[first]!r}\n{text}"
        )


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("calendars")


@settings(max_examples=150)
@given(seed=st.integers(0, 2**32))
def test_reader_and_plain_account_agree(seed, folder):
    agree(seed, folder)


@settings(max_examples=50)
@given(seed=st.integers(0, 2**32), first=st.integers(0, 500), size=st.integers(1, 75))
def test_smaller_window_shows_the_same_hours(seed, first, size, folder):
    r = Random(seed)
    window = r.choice(WINDOWS)
    path = put(folder, as_calendar(make_up(r, window), r))
    small = window[0] + first * STEP, window[0] + (first + size) * STEP
    wide = read_calendar(path, window=window, zone=CHICAGO).busy
    narrow = read_calendar(path, window=small, zone=CHICAGO).busy
    assert all(small[0] <= b.start < b.end <= small[1] for b in narrow)
    for n in range(size):
        when = small[0] + n * STEP
        assert state(narrow, when) == state(wide, when)


@settings(max_examples=50)
@given(seed=st.integers(0, 2**32), extra=st.integers(0, 2**32))
def test_one_more_event_frees_nobody(seed, extra, folder):
    r, more = Random(seed), Random(extra)
    window = r.choice(WINDOWS)
    whole = make_up(r, window)
    item = some_item(more, window, "another")
    fewer = read_calendar(
        put(folder, as_calendar(whole, r)), window=window, zone=CHICAGO
    ).busy
    whole.items += [item] if fits(item) else []
    found = read_calendar(
        put(folder, as_calendar(whole, r)), window=window, zone=CHICAGO
    ).busy
    for n in range(12 * 48):
        when = window[0] + n * STEP
        assert RANKS[state(found, when)] >= RANKS[state(fewer, when)]


@pytest.mark.slow
def test_reader_and_plain_account_agree_a_hundred_thousand_times(folder):
    """As many sets as COVETIME_EVENT_SETS says, from the seed COVETIME_FIRST_SEED on."""
    first = int(os.environ.get("COVETIME_FIRST_SEED", "0"))
    for seed in range(
        first, first + int(os.environ.get("COVETIME_EVENT_SETS", "100000"))
    ):
        agree(seed, folder)
