"""From a recurring entry to its instances: rules, and days added, removed or moved."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime, time, timedelta, tzinfo

from planner.files.ics.entries import Entry, Kind
from planner.files.ics.properties import Notes
from planner.files.ics.rules import STEPS_MAX, last_start, outlay, starts, steps
from planner.files.ics.text import BadValueError
from planner.files.ics.values import LONGEST, Length, Moment, Period
from planner.files.ics.zones import instant, later, second_coming, wall

INSTANCES_MAX = 50_000

_SLACK = timedelta(days=2)  # more than any zone's offset and any clock change
_DAY = timedelta(days=1)

Window = tuple[datetime, datetime]


@dataclass(frozen=True, slots=True)
class Occurrence:
    """One time that an entry takes, as UTC instants."""

    start: datetime
    end: datetime
    entry: Entry


@dataclass(frozen=True, slots=True)
class _Onward:
    """A change to an instance and all that follow: from when, to what."""

    since: datetime
    entry: Entry
    there: Moment  # what it replaces

    def moved(self, local: datetime, when: datetime, clock: tzinfo) -> datetime:
        """Return where an instance goes that starts at `local` on `clock`."""
        zone, start = self.entry.zone, self.entry.start
        old = _shown(self.there, self.since, zone)
        here = local if clock is zone else wall(when, zone)
        if start.whole_day:
            days = start.local.date() - old.date()
            return datetime.combine(here.date() + days, time())
        return later(here, start.local - old)


def _shown(there: Moment, when: datetime, zone: tzinfo) -> datetime:
    """Return a moment on the clock of `zone`, as written if it is that clock's.

    A skipped time stays as written: what is counted from it follows the clock.
    """
    return there.local if there.zone in (None, zone) else wall(when, zone)


@dataclass(frozen=True, slots=True)
class Series:
    """The entries of one UID that count, newest versions only."""

    masters: tuple[Entry, ...]
    changes: tuple[Entry, ...]  # with a RECURRENCE-ID

    @property
    def label(self) -> str:
        """The name of the series for messages."""
        return (self.masters or self.changes)[0].label


def gather(entries: Iterable[Entry], notes: Notes) -> list[Series]:
    """Return the series among entries, in an order that their own order can't change.

    Of several copies the one with the highest SEQUENCE counts, then the one changed
    last. Copies of the same version that differ all count: too much taken is safe.
    """
    groups: dict[object, dict[object, list[Entry]]] = {}
    for number, entry in enumerate(entries):
        uid: object = entry.uid or number
        there = entry.instead_of
        key = there and (there.whole_day, there.utc(entry.home), entry.onward)
        groups.setdefault(uid, {}).setdefault(key, []).append(entry)
    out = [
        Series(
            tuple(_newest(group.pop(None, []), notes)),
            tuple(
                sorted(
                    (e for copies in group.values() for e in _newest(copies, notes)),
                    key=_order,
                )
            ),
        )
        for group in groups.values()
    ]
    return sorted(out, key=lambda s: [_order(e) for e in (*s.masters, *s.changes)])


def _order(entry: Entry) -> tuple[object, ...]:
    return (entry.uid, entry.digest, entry.title, entry.file)


def _newest(copies: list[Entry], notes: Notes) -> list[Entry]:
    if len(copies) < 2:
        return copies
    newest = max(e.version for e in copies)
    kept: dict[tuple[str, ...], Entry] = {}
    for entry in sorted(copies, key=_order):
        if entry.version < newest:
            notes.remark("an older copy is ignored", entry.label)
        else:
            kept.setdefault(entry.digest, entry)
    if len(kept) > 1:
        label = next(iter(kept.values())).label
        notes.remark(
            "copies of the same version differ, so the times of all count as busy",
            label,
        )
    return list(kept.values())


def weigh(series: Series, window: Window, notes: Notes) -> int:
    """Return the steps that expanding the series takes.

    A rule that asks for more than a crew's calendar can mean is a fault.
    """
    total = 0
    masters = [m for m in _expanded(series) if m.rules]
    for master in masters:
        zone, last = master.zone, window[1] + _reach(series)[1]
        for rule in master.rules:
            first = master.start.local
            until = last_start(rule, master.start, master.home, wall(last, zone) + _DAY)
            if steps(rule, first, until) > STEPS_MAX:
                bad = BadValueError(
                    f"a rule of more than {STEPS_MAX:,} steps to reach the "
                    "planning period",
                    hint="let the series start later or repeat less often",
                )
                notes.fault(f"{series.label}: RRULE", bad)
                return 0
            total += outlay(rule, first, until)
    return total


def _expanded(series: Series) -> tuple[Entry, ...]:
    """Return the masters whose instances matter."""
    onward = any(c.onward for c in series.changes)
    return tuple(
        m for m in series.masters if onward or (m.kind > Kind.FREE and not m.cancelled)
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Expansion:
    """How series become instances.

    `seeded`: a DTSTART that the rule doesn't give is an instance nevertheless.
    `ends_early`: where clock time and exact time differ over a clock change, the
    earlier end counts, as is safe for time that is free; else the later.
    """

    window: Window
    notes: Notes
    seeded: bool = True
    ends_early: bool = False

    def instances(self, series: Series) -> list[Occurrence]:
        """Return the instances within the window, none after a fault was noted."""
        where = f"{series.label}: RRULE"
        try:
            return self._instances(series)
        except BadValueError as bad:
            self.notes.fault(where, bad)
        except Exception as error:  # noqa: BLE001 - whatever a rule does to the library, its owner is unknown and not free
            reason = f"it can't be expanded ({type(error).__name__})"
            self.notes.fault(where, BadValueError(reason))
        return []

    def _instances(self, series: Series) -> list[Occurrence]:
        found = [i for m in _expanded(series) for i in self._of_master(m, series)]
        for change in series.changes:
            if _taken_back(change, series):
                self.notes.remark("an older copy is ignored", change.label)
                continue
            start = change.start.utc(change.home)
            found.append(self._ended(change, change.start.local, start))
        return [
            i
            for i in found
            if i.end > i.start
            and i.end > self.window[0]
            and i.start < self.window[1]
            and i.entry.kind > Kind.FREE
            and not i.entry.cancelled
        ]

    def _of_master(self, master: Entry, series: Series) -> Iterator[Occurrence]:
        singles = [c.instead_of for c in series.changes if not c.onward]
        gone, gone_days = _matches(
            [*master.except_dates, *(m for m in singles if m)], master
        )
        onward = sorted(
            (
                _Onward(c.instead_of.utc(master.zone), c, c.instead_of)
                for c in series.changes
                if c.onward and c.instead_of
            ),
            key=lambda o: (o.since, _order(o.entry)),
        )
        for local, start, period in self._starts(master, series):
            if start in gone or local.date() in gone_days:
                continue
            change = next((o for o in reversed(onward) if o.since <= start), None)
            if change is None:
                yield self._ended(master, local, start, period)
            else:
                moved = change.moved(local, start, master.zone)
                there = instant(moved, change.entry.zone)
                yield self._ended(change.entry, moved, there)

    def _starts(
        self, master: Entry, series: Series
    ) -> list[tuple[datetime, datetime, Period | None]]:
        """Return local start, instant and own period of each instance, in order."""
        zone = master.zone
        if not (master.rules or master.dates):
            return [(master.start.local, master.start.utc(master.home), None)]
        back, ahead = _reach(series)
        span = (self.window[0] - back, self.window[1] + ahead)
        found: dict[datetime, tuple[datetime, Period | None]] = {}

        def keep(local: datetime, when: datetime, period: Period | None = None) -> None:
            if span[0] <= when < span[1]:
                found[when] = (local, period)
            if len(found) > INSTANCES_MAX:
                raise BadValueError(
                    f"more than {INSTANCES_MAX:,} times in the planning period"
                )

        if self.seeded:
            keep(master.start.local, master.start.utc(master.home))
        last = wall(span[1], zone) + _DAY
        for rule in master.rules:
            for local in starts(rule, master.start, master.home, last):
                keep(local, instant(local, zone))
                if rule.freq in ("HOURLY", "MINUTELY"):
                    again = second_coming(local, zone)
                    if again is not None:
                        keep(local, again)
        for extra in sorted(master.dates, key=lambda d: isinstance(d, Period)):
            start = extra.start if isinstance(extra, Period) else extra
            when = start.utc(zone)
            local = _shown(start, when, zone)
            keep(local, when, extra if isinstance(extra, Period) else None)
        return [(local, when, own) for when, (local, own) in sorted(found.items())]

    def _ended(
        self,
        entry: Entry,
        local: datetime,
        start: datetime,
        period: Period | None = None,
    ) -> Occurrence:
        """Return the instance of `entry` that starts at `local`."""
        zone = entry.zone
        end = period.end if period else entry.end
        if end is None:
            end = Length(1 if entry.start.whole_day else 0, timedelta())
        if isinstance(end, Length):
            done = end.after(local, zone) if end.days else later(start, end.exact)
        elif period:
            done = end.utc(zone)
        elif local == entry.start.local and start == entry.start.utc(entry.home):
            done = end.utc(entry.home)
        else:
            done = self._end_of_repeat(entry, end, local, start)
        return Occurrence(start, done, entry)

    def _end_of_repeat(
        self, entry: Entry, end: Moment, local: datetime, start: datetime
    ) -> datetime:
        """Return the end of a repeated instance.

        RFC 5545 §3.8.5.3 wants the exact length repeated, many receivers repeat the
        clock times; over a clock change they differ, and the safe side counts.
        """
        zone = entry.zone
        first, last = entry.start.utc(entry.home), end.utc(entry.home)
        by_clock = instant(later(local, wall(last, zone) - entry.start.local), zone)
        if entry.start.whole_day:
            return by_clock
        exact = later(start, last - first)
        if exact != by_clock:
            which = "earlier" if self.ends_early else "later"
            self.notes.remark(
                f"a clock change gives its end two readings; the {which} one is used",
                entry.label,
            )
        return min(exact, by_clock) if self.ends_early else max(exact, by_clock)


def _taken_back(change: Entry, series: Series) -> bool:
    """Tell whether a later version of the series takes out what was changed."""
    there = change.instead_of
    for master in series.masters:
        if there and master.version[0] > change.version[0]:
            gone, gone_days = _matches(list(master.except_dates), master)
            if there.utc(master.zone) in gone or there.local.date() in gone_days:
                return True
    return False


def _matches(moments: list[Moment], master: Entry) -> tuple[set[datetime], set[object]]:
    """Return the instants and the days of a series that `moments` point at.

    A date points at what starts on that day; midnight points at a whole day.
    """
    instants: set[datetime] = set()
    days: set[object] = set()
    for there in moments:
        if there.whole_day != master.start.whole_day and there.local.time() == time():
            days.add(there.local.date())
        else:
            instants.add(there.utc(master.zone))
    return instants, days


def _reach(series: Series) -> tuple[timedelta, timedelta]:
    """Return how far before and after the window an instance may start and matter."""
    back = ahead = timedelta()
    for entry in (*series.masters, *series.changes):
        back = max(back, _longest(entry))
        if entry.onward and entry.instead_of:
            there = entry.instead_of.utc(entry.home)
            shift = entry.start.utc(entry.home) - there
            back, ahead = max(back, back + shift), max(ahead, -shift)
    return min(back, LONGEST) + _SLACK, min(ahead, LONGEST) + _SLACK


def _longest(entry: Entry) -> timedelta:
    ends: list[tuple[Moment, Moment | Length | None]] = [(entry.start, entry.end)]
    ends += [(d.start, d.end) for d in entry.dates if isinstance(d, Period)]
    return max(_size(start, end, entry.home) for start, end in ends)


def _size(start: Moment, end: Moment | Length | None, home: tzinfo) -> timedelta:
    if end is None:
        return _DAY
    if isinstance(end, Length):
        return timedelta(days=end.days) + end.exact
    return end.utc(home) - start.utc(home)
