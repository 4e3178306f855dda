"""From a whole calendar to the stretches of time that its entries take."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import UTC, datetime, time, timedelta
from zoneinfo import ZoneInfo

from planner.errors import CalendarError
from planner.files.ics.availability import (
    Availability,
    layered,
    newest,
    read_availability,
    read_free_busy,
    uncovered,
)
from planner.files.ics.entries import Entry, Kind, read_entry
from planner.files.ics.properties import Notes, Setting, label_of
from planner.files.ics.series import (
    INSTANCES_MAX,
    Expansion,
    Occurrence,
    Series,
    Window,
    gather,
    weigh,
)
from planner.files.ics.text import (
    BadValueError,
    BrokenTextError,
    Component,
    calendars,
    plain,
)
from planner.files.ics.values import Moment
from planner.files.ics.zones import Zones
from planner.nouns.calendar import Busy, Calendar

_NO_PLACE = ("UTC", "GMT", "Z")  # nobody's days begin there
_TELLS_HOURS = ("VEVENT", "VFREEBUSY", "VAVAILABILITY")
_TELLS_NOTHING = ("VTODO", "VJOURNAL", "VALARM", "VTIMEZONE")


class TooHeavyError(Exception):
    """The calendar asks for more steps than were allowed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CalendarSource:
    """A file's name, how messages begin where there are several, and its bytes."""

    file: str
    prefix: str
    data: bytes


@dataclass(frozen=True, slots=True, kw_only=True)
class Request:
    """All that reading depends on."""

    name: str
    sources: tuple[CalendarSource, ...]
    window: Window
    zone: ZoneInfo
    leave_out: frozenset[str]
    owners: frozenset[str] = frozenset()
    tentative_is_free: bool = False
    days_off: bool = False  # every entry for whole days is a day off


def taken_stretches(request: Request, *, steps_max: int | None) -> Calendar:
    """Return what the sources say of the window.

    Parameters
    ----------
    request
        The bytes and how to read them.
    steps_max
        The most steps of expansion to take on, or None for no such bound.

    Raises
    ------
    CalendarError
        With every fault of the sources.
    TooHeavyError
        When expansion would take more than `steps_max` steps.
    """
    notes = Notes()
    found = _Found(request, notes)
    for source in request.sources:
        found.read(source)
    _raise_faults(request, notes)
    series, layers = gather(found.entries, notes), newest(found.layers, notes)
    opens = [one for layer in layers for one in layer.open]
    total = sum(weigh(one, request.window, notes) for one in (*opens, *series))
    _raise_faults(request, notes)
    if steps_max is not None and total > steps_max:
        raise TooHeavyError
    busy = [*found.busy, *layered(layers, request.window, notes)]
    for instance in _expanded(series, request, notes):
        busy += _stretches(instance, request)
    _mind_reports(found, request, notes)
    found.mind_left_out()
    ordered = _ordered(busy, request, notes)
    if len(ordered) > INSTANCES_MAX:
        _mind_many(notes)
    _raise_faults(request, notes)
    return Calendar(
        file=request.name,
        busy=ordered,
        remarks=notes.remarks(),
    )


def _raise_faults(request: Request, notes: Notes) -> None:
    if notes.faults:
        raise CalendarError(tuple(dict.fromkeys(notes.faults)), file=request.name)


class _Found:
    """Everything that was read from the sources so far."""

    def __init__(self, request: Request, notes: Notes) -> None:
        self.request = request
        self.notes = notes
        self.entries: list[Entry] = []
        self.layers: list[Availability] = []
        self.busy: list[Busy] = []
        self.reported: list[Window] = []
        self.has_reports = False
        self.left_out: set[str] = set()

    def read(self, source: CalendarSource) -> None:
        """Read the calendars of one source."""
        try:
            whole = calendars(source.data)
        except BrokenTextError as broken:
            self.notes.faults += [
                replace(f, where=source.prefix + f.where) for f in broken.faults
            ]
            return
        for calendar in whole:
            setting = self._setting(source, calendar)
            if calendar.word("VERSION") == "1.0":
                self.notes.fault(
                    f"{source.prefix}line {calendar.number}",
                    BadValueError(
                        "VERSION 1.0 is an older format, which isn't read",
                        hint="export it as iCalendar 2.0",
                    ),
                )
                continue
            lost = [x for x in calendar.unread if x.after == "X-WR-TIMEZONE"]
            if lost:
                words = (
                    f"line {lost[0].number} is not a line of iCalendar; it may belong "
                    "to the X-WR-TIMEZONE before it"
                )
                bad = BadValueError(words, hint="export the calendar again")
                self.notes.fault(f"{source.prefix}line {lost[0].number}", bad)
            elif calendar.unread:
                self.notes.remark(
                    f"{source.prefix}lines of the calendar that are not iCalendar"
                    " are ignored"
                )
            for child in calendar.children:
                self._child(child, setting)

    def _setting(self, source: CalendarSource, calendar: Component) -> Setting:
        site = self.request.zone
        setting = Setting(
            file=source.file,
            prefix=source.prefix,
            site=site,
            home=site,
            home_name=f"{site}, the site's zone",
            day_home=site,
            home_bad=None,
            zones=Zones(calendar),
            method=calendar.word("METHOD"),
            owners=self.request.owners,
        )
        named = (calendar.value("X-WR-TIMEZONE") or "").strip()
        if not named or named == str(site) or self.request.days_off:
            return setting
        try:
            home = setting.zones.find(named)
        except BadValueError as bad:
            return replace(setting, home_bad=bad)
        name = f"{plain(named)}, the calendar's own zone"
        nowhere = named.upper().removeprefix("ETC/") in _NO_PLACE
        days = site if nowhere else home
        return replace(setting, home=home, home_name=name, day_home=days)

    def _child(self, child: Component, setting: Setting) -> None:
        if child.name in _TELLS_NOTHING:
            return
        uid = (child.value("UID") or "").strip()
        if uid in self.request.leave_out:
            self.left_out.add(uid)
            label = label_of(child, setting.prefix)
            self.notes.remark("left out, as the job file asks", label)
            return
        for inner in _within(child):
            if inner.name in _TELLS_HOURS:
                label = label_of(child, setting.prefix)
                bad = BadValueError(
                    f"a {inner.name} stands inside it, which isn't allowed"
                )
                self.notes.fault(label, bad)
        if child.name == "VEVENT":
            self._event(child, setting)
        elif child.name in _TELLS_HOURS and self.request.days_off:
            self.notes.remark(f"a {child.name} contains no days off, so it is ignored")
        elif child.name == "VFREEBUSY":
            busy, told = read_free_busy(child, setting, self.notes)
            self.busy += busy
            self.reported += [told] if told else []
            self.has_reports = True
        elif child.name == "VAVAILABILITY":
            layer = read_availability(child, setting, self.notes)
            self.layers += [layer] if layer else []
        else:
            name = plain(child.name, 30)
            self.notes.remark(f"{setting.prefix}{name} is not read")

    def mind_left_out(self) -> None:
        """Say which entries were to be left out but aren't there."""
        for uid in self.request.leave_out - self.left_out:
            self.notes.remark("no entry has the UID that is to be left out", plain(uid))

    def _event(self, child: Component, setting: Setting) -> None:
        entry = read_entry(child, setting, self.notes)
        if entry and self.request.days_off:
            entry = _as_days(entry)
            if entry is None:
                label = label_of(child, setting.prefix)
                self.notes.remark("it isn't for whole days, so it is no day off", label)
        self.entries += [entry] if entry else []


def _within(component: Component) -> Iterator[Component]:
    for child in component.children:
        yield child
        yield from _within(child)


def _as_days(entry: Entry) -> Entry | None:
    """Return an entry as days off, if it is for whole days.

    A time from one midnight to another is a whole day too.
    """
    start, end = entry.start, entry.end
    if not start.whole_day:
        ends = end.local if isinstance(end, Moment) else None
        midnights = start.local.time() == time() and ends and ends.time() == time()
        if not (midnights and ends and ends > start.local):
            return None
        end = Moment(ends, None, whole_day=True)
        start = Moment(start.local, None, whole_day=True)
    return replace(entry, start=start, end=end, kind=Kind.UNAVAILABLE)


def _expanded(
    series: list[Series], request: Request, notes: Notes
) -> Iterator[Occurrence]:
    how = Expansion(window=request.window, notes=notes)
    count = 0
    for one in series:
        found = how.instances(one)
        count += len(found)
        if count > INSTANCES_MAX:
            _mind_many(notes)
            return
        yield from found


def _mind_many(notes: Notes) -> None:
    words = f"more than {INSTANCES_MAX:,} times in the planning period"
    notes.fault("the file", BadValueError(words, hint="export fewer days"))


def _stretches(instance: Occurrence, request: Request) -> Iterator[Busy]:
    entry = instance.entry
    whole = Busy(
        start=instance.start,
        end=instance.end,
        kind=entry.kind.word,
        title=entry.title,
        file=entry.file,
        uid=plain(entry.uid),
        all_day=entry.start.whole_day,
    )
    if not request.days_off:
        yield whole
        return
    first = max(instance.start, request.window[0])
    day = first.astimezone(request.zone).date()
    while True:
        ends = day + timedelta(days=1)
        start, end = (
            datetime.combine(d, time(), tzinfo=request.zone).astimezone(UTC)
            for d in (day, ends)
        )
        if start >= min(instance.end, request.window[1]):
            return
        yield replace(whole, start=start, end=end)
        day = ends


def _mind_reports(found: _Found, request: Request, notes: Notes) -> None:
    """Say which days a free-busy report leaves open."""
    if not found.has_reports:
        return
    for a, b in uncovered(found.reported, request.window):
        first, last = (t.astimezone(request.zone) for t in (a, b))
        notes.remark(
            f"nothing is known from {first:%Y-%m-%d %H:%M} to {last:%Y-%m-%d %H:%M}:"
            " the free-busy report doesn't cover it"
        )


def _ordered(busy: list[Busy], request: Request, notes: Notes) -> tuple[Busy, ...]:
    """Return the stretches, each once, in a fixed order; all but days off clipped."""
    first, last = request.window
    out = {b for b in busy if b.start < last and b.end > first and b.start < b.end}
    if not request.days_off:
        out = {replace(b, start=max(b.start, first), end=min(b.end, last)) for b in out}
    tentative = {b for b in out if b.kind == Kind.TENTATIVE.word}
    if tentative and request.tentative_is_free:
        notes.remark("tentative entries are read as free, as the job file asks")
        out -= tentative
    return tuple(
        sorted(out, key=lambda b: (b.start, b.end, b.kind, b.title, b.file, b.uid))
    )
