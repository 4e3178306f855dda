"""Calendars that people subscribe to: a feed of entries becomes iCalendar bytes.

The components, the escaping and folding of lines and the forms of values come from
the icalendar package. Which properties there are, in which order and with which
parameters is said here, one by one, each with the type of its value, since what
receivers read alike is narrower than what iCalendar allows:

- times are UTC instants, whole days are dates with the end excluded; no RRULE,
  DURATION, METHOD, ORGANIZER, ATTENDEE or VALARM. On request instants are local
  times of a zone that the file defines, see `ics_zone_out`;
- a UID is a function of the entry's job, the feed and the entry's key, nothing else, so
  it is the same after every re-planning, on every machine, with or without state, and
  whatever other stages a plan holds;
- SEQUENCE, DTSTAMP and LAST-MODIFIED move when the content does and at no other
  time; an unchanged entry keeps its bytes. The plan that an entry comes from is no
  part of its content: the entry names the plan that last changed it;
- SEQUENCE is the number of seconds from 2025-01-01 UTC to the change, or one more
  than before where that is larger. RFC 5545 §3.8.7.4 has it begin at 0 and grow;
  ours begins higher, because a counter from 0 would go backwards when its file is
  lost, and a receiver would then ignore the newer entry. This holds until the year
  2093, and unless an entry changes oftener than once a second for as long;
- an entry that left the plan stays for some days, cancelled and free, then is gone.

Four things the package does otherwise than we need, so they are done here: it puts
properties in its own order and writes 24 hours as P1D, it takes a backslash before
a capital N for a line end, and it leaves control characters in and most values
unchecked. So texts are cleaned and values checked before they reach it, and the
lint, which doesn't use the package, reads the bytes after.

Standards: RFC 5545 (iCalendar), RFC 7986 (NAME, COLOR, REFRESH-INTERVAL, SOURCE),
RFC 9253 (temporal links with GAP), MS-OXCICAL (X-MICROSOFT-CDO-BUSYSTATUS).
"""

import hashlib
import re
import uuid
from collections.abc import Iterable
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta, tzinfo
from zoneinfo import ZoneInfo

from icalendar import Calendar, Event, Timezone, TimezoneStandard
from icalendar.prop import (
    vCategory,
    vDatetime,
    vDDDTypes,
    vInt,
    vText,
    vUri,
    vUTCOffset,
)

from planner.files.ics_out.css_colors import CSS3_COLORS
from planner.files.ics_out.lint import lint
from planner.files.ics_out.published import Published, PublishedState
from planner.files.ics_out.zone import comes_twice, zone_definition
from planner.nouns.feed import (
    AllDay,
    Feed,
    FeedEntry,
    FollowOn,
    Timed,
    clean_line,
    clean_text,
    require_name,
)

_NAMESPACE = uuid.UUID("6b1f6a0e-0f0c-4c55-9a53-2f9c1d6f0a7e")
_SEQUENCE_ORIGIN = datetime(2025, 1, 1, tzinfo=UTC)
_CANCELLED = "Cancelled: "

# ------------------------------------------------------------------- values


class _Text(vText):
    r"""A text as it was typed: `C:\Notes` keeps its backslash.

    A plain vText takes a backslash before a capital N for a line end.
    """

    def to_ical(self) -> bytes:
        """Return the text with its escapes (RFC 5545 §3.3.11)."""
        parts = self.split(r"\N")  # each is escaped alone, and the backslash between
        return rb"\\N".join(vText(part).to_ical() for part in parts)


def _categories(names: Iterable[str]) -> vCategory:
    """Return the names on one line; vCategory would make plain vTexts of them."""
    value = vCategory([])
    value.cats = [_Text(name) for name in names]
    return value


def _written(when: date) -> str:
    """Return a day or an instant as it stands in the file."""
    return vDDDTypes(when).to_ical().decode()


def _read(value: str) -> date:
    """Return the day or the instant that stands in the file."""
    when: date = vDDDTypes.from_ical(value)  # type: ignore[no-untyped-call]  # icalendar's
    return when


def gap_text(gap: timedelta) -> str:
    """Return an exact duration in hours, minutes and seconds: a day is PT24H.

    P1D would be a day of the calendar, 23 or 25 hours long at a clock change
    (RFC 5545 §3.3.6), and a wait for a coat is hours. vDuration writes P1D.

    Examples
    --------
    >>> gap_text(timedelta(days=1)), gap_text(timedelta(minutes=-90))
    ('PT24H', '-PT1H30M')
    """
    seconds = abs(round(gap.total_seconds()))
    hours, minutes, seconds = seconds // 3600, seconds // 60 % 60, seconds % 60
    text = f"{hours}H" if hours else ""
    if minutes or (hours and seconds):  # hours and seconds need minutes between them
        text += f"{minutes}M"
    if seconds or not text:
        text += f"{seconds}S"
    return f"{'-' if gap < timedelta(0) else ''}PT{text}"


# ------------------------------------------------------------------ content


def uid_of(owner: str, seed: str, key: str = "") -> str:
    """Return the UID of an entry, or of the calendar itself if no key is given.

    `owner` is the id of the entry's job, or of the plan. The UID is the same for ever,
    whatever the entry says.
    """
    return str(uuid.uuid5(_NAMESPACE, "\n".join((owner, seed, key))))


def _span(when: Timed | AllDay, zone: ZoneInfo | None = None) -> tuple[date, date]:
    """Return start and end, days with the end excluded or instants in the zone.

    By default that is UTC itself; any other zone is named in the file, even where
    it agrees with UTC.
    """
    if isinstance(when, AllDay):
        return when.first, when.last + timedelta(days=1)
    local: tzinfo = zone if zone is not None and _is_local(when, zone) else UTC
    return when.start.astimezone(local), when.end.astimezone(local)


def _is_local(when: Timed | AllDay, zone: ZoneInfo) -> bool:
    """Tell whether an entry can be written in local times.

    One that starts or ends in the hour that the clocks go through twice can't: the
    local time would name two instants. It is written in UTC.
    """
    if isinstance(when, AllDay):
        return False
    return not (comes_twice(when.start, zone) or comes_twice(when.end, zone))


def _event(uid: str, span: tuple[date, date], title: str) -> Event:
    """Return an entry that says what it is and when."""
    event = Event()
    event.add("UID", vText(uid))
    event.add("DTSTART", vDDDTypes(span[0]))  # with VALUE=DATE if it is a day
    event.add("DTEND", vDDDTypes(span[1]))
    event.add("SUMMARY", _Text(title))
    return event


def _add_standing(event: Event, *, status: str, busy: str) -> None:
    """Add the three properties that say whether the time is taken."""
    event.add("STATUS", vText(status))
    event.add("TRANSP", vText("TRANSPARENT" if busy == "FREE" else "OPAQUE"))
    event.add("X-MICROSOFT-CDO-BUSYSTATUS", vText(busy))


def _content(
    entry: FeedEntry,
    uids: dict[str, str],
    *,
    links: bool,
    zone: ZoneInfo | None,
    origin: str = "",
) -> Event:
    """Return all that a present entry says, its stamps left out."""
    span = _span(entry.when, zone)
    event = _event(uids[entry.key], span, clean_line(entry.title))
    for name, value in (
        ("DESCRIPTION", clean_text(f"{entry.description}\n{origin}")),
        ("LOCATION", clean_line(entry.location)),
    ):
        if value:
            event.add(name, _Text(value))
    if entry.categories:
        event.add("CATEGORIES", _categories(entry.categories))
    busy = "FREE" if not entry.busy else "TENTATIVE" if entry.tentative else "BUSY"
    status = "TENTATIVE" if entry.tentative else "CONFIRMED"
    _add_standing(event, status=status, busy=busy)
    if links:
        for follow_on in entry.follow_ons:
            event.add("RELATED-TO", _link(follow_on, uids[follow_on.key]))
    return event


def _link(follow_on: FollowOn, uid: str) -> vText:
    params = {"RELTYPE": follow_on.relation.value}
    if follow_on.gap:
        params["GAP"] = gap_text(follow_on.gap)
    return vText(uid, params=params)


def _cancelled_content(entry: Published) -> Event:
    """Return all that an entry which left the plan still says."""
    span = _read(entry.start), _read(entry.end)
    event = _event(entry.uid, span, _CANCELLED + entry.title)
    _add_standing(event, status="CANCELLED", busy="FREE")
    return event


def _digest(content: Event) -> str:
    """Return the SHA-256 of the lines, so that folding has no part in it."""
    lines = content.content_lines(sorted=False)
    return hashlib.sha256("\n".join(lines).encode()).hexdigest()


# -------------------------------------------------------------- publication


def _sequence(now: datetime, old: Published | None) -> int:
    """Return the sequence number of a change made now (see the top of the module)."""
    seconds = max(0, int((now - _SEQUENCE_ORIGIN).total_seconds()))
    return max(seconds, old.sequence + 1) if old else seconds


def _changed(new: Published, old: Published | None, now: datetime) -> Published:
    """Return the record of an entry: the old one if its content is still the same."""
    if old and old.digest == new.digest:
        return old
    changed = max(now, old.changed) if old else now
    return replace(new, sequence=_sequence(now, old), changed=changed)


def _present(
    feed: Feed,
    plan_id: str,
    old: dict[str, Published],
    now: datetime,
    *,
    links: bool,
    zone: ZoneInfo | None,
) -> list[tuple[Published, Event]]:
    """Return the record and the content of each entry in the feed."""
    found = []
    for entry in feed.entries:
        owner = entry.job_id or plan_id
        near = (entry.key, *(follow_on.key for follow_on in entry.follow_ons))
        uids = {key: uid_of(owner, feed.seed, key) for key in near}
        content = _content(entry, uids, links=links, zone=zone)
        start, end = map(_written, _span(entry.when))
        record = Published(
            feed=feed.seed,
            key=entry.key,
            uid=uids[entry.key],
            sequence=0,
            changed=now,
            digest=_digest(content),
            title=clean_line(entry.title),
            start=start,
            end=end,
            cancelled=False,
            origin=feed.origin,
        )
        record = _changed(record, old.get(record.uid), now)
        whole = _content(entry, uids, links=links, zone=zone, origin=record.origin)
        found.append((record, whole))
    return found


def _gone(
    old: dict[str, Published], present: set[str], now: datetime, keep: timedelta
) -> list[tuple[Published, Event]]:
    """Return the record and the content of each entry shown as cancelled."""
    found = []
    for entry in old.values():
        if entry.uid in present or (entry.cancelled and now - entry.changed >= keep):
            continue
        content = _cancelled_content(entry)
        record = replace(entry, cancelled=True, digest=_digest(content))
        found.append((_changed(record, entry, now), content))
    return found


def _stamp(event: Event, record: Published) -> None:
    """Add when the content last changed, and its number."""
    event.add("DTSTAMP", vDatetime(record.changed))
    event.add("LAST-MODIFIED", vDatetime(record.changed))
    event.add("SEQUENCE", vInt(record.sequence))


def _calendar(feed: Feed, plan_id: str) -> Calendar:
    """Return the calendar without its entries."""
    if feed.color not in CSS3_COLORS:
        raise ValueError(f"color {feed.color!r} is not a name of CSS3")
    if feed.source_url and not re.fullmatch(r"https?://[!-~]+", feed.source_url):
        raise ValueError(f"source_url {feed.source_url!r} is not a web address")
    name, description = _Text(feed.name), _Text(clean_text(feed.description))
    refresh = gap_text(timedelta(hours=feed.refresh_h))
    calendar = Calendar()
    calendar.add("VERSION", vText("2.0"))
    calendar.add("PRODID", vText("-//covetime//planner//EN"))
    calendar.add("CALSCALE", vText("GREGORIAN"))
    calendar.add("UID", vText(uid_of(plan_id, feed.seed)))
    calendar.add("NAME", name)
    calendar.add("X-WR-CALNAME", name)
    if description:
        calendar.add("DESCRIPTION", description)
        calendar.add("X-WR-CALDESC", description)
    calendar.add("COLOR", vText(feed.color))
    calendar.add("REFRESH-INTERVAL", vText(refresh, params={"VALUE": "DURATION"}))
    calendar.add("X-PUBLISHED-TTL", vText(refresh))
    if feed.source_url:
        calendar.add("SOURCE", vUri(feed.source_url, params={"VALUE": "URI"}))
    return calendar


def _nothing() -> Timezone:
    """Return the definition of UTC, which shows nothing.

    A calendar must hold a component (RFC 5545 §3.6), and a subscriber is better
    served by a calendar without entries than by an address that has gone. So one
    without entries holds this.
    """
    standard = TimezoneStandard()
    standard.add("DTSTART", vDatetime(datetime(1970, 1, 1)))  # noqa: DTZ001 - §3.6.5: local
    standard.add("TZOFFSETFROM", vUTCOffset(timedelta(0)))
    standard.add("TZOFFSETTO", vUTCOffset(timedelta(0)))
    standard.add("TZNAME", vText("UTC"))
    zone = Timezone()
    zone.add("TZID", vText("Etc/UTC"))
    zone.add_component(standard)
    return zone


def write(
    feed: Feed,
    *,
    plan_id: str,
    state: PublishedState,
    now: datetime,
    links: bool = False,
    zone: ZoneInfo | None = None,
    keep_cancelled_days: int = 14,
) -> tuple[bytes, PublishedState]:
    """Return a feed as the bytes of its file, and the state to keep beside it.

    Parameters
    ----------
    feed
        The calendar and its entries, in any order.
    plan_id
        What names this plan and stays the same when it is planned again: the calendar
        is known by it, and entries that name no job.
    state
        What was published before; only the entries of this feed are touched.
    now
        The moment of publication, in UTC; stands in changed entries only.
    links
        Whether each entry names its follow-ons (RFC 9253, in the predecessor).
    zone
        In which zone instants are written; None for UTC, which all receivers read
        alike. Cancelled entries are always in UTC, and so are those that touch the
        hour which the zone's clocks go through twice.
    keep_cancelled_days
        How long an entry that left the plan is shown as cancelled. [d], 0 or more

    Raises
    ------
    OutputError
        If instants can't be written in the zone (`ics_zone_out`).
    RuntimeError
        If the bytes fail the lint, which is a mistake of this program.
    """
    require_name("plan_id", plan_id)
    if now.utcoffset() != timedelta(0):
        raise ValueError(f"now is {now}, not in UTC")
    now = now.astimezone(UTC).replace(microsecond=0)
    keep = timedelta(days=keep_cancelled_days)
    old = {entry.uid: entry for entry in state.of_feed(feed.seed)}

    instants = [
        x
        for entry in feed.entries
        if zone is not None
        and isinstance(entry.when, Timed)
        and _is_local(entry.when, zone)
        for x in (entry.when.start, entry.when.end)
    ]
    shown = _present(feed, plan_id, old, now, links=links, zone=zone)
    shown += _gone(old, {record.uid for record, _ in shown}, now, keep)
    shown.sort(key=lambda pair: (pair[0].start, pair[0].key, pair[0].uid))

    calendar = _calendar(feed, plan_id)
    if zone is not None and instants:
        calendar.add_component(zone_definition(zone, instants))
    for record, event in shown:
        _stamp(event, record)
        calendar.add_component(event)
    if not shown:
        calendar.add_component(_nothing())
    data: bytes = calendar.to_ical(sorted=False)
    faults = lint(data)
    if faults:
        raise RuntimeError(f"{feed.seed}: " + "\n".join(map(str, faults)))
    return data, state.with_feed(feed.seed, tuple(record for record, _ in shown))
