"""Random calendars of which it is known, without reading them, what they take."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from random import Random
from zoneinfo import ZoneInfo

from tests.files.test_ics_in_broken import BROKEN, BROKEN_ENTRIES

Stretch = tuple[datetime, datetime]

WEEKDAYS = ("MO", "TU", "WE", "TH", "FR", "SA", "SU")
MAIL = "somebody@example.org"  # of whoever owns a calendar


@dataclass(frozen=True, slots=True, kw_only=True)
class Made:
    """A calendar's bytes, the UTC stretches it takes, and those taken tentatively."""

    data: bytes
    busy: tuple[Stretch, ...] = ()
    tentative: tuple[Stretch, ...] = ()
    days: tuple[date, ...] = ()  # where it is one of public holidays


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """Where and when a calendar's entries lie."""

    zone: ZoneInfo
    first: date
    weeks: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """Lines of an entry, and the UTC stretches that it stands for."""

    lines: tuple[str, ...]
    stretches: tuple[Stretch, ...]
    kind: str = "VEVENT"


# ------------------------------------------------------------------ one entry


def _utc(moment: datetime) -> str:
    return f"{moment.astimezone(UTC):%Y%m%dT%H%M%SZ}"


def _clock(moment: datetime) -> str:
    return f"{moment:%Y%m%dT%H%M%S}"


def _day(r: Random, frame: Frame) -> date:
    return frame.first + timedelta(days=r.randrange(7 * frame.weeks))


def _hours(r: Random, frame: Frame, day: date) -> Stretch:
    """Return some hours by day, which no clock change meets."""
    start = datetime.combine(day, time(r.randint(7, 16), r.choice((0, 0, 15, 30, 50))))
    lasts = timedelta(minutes=r.choice((20, 30, 45, 60, 90, 120, 180)))
    return start.replace(tzinfo=frame.zone), (start + lasts).replace(tzinfo=frame.zone)


def _once_utc(r: Random, frame: Frame) -> Entry:
    a, b = _hours(r, frame, _day(r, frame))
    return Entry(lines=(f"DTSTART:{_utc(a)}", f"DTEND:{_utc(b)}"), stretches=((a, b),))


def _once_local(r: Random, frame: Frame) -> Entry:
    a, b = _hours(r, frame, _day(r, frame))
    key = f"TZID={frame.zone.key}"
    minutes = (b - a) // timedelta(minutes=1)
    end = r.choice((f"DTEND;{key}:{_clock(b)}", f"DURATION:PT{minutes}M"))
    return Entry(lines=(f"DTSTART;{key}:{_clock(a)}", end), stretches=((a, b),))


def _once_floating(r: Random, frame: Frame) -> Entry:
    a, b = _hours(r, frame, _day(r, frame))
    lines = (f"DTSTART:{_clock(a)}", f"DTEND:{_clock(b)}")
    return Entry(lines=lines, stretches=((a, b),))


def _fixed_offset(r: Random, frame: Frame) -> Entry:
    """Return an entry in a zone that only its file defines."""
    a, b = _hours(r, frame, _day(r, frame))
    there = (
        a.astimezone(UTC) + timedelta(hours=3),
        b.astimezone(UTC) + timedelta(hours=3),
    )
    lines = (
        f"DTSTART;TZID=Own Time:{_clock(there[0])}",
        f"DTEND;TZID=Own Time:{_clock(there[1])}",
    )
    return Entry(lines=lines, stretches=((a, b),))


def _midnights(frame: Frame, first: date, last: date) -> Stretch:
    return (
        datetime.combine(first, time(), tzinfo=frame.zone),
        datetime.combine(last, time(), tzinfo=frame.zone),
    )


def _whole_days(r: Random, frame: Frame) -> Entry:
    day, count = _day(r, frame), r.choice((1, 1, 2, 3, 5))
    last = day + timedelta(days=count)
    lines = (f"DTSTART;VALUE=DATE:{day:%Y%m%d}", f"DTEND;VALUE=DATE:{last:%Y%m%d}")
    kept = lines[:1] if count == 1 and r.random() < 0.5 else lines
    return Entry(lines=kept, stretches=(_midnights(frame, day, last),))


def _weekly(r: Random, frame: Frame) -> Entry:
    """Return a series by weekdays, with a day left out, a day moved, or none of it."""
    a, b = _hours(r, frame, _day(r, frame))
    others = {a.weekday(), *r.sample(range(7), r.choice((0, 1, 2)))}
    every, count = r.choice((1, 1, 1, 2)), r.randint(2, 12)
    monday = a - timedelta(days=a.weekday())
    starts: list[datetime] = []
    for week in range(0, 60, every):
        for weekday in sorted(others):
            at = monday + timedelta(weeks=week, days=weekday)
            if at >= a and len(starts) < count:
                starts.append(at)
    return _series(
        r,
        frame,
        (a, b),
        starts,
        f"FREQ=WEEKLY;INTERVAL={every};WKST=MO;"
        f"BYDAY={','.join(WEEKDAYS[n] for n in sorted(others))}",
    )


def _daily(r: Random, frame: Frame) -> Entry:
    a, b = _hours(r, frame, _day(r, frame))
    every, count = r.randint(1, 4), r.randint(2, 9)
    starts = [a + timedelta(days=every * n) for n in range(count)]
    return _series(r, frame, (a, b), starts, f"FREQ=DAILY;INTERVAL={every}")


def _series(
    r: Random, frame: Frame, first: Stretch, starts: list[datetime], rule: str
) -> Entry:
    """Return a series of local starts; the rule ends by a count or by a last day."""
    key, lasts = f"TZID={frame.zone.key}", first[1] - first[0]
    end = r.choice((f"COUNT={len(starts)}", f"UNTIL={_utc(starts[-1])}"))
    lines = [
        f"DTSTART;{key}:{_clock(first[0])}",
        f"DTEND;{key}:{_clock(first[1])}",
        f"RRULE:{rule};{end}",
    ]
    left = list(starts)
    if len(left) > 2 and r.random() < 0.4:
        gone = left.pop(r.randrange(1, len(left)))
        lines.append(f"EXDATE;{key}:{_clock(gone)}")
    if r.random() < 0.2:
        more = starts[-1] + timedelta(days=r.randint(1, 9), hours=1)
        left.append(more)
        lines.append(f"RDATE;{key}:{_clock(more)}")
    return Entry(lines=tuple(lines), stretches=tuple((s, s + lasts) for s in left))


def _free_busy(r: Random, frame: Frame) -> Entry:
    """Return a report of busy stretches instead of an event."""
    spans = [_hours(r, frame, _day(r, frame)) for _ in range(r.randint(1, 4))]
    parts = [
        f"{_utc(a)}/{r.choice((_utc(b), f'PT{(b - a) // timedelta(minutes=1)}M'))}"
        for a, b in spans
    ]
    return Entry(
        lines=(f"FREEBUSY;FBTYPE=BUSY:{','.join(parts)}",),
        stretches=tuple(spans),
        kind="VFREEBUSY",
    )


KINDS: tuple[Callable[[Random, Frame], Entry], ...] = (
    _once_utc,
    _once_local,
    _once_floating,
    _fixed_offset,
    _whole_days,
    _weekly,
    _weekly,
    _daily,
    _free_busy,
)

# What an entry says of how it counts, and as what that is: taken, tentative or free.
STANDINGS: tuple[tuple[str, str], ...] = (
    ("", "busy"),
    ("", "busy"),
    ("", "busy"),
    ("TRANSP:OPAQUE", "busy"),
    ("STATUS:CONFIRMED", "busy"),
    ("X-MICROSOFT-CDO-BUSYSTATUS:OOF", "busy"),
    ("CLASS:PRIVATE", "busy"),
    ("TRANSP:TRANSPARENT", "free"),
    ("X-MICROSOFT-CDO-BUSYSTATUS:FREE", "free"),
    ("STATUS:CANCELLED", "free"),
    (f"ATTENDEE;PARTSTAT=DECLINED:mailto:{MAIL}", "free"),
    (f"ATTENDEE;PARTSTAT=ACCEPTED:mailto:{MAIL}", "busy"),
    ("STATUS:TENTATIVE", "tentative"),
)

# ------------------------------------------------------------ whole calendars

OWN_ZONE = (
    "BEGIN:VTIMEZONE",
    "TZID:Own Time",
    "BEGIN:STANDARD",
    "DTSTART:20000101T000000",
    "TZOFFSETFROM:+0300",
    "TZOFFSETTO:+0300",
    "END:STANDARD",
    "END:VTIMEZONE",
)


def healthy(r: Random, frame: Frame, *, entries: int, plain: bool = False) -> Made:
    """Return a calendar of so many entries; `plain`: all of them taken."""
    lines: list[str] = []
    found: dict[str, list[Stretch]] = {"busy": [], "tentative": [], "free": []}
    for number in range(entries):
        entry = r.choice(KINDS)(r, frame)
        standing, kind = ("", "busy") if plain else r.choice(STANDINGS)
        if entry.kind != "VEVENT":
            standing, kind = "", "busy"
        found[kind] += (
            (a.astimezone(UTC), b.astimezone(UTC)) for a, b in entry.stretches
        )
        lines += [
            f"BEGIN:{entry.kind}",
            f"UID:{number}-{r.randrange(10**6)}@example.org",
            "DTSTAMP:20260901T080000Z",
            *([f"SUMMARY:{r.choice(TITLES)}"] if entry.kind == "VEVENT" else []),
            *entry.lines,
            *([standing] if standing else []),
            f"END:{entry.kind}",
        ]
    return Made(
        data=_bytes(r, lines),
        busy=tuple(sorted(found["busy"])),
        tentative=tuple(sorted(found["tentative"])),
    )


TITLES = (
    "Shoot",
    "Dentist",
    "Räumung\\, Keller",
    "打ち合わせ",
    "A long title that goes on beyond the seventy-five octets at which a line is folded",
    "",
)


def bookings_for_ever(frame: Frame, weekday: int) -> Made:
    """Return a booking that comes back every week, with no end."""
    first = frame.first + timedelta(days=(weekday - frame.first.weekday()) % 7)
    a, b = _midnights(frame, first, first + timedelta(days=1))
    lines = [
        "BEGIN:VEVENT",
        "UID:weekly@example.org",
        "DTSTAMP:20260901T080000Z",
        "SUMMARY:Every week",
        f"DTSTART;VALUE=DATE:{first:%Y%m%d}",
        "RRULE:FREQ=WEEKLY",
        "END:VEVENT",
    ]
    text = "\r\n".join(["BEGIN:VCALENDAR", *HEAD, *lines, "END:VCALENDAR", ""])
    week = timedelta(weeks=1)
    days = [(a + n * week, b + n * week) for n in range(60)]
    return Made(
        data=text.encode(),
        busy=tuple((s.astimezone(UTC), e.astimezone(UTC)) for s, e in days),
    )


def nights(frame: Frame, first: time, last: time) -> Made:
    """Return quiet hours of every night, over midnight."""
    a = datetime.combine(frame.first, first)
    b = datetime.combine(frame.first + timedelta(days=1), last)
    key = f"TZID={frame.zone.key}"
    lines = [
        "BEGIN:VEVENT",
        "UID:nights@example.org",
        "DTSTAMP:20260901T080000Z",
        f"DTSTART;{key}:{_clock(a)}",
        f"DTEND;{key}:{_clock(b)}",
        "RRULE:FREQ=DAILY",
        "END:VEVENT",
    ]
    text = "\r\n".join(["BEGIN:VCALENDAR", *HEAD, *lines, "END:VCALENDAR", ""])
    found = []
    for n in range(7 * frame.weeks):
        start = (a + timedelta(days=n)).replace(tzinfo=frame.zone).astimezone(UTC)
        # exactly as long as the first (RFC 5545, 3.8.5.3), whatever the clocks do
        whole = b.replace(tzinfo=frame.zone).astimezone(UTC) - a.replace(
            tzinfo=frame.zone
        ).astimezone(UTC)
        found.append((start, start + whole))
    return Made(data=text.encode(), busy=tuple(found))


def holidays(r: Random, frame: Frame) -> Made:
    """Return public holidays: whole days, some of them years old."""
    days = sorted({_day(r, frame) for _ in range(r.randint(1, 5))})
    return Made(data=_bytes(r, _days_off(days)), days=tuple(days))


def holidays_on(*days: date) -> bytes:
    """Return a calendar of public holidays on these days."""
    return _bytes(Random(0), _days_off(days))


def _days_off(days: Iterable[date]) -> list[str]:
    lines: list[str] = []
    for day in days:
        lines += [
            "BEGIN:VEVENT",
            f"UID:{day:%Y%m%d}@example.org",
            "DTSTAMP:20260901T080000Z",
            "SUMMARY:Holiday",
            f"DTSTART;VALUE=DATE:{day:%Y%m%d}",
            "TRANSP:TRANSPARENT",
            "END:VEVENT",
        ]
    return lines


HEAD = ("VERSION:2.0", "PRODID:-//Random//jobs//EN")


def _bytes(r: Random, lines: list[str]) -> bytes:
    """Return a calendar as one program or another would write it."""
    whole = [
        "BEGIN:VCALENDAR",
        *HEAD,
        *OWN_ZONE,
        *lines,
        "END:VCALENDAR",
        "",
    ]
    end = r.choice((b"\r\n", b"\r\n", b"\n"))
    data = end.join(_folded(line.encode(), end) for line in whole)
    return (b"\xef\xbb\xbf" if r.random() < 0.15 else b"") + data


def _folded(line: bytes, end: bytes) -> bytes:
    """Return a line folded at 75 octets, within a character too (RFC 5545, 3.1)."""
    parts = [line[:75], *(line[n : n + 74] for n in range(75, len(line), 74))]
    return (end + b" ").join(parts)


# --------------------------------------------------------------------- broken


def broken(r: Random, frame: Frame) -> tuple[str, bytes]:
    """Return the name of a harm and a calendar that can't be read in full with it."""
    made = healthy(r, frame, entries=3)
    harms: dict[str, bytes] = {name: _data(text) for name, (text, _) in BROKEN.items()}
    harms |= {name: _data(text) for name, (text, _) in BROKEN_ENTRIES.items()}
    harms["download that broke off"] = made.data[: len(made.data) * 2 // 3]
    harms["conflict marks"] = made.data.replace(b"END:VCALENDAR", b"<<<<<<< ours")
    name = r.choice(sorted(harms))
    return name, harms[name]


def _data(text: str | bytes) -> bytes:
    return text.encode() if isinstance(text, str) else text
